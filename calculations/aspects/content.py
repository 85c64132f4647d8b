"""What a visit has to bring home: fields marked as needed, and under which conditions."""

from collections.abc import Callable, Iterator, Mapping
from functools import cache
from typing import Any

from pydantic import BaseModel

from calculations.aspects import liquid, loop, pumping
from calculations.case import Case
from calculations.inputs.base import Needed
from calculations.inputs.sensor import Sensor
from calculations.inputs.settings import Settings
from calculations.rules import motor_power

LARGE_MOTOR = 75e3  # W; from here on bearing currents are looked after

Condition = Callable[[Case, Any], bool]


def _closed(case: Case, part: Any) -> bool:
    return loop.is_known_closed(case)


def _pressure_loop(case: Case, part: Any) -> bool:
    return loop.is_known_closed(case) and case.is_("/settings/regulated_quantity", *loop.PRESSURES)


def _level(case: Case, part: Any) -> bool:
    """Of a sensor that measures level, or of settings that keep one."""
    quantity = _measured(part)
    if quantity is not None:
        return quantity == "level"
    return case.is_("/settings/regulated_quantity", *loop.LEVELS)


def _pressure(case: Case, part: Any) -> bool:
    """Of one pressure: a difference of two has no height of its own."""
    return _measured(part) == "pressure"


def _measured(part: Any) -> str | None:
    """What a sensor measures; None of any other part."""
    return part.quantity if isinstance(part, Sensor) else None


def _large(case: Case, part: Any) -> bool:
    """On a drive and dry, by a plate that does not contradict itself."""
    power = case.find("/rating/power")
    if power is None or power.si < LARGE_MOTOR or case.fixed_speed or _immersed(case):
        return False
    return not motor_power.is_contradicted(case)


def _immersed(case: Case) -> bool:
    return case.find("/motor/immersed") is True


CONDITIONS: Mapping[str, Condition] = {
    "closed loop": _closed,
    "closed loop on pressure": _pressure_loop,
    "external controller": lambda case, part: case.is_(
        "/settings/regulation", "speed_from_external_controller"
    ),
    "level": _level,
    "pressure": _pressure,
    "not an induction motor": lambda case, part: (
        case.find("/motor/kind") is not None
        and not case.is_("/motor/kind", "induction", "wound_rotor")
    ),
    "75 kW and more": _large,
    "immersed in sewage": lambda case, part: (
        _immersed(case) and case.is_("/site/liquid_kind", "sewage", "sludge")
    ),
    "immersed in a well": lambda case, part: (
        _immersed(case) and case.is_("/site/suction_kind", "well")
    ),
    "immersed without a jacket": lambda case, part: (
        _immersed(case)
        and case.is_("/site/suction_kind", "wet_well")
        and not case.is_("/motor/cooling", "jacket")
    ),
    "centrifugal": lambda case, part: pumping.is_centrifugal(case),
    "belt or gear": lambda case, part: case.is_("/pump_set/transmission", "belt", "gear"),
    "a bypass is fitted": lambda case, part: case.is_("/pump_set/bypass", "manual", "automatic"),
    "an output switch is fitted": lambda case, part: case.find("/drive/output_switch") is True,
    "electrical practice us_nec": lambda case, part: case.is_(
        "/site/electrical_practice", "us_nec"
    ),
    "supply is not solidly earthed star": lambda case, part: (
        case.find("/site/supply_earthing") is not None
        and not case.is_("/site/supply_earthing", "solid_star")
    ),
    "a pipeline is recorded": lambda case, part: case.find("/site/pipeline") is not None,
    "lift station": lambda case, part: case.is_("/site/kind", "lift_station"),
    "the liquid is not water": lambda case, part: not liquid.is_water(case),
    "not immersed in a well": lambda case, part: (
        not (_immersed(case) and case.is_("/site/suction_kind", "well"))
    ),
    "submersible well pump": lambda case, part: case.is_("/pump/type", "submersible_well"),
}
"""Every condition that a field of `calculations.inputs` names, as a question to the case."""


def needed(case: Case, part: BaseModel) -> Iterator[str]:
    """Names of the fields that a start-up needs of this part."""
    for name, conditions in marked(type(part)):
        if _is_needed(case, part, conditions):
            yield name


@cache
def marked(model: type[BaseModel]) -> tuple[tuple[str, tuple[str, ...]], ...]:
    """Fields that a start-up may need, with their conditions; an empty one always holds."""
    found = []
    for name, field in model.model_fields.items():
        marks = (mark for mark in field.metadata if isinstance(mark, Needed))
        conditions = tuple(mark.condition for mark in marks if mark.by == "start_up")
        if conditions:
            found.append((name, conditions))
    return tuple(found)


def _is_needed(case: Case, part: BaseModel, conditions: tuple[str, ...]) -> bool:
    for words in conditions:
        condition = CONDITIONS.get(words)
        if not words or (condition is not None and condition(case, part)):
            return True
    return False


def lacking(case: Case, part: BaseModel) -> tuple[str, ...]:
    """Those of them that nothing is said of; an empty text or list says nothing.

    `unknown` is an answer where a plate is silent, and none where it can be read: of settings.
    """
    says_nothing = (*EMPTY, "unknown") if isinstance(part, Settings) else EMPTY
    told = vars(part)
    missing = [
        name
        for name, conditions in marked(type(part))
        if (value := told[name]) is None
        or (isinstance(value, MAY_BE_EMPTY) and value in says_nothing)
        if _is_needed(case, part, conditions)
    ]
    return tuple(missing)


EMPTY: tuple[Any, ...] = ("", [])
MAY_BE_EMPTY = (str, list)
