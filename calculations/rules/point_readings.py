"""Rules of electrical readings that no drive can have given: d.c. link, voltages, display."""

from collections.abc import Iterator

from calculations import drives, supply
from calculations.aspects.duty import POINTS
from calculations.aspects.rating import most_given, run_rating
from calculations.case import Case
from calculations.findings import Finding
from calculations.rule import (
    Limit,
    Rule,
    about,
    each_alone,
    entered,
    percent,
    roughly,
    show,
    spaced,
)
from calculations.rules import mix_ups
from calculations.rules.closeness import Apart, above, below
from calculations.rules.incoming_supply import require_in_range, supply_voltage
from calculations.rules.scope import has_drive
from calculations.units import IN_SI, Quantity

DC = "/event/supply/dc_bus_voltage"
HIGH_VOLTAGE = 1000.0
"""Line voltage from which drives are made of cells with links of their own [V].

1 kV: IEC 60038, from memory; cells: common practice."""


def _line_voltage(case: Case) -> float:
    """Line voltage of the supply [V]: as judged, but nominal where the measured one is none."""
    require_in_range(case)
    _, voltage, _ = supply_voltage(case)
    return voltage if voltage > 0 else case.si("/site/supply_nominal_voltage")


# -- d.c. link ----------------------------------------------------------------------------------


def _dc_link(case: Case, place: str) -> Iterator[Finding]:
    read, line = case.quantity(DC), _line_voltage(case)
    if line >= HIGH_VOLTAGE:
        return
    low, high = map(case.limit, ("supply.dc-link.low", "supply.dc-link.high"))
    if _is_within(read, low * line, high * line):
        return
    given = most_given(case, line)
    if given > line and _is_within(read, low * given, high * given):
        return
    other = mix_ups.other_digits(read, _as_rectified(given))
    yield DC_LINK.finding(
        "digits" if other else "low" if read.si < low * given else "high", "review", place,
        compared={"read": read, "line": show(line, "V")},
        limit=f"{low:g} to {high:g} times the line voltage", share=percent(read.si / line),
        usual=about(drives.dc_link_voltage(line_voltage=given), "V"),
        doubled=", which the drive doubles for this motor," if given > line else "",
        meant=entered(other) if other else "",
    )  # fmt: skip


def _is_within(read: Quantity, low: float, high: float) -> bool:
    return not below(read.si + read.resolution, low) and not above(read.si - read.resolution, high)


def _as_rectified(line: float) -> mix_ups.Fit:
    """What a rectifier makes of a line voltage [V]: 1.35 times it under load to 1.41 times."""
    low, high = (drives.dc_link_voltage(line_voltage=line, loaded=load) for load in (True, False))
    return lambda value: Apart(value / min(max(value, low), high))


_LINK = (
    "The d.c. link was read at {read}; with {line} of supply{doubled} about {usual} are expected."
)

DC_LINK = Rule(
    id="supply.dc-link",
    title="Voltage of the d.c. link against the supply",
    severities=("review",),
    condition="The d.c. link stands at 1.15 to 2.1 times the line voltage: 1.35 to 1.41 with a "
    "rectifier, more with one that feeds back; of twice that where a single phase feeds a motor "
    "for more than the supply. Up to 1 kV.",
    source="peak of a sine, sqrt(2); 1.35 and band: common practice, no source; 1 kV: IEC 60038, "
    "from memory",
    subject=DC,
    waits_for=("supply.phases", "supply.unbalance"),
    applies=lambda case: has_drive(case) and case.find(DC) is not None,
    check=_dc_link,
    limits={
        "low": Limit(1.15, "1", "of the line voltage", "higher", "common practice"),
        "high": Limit(2.1, "1", "of the line voltage", "lower", "common practice"),
    },
    sentences={
        "digits": "Probably {meant}. " + _LINK,
        "low": _LINK + " A lost phase or a link that is not charged reads low.",
        "high": _LINK,
    },
    remedies=dict.fromkeys(("digits", "low", "high"), "Read the d.c. link again on the drive."),
)


# -- voltages at a point ------------------------------------------------------------------------

INPUT = "voltages_drive_input"
PLACES = (INPUT, "voltages_drive_output", "voltages_drive_display")


def _voltages(case: Case, place: str) -> Iterator[Finding]:
    found = False
    for each in each_alone(_too_high(case, place), _far_below(case, place)):
        found = True
        yield each
    if not found:
        yield from _uneven(case, place)


def _uneven(case: Case, place: str) -> Iterator[Finding]:
    """Three output voltages that differ: a drive makes them alike, however uneven its supply."""
    read: list[Quantity] = case.find(f"{place}/voltages_drive_output") or []
    voltages = [each.si for each in read]
    if len(voltages) != 3 or min(voltages) <= 0 or _stands(case, place):
        return
    found = supply.voltage_unbalance(line_voltages=voltages)
    rounded = max([each.resolution for each in read]) / supply.mean(values=voltages)
    limit = case.limit("load.voltage.uneven")
    if above(found - rounded, limit):
        first, second, third = read
        yield VOLTAGE.finding(
            "uneven", "review", f"{place}/voltages_drive_output",
            compared={"first": first, "second": second, "third": third,
                      "unbalance": about(found, "%")},
            limit=percent(limit),
        )  # fmt: skip


