"""Kinds of quantity: what the values of a loop and of a sensor may be written in.

Values of two kinds are never compared: whoever needs one of the wrong kind waits for the rule
that names it, and lacks it where nobody made a mistake.
"""

from calculations.aspects import liquid
from calculations.case import Case, Missing, Waits, once
from calculations.inputs.sensor import RANGE_KINDS
from calculations.signals import ANALOGUE_SIGNALS
from calculations.units import Quantity

REGULATING, LEVEL_SENSOR = "/regulating_sensor", "/level_sensor"
RANGE_TOP = f"{REGULATING}/upper_range_value"
LOOP_RULE, SENSOR_RULE = "loop.kinds", "sensor.kinds"

OF_LOOP = {
    "discharge_pressure": "pressure",
    "suction_pressure": "pressure",
    "differential_pressure": "pressure",
    "flow": "flow",
    "level_filling": "length",
    "level_emptying": "length",
    "temperature": "temperature",
}
"""What the values of a loop are, by what it regulates."""

OF_SENSOR = {
    "pressure": "pressure",
    "differential_pressure": "pressure",
    "level": "length",
    "flow": "flow",
    "temperature": "temperature",
}
"""What a sensor's values are, by what it measures."""

MAY_MEASURE = {
    "discharge_pressure": ("pressure", "differential_pressure"),
    "suction_pressure": ("pressure", "differential_pressure"),
    "differential_pressure": ("pressure", "differential_pressure"),
    "flow": ("flow", "differential_pressure"),
    "level_filling": ("level", "pressure", "differential_pressure"),
    "level_emptying": ("level", "pressure", "differential_pressure"),
    "temperature": ("temperature",),
}
"""Sensors that a quantity may be regulated on: a level stands on a pressure, a flow drops one."""

WORDS = {
    "pressure": "a pressure", "length": "a length", "flow": "a flow", "ratio": "a share",
    "temperature": "a temperature", "power": "a power", "current": "a current",
    "torque": "a torque", "voltage": "a voltage", "frequency": "a frequency",
}  # fmt: skip

USUAL_UNIT = {"pressure": "bar", "length": "m", "flow": "m3/h", "temperature": "degC"}


@once
def starts_on_level(case: Case) -> bool:
    """Whether a drive that regulates nothing starts and stops its pump on the level it reads.

    An input that is scaled in what no level is written in shows something else.
    """
    settings = case.settings
    if settings is None or not settings.reads_level or case.find(REGULATING) is None:
        return False
    scaled, ranged = case.find("/settings/feedback_at_upper_signal"), case.find(RANGE_TOP)
    written = ("length", "ratio") if ranged is None else ("length", "ratio", ranged.kind)
    alike = scaled is None or scaled.kind in written
    return alike and case.place(REGULATING) == case.place(LEVEL_SENSOR)


# -- the loop -------------------------------------------------------------------------------------


@once
def of_loop(case: Case) -> str | None:
    """The kind that values of the loop are computed in; None where nothing tells it.

    `ratio` where sensor, drive and set point are all in %, so that no unit is known.
    """
    if _all_in_percent(case):
        return "ratio"
    regulated = case.find("/settings/regulated_quantity")
    if regulated is not None:
        return OF_LOOP[regulated]
    if starts_on_level(case):
        return "length"
    measured = case.find(f"{REGULATING}/quantity")
    if measured is not None:
        return OF_SENSOR[measured]
    written = (case.find(place) for place in (*WRITTEN, RANGE_TOP))
    return next((each.kind for each in written if each and each.kind != "ratio"), None)


SCALED = ("/settings/feedback_at_upper_signal", "/settings/feedback_at_lower_signal")
WRITTEN = (*SCALED, "/settings/set_point")


def _all_in_percent(case: Case) -> bool:
    ranged = case.find(RANGE_TOP)
    if ranged is None or ranged.kind != "ratio":
        return False
    written = (case.find(place) for place in WRITTEN)
    return all(each is None or each.kind == "ratio" for each in written)


