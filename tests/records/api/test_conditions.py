"""What depends on another field: the OpenAPI document says it as the service holds it.

Every combination of the fields is posted; what the described condition lets pass is what the
service does not miss.
"""

import json
from collections.abc import Iterator
from itertools import product
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from tests.calculations.building_plates import drive, q, sensors
from tests.records.api.test_openapi import SNAPSHOT
from tests.records.stations import Station

ABSENT = object()
AMPERES = q("50", "A")
CONDITIONS = ("anyOf", "if", "then", "else", "allOf", "oneOf", "dependentRequired")

# Per description: where it is posted, the values of each field, the place that is missed.
CASES: dict[str, tuple[str, dict[str, list[Any]], str]] = {
    "NewEvent": (
        "/events",
        {"pump_set": [ABSENT, None, "its own"], "sensors": [ABSENT, None, [], ["PT-101"]]},
        "/pump_set",
    ),
    "NewDrive": (
        "/drives",
        {
            "rated_current_normal_duty": [ABSENT, None, AMPERES],
            "rated_current_heavy_duty": [ABSENT, None, AMPERES],
        },
        "/rated_current_normal_duty",
    ),
    "NewSensor": (
        "/sensors",
        {
            "quantity": [
                "pressure", "differential_pressure", "level", "flow", "temperature",
            ],
            "reference": [ABSENT, None, "gauge", "absolute"],
        },
        "/reference",
    ),
}  # fmt: skip


@pytest.fixture(scope="module")
def schemas() -> dict[str, Any]:
    document = json.loads(SNAPSHOT.read_text(encoding="utf-8"))
    described: dict[str, Any] = document["components"]["schemas"]
    return described


def whole(name: str, station: Station) -> dict[str, Any]:
    """A document of its kind that is complete."""
    if name == "NewEvent":
        return station.event()
    plate = drive() if name == "NewDrive" else sensors()[0]
    return plate | {"site": station.site, "tag": "X-9"}


def combinations(name: str, station: Station) -> Iterator[dict[str, Any]]:
    _, fields, _ = CASES[name]
    for values in product(*fields.values()):
        given = whole(name, station)
        for field, value in zip(fields, values, strict=True):
            given.pop(field, None)
            if value is not ABSENT:
                given[field] = station.pump_set if value == "its own" else value
        given.pop("id", None)
        yield given


@pytest.mark.parametrize("name", CASES)
def test_a_described_condition_is_the_one_that_is_held(schemas, orla, station, name):
    described = {key: schemas[name][key] for key in CONDITIONS if key in schemas[name]}
    path, fields, place = CASES[name]
    outcomes = set()
    for number, given in enumerate(combinations(name, station)):
        given |= {"tag": f"X-{number}"} if "tag" in given else {}
        answer = orla.post(path, given)
        errors = answer.json.get("errors", [])
        missed = [each for each in errors if (each["pointer"], each["code"]) == (place, "required")]
        said = {field: given.get(field, "absent") for field in fields}
        assert Draft202012Validator(described).is_valid(given) is not bool(missed), said
        outcomes.add(bool(missed))
    assert outcomes == {True, False}


def test_every_described_condition_is_tried(schemas):
    found = {
        name for name in schemas if name.startswith("New") and set(CONDITIONS) & {*schemas[name]}
    }
    assert found == set(CASES)
