"""What every problem document (RFC 9457) must be."""

from tests.records.client import Answer

MEDIA_TYPE = "application/problem+json"
ON_EVERY_ANSWER = {
    "Cache-Control": "private, no-cache",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Content-Security-Policy": "default-src 'self'; img-src 'self' data:; object-src 'none'; "
    "base-uri 'none'; form-action 'self'; frame-ancestors 'none'",
}


def assert_problem(answer: Answer, status: int, *pointers: str) -> dict:
    """A problem document of this status, with exactly these places; answers with it."""
    assert answer.status == status, answer.content[:2000]
    assert answer.type == MEDIA_TYPE
    problem = answer.json
    assert problem["status"] == status
    assert problem["type"].startswith("/problems/")
    assert problem["title"]
    assert problem["detail"]
    assert sorted(answer.pointers) == sorted(pointers), problem
    assert answer.headers.items() >= ON_EVERY_ANSWER.items()
    for error in problem.get("errors", []):
        assert error["code"]
        assert error["detail"]
    if status == 401:
        assert answer.headers["WWW-Authenticate"].startswith("Bearer")
    if status == 503:
        assert int(answer.headers["Retry-After"]) > 0
    return problem


def details(answer: Answer) -> dict[str, str]:
    """What each place's error says, by pointer."""
    return {error["pointer"]: error["detail"] for error in answer.json["errors"]}
