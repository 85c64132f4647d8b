"""The event that is posted, and the same event cut into the rows of a relational build."""

from collections.abc import Iterator
from typing import Any

from tests.calculations.building import booster, changed
from tests.calculations.building_plates import q

Document = dict[str, Any]
Rows = list[Document]

# A tired technician's: no slip left in the speed, overload above the plate, another span.
SLIPS = {
    "/settings/as_left/motor_speed": q("1800", "rpm"),
    "/settings/as_left/overload_current": q("75", "A"),
    "/settings/as_left/feedback_at_upper_signal": q("150", "psi"),
}
MEASURED = ("supply", "motor_tests", "earth_tests", "vessel_checks", "identification_run")
READ_AT_A_POINT = (
    "frequency", "speed", "flow", "suction_pressure", "discharge_pressure",
    "suction_gauge_elevation", "discharge_gauge_elevation", "steady_for",
    "power_drive_output", "power_drive_input",
)  # fmt: skip


def slipped(event: Document) -> Document:
    """An event with the slips in it: findings are made and kept."""
    return changed(event, SLIPS)


def start_up() -> Document:
    """A complete start-up of the booster station, with the slips in it."""
    return slipped(booster()["event"])


def quantities(document: Any) -> int:
    """How many values with a unit a document holds."""
    if isinstance(document, list):
        return sum(map(quantities, document))
    if not isinstance(document, dict):
        return 0
    return 1 if _is_quantity(document) else sum(map(quantities, document.values()))


def relational(event: Document) -> dict[str, Rows]:
    """The event as a relational build would keep it: rows of each part by its name."""
    return {
        "settings": list(_values("", event["settings"]["as_left"])),
        "measurements": [
            row for part in MEASURED for row in _values(f"{part}.", event.get(part, {}))
        ],
        "duty_points": [_duty_point(point) for point in event["duty_points"]],
        "sensor_checks": [
            _sensor_check(verification, point)
            for verification in event["sensor_verifications"]
            for point in verification["as_found"]
        ],
        "checks": [
            *map(_looked_at, event["mechanical_checks"]),
            *map(_provoked, event["protection_tests"]),
        ],
    }


def head(event: Document) -> Document:
    """What stands in the row of the event itself."""
    return {
        "kind": event["kind"],
        "performed_at": event["performed_at"],
        "performed_by": event["parties"]["performed_by"],
        "permit_reference": event["permit_reference"],
        "weather": event["weather"],
        "ambient_temperature": event["ambient_temperature"]["value"],
        "liquid_temperature": event["liquid_temperature"]["value"],
    }


def _is_quantity(value: Document) -> bool:
    return set(value) == {"value", "unit"}


def _values(name: str, value: Any) -> Iterator[Document]:
    """One row for every value inside, named by its place."""
    if isinstance(value, dict) and not _is_quantity(value):
        for step, inside in value.items():
            yield from _values(f"{name}{step}.", inside)
    elif isinstance(value, list):
        for number, inside in enumerate(value, 1):
            yield from _values(f"{name}{number}.", inside)
    else:
        given = value if isinstance(value, dict) else {"value": str(value), "unit": ""}
        yield {"name": name.rstrip("."), **given}


def _duty_point(point: Document) -> Document:
    row = {"purpose": point["purpose"], "flow_method": point["flow_method"]}
    row |= {name: point[name]["value"] for name in READ_AT_A_POINT}
    for name in ("voltage", "current"):
        for phase, value in enumerate(point[f"{name}s_drive_output"], 1):
            row[f"{name}_{phase}"] = value["value"]
    return row


def _sensor_check(verification: Document, point: Document) -> Document:
    numbers = {name: point[name]["value"] for name in ("applied", "signal", "indicated")}
    names = {name: verification[name] for name in ("sensor", "instrument", "adjusted")}
    return {**names, "direction": point["direction"], **numbers}


def _looked_at(check: Document) -> Document:
    return {"item": check["item"], "expected": "", "observed": "", "result": check["result"]}


def _provoked(test: Document) -> Document:
    result = "ok" if test["passed"] else "not_ok"
    told = {name: test[name] for name in ("expected", "observed")}
    return {"item": test["function"], **told, "result": result}
