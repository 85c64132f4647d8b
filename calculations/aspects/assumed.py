"""What was taken for the accuracy of readings whose instrument is not recorded, in words."""

from collections.abc import Iterator
from typing import TypeGuard

from calculations.aspects import duty, load
from calculations.case import Case
from calculations.rule import percent
from calculations.units import Quantity


def accuracies(case: Case, place: str, *, power: bool = False) -> str:
    """What a point's uncertainty rests on without an instrument, to stand behind it; else nothing.

    Flow and pressures always, the electrical power where it matters. Of a reading of 0 no share
    is taken.
    """
    taken = [*_flow(case, place), *_pressure(case, place), *(_power(case, place) if power else ())]
    return f" (without an instrument recorded: {', '.join(taken)})" if taken else ""


def _flow(case: Case, place: str) -> Iterator[str]:
    read = case.find(f"{place}/flow")
    if _counts(read) and duty.flow_accuracy(case, place, read) is None:
        share = duty.usual_flow_accuracy(case, place)
        yield f"flow taken as good to {percent(share)}"


def _pressure(case: Case, place: str) -> Iterator[str]:
    read = [case.find(f"{place}/{side}_pressure") for side in ("suction", "discharge")]
    if any(_counts(each) and duty.pressure_accuracy(case, place, each) is None for each in read):
        yield f"pressure to {percent(duty.PRESSURE_UNCERTAINTY)}"


def _power(case: Case, place: str) -> Iterator[str]:
    read = case.find(load.power_place(case, place))
    if _counts(read) and duty.power_accuracy(case, place, read) is None:
        yield f"power to {percent(duty.POWER_UNCERTAINTY)}"


def _counts(read: Quantity | None) -> TypeGuard[Quantity]:
    return read is not None and read.si != 0
