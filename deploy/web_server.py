"""What the web server is told beside its command line: `--config python:deploy.web_server`."""

from typing import Any

from records.limits import LARGEST_BODY

# Long addresses are refused by the service itself, in its own form; the largest the server takes.
limit_request_line = 8190


def pre_request(worker: Any, request: Any) -> None:
    """Close the connection after a body that may not be read to its end.

    Where the next request begins is then unknown, and the caller must be told in the answer.
    A file that is longer than a document may be is taken, and closes its connection as well.
    """
    if _is_too_long(dict(request.headers)):
        request.headers.append(("CONNECTION", "close"))


def _is_too_long(headers: dict[str, str]) -> bool:
    length = headers.get("CONTENT-LENGTH", "0")
    return "TRANSFER-ENCODING" in headers or not length.isdigit() or int(length) > LARGEST_BODY