def sensor_fits(case: Case) -> bool:
    """Whether what the regulating sensor measures can be what is regulated, as far as known."""
    regulated = case.find("/settings/regulated_quantity")
    measured = case.find(f"{REGULATING}/quantity")
    return regulated is None or measured is None or measured in MAY_MEASURE[regulated]


def require_fit(case: Case) -> None:
    """Raise `Waits` where the regulating sensor cannot measure what is regulated."""
    if not sensor_fits(case):
        raise Waits(LOOP_RULE)


def no_units(place: str) -> Missing:
    """What is raised where a range in % would have to be compared with a value in units."""
    return Missing(place, because="a range in % says nothing of units")


def readable(kind: str | None, quantity: Quantity) -> bool:
    """Whether a value is of a loop's or sensor's kind, in %, or a pressure that means a level."""
    if kind is None or quantity.kind in (kind, "ratio"):
        return True
    return kind == "length" and quantity.kind == "pressure"


def in_loop(case: Case, quantity: Quantity) -> float:
    """A value in SI of what the loop regulates; `Waits` where it is of another kind."""
    return _as_kind(case, quantity, of_loop(case), LOOP_RULE)


def range_end(case: Case, quantity: Quantity) -> float:
    """An end of the regulating sensor's range in SI of what the loop regulates."""
    kind = of_loop(case)
    require_fit(case)
    if kind not in (None, "ratio") and quantity.kind == "ratio":
        raise no_units(case.place(RANGE_TOP))
    if kind == "flow" and quantity.kind == "pressure":
        raise Missing(
            case.place(RANGE_TOP), because="a flow made of a differential pressure is not compared"
        )
    return _as_kind(case, quantity, kind, LOOP_RULE)


def _as_kind(case: Case, quantity: Quantity, kind: str | None, rule: str) -> float:
    if kind is None or quantity.kind == kind:
        return quantity.si
    if kind == "ratio":
        raise no_units(case.place(RANGE_TOP))
    if kind == "length" and quantity.kind == "pressure":
        return liquid.head(case, quantity.si)
    raise Waits(rule)


# -- signals --------------------------------------------------------------------------------------


def of_signal(case: Case, sensor: str) -> str | None:
    """What carries a sensor's signal: current, or voltage; None where it is not analogue."""
    output = ANALOGUE_SIGNALS.get(str(case.find(f"{sensor}/output")))
    return None if output is None else str(output.quantity)


# -- any sensor -----------------------------------------------------------------------------------


@once
def of_sensor(case: Case, sensor: str) -> str | None:
    """The kind that a sensor's values are computed in; None where nothing tells it."""
    ranged = case.find(f"{sensor}/upper_range_value")
    if ranged is not None and ranged.kind == "ratio":
        return "ratio"
    if sensor == LEVEL_SENSOR:
        return "length"
    measured = case.find(f"{sensor}/quantity")
    if measured is not None:
        return OF_SENSOR[measured]
    return ranged.kind if ranged is not None else None


def of_readings(case: Case, sensor: str) -> tuple[str, ...]:
    """Kinds that values of this sensor may be written in; none where nothing tells them."""
    measured = case.find(f"{sensor}/quantity")
    return (*RANGE_KINDS[measured], "ratio") if measured is not None else ()


def fits_sensor(case: Case, sensor: str, quantity: Quantity) -> bool:
    """Whether a value may be one of this sensor."""
    known = of_readings(case, sensor)
    return not known or quantity.kind in known


def in_sensor(case: Case, sensor: str, quantity: Quantity, rule: str = SENSOR_RULE) -> float:
    """A value in SI of what a sensor measures; `Waits` where it is of another kind."""
    kind = of_sensor(case, sensor)
    if kind == "ratio" and quantity.kind != "ratio" and fits_sensor(case, sensor, quantity):
        raise no_units(f"{sensor}/upper_range_value")
    return _as_kind(case, quantity, kind, rule)
