"""The OpenAPI document: stable, and true of what the service answers.

Renew the snapshot: .venv/bin/python -m tests.records.api.test_openapi
"""

import json
import re
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

SNAPSHOT = Path(__file__).parents[2] / "snapshots" / "openapi.json"


_KEPT = {}


@pytest.fixture
def document(nobody):
    """As the service tells it; describing everything takes a while, so it is asked once."""
    if not _KEPT:
        answer = nobody.get("/schema")
        assert answer.status == 200
        _KEPT.update(answer.json)
    return _KEPT


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


def operations(document):
    return {
        operation["operationId"]: operation
        for path in document["paths"].values()
        for operation in path.values()
    }


def test_every_operation_says_in_one_line_what_it_is_for(document):
    said = {name: each["summary"] for name, each in operations(document).items()}
    assert [name for name, words in said.items() if not words or "\n" in words] == []
    assert said["list_pump_sets"] == "List pump sets"


def test_limits_and_forms_have_the_names_that_json_schema_gives_them(document):
    text = json.dumps(document)
    assert not re.findall(r'"(?:ge|le|gt|lt)":', text)
    schemas = document["components"]["schemas"]
    [poles, _] = schemas["Motor"]["properties"]["poles"]["anyOf"]
    assert (poles["minimum"], poles["maximum"]) == (2, 24)
    assert schemas["NewPump"]["properties"]["site"]["format"] == "uuid"
    [day, _] = schemas["Pump"]["properties"]["in_service_from"]["anyOf"]
    assert day["format"] == "date"
    for name, path in document["paths"].items():
        for operation in path.values():
            for each in operation.get("parameters", ()):
                if each["name"] == "id" and each["in"] == "path" and "/rules/" not in name:
                    assert each["schema"]["format"] == "uuid", name


def test_a_pump_set_of_the_register_names_its_pieces_by_id(document):
    schemas = document["components"]["schemas"]
    pieces = ("pump", "motor", "drive", "regulating_sensor", "suction_sensor", "flow_meter",
              "level_sensor", "discharge_switch")  # fmt: skip
    for name in ("NewPumpSet", "RegisteredPumpSet"):
        said = {piece: schemas[name]["properties"][piece] for piece in pieces}
        assert {str(each).count("'uuid'") for each in said.values()} == {1}, name
    assert schemas["NewPumpSet"]["properties"]["pump"]["type"] == "string"
    judged = schemas["PumpSet"]["properties"]["pump"]  # of /evaluations: tags do as well
    assert "uuid" not in str(judged)
    assert "a tag" in str(judged)


def test_an_event_says_what_its_references_are(document):
    schemas = document["components"]["schemas"]
    for model, field, other in (
        ("Event", "sensors", "by tag"),
        ("Event", "instruments", "by serial number"),
        ("DutyPoint", "instruments", "by serial number"),
        ("SensorVerification", "sensor", "by tag"),
        ("SensorVerification", "instrument", "by serial number"),
        ("VesselCheck", "vessel", "by tag"),
    ):
        about = schemas[model]["properties"][field]["description"]
        assert "by id or" in about.lower(), (model, field)
        assert about.rstrip(".").endswith(other), (model, field)


def test_what_cannot_be_left_out_is_never_null(document):
    schemas = document["components"]["schemas"]
    added = {name: schema for name, schema in schemas.items() if name.startswith("New")}
    assert len(added) == 9  # eight kinds of the register, and events
    for name, schema in added.items():
        for field in schema["required"]:
            assert {"type": "null"} not in schema["properties"][field].get("anyOf", []), name


def test_a_page_and_its_limit_are_described_where_there_are_pages(document):
    for name, operation in operations(document).items():
        known = {each["name"] for each in operation.get("parameters", ())}
        assert ("cursor" in known) == ("limit" in known) == ("Link" in headers(operation, "200"))
        if name in ("list_sites", "list_events", "list_records", "list_rule_settings"):
            assert "cursor" in known


def headers(operation, status):
    return set(operation["responses"].get(status, {}).get("headers", ()))


TOLD = ("ETag", "Location", "Link", "Retry-After", "WWW-Authenticate")


