"""The JSON Schema of a record's `data.json`, from the same declarations as the OpenAPI document."""

import json
from functools import cache
from typing import Any

from records.api.record_documents import RecordData
from records.api.schema import with_references

ADDRESS = "/api/v1/record-schema.json"
_ABOUT = (
    "A sealed record, format 1, and its seal. Members are in the order of RFC 8785, values keep "
    "the digits that were entered. A later version of the service may know more members than this "
    "schema: each is published with the version that writes it."
)


@cache
def record_schema() -> dict[str, Any]:
    """JSON Schema, draft 2020-12."""
    quantities: dict[str, Any] = {}
    made = RecordData.model_json_schema(mode="serialization")
    schema = with_references(made, quantities, "#/$defs/")
    schema["$defs"] |= quantities
    head = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": ADDRESS,
        "title": "Sealed record, format 1",
        "description": _ABOUT,
    }
    closed: dict[str, Any] = _closed(schema)
    return head | {name: value for name, value in closed.items() if name not in head}


@cache
def as_text() -> str:
    """The schema as it is handed out, alone and in a bundle."""
    return json.dumps(record_schema(), indent=1, ensure_ascii=False)


def _closed(schema: Any) -> Any:
    """The same with every object closed: what is not described is told, and not overlooked."""
    if isinstance(schema, list):
        return [_closed(each) for each in schema]
    if not isinstance(schema, dict):
        return schema
    closed = {name: _closed(each) for name, each in schema.items()}
    if isinstance(schema.get("properties"), dict) and schema.get("type") == "object":
        closed.setdefault("additionalProperties", False)
    return closed
