"""Describing the API: shared answers, pages of lists, and what the generator leaves out."""

import copy
from typing import Any, get_args

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from drf_spectacular.utils import OpenApiResponse
from pydantic import BaseModel, ConfigDict, create_model

from calculations.inputs.base import REQUIRED
from calculations.inputs.pump_set import Reference
from records.api import headers
from records.api.documents import ProblemDocument

_WORDS = {
    400: "Some values cannot be taken: a pointer to every one of them.",
    401: "No valid token or session.",
    403: "Not allowed with this role or token.",
    404: "Not there, or not visible.",
    409: "Does not fit what the book holds.",
    411: "The body does not say how long it is.",
    412: "Changed in between.",
    413: "Too large.",
    415: "Not a media type that is read here.",
    428: "If-Match is missing.",
    429: "Tried too often from this address: wait.",
    503: "The book cannot be reached at the moment.",
    507: "There is no space left to keep it.",
}


def _problems(*codes: int) -> dict[Any, OpenApiResponse]:
    return {
        (code, "application/problem+json"): OpenApiResponse(ProblemDocument, _WORDS[code])
        for code in codes
    }


READ = _problems(400, 401, 403, 404, 429, 503)
READ_OR_CONFLICT = _problems(400, 401, 403, 404, 409, 429, 503)
CREATE = APPEND = _problems(400, 401, 403, 404, 409, 411, 413, 415, 429, 503, 507)
CHANGE = _problems(400, 401, 403, 404, 409, 411, 412, 413, 415, 428, 429, 503, 507)


def registered(document: type[BaseModel]) -> type[BaseModel]:
    """The same document in the register, where whatever is named is named by its id."""
    loose = _references(document)
    if not loose:
        return document
    named, config = f"Registered{document.__name__}", ConfigDict(json_schema_extra=_name_by_id)
    return type(named, (document,), {"model_config": config, "__doc__": document.__doc__})


def _references(document: type[BaseModel]) -> list[str]:
    fields = document.model_fields.items()
    return [name for name, info in fields if Reference in get_args(info.annotation)]


def _name_by_id(schema: dict[str, Any], document: type[BaseModel]) -> None:
    for name in _references(document):
        about = {
            k: v for k, v in schema["properties"][name].items() if k in ("title", "description")
        }
        choices = [{"type": "string", "format": "uuid"}, {"type": "null"}]
        schema["properties"][name] = {"anyOf": choices, "default": None} | about


def to_add(document: type[BaseModel], *required: str) -> type[BaseModel]:
    """The same document where it is added: with what cannot be left out marked so."""
    marked = [n for n, info in document.model_fields.items() if REQUIRED in info.metadata]

    def mark(schema: dict[str, Any]) -> None:
        _name_by_id(schema, document)
        schema["required"] = [*marked, *required]
        for name in schema["required"]:
            schema["properties"][name] = _never_null(schema["properties"][name])
        schema.update(_CONDITIONS.get(document.__name__, {}))

    config = ConfigDict(json_schema_extra=mark)
    named = f"New{document.__name__}"
    return type(named, (document,), {"model_config": config, "__doc__": document.__doc__})


def _never_null(schema: dict[str, Any]) -> dict[str, Any]:
    about = {name: value for name, value in schema.items() if name not in ("anyOf", "default")}
    choices = [each for each in schema.get("anyOf", ()) if each != {"type": "null"}]
    return (choices[0] | about) if len(choices) == 1 else about | {"anyOf": choices}


def _given(name: str, **schema: Any) -> dict[str, Any]:
    return {"required": [name], "properties": {name: schema}}


# What depends on another field, as the services hold it: a test posts every combination.
_CONDITIONS: dict[str, dict[str, Any]] = {
    "Event": {
        "anyOf": [_given("pump_set", type="string"), _given("sensors", type="array", minItems=1)]
    },
    "Drive": {
        "anyOf": [
            _given(f"rated_current_{duty}_duty", type="object") for duty in ("normal", "heavy")
        ]
    },
    "Sensor": {
        "if": _given("quantity", const="pressure"),
        "then": _given("reference", type="string"),
    },
}


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
    """What every document has in common: headers, summaries, quantities described once."""
    for path, operations in result["paths"].items():
        _describe_head(operations)
        for method, operation in operations.items():
            _complete_operation(path, method, operation)
    schemas = result["components"]["schemas"]
    quantities: dict[str, Any] = {}
    for name in list(schemas):
        schemas[name] = with_references(schemas[name], quantities)
    schemas.update(sorted(quantities.items()))
    return result


def _describe_head(operations: dict[str, Any]) -> None:
    """HEAD, where it says something of its own; the generator leaves it out."""
    read = operations.get("get", {})
    if read.get("operationId") == "read_upload":
        problems = {status: each for status, each in read["responses"].items() if status != "200"}
        operations["head"] = copy.deepcopy(read) | {
            "operationId": "ask_upload",
            "description": "How much has come, in headers alone.",
            "responses": {"204": {"description": "Where to go on."}} | problems,
        }


def _complete_operation(path: str, method: str, operation: dict[str, Any]) -> None:
    for parameter in operation.get("parameters", ()):
        if parameter["in"] == "path" and "/rules/" not in path:
            parameter["schema"]["format"] = "uuid"
    first = operation.get("description", "").partition("\n")[0].rstrip(".")
    operation.setdefault("summary", first or operation["operationId"].replace("_", " "))
    headers.describe(method, operation)


# The generator leaves these limits as they stand in the model.
_LIMITS = {
    "ge": "minimum", "le": "maximum", "gt": "exclusiveMinimum", "lt": "exclusiveMaximum",
}  # fmt: skip


def with_references(
    schema: Any, quantities: dict[str, Any], place: str = "#/components/schemas/"
) -> Any:
    """Refer to one description of each kind of quantity in place of repeating it."""
    if isinstance(schema, list):
        return [with_references(each, quantities, place) for each in schema]
    if not isinstance(schema, dict):
        return schema
    schema = {_LIMITS.get(name, name): each for name, each in schema.items()}
    kind = schema.get("x-quantity")
    if kind is None:
        return {n: with_references(each, quantities, place) for n, each in schema.items()}
    about = schema.get("description")
    shared = {k: v for k, v in schema.items() if k not in ("description", "title", "default")}
    quantities[kind] = {"description": kind, **shared}
    return {"$ref": place + kind} | ({"description": about} if about else {})
