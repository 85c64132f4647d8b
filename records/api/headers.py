"""The headers of requests and answers, as the OpenAPI document describes them."""

from typing import Any

Operation = dict[str, Any]


def _header(about: str, pattern: str = "") -> dict[str, Any]:
    schema = {"type": "string"} | ({"pattern": pattern} if pattern else {})
    return {"description": about, "schema": schema}


def _parameter(name: str, about: str, *, required: bool, pattern: str = "") -> dict[str, Any]:
    described = _header(about, pattern) | {"name": name, "in": "header"}
    return described | ({"required": True} if required else {})


IF_MATCH = _parameter(
    "If-Match",
    "The ETag that was read last: 428 without, 412 when stale. Of an event's ETag the revision "
    "before the dot counts: what was said of it since does not stand in the way.",
    required=True,
    pattern=r'^"[0-9]+(\.[0-9]+)?"$',
)
IF_NONE_MATCH = _parameter(
    "If-None-Match", "ETags that are at hand already: 304 where one of them names this text.",
    required=False,
)  # fmt: skip
ETAG = _header("Names this text: it changes when the text does. What is read has one.")
EVENT_ETAG = _header(
    "The revision, a dot, and how much has been said of it: answers, files, signatures, "
    "withdrawals, the seal.",
    r'^"[0-9]+\.[0-9]+"$',
)
LOCATION = _header("Where it is.")
LINK = _header('The page that follows (RFC 8288): `<…>; rel="next"`. Absent on the last one.')
RETRY_AFTER = _header("Seconds after which to try again.", "^[0-9]+$")

UPLOAD_HEADERS = {
    "Upload-Offset": _header("Bytes that have come: where the next body begins.", "^[0-9]+$"),
    "Upload-Complete": _header("?1 when all has come, whatever was found of it.", r"^\?[01]$"),
    "Upload-Length": _header("Bytes that were announced.", "^[0-9]+$"),
    "Upload-Limit": _header("`max-size` in bytes, and `max-age`: seconds until it is dropped."),
}
# How many of them an operation answers with, by status.
UPLOADS = {
    "begin_upload": {"200": 4, "201": 4},
    "read_upload": {"200": 4},
    "ask_upload": {"204": 4},
    "append_to_upload": {"204": 4, "200": 2, "201": 2, "400": 2, "409": 2},
}

# Operations that answer with an event.
EVENTS = ("post_event", "read_event", "change_event", "withdraw_event")
LOCATED = (
    "post_event", "seal_event", "set_rule_limit", "post_trace", "post_attachment", "begin_upload",
    "append_to_upload",
)  # fmt: skip


def describe(method: str, operation: Operation) -> None:
    """Add the headers that an operation takes and answers with."""
    name = operation["operationId"]
    in_register = operation.get("tags") == ["register"] and not name.startswith("list_")
    for status, number in UPLOADS.get(name, {}).items():
        for header in list(UPLOAD_HEADERS)[:number]:
            _answer(operation, status, header, UPLOAD_HEADERS[header])
    tag = EVENT_ETAG if name in EVENTS else ETAG if in_register or method == "get" else None
    if name == "begin_upload":
        _answer(operation, "413", "Upload-Limit", UPLOAD_HEADERS["Upload-Limit"])
    if method == "patch" and name != "append_to_upload":
        _take(operation, IF_MATCH)
        _answer(operation, "412", "ETag", tag or ETAG)
    if tag is not None:
        for status in ("200", "201"):
            _answer(operation, status, "ETag", tag)
    if tag is not None and method == "get":
        _take(operation, IF_NONE_MATCH)
        told = {"description": "What is at hand is still so.", "headers": {"ETag": tag}}
        operation["responses"].setdefault("304", told)
    if name in LOCATED or (in_register and method == "post"):
        for status in ("200", "201"):
            _answer(operation, status, "Location", LOCATION)
    if any(each["name"] == "cursor" for each in operation.get("parameters", ())):
        _answer(operation, "200", "Link", LINK)
    _answer(operation, "202", "Location", LOCATION)
    for status in ("202", "429", "503"):
        _answer(operation, status, "Retry-After", RETRY_AFTER)
    _answer(operation, "401", "WWW-Authenticate", _header("Bearer."))


def _take(operation: Operation, parameter: dict[str, Any]) -> None:
    taken = operation.setdefault("parameters", [])
    if not any(each["name"] == parameter["name"] for each in taken):
        taken.append(parameter)


def _answer(operation: Operation, status: str, name: str, header: dict[str, Any]) -> None:
    response = operation["responses"].get(status)
    if response is not None:
        response.setdefault("headers", {})[name] = header
