"""What a setting is held against: the plate, the transmitter, or a value that follows."""

from collections.abc import Mapping
from typing import Any

from records.documents.contents.installed import rating_in_use
from records.documents.contents.source import Document, Source, called

_FROM_RATING = {
    "motor_power": "power",
    "motor_voltage": "voltage",
    "motor_frequency": "frequency",
    "motor_current": "current",
    "motor_speed": "speed",
    "motor_power_factor": "power_factor",
    "motor_connection": "connection",
    "overload_current": "current",
}
_FROM_MOTOR = {"motor_kind": "kind", "motor_poles": "poles"}
_FROM_SENSOR = {
    "feedback_signal": ("output", "output of"),
    "feedback_at_lower_signal": ("lower_range_value", "range of"),
    "feedback_at_upper_signal": ("upper_range_value", "range of"),
}
# Of several floors the highest counts, of several ceilings the lowest: all are in hertz.
_FLOORS_AND_CEILINGS = {"minimum_frequency": max, "maximum_frequency": min}
_FROM_DERIVED = {
    "minimum_frequency": (
        ("speed.lowest-sensible-minimum", "at least, to make sense"),
        ("speed.at-minimum-continuous-flow", "at minimum flow"),
        ("speed.zero-flow-at-lowest-suction", "no flow below"),
    ),
    "maximum_frequency": (
        ("speed.highest-permitted", "at most, permitted"),
        ("speed.highest-for-motor-power", "at most, motor carries"),
    ),
    "sleep_frequency": (("sleep.sensible-frequency", "proposed"),),
    "overload_current": (("drive.overload-setting", "by the plate"),),
    "ramp_down_time": (("surge.shortest-ramp", "at least, for surge"),),
    "set_point": (("sensor.signal-at-set-point", "signal there"),),
    "feedback_at_lower_signal": (("sensor.scaling-at-lower-signal", "range, with height"),),
    "feedback_at_upper_signal": (("sensor.scaling", "range, with height"),),
}

Expected = tuple[Any, str]


def expected(source: Source) -> dict[str, Expected]:
    """Value and origin to hold a setting against, by the setting's name."""
    snapshot = source.snapshot
    motor, drive = snapshot.see("motor") or {}, snapshot.see("drive") or {}
    found = _from(rating_in_use(motor), _FROM_RATING, "plate")
    found |= _from(motor, _FROM_MOTOR, "plate")
    found |= _from_sensor(source)
    found |= _from(drive, {"output_filter": "output_filter_fitted"}, "fitted")
    return found | _from_derived(source)


def _from(plate: Document, names: Mapping[str, str], origin: str) -> dict[str, Expected]:
    return {
        setting: (plate[name], origin)
        for setting, name in names.items()
        if plate.get(name) is not None
    }


def _from_sensor(source: Source) -> dict[str, Expected]:
    sensor = regulating_sensor(source.snapshot.value)
    if sensor is None:
        return {}
    return {
        setting: (sensor[name], f"{origin} {called(sensor)}")
        for setting, (name, origin) in _FROM_SENSOR.items()
        if sensor.get(name) is not None
    }


def regulating_sensor(snapshot: Document) -> Document | None:
    """The sensor that the pump set names for its regulation."""
    return sensor_named(snapshot, (snapshot.get("pump_set") or {}).get("regulating_sensor"))


def sensor_named(snapshot: Document, reference: Any) -> Document | None:
    """The sensor of this id, tag or serial number."""
    for sensor in snapshot.get("sensors") or ():
        if reference is not None and reference in (
            sensor.get("id"), sensor.get("tag"), sensor.get("serial")
        ):  # fmt: skip
            return sensor  # type: ignore[no-any-return]
    return None


def _from_derived(source: Source) -> dict[str, Expected]:
    found: dict[str, Expected] = {}
    for setting, candidates in _FROM_DERIVED.items():
        known = [
            (derived, origin)
            for identity, origin in candidates
            if (derived := source.derived_value(identity)) and not _asks_nothing(derived)
        ]
        if not known:
            continue
        most = _FLOORS_AND_CEILINGS.get(setting)
        derived, origin = most(known, key=_number) if most else known[0]
        found[setting] = ({"value": derived["value"], "unit": derived["unit"]}, origin)
    return _without_sleep_below_minimum(found)


def _asks_nothing(derived: Document) -> bool:
    """Whether it is the shortest ramp of a main that bears any: 0 s are nothing to set."""
    return derived["id"] == "surge.shortest-ramp" and float(derived["value"]) == 0


def _without_sleep_below_minimum(found: dict[str, Expected]) -> dict[str, Expected]:
    """Both are set together: a drive never slows down to a sleep frequency below its minimum."""
    lowest, sleep = (found.get(name) for name in ("minimum_frequency", "sleep_frequency"))
    if lowest and sleep and float(sleep[0]["value"]) < float(lowest[0]["value"]):
        return {name: each for name, each in found.items() if name != "sleep_frequency"}
    return found


def _number(known: tuple[Document, str]) -> float:
    return float(known[0]["value"])
