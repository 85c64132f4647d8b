"""A caller of the API in tests: one person's token, JSON in and out."""

import json
from typing import Any

from django.db import connection
from django.test import Client

from tests.records.cast import Person
from tests.records.witness import assert_written_down, watched

Document = dict[str, Any]


def leave() -> None:
    """Be the log-in role again, as at the begin of every transaction.

    In a test that is one transaction, the place that a request took would outlive it.
    """
    with connection.cursor() as cursor:
        cursor.execute("SELECT set_config('role', 'none', true), set_config('app.org', '', true)")


class Answer:
    """What the API answered."""

    def __init__(self, response: Any) -> None:
        self.status: int = response.status_code
        self.headers = response.headers
        self.content: bytes = getattr(response, "content", b"")
        self._parts = getattr(response, "streaming_content", ())
        self.type: str = response.headers.get("Content-Type", "")

    @property
    def json(self) -> Any:
        """The document."""
        return json.loads(self.content)

    def rows(self) -> bytes:
        """The whole of a file, which can be read once."""
        return b"".join(self._parts)

    @property
    def pointers(self) -> list[str]:
        """The places of bad values of a problem document."""
        return [each["pointer"] for each in self.json.get("errors", [])]

    @property
    def etag(self) -> str:
        """The strong ETag."""
        return str(self.headers["ETag"])


class Api:
    """Calls the API as one person."""

    base = "/api/v1"

    def __init__(self, person: Person | None) -> None:
        self.person = person
        self._client = Client(raise_request_exception=False)

    def call(
        self, method: str, path: str, body: Any = None, *, media: str = "", **headers: str
    ) -> Answer:
        """One request; `body` is a document, or bytes as they are."""
        leave()
        if self.person is not None:
            headers = {"Authorization": f"Bearer {self.person.secret}"} | headers
        content = body if isinstance(body, bytes) else json.dumps(body).encode()
        with watched() as written:
            response = self._client.generic(
                method,
                path if path.startswith("/api") else self.base + path,
                content if body is not None else b"",
                content_type=media or "application/json",
                headers={name.replace("_", "-"): value for name, value in headers.items()},
            )
        if response.status_code < 400:
            assert_written_down(written, f"{method} {path}")
        return Answer(response)

    def raw(self, method: str, path: str, body: bytes = b"", **environ: str) -> Answer:
        """One request with the server's variables as they are given."""
        leave()
        if self.person is not None:
            environ = {"HTTP_AUTHORIZATION": f"Bearer {self.person.secret}"} | environ
        return Answer(self._client.generic(method, path, body, **environ))

    def get(self, path: str) -> Answer:
        """Read."""
        return self.call("GET", path)

    def post(self, path: str, body: Any = None) -> Answer:
        """Add."""
        return self.call("POST", path, body)

    def delete(self, path: str) -> Answer:
        """Remove."""
        return self.call("DELETE", path)

    def patch(self, path: str, body: Any, etag: str | None) -> Answer:
        """Change by a merge patch."""
        precondition = {"If_Match": etag} if etag is not None else {}
        return self.call("PATCH", path, body, media="application/merge-patch+json", **precondition)