def _too_high(case: Case, place: str) -> Iterator[Finding]:
    line, limit = _line_voltage(case), case.limit("load.voltage.above-supply")
    for name in PLACES:
        read: list[Quantity] = case.find(f"{place}/{name}") or []
        worst = max(read, key=IN_SI, default=None)
        if worst is None or not above(worst.at_least, limit * line):
            continue
        if name != INPUT and not above(worst.at_least, limit * most_given(case, line)):
            continue
        meant = mix_ups.moved_point(worst, mix_ups.of(_expected(case, place, name) or line))
        yield VOLTAGE.finding(
            "high", "review", f"{place}/{name}",
            compared={"read": worst, "line": show(line, "V")},
            limit=f"at most {percent(limit)} of the supply",
            where=spaced(name.removeprefix("voltages_")), probably=_probably(meant),
        )  # fmt: skip


def _expected(case: Case, place: str, name: str) -> float | None:
    """Voltage [V] by the motor's volts per hertz, at the drive's input by the supply."""
    if name == INPUT:
        return _line_voltage(case)
    frequency = case.find(f"{place}/frequency")
    if frequency is None or case.find("/rating/voltage") is None:
        return None
    run = run_rating(case)
    share = min(float(frequency.si) / run.frequency, 1.0)
    return _as_far_as_given(case, run.voltage * share)


def _far_below(case: Case, place: str) -> Iterator[Finding]:
    """A digit lost: even a drive that saves flux gives a share of the square of the speed."""
    share = case.limit("load.voltage.below-line")
    for name in PLACES:
        read: list[Quantity] = case.find(f"{place}/{name}") or []
        expected = _expected(case, place, name) if read else None
        if not expected:
            continue
        least = min(read, key=IN_SI)
        saved = 1.0 if name == INPUT else expected / _highest(case)
        if not below(least.at_most, share * saved * expected) or _stands(case, place):
            continue
        meant = mix_ups.moved_point(least, mix_ups.of(expected))
        yield VOLTAGE.finding(
            "low", "review", f"{place}/{name}",
            compared={"read": least, "expected": about(expected, "V")},
            limit=f"at least {roughly(share * saved * expected, 'V')}",
            where=spaced(name.removeprefix("voltages_")), probably=_probably(meant),
        )  # fmt: skip


def _highest(case: Case) -> float:
    return _as_far_as_given(case, run_rating(case).voltage)


def _as_far_as_given(case: Case, asked: float) -> float:
    """A voltage [V] that the motor asks for, as far as a drive gives it from this supply."""
    line = _line_voltage(case)
    return asked if asked <= line else min(asked, most_given(case, line))


def _stands(case: Case, place: str) -> bool:
    """Whether the motor stood at this point."""
    frequency = case.find(f"{place}/frequency")
    return frequency is not None and below(frequency.si, STANDS)


STANDS = 5.0
"""Frequency below which nothing is said of the voltage [Hz]: a drive raises it there; no source."""


def _probably(meant: Quantity | None) -> str:
    return f"Probably {entered(meant)}. " if meant else ""


VOLTAGE = Rule(
    id="load.voltage",
    title="Voltages at a duty point against the supply and the motor's volts per hertz",
    severities=("review",),
    condition="No voltage read at the drive's input, output or display is more than 130 % of the "
    "supply (behind a drive that doubles a single phase for its motor, of twice that): a drive "
    "gives no more than it gets, and a meter reads some of its pulses on top. None is below 40 % "
    "of the supply, or of what the square of the frequency leaves of the motor's voltage. The "
    "three at its output are alike to within 5 % of their mean.",
    source="derived; bands: common practice, no source",
    each=POINTS,
    waits_for=("supply.phases", "supply.unbalance"),
    applies=lambda case: has_drive(case) and _has(case, *PLACES),
    check=_voltages,
    limits={
        "above-supply": Limit(130, "%", "of the supply", "lower", "common practice"),
        "below-line": Limit(40, "%", "of the voltage expected", "higher", "common practice"),
        "uneven": Limit(5, "%", "farthest output voltage from the mean", "lower",
                        "common practice"),
    },
    sentences={
        "high": "{probably}{read} were read at the {where}, with a supply of {line}: more than a "
        "drive can give.",
        "low": "{probably}{read} were read at the {where}, where about {expected} are expected at "
        "this frequency.",
        "uneven": "At the drive's output {first}, {second} and {third} were read: {unbalance} from "
        "their mean, where a drive makes them alike.",
    },
    remedies=dict.fromkeys(("high", "low"), "Check digits and unit, and where it was read.")
    | {
        "uneven": "Read them again, each between two lines and with a meter made for a drive's "
        "pulses; if they stay uneven, have drive, filter and cable looked at."
    },
)  # fmt: skip


def _has(case: Case, *names: str) -> bool:
    return any(getattr(point, name) for point in case.find(POINTS) or () for name in names)
