"""Rule of the power at a duty point against volts times amperes, which no power exceeds."""

from collections.abc import Iterator
from math import sqrt
from operator import attrgetter
from typing import NamedTuple

from calculations.aspects.duty import POINTS
from calculations.aspects.rating import run_rating
from calculations.case import Case, Waits, once
from calculations.findings import Finding
from calculations.inputs.readings import DutyPoint
from calculations.rule import Limit, Rule, about, percent, show, spaced
from calculations.rules.closeness import Apart, rounding
from calculations.rules.scope import has_motor
from calculations.units import Quantity

DRIVE_POWER = "load.drive-power"
PLACES = ("drive_output", "drive_display", "drive_input")

ALIKE = 0.08
"""How near 1.73 times a voltage is to the motor's volts per hertz where it was read to neutral [1];
no source."""


class Excess(NamedTuple):
    """Power over volts times amperes at one place of a duty point."""

    name: str
    power: Quantity
    volts: Quantity
    amperes: Quantity
    apparent: float


@once
def excess(case: Case, place: str) -> Excess | None:
    """Where more power was read than volts times amperes give; None where nowhere.

    The highest of the three lines counts, so that an uneven load explains nothing.
    """
    point: DutyPoint = case.find(place)
    for name in PLACES:
        power: Quantity | None = getattr(point, f"power_{name}")
        read = getattr(point, f"voltages_{name}"), getattr(point, f"currents_{name}")
        if power is None or not all(read):
            continue
        volts, amperes = map(_highest, read)
        if power.si <= volts.si * amperes.si or volts.si * amperes.si <= 0:
            continue
        apparent = _factor(case, name) * volts.si * amperes.si
        margin = sum(map(rounding, (power, volts, amperes)))
        ratio = power.si / apparent
        limit = case.limit(f"load.apparent-power.{'input' if name == 'drive_input' else 'output'}")
        if Apart(ratio, margin * ratio).over(limit):
            return Excess(name, power, volts, amperes, apparent)
    return None


def _highest(read: list[Quantity]) -> Quantity:
    return max(read, key=attrgetter("si"))


def _factor(case: Case, name: str) -> float:
    """Root of three between lines; one at the input of a drive on a single phase [1]."""
    one = name == "drive_input" and case.find("/site/supply_phases") == 1
    return 1.0 if one else sqrt(3)


def require_possible(case: Case) -> None:
    """Raise `Waits` where a point's power is above its volts times amperes: no power holds."""
    if APPARENT_POWER.id in case.accepted:
        return
    if any(excess(case, place) for place in case.elements(POINTS)):
        raise Waits(APPARENT_POWER.id)


def _apparent_power(case: Case, place: str) -> Iterator[Finding]:
    found = excess(case, place)
    if found is None:
        return
    taken = case.find(f"{place}/power_drive_input")
    made = found.name != "drive_input" and taken is not None
    if made and found.power.at_least > taken.at_most and DRIVE_POWER not in case.accepted:
        raise Waits(DRIVE_POWER)
    name = "input" if found.name == "drive_input" else "output"
    limit = case.limit(f"load.apparent-power.{name}")
    yield APPARENT_POWER.finding(
        "neutral" if _is_to_neutral(case, place, found) else "plain", "review", place,
        compared={"power": found.power, "volts": found.volts, "amperes": found.amperes},
        limit=f"at most {percent(limit)} above volts times amperes",
        apparent=show(found.apparent, "kVA"), where=spaced(found.name),
        factor=about(found.power.si / found.apparent), line=about(found.volts.si * sqrt(3), "V"),
    )  # fmt: skip


def _is_to_neutral(case: Case, place: str, found: Excess) -> bool:
    """Whether 1.73 times the voltage is what the motor, or the supply, has from line to line."""
    line = found.volts.si * sqrt(3)
    if found.name == "drive_input":
        nominal = case.find("/site/supply_nominal_voltage")
        return nominal is not None and Apart(line / nominal.si).near(1, ALIKE)
    frequency = case.find(f"{place}/frequency")
    if frequency is None or case.find("/rating/voltage") is None or frequency.si <= 0:
        return False
    run = run_rating(case)
    return Apart(line / (run.voltage * min(frequency.si / run.frequency, 1.0))).near(1, ALIKE)


def _has_all(case: Case) -> bool:
    points = case.find(POINTS) or ()
    return has_motor(case) and any(
        getattr(point, f"power_{name}") is not None
        and getattr(point, f"voltages_{name}")
        and getattr(point, f"currents_{name}")
        for point in points
        for name in PLACES
    )


_BODY = (
    "{power} were read at the {where} with {volts} and {amperes}, which make {apparent}: a power "
    "factor of {factor}, and none is above 1."
)

APPARENT_POWER = Rule(
    id="load.apparent-power",
    title="Power at a duty point against volts times amperes",
    severities=("review",),
    condition="Where power, voltages and currents were read at one place, the power is at most "
    "sqrt(3) U I (U I on a single phase), 5 % granted to the instruments, and 15 % at a drive's "
    "input, where a plain clamp reads the current's pulses low.",
    source="definition of the power factor; room for instruments: common practice, no source",
    each=POINTS,
    waits_for=(
        "motor.power-balance",
        "efficiency.wire-to-water",
        "load.voltage",
        "load.current-nameplate",
        "load.power",
        "load.current-expected",
    ),
    applies=_has_all,
    check=_apparent_power,
    limits={
        "output": Limit(5, "%", "above volts times amperes", "lower", "common practice"),
        "input": Limit(15, "%", "the same at a drive's input", "lower", "common practice"),
    },
    sentences={
        "neutral": "Probably voltages from line to neutral were read: {volts} would be {line} from "
        "line to line. " + _BODY,
        "plain": _BODY,
    },
    remedies={
        "neutral": "Read the voltages from line to line.",
        "plain": "Read all three again at one moment; check the power's digits and unit, and how "
        "the analyser is wired.",
    },
)
