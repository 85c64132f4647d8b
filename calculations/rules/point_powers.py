"""Rules of power and current at a drive's output: display, clamp, and what the drive takes."""

from collections.abc import Iterator
from math import sqrt

from calculations.aspects import load
from calculations.aspects.duty import POINTS
from calculations.aspects.rating import run_rating
from calculations.case import Case
from calculations.findings import Finding
from calculations.inputs.readings import DutyPoint
from calculations.rule import Limit, Rule, about, entered, of_two, percent, spaced
from calculations.rules import mix_ups
from calculations.rules.closeness import Apart, above
from calculations.rules.scope import has_drive, has_motor
from calculations.units import Quantity


def _has(case: Case, *names: str) -> bool:
    return any(getattr(point, name) for point in case.find(POINTS) or () for name in names)


# -- power at a point ---------------------------------------------------------------------------

POWERS = ("power_drive_output", "power_drive_display")


def _power(case: Case, place: str) -> Iterator[Finding]:
    highest = _highest_power(case)
    limit = case.limit("load.power.above-plate")
    for name in POWERS:
        read = case.find(f"{place}/{name}")
        if read is None or not above(read.at_least, limit * highest):
            continue
        yield POWER.finding(
            "high", "review", f"{place}/{name}",
            compared={"read": read, "plate": case.quantity("/rating/power")},
            limit=f"at most {percent(limit)} of what the motor takes at its service factor",
            where=spaced(name.removeprefix("power_")),
            probably=_probably(_taken_for(case, place, read)),
        )  # fmt: skip
        return
    yield from _display_against_output(case, place)
    yield from _display_current(case, place)


def _taken_for(case: Case, place: str, read: Quantity) -> Quantity | None:
    """The power with its point moved, where that fits what was read at the drive's input."""
    taken = case.find(f"{place}/power_drive_input")
    return None if taken is None else mix_ups.moved_point(read, mix_ups.of(taken.si))


def _highest_power(case: Case) -> float:
    """Electrical power of the motor at its service factor [W], extended where that is meant."""
    power, efficiency = case.si("/rating/power"), case.find("/rating/efficiency")
    factor = case.find("/motor/service_factor")
    taken = power / (efficiency.si if efficiency is not None else POOR_EFFICIENCY)
    return taken * _stretch(case) * (factor.si if factor is not None else 1.0)


POOR_EFFICIENCY = 0.7
"""Efficiency of a motor whose plate states none [1], at the least; common practice."""


def _stretch(case: Case) -> float:
    """Power of the motor as run over that of its plate [1]; 1 where its ratio is not known."""
    known = case.find("/rating/voltage") is not None and case.find("/rating/frequency") is not None
    return run_rating(case).stretch if known else 1.0


def _probably(meant: Quantity | None) -> str:
    return f"Probably {entered(meant)}. " if meant else ""


def _display_against_output(case: Case, place: str) -> Iterator[Finding]:
    shown, measured = [case.find(f"{place}/{name}") for name in POWERS[::-1]]
    if shown is None or measured is None:
        return
    floor = case.limit("load.power.least") * case.si("/rating/power")
    if min(shown.si, measured.si) < floor:
        return
    found = Apart(shown.si / measured.si, (shown.resolution + measured.resolution) / measured.si)
    limit = case.limit("load.power.display")
    if found.beyond(limit):
        yield POWER.finding(
            "display", "review", place,
            compared={"shown": shown, "measured": measured}, limit=percent(limit),
        )  # fmt: skip


def _display_current(case: Case, place: str) -> Iterator[Finding]:
    """The display's current against the clamp's at the output, where the motor is loaded."""
    point: DutyPoint = case.find(place)
    shown, measured = point.currents_drive_display, point.currents_drive_output
    if not shown or not measured:
        return
    display, clamp = load.mean(shown), load.mean(measured)
    limit = case.limit("load.power.display")
    if clamp <= 0 or abs(display / clamp - 1) <= limit:
        return
    plate = case.find("/rating/current")
    if plate is None or max(display, clamp) < case.limit("load.power.least-current") * plate.si:
        return
    margin = (shown[0].resolution + measured[0].resolution * display / clamp) / clamp
    if not Apart(display / clamp, margin).beyond(limit):
        return
    yield POWER.finding(
        "input_current" if is_of_the_input(case, place, clamp) else "display_current", "review",
        place,
        compared={
            "shown": about(display, shown[0].unit),
            "measured": about(clamp, measured[0].unit),
        },
        limit=percent(limit),
    )  # fmt: skip


