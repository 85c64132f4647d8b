"""The OpenAPI document: stable, and true of what the service answers.

Renew the snapshot: .venv/bin/python -m tests.records.api.test_openapi
"""

import json
import re
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

SNAPSHOT = Path(__file__).parents[2] / "snapshots" / "openapi.json"


@pytest.fixture
def document(nobody):
    answer = nobody.get("/schema")
    assert answer.status == 200
    return answer.json


def test_it_is_what_it_was(document):
    assert document == json.loads(SNAPSHOT.read_text(encoding="utf-8"))


def test_it_is_openapi_3_1_and_every_reference_leads_somewhere(document):
    assert document["openapi"] == "3.1.1"
    names = set(re.findall(r'"#/components/schemas/([^"]+)"', json.dumps(document)))
    assert names <= set(document["components"]["schemas"])
    for schema in document["components"]["schemas"].values():
        Draft202012Validator.check_schema(schema)


def test_every_operation_says_what_its_problems_look_like(document):
    for path, operations in document["paths"].items():
        for method, operation in operations.items():
            assert operation["operationId"], (method, path)
            content = operation["responses"]["401"]["content"]
            assert list(content) == ["application/problem+json"], (method, path)


def told(document, path, method, status, answer):
    """The answer is what the document says of this operation."""
    assert answer.status == status
    response = document["paths"][f"/api/v1{path}"][method]["responses"][str(status)]
    schema = response["content"]["application/json"]["schema"]
    whole = {**schema, "components": document["components"]}
    errors = list(Draft202012Validator(whole).iter_errors(answer.json))
    assert not errors, [f"{list(e.path)}: {e.message[:200]}" for e in errors[:5]]


@pytest.mark.parametrize(
    "path",
    [
        "/organizations", "/sites", "/pumps", "/motors", "/drives", "/sensors", "/vessels",
        "/pump-sets", "/instruments", "/events", "/records", "/keys", "/rules", "/units", "/me",
        "/tokens", "/rule-settings",
    ],
)  # fmt: skip
def test_answers_are_as_described(document, orla, station, path):
    told(document, path, "get", 200, orla.get(path))


def test_the_main_path_is_as_described(document, teo, orla, station):
    from tests.records import visits

    event = teo.post("/events", visits.wrong_frequency(station))
    told(document, "/events", "post", 201, event)
    at = f"/events/{event.json['id']}"
    told(document, "/events/{id}", "get", 200, teo.get(at))
    told(document, "/events/{id}/findings", "get", 200, teo.get(f"{at}/findings"))
    told(document, "/events/{id}/signatures", "get", 200, teo.get(f"{at}/signatures"))
    record = visits.sealed(teo, orla, station)
    told(document, "/records/{id}", "get", 200, orla.get(f"/records/{record['id']}"))
    plate = {"motor": {"kind": "induction", "ratings": [{}]}}
    told(document, "/evaluations", "post", 200, teo.post("/evaluations", plate))


def test_limits_and_visit_packs_are_as_described(document, teo, orla, station, cast):
    from tests.records import visits

    given = visits.limit(cast.client, "motor.slip", "large", "12", "%", reason="soft motors")
    setting = orla.post("/rule-settings", given)
    told(document, "/rule-settings", "post", 201, setting)
    told(document, "/rule-settings", "get", 200, orla.get("/rule-settings"))
    at = f"/rule-settings/{setting.json['id']}"
    told(document, "/rule-settings/{id}", "get", 200, orla.get(at))
    told(document, "/rules", "get", 200, orla.get(f"/rules?client={cast.client}"))
    for _ in range(2):  # before the first visit, and after it
        pack = teo.get(f"/sites/{station.site}/visit-pack")
        told(document, "/sites/{id}/visit-pack", "get", 200, pack)
        told(document, "/events", "post", 201, teo.post("/events", station.event()))


def test_the_page_to_read_it_on_asks_nobody_else(nobody):
    page = nobody.get("/docs")
    assert page.status == 200
    text = page.content.decode()
    assert not re.findall(r"(?:https?:)?//[a-z]", text)
    assert "<script>" not in text
    assert "<style" not in text
    assert "'unsafe" not in page.headers["Content-Security-Policy"]


def _renew() -> None:
    import os

    import django

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    django.setup()
    from drf_spectacular.generators import SchemaGenerator

    document = SchemaGenerator().get_schema(request=None, public=True)
    text = json.dumps(document, indent=1, sort_keys=True, ensure_ascii=False, default=str)
    SNAPSHOT.write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    _renew()
