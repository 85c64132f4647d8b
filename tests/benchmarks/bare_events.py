"""The events that plain rules are held to, as flat mappings: what is known, by its place."""

from types import SimpleNamespace
from typing import Any

from pydantic import BaseModel

from calculations.findings import Shown
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.units import Quantity
from tests.calculations.building import booster, changed
from tests.calculations.building_event import three
from tests.calculations.building_plates import q

LEFT, RATING, POINTS = "/event/settings/as_left", "/motor/ratings/1", "/event/duty_points"
VERIFIED, TESTED = "/event/sensor_verifications", "/event/motor_tests"
WINDING = f"{TESTED}/winding_resistance/values"

VERIFICATION, DUTY = f"{VERIFIED}/0/as_found", f"{POINTS}/0"
EVENTS: dict[str, dict[str, Any]] = {
    "complete": {},
    "mistakes": {
        "/drive/motor_cable_length": q("400", "ft"),
        "/drive/ambient_at_drive": q("140", "degF"),
        "/drive/output_capacitors": True,
        f"{LEFT}/derivative_time": q("2", "s"),
        f"{LEFT}/dry_run_delay": q("90", "s"),
        f"{LEFT}/minimum_frequency": q("60", "Hz"),
        f"{TESTED}/insulation/test_voltage": q("2500", "V"),
        f"{DUTY}/currents_drive_output": three("85.0", "A"),
        f"{DUTY}/vibration": [{"location": "pump", "velocity_rms": q("12", "mm/s")}],
        "/pump/out_of_service_on": "2026-01-01",
        "/event/rotation/drive_direction": "reversed",
        "/event/supply/line_voltages": [q("481", "V"), q("479", "V")],
        f"{WINDING}/0": q("0.1224", "ohm"),
        f"{VERIFICATION}/2/signal": q("3.50", "mA"),
        f"{VERIFICATION}/7/signal": q("3.50", "mA"),
    },
    "blanks": {
        "/drive/maximum_motor_cable_length": None,
        "/drive/ambient_at_drive": None,
        "/drive/output_filter_fitted": None,
        f"{RATING}/current": None,
        f"{LEFT}/set_point": None,
        f"{LEFT}/minimum_frequency": None,
        f"{TESTED}/insulation/test_voltage": None,
        WINDING: None,
        "/sensors/0/tolerance_percent_of_span": None,
        "/event/rotation/drive_direction": None,
    },
}
"""What is changed of the booster's start-up. It has no slip in the scaling of the feedback, as the
event of the other measurement does: three of these rules would only wait for it."""


def event(name: str) -> Subject:
    """One of `EVENTS`."""
    return read(Subject, changed(booster(), EVENTS[name]))


def flat(subject: Subject) -> SimpleNamespace:
    """Everything that is known, by place: floats in SI, half a last digit, digits, kinds."""
    known = SimpleNamespace(at={}, half={}, text={}, kind={})
    _enter(known, "", subject)
    return known


def _enter(known: SimpleNamespace, place: str, held: Any) -> None:
    if isinstance(held, Quantity):
        known.at[place], known.half[place] = held.si, held.resolution
        known.text[place], known.kind[place] = Shown(held.value, held.unit), held.kind
    elif isinstance(held, list):
        alike = all(isinstance(each, Quantity) for each in held)
        known.at[place] = tuple(each.si for each in held) if alike else len(held)
        for index, each in enumerate(held):
            _enter(known, f"{place}/{index}", each)
    elif isinstance(held, BaseModel):
        known.at[place] = True
        for name, each in vars(held).items():
            _enter(known, f"{place}/{name}", each)
    elif held is not None and held != "unknown":
        known.at[place] = held
