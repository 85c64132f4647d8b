"""Rules of the winding: resistance and current from phase to phase."""

from collections.abc import Iterator
from math import sqrt

from calculations import supply
from calculations.aspects import load
from calculations.case import Case, Missing, Waits, once
from calculations.errors import InvalidInput
from calculations.findings import Finding, Severity
from calculations.insulation import LOW_VOLTAGE
from calculations.rule import Limit, Rule, about, percent
from calculations.rules.closeness import Apart, above, below
from calculations.rules.point_slips import misread
from calculations.rules.scope import has_motor, is_new_work
from calculations.units import Quantity

TEST = "/event/motor_tests/winding_resistance"
COARSEST = 0.01
"""Resolution over reading [1] beyond which nothing can be said about 2 %."""


def has_three_phases(case: Case) -> bool:
    """Whether the motor is not known to have a single phase."""
    return has_motor(case) and case.find("/motor/phases") != 1


# -- resistance ---------------------------------------------------------------------------------


def _is_tested(case: Case) -> bool:
    return has_three_phases(case) and (case.find(TEST) is not None or is_new_work(case))


def resistances(case: Case) -> list[Quantity]:
    """The three resistances from phase to phase."""
    found: list[Quantity] = case.require(f"{TEST}/values")[0]
    if len(found) != 3:
        raise Missing(f"{TEST}/values", because="expected three resistances")
    return found


def resistance_unbalance(case: Case) -> float:
    """Largest deviation from the mean, over the mean [1]."""
    return supply.unbalance(values=[each.si for each in resistances(case)])


def _resolution(case: Case, found: list[Quantity]) -> float:
    """What one reading can tell [ohm]: the meter's resolution, or the last digit written."""
    stated = case.find(f"{TEST}/resolution")
    written = 2 * max(each.resolution for each in found)
    return max(written, stated.si) if stated is not None else written


def _resistance(case: Case, place: str) -> Iterator[Finding]:
    found, unbalance = resistances(case), resistance_unbalance(case)
    resolution = _resolution(case, found)
    coarse = resolution / load.mean(found)
    review = case.limit(f"winding.resistance-unbalance.{_kind(case)}")
    stop = case.limit("winding.resistance-unbalance.stop")
    apart = Apart(1 + unbalance, coarse)
    if above(coarse, COARSEST):
        apart = Apart(1 + _least_unbalance(found, resolution))
        if not apart.over(review):
            because = f"digits of {percent(coarse)} of the reading are too coarse to tell"
            raise Missing(f"{TEST}/values", because=because)
    if not apart.over(review):
        return
    certain = apart.over(stop) and case.is_(f"{TEST}/method", "four_wire")
    severity: Severity = "stop" if certain else "review"
    yield RESISTANCE_UNBALANCE.finding(
        "unbalance", severity, place,
        compared={
            "first": found[0],
            "second": found[1],
            "third": found[2],
            "unbalance": about(unbalance, "%"),
        },
        limit=f"{percent(review)} review, {percent(stop)} stop, both plus {percent(coarse)} of "
        "resolution",
    )  # fmt: skip


def _least_unbalance(found: list[Quantity], resolution: float) -> float:
    """The least unbalance [1] that readings of so many digits leave open: the ends drawn in."""
    middle = load.mean(found)
    drawn = [
        each.si - max(min(each.si - middle, resolution / 2), -resolution / 2) for each in found
    ]
    return supply.unbalance(values=drawn)


def _kind(case: Case) -> str:
    voltage = case.find("/rating/voltage")
    return "form-wound" if voltage is not None and not below(voltage.si, LOW_VOLTAGE) else "review"


RESISTANCE_UNBALANCE = Rule(
    id="winding.resistance-unbalance",
    title="Winding resistance from phase to phase",
    severities=("stop", "review"),
    condition="Largest deviation of the three resistances from their mean is at most 2 % (form-"
    "wound 1 %) plus the meter's resolution; above 5 % by a four-wire measurement it must not "
    "stay. Where the digits are coarser than 1 % of the reading, only what "
    "their rounding cannot explain is judged.",
    source="practice of motor repair shops, from memory",
    subject=f"{TEST}/values",
    needs=(f"{TEST}/values",),
    applies=_is_tested,
    check=_resistance,
    limits={
        "review": Limit(2, "%", "random-wound", "lower", "from memory"),
        "form-wound": Limit(1, "%", "form-wound, from 1 kV", "lower", "from memory"),
        "stop": Limit(5, "%", "four-wire measurement", "lower", "from memory"),
    },
    sentences={
        "unbalance": "Winding resistances {first}, {second}, {third} differ from their mean by up "
        "to {unbalance}: a poor joint, a wrong link or a damaged winding."
    },
    remedies={
        "unbalance": "Isolate, prove dead, clean and tighten the terminals, check the links, "
        "measure again with four wires at the motor."
    },
)


