"""Parts of a subject that have shorter names, and members of its lists by theirs."""

from collections.abc import Callable, Iterable, Mapping
from functools import cache
from typing import Any

from calculations.inputs.motor import Rating
from calculations.inputs.sensor import Sensor
from calculations.inputs.settings import Settings
from calculations.inputs.subject import Subject

Named = dict[str | None, tuple[str, Any]]
"""Members of a list with their places, by every name; by None where there is only one."""


def roots(subject: Subject, sensors: Named) -> dict[str, tuple[str, Any]]:
    """The full place of each shorter name, and what stands there; None where that is not known."""
    settings = _settings(subject)
    rating = _rating(subject)
    roles = {role: _sensor_of(subject, sensors, role, fits) for role, fits in ROLES.items()}
    by_level = settings[1] is not None and settings[1].reads_level
    if by_level and roles["regulating_sensor"][1] is None and roles["level_sensor"][1] is not None:
        roles["regulating_sensor"] = roles["level_sensor"]
    return {"settings": settings, "rating": rating, **roles}


def _settings(subject: Subject) -> tuple[str, Settings | None]:
    pair = subject.event.settings if subject.event else None
    if pair and pair.as_left is None and pair.as_found is not None:
        return "/event/settings/as_found", pair.as_found
    return "/event/settings/as_left", pair.as_left if pair else None


def _rating(subject: Subject) -> tuple[str, Rating | None]:
    motor = subject.motor
    ratings = motor.ratings if motor and motor.ratings else []
    index = motor.rating_in_use if motor else None
    if index is None and len(ratings) == 1:
        index = 0
    if index is None or (ratings and index >= len(ratings)):
        return ("/motor/rating_in_use" if ratings else "/motor/ratings/0"), None
    return f"/motor/ratings/{index}", ratings[index] if ratings else None


def _sensor_of(
    subject: Subject, known: Named, role: str, fits: Callable[[Subject, Sensor], bool]
) -> tuple[str, Sensor | None]:
    """The sensor that the pump set names for a role; else the only one that fits it."""
    sensors = subject.sensors or []
    named = getattr(subject.pump_set, role) if subject.pump_set else None
    if named is not None:
        return known.get(named) or (f"/pump_set/{role}", None)
    fitting = [(f"/sensors/{i}", s) for i, s in enumerate(sensors) if fits(subject, s)]
    # One of which nothing is known may be meant as well.
    unknown = [s for s in sensors if s.quantity in (None, "unknown") and not fits(subject, s)]
    certain = len(fitting) == 1 and not unknown
    return fitting[0] if certain else (f"/pump_set/{role}", None)


_QUANTITY_OF = {
    "discharge_pressure": "pressure",
    "suction_pressure": "pressure",
    "differential_pressure": "differential_pressure",
    "flow": "flow",
    "level_filling": "level",
    "level_emptying": "level",
    "temperature": "temperature",
}


def _regulates(subject: Subject, sensor: Sensor) -> bool:
    _, settings = _settings(subject)
    regulated = settings.regulated_quantity if settings else None
    if regulated is None or regulated == "unknown":
        return len(subject.sensors or []) == 1
    if sensor.quantity != _QUANTITY_OF[regulated]:
        return False
    if regulated == "discharge_pressure":
        suction = subject.pump_set.suction_sensor if subject.pump_set else None
        named = suction is not None and suction in (sensor.id, sensor.tag, sensor.serial)
        return sensor.location != "suction" and not named
    return regulated != "suction_pressure" or sensor.location == "suction"


ROLES: Mapping[str, Callable[[Subject, Sensor], bool]] = {
    "regulating_sensor": _regulates,
    "suction_sensor": lambda _, sensor: sensor.location == "suction",
    "flow_meter": lambda _, sensor: sensor.quantity == "flow",
    "level_sensor": lambda _, sensor: sensor.quantity == "level",
}
"""What a pump set names a sensor for, and whether one that it does not name fits."""


def by_name(listed: Iterable[Any], at: str, *also: str) -> Named:
    """Members with their places by every name they have; by None where there is only one."""
    members = [(f"{at}/{index}", member) for index, member in enumerate(listed)]
    named: Named = {None: members[0]} if len(members) == 1 else {}
    for place, member in members:
        for name in (member.id, member.serial, *[getattr(member, field) for field in also]):
            if name is not None:
                named.setdefault(name, (place, member))
    return named


@cache
def shortened(pointer: str) -> tuple[str, str] | None:
    """The shorter name that a place begins with, and what follows it; None if it has none."""
    first, slash, rest = pointer[1:].partition("/")
    return (first, slash + rest) if first in ("settings", "rating", *ROLES) else None