def is_of_the_input(case: Case, place: str, current: float) -> bool:
    """Whether a current is what the drive takes from the supply by the power that it takes."""
    read: list[Quantity] = case.find(f"{place}/currents_drive_input") or []
    if read:
        return Apart(current / load.mean(read)).near(1, SAME)
    taken, nominal = case.find(f"{place}/power_drive_input"), case.find(NOMINAL)
    if taken is None or nominal is None or case.find("/site/supply_phases") == 1:
        return False
    low, high = RECTIFIER
    return bool(low <= taken.si / (sqrt(3) * nominal.si * current) <= high)


NOMINAL = "/site/supply_nominal_voltage"
SAME = 0.03
"""How near two readings of one current are to each other [1]; no source."""

RECTIFIER = (0.85, 1.0)
"""Power factor of a drive's input with a reactor, or with one that feeds back [1]; common practice,
no source."""


POWER = Rule(
    id="load.power",
    title="Power and current at the drive's output and on its display",
    severities=("review",),
    condition="No power at the drive's output or on its display is more than 150 % of what the "
    "motor takes at its service factor; display and measured output agree to within 25 % from a "
    "fifth of the rated power on, and so do their currents from 40 % of the rated current on.",
    source="common practice, no source",
    each=POINTS,
    needs=("/rating/power",),
    waits_for=("motor.power-balance", "load.current-nameplate"),
    applies=lambda case: has_motor(case) and _has(case, *POWERS, "currents_drive_display"),
    check=_power,
    alike=of_two("shown", "measured"),
    limits={
        "above-plate": Limit(150, "%", "of the motor's intake", "lower", "common practice"),
        "display": Limit(25, "%", "display against output", "lower", "common practice"),
        "least": Limit(20, "%", "of rated power, from which it is judged", "higher",
                       "common practice"),
        "least-current": Limit(40, "%", "of rated current, from which it is judged", "higher",
                               "common practice"),
    },
    sentences={
        "high": "{probably}{read} were read at the {where}; the motor is one of {plate}.",
        "display": "The drive shows {shown} where {measured} were measured at its output.",
        "display_current": "The drive shows {shown} where {measured} were measured at its output.",
        "input_current": "Probably the current that the drive takes was read: {measured} stand as "
        "its output, where it shows {shown}, and they fit the power at its input.",
    },
    remedies={
        "high": "Check digits and unit, and where it was read.",
        "display": "Check the unit of the display and the motor data in the drive.",
        "display_current": "Read both again at one moment: digits and unit of the display, the "
        "motor data in the drive, and whether the clamp held all leads of a phase and reads true "
        "r.m.s.",
        "input_current": "Read with the clamp around a lead to the motor, behind the drive.",
    },
)  # fmt: skip

# -- power through the drive --------------------------------------------------------------------


def _through(case: Case, place: str) -> Iterator[Finding]:
    taken = case.quantity(f"{place}/power_drive_input")
    for name in POWERS:
        given = case.find(f"{place}/{name}")
        if given is None or taken.si <= 0:
            continue
        kind = name.removeprefix("power_drive_")
        limit, words = case.limit(f"load.drive-power.{kind}"), ""
        margin = given.resolution + taken.resolution
        if kind == "display":
            of_rating = case.limit("load.drive-power.of-rating")
            margin += of_rating * case.si("/rating/power")
            words = f" and {percent(of_rating)} of the rated power"
        if Apart(given.si / taken.si, margin / taken.si).over(limit):
            yield DRIVE_POWER.finding(
                kind, "review", f"{place}/{name}",
                compared={"given": given, "taken": taken},
                limit=f"at most {percent(limit)}{words} above the input",
            )  # fmt: skip
            return


DRIVE_POWER = Rule(
    id="load.drive-power",
    title="Power out of the drive against power into it",
    severities=("review",),
    condition="A drive gives no more power than it takes: its output reads at most 5 % above its "
    "input, its display 5 % and another 3 % of the motor's rated power, since it computes that "
    "figure.",
    source="conservation of energy; room for two instruments: common practice, no source",
    each=POINTS,
    needs=("./power_drive_input",),
    waits_for=("efficiency.sum-of-parts", "efficiency.wire-to-water", "load.power"),
    applies=lambda case: (
        has_drive(case) and _has(case, *POWERS) and _has(case, "power_drive_input")
    ),
    check=_through,
    alike=of_two("given", "taken"),
    limits={
        "output": Limit(5, "%", "output above input", "lower", "common practice"),
        "display": Limit(5, "%", "display above input", "lower", "common practice"),
        "of-rating": Limit(3, "%", "of rated power, display", "lower", "common practice"),
    },
    sentences={
        "output": "{given} were read at the drive's output with {taken} at its input: no drive "
        "makes power.",
        "display": "The drive shows {given} with {taken} at its input: no drive makes power.",
    },
    remedies=dict.fromkeys(
        ("output", "display"),
        "Read both again at the same moment; check digits, unit and the analyser's wiring.",
    ),
)