# -- current ------------------------------------------------------------------------------------


def _has_points(case: Case) -> bool:
    recorded = bool(case.find("/event/duty_points"))
    return has_three_phases(case) and (recorded or is_new_work(case))


def phase_currents(case: Case, place: str) -> list[Quantity]:
    """The motor's three currents at a point, at its drive's output, or without one anywhere."""
    if case.fixed_speed:
        at, found = load.current_place(case, place), load.require_own_currents(case, place)
    else:
        at = f"{place}/currents_drive_output"
        found = list(case.require(at)[0])
    if len(found) != 3:
        raise Missing(at, because="expected three currents")
    if not any(each.si > 0 for each in found):
        raise Missing(at, because="no current was read in any phase")
    return found


@once
def current_unbalance(case: Case, place: str) -> float:
    """Largest deviation of the motor's currents from their mean, over the mean [1]."""
    return supply.unbalance(values=[each.si for each in phase_currents(case, place)])


def _current(case: Case, place: str) -> Iterator[Finding]:
    found, unbalance = phase_currents(case, place), current_unbalance(case, place)
    if unbalance > HALF and load.lost_phases(case, found):
        yield _lost(case, place, found, unbalance)
        return
    mean = load.mean(found)
    if below(
        load.torque_ratio_of_current(case, mean), case.limit("winding.current-unbalance.load")
    ):
        return
    apart = Apart(1 + unbalance, max([each.resolution for each in found]) / mean)
    note = case.limit("winding.current-unbalance.note")
    review = case.limit("winding.current-unbalance.review")
    if not apart.over(note):
        return
    voltages = _supply_unbalance(case)
    times = case.limit("winding.current-unbalance.times")
    unexplained = voltages is not None and apart.over(times * voltages)
    severity: Severity = "review" if apart.over(review) or unexplained else "note"
    undecided = severity == "note" and above(unbalance, review)
    yield CURRENT_UNBALANCE.finding(
        "unexplained" if unexplained else "across_the_line" if case.fixed_speed else "unbalance",
        severity, place,
        compared={
            "first": found[0],
            "second": found[1],
            "third": found[2],
            "unbalance": about(unbalance, "%"),
        },
        limit=f"{percent(note)} note, {percent(review)} review",
        times=f"{times:.3g}", voltages=percent(case.known("supply.unbalance") or 0.0),
        open=OPEN.format(percent(review)) if undecided else "",
    )  # fmt: skip


OPEN = " (the last digits leave open whether that is above {})"

HALF = 0.5
"""Unbalance [1] that a lost phase always exceeds: 86 % where it keeps a tenth."""


def _lost(case: Case, place: str, found: list[Quantity], unbalance: float) -> Finding:
    """A phase that carries nothing: so at all points, and the others carry its load, it is lost."""
    lost = load.lost_phases(case, found)
    everywhere = _is_lost_everywhere(case)
    certain = everywhere and _is_borne_by_two(case)
    alone = "lost_two" if len(lost) > 1 else "lost"
    variant = "lost_and_borne" if certain else "lost_everywhere" if everywhere else alone
    return CURRENT_UNBALANCE.finding(
        variant, "stop" if certain else "review", place,
        compared={
            "first": found[0],
            "second": found[1],
            "third": found[2],
            "unbalance": about(unbalance, "%"),
        },
        limit=f"at least {percent(case.limit('winding.current-unbalance.lost'))} of the highest",
        which=" and ".join(("first", "second", "third")[i] for i in lost),
    )  # fmt: skip


def _is_lost_everywhere(case: Case) -> bool:
    """Whether the same one phase carries nothing at every point where three currents were read.

    Not where the drive stops at a lost phase: then it would not have run so.
    """
    if case.is_("/settings/output_phase_loss_response", "trip"):
        return False
    lost = []
    for place in case.elements("/event/duty_points"):
        try:
            lost.append(load.lost_phases(case, phase_currents(case, place)))
        except Missing:
            continue
    return len(lost) > 1 and len(lost[0]) == 1 and len(set(lost)) == 1


SINGLE_PHASED = sqrt(3)
"""Current of two phases that bear the power of three, over what each of three carries [1]."""


def _is_borne_by_two(case: Case) -> bool:
    """Whether the phases left carry what the pump's load asks of two phases, at two points or more.

    A dead channel cannot make the others read more. The load is that of the pump's curve: a power
    that was read may lack the same phase.
    """
    shares = [share for place in case.elements("/event/duty_points")
              if (share := _over_three_phases(case, place)) is not None]  # fmt: skip
    least = SINGLE_PHASED * (1 - case.limit("winding.current-unbalance.borne"))
    return len(shares) > 1 and above(min(shares), least)


