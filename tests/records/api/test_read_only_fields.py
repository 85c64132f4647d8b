"""Fields that callers read and do not write: sent to any operation, each is refused by its name."""

import json
from functools import cache
from pathlib import Path

import pytest

from records.services import files
from tests.calculations import building_plates as plates
from tests.records import world as worlds
from tests.records.test_isolation import places

DOCUMENT = json.loads((Path(__file__).parents[2] / "snapshots" / "openapi.json").read_text())
JSON, PATCH = "application/json", "application/merge-patch+json"
# Columns that stand beside what is answered, and what frameworks take for their own.
HIDDEN = (
    "row", "pk", "contractor_id", "client_id", "site_id", "handed_to", "former_contractors",
    "created_digest", "plate", "document", "snapshot", "snapshot_frozen", "judgement", "said",
    "state", "revision", "created_at", "created_by", "role", "organization_id", "is_staff",
    "is_superuser", "password", "digest_of", "sealed_at", "number", "_state", "__class__",
)  # fmt: skip


def resolved(schema):
    """A schema in place of a reference to it."""
    while "$ref" in schema:
        schema = DOCUMENT["components"]["schemas"][schema["$ref"].rpartition("/")[2]]
    return schema


def fields(schema):
    """Names of an object's fields, wherever they are declared."""
    schema = resolved(schema)
    parts = [*schema.get("allOf", ()), *schema.get("anyOf", ()), *schema.get("oneOf", ())]
    return set(schema.get("properties", ())).union(*(fields(part) for part in parts))


@cache
def operations():
    """Every operation that takes a document: method, path, and fields that it must refuse."""
    found = []
    for path, methods in DOCUMENT["paths"].items():
        for method in {"post", "patch"} & set(methods):
            operation = methods[method]
            content = operation.get("requestBody", {}).get("content", {})
            media = PATCH if method == "patch" else JSON
            if media in content:
                taken = fields(content[media]["schema"])
                answers = [operation["responses"].get(status, {}) for status in ("200", "201")]
                told = [
                    a["content"][JSON]["schema"] for a in answers if JSON in a.get("content", {})
                ]
                answered = set().union(*(fields(schema) for schema in told))
                refused = (answered | set(HIDDEN)) - taken
                found.append((method.upper(), path.partition("/api/v1")[2], sorted(refused)))
    return sorted(found)


# Without rows nothing else of a trace is looked at.
ROWS = {"time": {"unit": "s", "values": [0, 1]}, "feedback": {"unit": "psi", "values": [60, 61]}}
NEEDED_FIRST = {"/events/{id}/traces": {"columns": ROWS}}
NAMES = [f"{method} {path}" for method, path, _ in operations()]
# What an address names, by how the table of routes calls it.
FIRST = {
    "organizations": "client", "events": "draft", "members": "member",
    "interval-proposals": "performed_task",
}  # fmt: skip


def address(path, side):
    """An operation's address with ids of what is the caller's."""
    first = path.split("/")[1]
    known = places(side).ids
    return path.format(**(known | {"id": known.get(FIRST.get(first, first), "")}))


@pytest.fixture
def side(stage, signing_key, cleared_afterwards):
    made = worlds.of(stage).own
    for content in (worlds.NOTE, worlds.ROWS):
        files.store(content)
    return made


@pytest.mark.parametrize(("method", "path", "refused"), operations(), ids=NAMES)
def test_what_is_only_read_is_refused_by_its_name(side, orla, method, path, refused):
    where = address(path, side)
    if method == "PATCH":
        tag = orla.get(where).etag
        answer = orla.patch(where, dict.fromkeys(refused, "1"), tag)
    else:
        answer = orla.post(where, NEEDED_FIRST.get(path, {}) | dict.fromkeys(refused, "1"))
    assert refused
    assert answer.status == 400, answer.content[:500]
    assert {f"/{name}" for name in refused} <= set(answer.pointers)


@pytest.mark.parametrize(
    ("kind", "name"), [("sites", "contractor"), ("instruments", "organization")]
)
def test_whose_it_is_may_only_be_said_as_it_is(side, orla, cast, kind, name):
    document = {
        "sites": plates.site() | {"client": side.client, "code": "N-1"},
        "instruments": plates.instruments()[0] | {"serial": "N-1"},
    }[kind]
    document.pop("id", None)
    answer = orla.post(f"/{kind}", document | {name: str(cast.other_contractor)})
    assert (answer.status, answer.pointers) == (400, [f"/{name}"])
    assert orla.post(f"/{kind}", document | {name: side.contractor}).status == 201


@pytest.mark.parametrize("kind", ["sites", "pumps", "pump-sets"])
def test_nothing_moves_to_another_station_or_party(side, orla, cast, kind):
    where = f"/{kind}/{places(side).ids[kind]}"
    read = orla.get(where)
    others = {"sites": {"client": str(cast.other_client), "contractor": str(cast.other_contractor)}}
    moved = others.get(kind, {"site": side.draft})
    answer = orla.patch(where, moved, read.etag)
    assert (answer.status, set(answer.pointers)) == (400, {f"/{name}" for name in moved})
    assert orla.get(where).json == read.json
