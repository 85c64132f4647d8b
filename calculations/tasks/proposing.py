"""How an interval may move by what was found at the end of it, with the arithmetic in words."""

from dataclasses import dataclass

from calculations.findings import digits
from calculations.intervals import EXTEND_BELOW, EXTENSION, REDUCTION, IntervalStep, staircase
from calculations.tasks.task import Interval, Task

SOURCE = "ILAC-G24-2022, method 1 (staircase); 80 % from memory, factors by common practice"


@dataclass(frozen=True, slots=True)
class Proposal:
    """Another interval [months] for one piece, and how it was come by."""

    step: IntervalStep
    months: int
    arithmetic: str


def propose(
    *, task: Task, bounds: Interval, months: int, ratio: float | None, found_outside: bool
) -> Proposal:
    """What history says of an interval that has just ended.

    task: whose interval it is.
    bounds: between which history may move it.
    months: that has just ended, 1 to 120.
    ratio: largest error as found, of all points, over the tolerance [1]; None where it was not
    measured: passing alone does not lengthen.
    found_outside: whether it did not pass as found, rounding of the digits granted.
    Returns the step, whole months rounded down, and the arithmetic.
    Source: ILAC-G24-2022, method 1 (staircase).
    """
    share = _share(ratio, found_outside)
    longest = min(bounds.longest, months) if task.safety else bounds.longest
    found = staircase(
        interval=months, as_found_errors=[share], allowed_error=1.0,
        shortest=min(bounds.shortest, months), longest=max(longest, months),
        may_extend=ratio is not None and not task.safety,
    )  # fmt: skip
    after = int(found.interval)
    if after == months:
        return Proposal(IntervalStep.KEEP, months, _kept(task, months, ratio, found.step))
    words = _moved(months, found.step, after, bounds)
    return Proposal(found.step, after, f"{_measured(ratio, found_outside)}. {words}")


def _share(ratio: float | None, found_outside: bool) -> float:
    """The share that counts: what rounding explains is not outside."""
    if found_outside:
        return max(ratio or 0.0, 1.0 + 1e-9)
    return 1.0 if ratio is None else min(ratio, 1.0)


def _measured(ratio: float | None, found_outside: bool) -> str:
    if ratio is None:
        return "As found it did not pass" if found_outside else "As found it passed"
    percent = digits(100 * ratio, 3)
    return f"As found the largest error of all points was {percent} % of the tolerance"


def _moved(months: int, step: IntervalStep, after: int, bounds: Interval) -> str:
    if step is IntervalStep.EXTEND:
        why, factor = f"at most {digits(100 * EXTEND_BELOW)} %", EXTENSION
    else:
        why, factor = "more than 100 %", REDUCTION
    product = f"{months} months × {digits(factor)} = {digits(months * factor)} months"
    limits = f"within {bounds.shortest} to {bounds.longest} months"
    return f"That is {why}: {product}, in whole months and {limits}: {after} months."


def _kept(task: Task, months: int, ratio: float | None, step: IntervalStep) -> str:
    said = _measured(ratio, False)
    if step is not IntervalStep.KEEP:
        return f"{said}. {months} months are at the bound already."
    if task.safety:
        return f"{said}. The interval of a safety function never lengthens: {months} months."
    if ratio is None:
        return f"{said}, without a measure of how far: {months} months stay."
    return f"{said}, between 80 % and 100 %: {months} months stay."
