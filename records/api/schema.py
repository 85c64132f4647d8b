"""Describing the API: shared answers, pages of lists, and what the generator leaves out."""

from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from drf_spectacular.utils import OpenApiResponse
from pydantic import BaseModel, ConfigDict, create_model

from calculations.inputs.base import REQUIRED
from records.api.documents import ProblemDocument

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
READ_OR_CONFLICT = _problems(400, 401, 403, 404, 409, 503)
CREATE = _problems(400, 401, 403, 404, 409, 413, 415, 503)
CHANGE = _problems(400, 401, 403, 404, 409, 412, 413, 415, 428, 503)


def to_add(document: type[BaseModel], *required: str) -> type[BaseModel]:
    """The same document where it is added: with what cannot be left out marked so."""
    marked = [n for n, info in document.model_fields.items() if REQUIRED in info.metadata]
    config = ConfigDict(json_schema_extra={"required": [*marked, *required]})
    named = f"New{document.__name__}"
    return type(named, (document,), {"model_config": config, "__doc__": document.__doc__})


def page_of(item: type[BaseModel]) -> type[BaseModel]:
    """A page of a list of such items."""
    return create_model(
        f"{item.__name__}Page",
        items=(list[item], ...),  # type: ignore[valid-type]
        next=(str | None, ...),
    )


class BearerScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    """Tokens of devices and scripts."""

    target_class = "records.api.authentication.BearerAuthentication"
    name = "token"

    def get_security_definition(self, auto_schema: Any) -> dict[str, Any]:
        """RFC 6750."""
        return {"type": "http", "scheme": "bearer"}


class SessionScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    """The pages' session."""

    target_class = "records.api.authentication.PersonAuthentication"
    name = "session"

    def get_security_definition(self, auto_schema: Any) -> dict[str, Any]:
        """A cookie; changes need the CSRF token besides."""
        return {"type": "apiKey", "in": "cookie", "name": "sessionid"}


def complete(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """What every document has in common: If-Match of changes, quantities described once."""
    for path in result["paths"].values():
        if "patch" in path:
            path["patch"].setdefault("parameters", []).append(_IF_MATCH)
    schemas = result["components"]["schemas"]
    quantities: dict[str, Any] = {}
    for name in list(schemas):
        schemas[name] = _with_references(schemas[name], quantities)
    schemas.update(sorted(quantities.items()))
    return result


def _with_references(schema: Any, quantities: dict[str, Any]) -> Any:
    """Refer to one description of each kind of quantity in place of repeating it."""
    if isinstance(schema, list):
        return [_with_references(each, quantities) for each in schema]
    if not isinstance(schema, dict):
        return schema
    kind = schema.get("x-quantity")
    if kind is None:
        return {name: _with_references(each, quantities) for name, each in schema.items()}
    about = schema.get("description")
    shared = {k: v for k, v in schema.items() if k not in ("description", "title", "default")}
    quantities[kind] = {"description": kind, **shared}
    reference = {"$ref": f"#/components/schemas/{kind}"}
    return reference | ({"description": about} if about else {})


_IF_MATCH = {
    "name": "If-Match",
    "in": "header",
    "required": True,
    "schema": {"type": "string", "pattern": '^"[0-9]+"$'},
    "description": "The ETag that was read last: 428 without, 412 when stale.",
}
