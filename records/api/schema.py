"""Describing the API: shared answers, pages of lists, and what the generator leaves out."""

from typing import Any

from drf_spectacular.utils import OpenApiResponse
from pydantic import BaseModel, create_model

from records.api.documents import ProblemDocument
from records.services.kinds import Kind

_WORDS = {
    400: "Some values cannot be taken: a pointer to every one of them.",
    401: "No valid token or session.",
    403: "Not allowed with this role or token.",
    404: "Not there, or not visible.",
    409: "Does not fit what the book holds.",
    412: "Changed in between.",
    413: "Too large.",
    415: "Not a media type that is read here.",
    428: "If-Match is missing.",
    503: "The book cannot be reached at the moment.",
}


def _problems(*codes: int) -> dict[Any, OpenApiResponse]:
    return {
        (code, "application/problem+json"): OpenApiResponse(ProblemDocument, _WORDS[code])
        for code in codes
    }


READ = _problems(400, 401, 403, 404, 503)
CREATE = _problems(400, 401, 403, 404, 409, 413, 415, 503)
CHANGE = _problems(400, 401, 403, 404, 409, 412, 413, 415, 428, 503)
READY = _problems(400, 401, 403, 404, 409, 413, 415, 503)


def name_of(kind: Kind) -> str:
    """The name of a resource's component."""
    return kind.document.__name__


def page_of(item: type[BaseModel]) -> type[BaseModel]:
    """A page of a list of such items."""
    return create_model(
        f"{item.__name__}Page",
        items=(list[item], ...),  # type: ignore[valid-type]
        next=(str | None, ...),
    )


def complete(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """What every operation has in common: If-Match of changes, ETags of answers."""
    for path in result["paths"].values():
        for method, operation in path.items():
            if method == "patch":
                operation.setdefault("parameters", []).append(_IF_MATCH)
    result["components"].setdefault("securitySchemes", {})
    return result


_IF_MATCH = {
    "name": "If-Match",
    "in": "header",
    "required": True,
    "schema": {"type": "string", "pattern": '^"[0-9]+"$'},
    "description": "The ETag that was read last: 428 without, 412 when stale.",
}
