"""Faults in the loop's answer, and in how it was recorded."""

from math import pi, sin

from .checks import answer, hunting
from .mistakes import mistake, number
from .stand import Entered


def _feedback(e: Entered, values: tuple[list[float], list[float]]) -> None:
    assert e.trace is not None
    columns = e.trace[1]
    e.trace = (values[0], columns | {"feedback": (columns["feedback"][0], values[1])})


def _span(e: Entered) -> float:
    """Of the feedback, in the unit of the set point."""
    if e.settings["set_point"]["unit"] == "%":
        return 100.0
    left = e.settings
    low, high = (number(left[f"feedback_at_{end}_signal"]) for end in ("lower", "upper"))
    return number(e.document["sensors"][0]["upper_range_value"]) if low < 0 else high - low


@mistake("loop that hunts", "trace.hunting")
def hunts(e: Entered) -> bool | None:
    period = e.chance.uniform(6, 15)
    if _swings(e, period) is False or e.trace is None:
        return False
    times_, columns = e.trace
    unit, still = columns["output_frequency"]
    size = e.chance.uniform(0.2, 0.6)
    moved = [f + size * sin(2 * pi * t / period - 1.2) for t, f in zip(times_, still, strict=True)]
    columns["output_frequency"] = (unit, moved)
    return None


@mistake("demand that swings, beside a drive that stands still", "trace.hunting")
def swings_outside(e: Entered) -> bool | None:
    return _swings(e, e.chance.uniform(6, 15))


def _swings(e: Entered, period: float) -> bool | None:
    if e.trace is None:
        return False
    aim, span = number(e.settings["set_point"]), _span(e)
    _feedback(e, hunting(e.chance, aim, swing=0.02 * span, period=period, noise=0.0003 * span))
    _hold_aim(e, aim)
    return None


def _hold_aim(e: Entered, aim: float) -> None:
    """Record the set point as it stood, since the step was one of the demand."""
    assert e.trace is not None
    times_, columns = e.trace
    e.trace = (times_, columns | {"set_point": (columns["set_point"][0], [aim] * len(times_))})
    step = e.document["event"]["step_tests"][0]
    step["step_kind"] = "demand"
    del step["from"], step["to"]


@mistake("loop that overshoots by half", "trace.overshoot")
def overshoots(e: Entered) -> bool | None:
    if e.trace is None:
        return False
    aim, span = number(e.settings["set_point"]), _span(e)
    start = aim * 0.92
    if abs(aim - start) < 0.02 * span:
        return False
    _feedback(e, answer(e.chance, start, aim, damping=0.25, rate=0.5, noise=0.0003 * span))
    return None


@mistake("loop that stays away from its set point", "trace.steady-error")
def stays_away(e: Entered) -> bool | None:
    if e.trace is None:
        return False
    aim, span = number(e.settings["set_point"]), _span(e)
    start, end = aim * 0.92, aim - 0.03 * span
    if abs(aim - start) < 0.05 * span:
        return False
    _feedback(e, answer(e.chance, start, end, damping=0.9, rate=0.5, noise=0.0003 * span))
    return None


@mistake("loop held by the maximum frequency", "trace.saturated")
def saturated(e: Entered) -> bool | None:
    if e.trace is None:
        return False
    top = number(e.settings["maximum_frequency"])
    times_, columns = e.trace
    e.trace = (times_, columns | {"output_frequency": ("Hz", [top] * len(times_))})
    return None


@mistake("clock of the recorder ran backwards", "trace.time")
def backwards(e: Entered) -> bool | None:
    if e.trace is None:
        return False
    times_, columns = e.trace
    half = len(times_) // 2
    e.trace = (times_[:half] + [t - 30 for t in times_[half:]], columns)
    return None


@mistake("a trace sampled slower than the loop swings", "trace.sampling")
def aliased(e: Entered) -> bool | None:
    if e.trace is None:
        return False
    aim, span = number(e.settings["set_point"]), _span(e)
    times_ = e.trace[0]
    values = [aim + span * (0.02 if index % 2 else -0.02) + e.chance.gauss(0, 0.0003 * span)
              for index in range(len(times_))]  # fmt: skip
    columns = e.trace[1]
    e.trace = (times_, columns | {"feedback": (columns["feedback"][0], values)})
    _hold_aim(e, aim)
    return None


@mistake("a trace cut off while something disturbs the loop", "trace.settling")
def unsettled(e: Entered) -> bool | None:
    """Settled, and then knocked away for a moment at the very end."""
    if e.trace is None:
        return False
    aim, span = number(e.settings["set_point"]), _span(e)
    start = aim * 0.92
    if abs(aim - start) < 0.05 * span:
        return False
    times_, values = answer(e.chance, start, aim, damping=0.8, rate=0.5, noise=0.0003 * span)
    away = 0.1 * (aim - start) + 0.005 * span
    _feedback(e, (times_, [*values[:-3], *(each - away for each in values[-3:])]))
    return None


@mistake("a trace recorded in one unit and named in another", "trace.feedback")
def recorded_otherwise(e: Entered) -> bool | None:
    """Its feedback alone: kPa under psi, psi under bar."""
    if e.trace is None:
        return False
    unit, values = e.trace[1]["feedback"]
    factor = {"psi": 6.894757, "bar": 14.50377}.get(unit)
    if factor is None:
        return False
    times_, columns = e.trace
    e.trace = (times_, columns | {"feedback": (unit, [each * factor for each in values])})
    return None


@mistake("a feedback that does not move", "trace.feedback")
def stands_still(e: Entered) -> bool | None:
    """A closed tapping: the reading of an hour ago, whatever the pump does.

    Of a pressure or a flow: a level in a wide well may rest for as long.
    """
    if e.trace is None or e.settings["regulated_quantity"].startswith("level"):
        return False
    aim, span = number(e.settings["set_point"]), _span(e)
    columns = e.trace[1]
    held = [aim - 0.25 * span] * len(e.trace[0])
    if aim - 0.25 * span < 0.05 * span:
        return False
    top = number(e.settings["maximum_frequency"])
    swept = [top - 1 - 4 * index / len(held) for index in range(len(held))]
    e.trace = (e.trace[0], columns | {"feedback": (columns["feedback"][0], held),
                                      "output_frequency": ("Hz", swept)})  # fmt: skip
    return None