def test_headers_are_those_that_are_sent(document, teo, orla, cleo, nobody, station, cast):
    """Each as described, neither more nor less."""
    from tests.records import visits

    event = teo.post("/events", visits.wrong_frequency(station))
    at = f"/events/{event.json['id']}"
    record = visits.sealed(teo, orla, station)
    tighter = visits.limit(cast.client, "trace.overshoot", "share", "20", "%")
    pump = orla.get(f"/pumps/{station.ids['P-101']}")
    answers = [
        ("post_event", event),
        ("read_event", teo.get(at)),
        ("change_event", teo.patch(at, {"remarks": "more"}, event.etag)),
        ("change_event", teo.patch(at, {"remarks": "less"}, event.etag)),
        ("read_pumps", pump),
        ("change_pumps", orla.patch(f"/pumps/{station.ids['P-101']}", {}, '"7"')),
        ("list_pumps", orla.get("/pumps")),
        ("list_rules", teo.get("/rules")),
        ("list_keys", cleo.get("/keys")),
        ("list_units", cleo.get("/units")),
        ("read_visit_sheet", teo.get(f"/pump-sets/{station.pump_set}/visit-sheet.pdf")),
        ("add_organizations", orla.post("/organizations", {"name": "Marrow Fen Board"})),
        ("read_organizations", orla.get(f"/organizations/{cast.client}")),
        ("read_record", cleo.get(f"/records/{record['id']}")),
        ("read_record_data", cleo.get(f"/records/{record['id']}/data.json")),
        ("read_record_pdf", cleo.get(f"/records/{record['id']}/document.pdf")),
        ("set_rule_limit", orla.post("/rule-settings", tighter)),
        ("withdraw_event", teo.post(f"{at}/withdrawal", {"reason": "A test."})),
        ("read_me", nobody.get("/me")),
    ]
    for name, answer in answers:
        described = headers(operations(document)[name], str(answer.status)) - {"Link"}
        sent = {each for each in TOLD if each in answer.headers} - {"Link"}
        assert sent == described, (name, answer.status)


def test_the_versions_agree(document):
    import tomllib

    project = tomllib.loads((SNAPSHOT.parents[2] / "pyproject.toml").read_text(encoding="utf-8"))
    assert document["info"]["version"] == project["project"]["version"]


def faults(document, path, method, answer):
    """In what an answer differs from what the document says of this operation and status."""
    response = document["paths"][f"/api/v1{path}"][method]["responses"][str(answer.status)]
    schema = response["content"]["application/json"]["schema"]
    whole = {**schema, "components": document["components"]}
    errors = Draft202012Validator(whole).iter_errors(answer.json)
    return [f"{list(e.path)}: {e.message[:200]}" for e in errors]


@pytest.mark.parametrize(
    "path",
    [
        "/organizations", "/sites", "/pumps", "/motors", "/drives", "/sensors", "/vessels",
        "/pump-sets", "/instruments", "/events", "/records", "/keys", "/rules", "/units", "/me",
        "/tokens", "/members", "/rule-settings", "/verification-tasks", "/due-items",
        "/due-items/counts", "/interval-settings", "/interval-proposals",
    ],
)  # fmt: skip
def test_answers_are_as_described(document, orla, station, path):
    answer = orla.get(path)
    assert answer.status == 200
    assert faults(document, path, "get", answer) == []


def test_the_main_path_is_as_described(document, teo, orla, station):
    from tests.records import visits

    event = teo.post("/events", visits.wrong_frequency(station))
    at = f"/events/{event.json['id']}"
    record = visits.sealed(teo, orla, station)
    sealed = f"/records/{record['id']}"
    plate = {"motor": {"kind": "induction", "ratings": [{}]}}
    answers = [
        ("/events", "post", event),
        ("/events/{id}", "get", teo.get(at)),
        ("/events/{id}/findings", "get", teo.get(f"{at}/findings")),
        ("/events/{id}/signatures", "get", teo.get(f"{at}/signatures")),
        ("/records/{id}", "get", orla.get(sealed)),
        ("/records/{id}/data.json", "get", orla.get(f"{sealed}/data.json")),
        ("/evaluations", "post", teo.post("/evaluations", plate)),
    ]
    assert [answer.status for *_, answer in answers] == [201, 200, 200, 200, 200, 200, 200]
    for path, method, answer in answers:
        assert faults(document, path, method, answer) == [], path


def test_limits_and_visit_packs_are_as_described(document, teo, orla, station, cast):
    from tests.records import visits

    given = visits.limit(cast.client, "motor.slip", "large", "12", "%", reason="soft motors")
    setting = orla.post("/rule-settings", given)
    pack = f"/sites/{station.site}/visit-pack"
    answers = [
        ("/rule-settings", "post", setting),
        ("/rule-settings", "get", orla.get("/rule-settings")),
        ("/rule-settings/{id}", "get", orla.get(f"/rule-settings/{setting.json['id']}")),
        ("/rules", "get", orla.get(f"/rules?client={cast.client}")),
        ("/sites/{id}/visit-pack", "get", teo.get(pack)),
        ("/events", "post", teo.post("/events", station.event())),
        ("/sites/{id}/visit-pack", "get", teo.get(pack)),  # after the first visit
    ]
    assert [answer.status for *_, answer in answers] == [201, 200, 200, 200, 200, 201, 200]
    for path, method, answer in answers:
        assert faults(document, path, method, answer) == [], path


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