def _over_three_phases(case: Case, place: str) -> float | None:
    """Current of the phases left over what three would carry at the point's load [1]."""
    try:
        found = phase_currents(case, place)
        if load.power_by_curve(case, place) is None or misread(case, place):
            return None
        lost = load.lost_phases(case, found)
        left = [each for index, each in enumerate(found) if index not in lost]
        return load.mean(left) / load.expected_current(case, place)
    except (Missing, Waits, InvalidInput):
        return None


def _supply_unbalance(case: Case) -> float | None:
    """Unbalance that the motor's own voltages may have by their digits [1]; None behind a drive."""
    found = case.known("supply.unbalance") if case.fixed_speed else None
    if found is None:
        return None
    voltages = case.require("/event/supply/line_voltages")[0]
    return found + float(max(each.resolution for each in voltages)) / load.mean(voltages)


_LEADS = (
    "Isolate, prove dead, move the three leads on by one terminal and read again: if the high "
    "reading stays with the winding, test the motor, else "
)

CURRENT_UNBALANCE = Rule(
    id="winding.current-unbalance",
    title="Motor current from phase to phase",
    severities=("stop", "review", "note"),
    condition="Each of the three currents of a running motor is at least a tenth of the highest "
    "(review; stop where the same one is not at every point of two or more, no drive stops at a "
    "lost phase, and the two others carry the root of 3 of what the pump's load asks of three, "
    "less 15 %: a dead clamp does not make the others read more). At half load and more, the "
    "largest deviation of the three currents from their mean is at most 5 % (note) and 10 % "
    "(review); without a drive, above 5 %, at most ten times the unbalance of the supply's "
    "voltages (review), which makes six to ten times as much of its own. Read at the drive's "
    "output: at its input a rectifier makes much of a small voltage unbalance.",
    source="practice of motor repair shops, from memory; six to ten times: NEMA MG 1-2011 14.36",
    each="/event/duty_points",
    needs=("/rating/current",),
    waits_for=("motor.power-balance",),
    applies=_has_points,
    check=_current,
    limits={
        "note": Limit(5, "%", "worth a note", "lower", "from memory"),
        "review": Limit(10, "%", "needs an answer", "lower", "from memory"),
        "times": Limit(10, "1", "current over voltage unbalance, no drive", "lower", "from memory"),
        "load": Limit(50, "%", "torque from which it is judged", "lower", "common practice"),
        "lost": Limit(
            10,
            "%",
            "of the highest current, below which a phase carries none",
            "higher",
            "common practice",
        ),
        "borne": Limit(
            15, "%", "of the root of 3 that the two others lack", "lower", "common practice"
        ),
    },
    sentences={
        "lost": "Motor currents {first}, {second}, {third}: the {which} is next to none. Either "
        "the clamp was not closed around it, or the motor runs on two phases.",
        "lost_two": "Motor currents {first}, {second}, {third}: the {which} are next to none. No "
        "current flows through one phase alone: the clamp was not closed around the others.",
        "lost_everywhere": "Motor currents {first}, {second}, {third}: the {which} is next to "
        "none, at every point. Either that channel of the instrument was dead, or the motor runs "
        "on two phases, which overheats its winding.",
        "lost_and_borne": "Motor currents {first}, {second}, {third}: the {which} is next to none, "
        "at every point, and the others carry what the pump's load asks of two phases. The motor "
        "runs on two phases, which overheats its winding.",
        "unbalance": "Motor currents {first}, {second}, {third} differ from their mean by up to "
        "{unbalance}{open}.",
        "across_the_line": "Motor currents {first}, {second}, {third} differ from their mean by up "
        "to {unbalance}{open}.",
        "unexplained": "Motor currents {first}, {second}, {third} differ from their mean by up to "
        "{unbalance}, more than {times} times the {voltages} of the supply's voltages, which do "
        "not explain it.",
    },
    remedies={
        "lost": "Read the phases again, with the clamp closed around one conductor. If it stays, "
        "stop the motor, isolate, prove dead, and look for a blown fuse, a contact or a terminal "
        "that is open.",
        "lost_two": "Read the phases again, with the clamp closed around one conductor.",
        "lost_everywhere": "Read that phase with another instrument. If it stays, stop the motor, "
        "isolate, prove dead, look for a blown fuse, a contact or a terminal that is open, and "
        "test the winding.",
        "lost_and_borne": "Stop the motor, isolate, prove dead. Look for a blown fuse, a contact "
        "or a terminal that is open, test the winding, and let a lost phase stop it.",
        "unexplained": _LEADS + "its starter, terminals and cable.",
        "unbalance": _LEADS + "the drive and its cable.",
        "across_the_line": _LEADS + "the supply, the starter and its cable.",
    },
)
