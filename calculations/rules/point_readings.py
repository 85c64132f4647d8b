"""Rules of electrical readings that no drive can have given: d.c. link, voltages, display."""

from collections.abc import Iterator

from calculations import drives
from calculations.aspects.duty import POINTS
from calculations.aspects.rating import run_rating
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
from calculations.rules.incoming_supply import supply_voltage
from calculations.rules.scope import has_drive, has_motor
from calculations.units import Quantity

DC = "/event/supply/dc_bus_voltage"
HIGH_VOLTAGE = 1000.0
"""Line voltage from which drives are made of cells with links of their own [V].

1 kV: IEC 60038, from memory; cells: common practice."""


def _line_voltage(case: Case) -> float:
    """Line voltage of the supply [V]: as judged, but nominal where the measured one is none."""
    _, voltage, _ = supply_voltage(case)
    return voltage if voltage > 0 else case.si("/site/supply_nominal_voltage")


# -- d.c. link ----------------------------------------------------------------------------------


def _dc_link(case: Case, place: str) -> Iterator[Finding]:
    read, line = case.quantity(DC), _line_voltage(case)
    if line >= HIGH_VOLTAGE:
        return
    found = Apart(read.si / line, read.resolution / line)
    low, high = (case.limit(f"supply.dc-link.{end}") for end in ("low", "high"))
    if not below(found.ratio + found.margin, low) and not above(found.ratio - found.margin, high):
        return
    other = mix_ups.other_digits(read, _as_rectified(line))
    yield DC_LINK.finding(
        "digits" if other else "low" if found.ratio < low else "high", "review", place,
        compared={"read": read, "line": show(line, "V")},
        limit=f"{low:g} to {high:g} times the line voltage", share=percent(found.ratio),
        usual=about(drives.dc_link_voltage(line_voltage=line), "V"),
        meant=entered(other) if other else "",
    )  # fmt: skip


def _as_rectified(line: float) -> mix_ups.Fit:
    """What a rectifier makes of a line voltage [V]: 1.35 times it under load to 1.41 times."""
    low, high = (drives.dc_link_voltage(line_voltage=line, loaded=load) for load in (True, False))
    return lambda value: Apart(value / min(max(value, low), high))


_LINK = "The d.c. link was read at {read}; with {line} of supply about {usual} are expected."

DC_LINK = Rule(
    id="supply.dc-link",
    title="Voltage of the d.c. link against the supply",
    severities=("review",),
    condition="The d.c. link stands at 1.15 to 2.1 times the line voltage: 1.35 to 1.41 with a "
    "rectifier, more with one that feeds back. Up to 1 kV.",
    source="peak of a sine, sqrt(2); 1.35 and band: common practice, no source; 1 kV: IEC 60038, "
    "from memory",
    subject=DC,
    waits_for=("supply.phases", "supply.unbalance", "supply.voltage-range"),
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

PLACES = ("voltages_drive_input", "voltages_drive_output", "voltages_drive_display")


def _voltages(case: Case, place: str) -> Iterator[Finding]:
    return each_alone(_too_high(case, place), _far_below(case, place))


def _too_high(case: Case, place: str) -> Iterator[Finding]:
    line, limit = _line_voltage(case), case.limit("load.voltage.above-supply")
    for name in PLACES:
        read: list[Quantity] = case.find(f"{place}/{name}") or []
        worst = max(read, key=lambda each: each.si, default=None)
        if worst is None or not above(worst.at_least, limit * line):
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
    if name == "voltages_drive_input":
        return _line_voltage(case)
    frequency = case.find(f"{place}/frequency")
    if frequency is None or case.find("/rating/voltage") is None:
        return None
    run = run_rating(case)
    share = min(float(frequency.si) / run.frequency, 1.0)
    return min(run.voltage * share, _line_voltage(case))


def _far_below(case: Case, place: str) -> Iterator[Finding]:
    """A digit lost: even a drive that saves flux gives a share of the square of the speed."""
    share = case.limit("load.voltage.below-line")
    for name in PLACES:
        read: list[Quantity] = case.find(f"{place}/{name}") or []
        expected = _expected(case, place, name) if read else None
        if not expected:
            continue
        least = min(read, key=lambda each: each.si)
        saved = 1.0 if name == "voltages_drive_input" else expected / _highest(case)
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
    return min(run_rating(case).voltage, _line_voltage(case))


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
    "supply: a drive gives no more than it gets, and a meter reads some of its pulses on top. None "
    "is below 40 % of the supply, or of what the square of the frequency leaves of the motor's "
    "voltage.",
    source="derived; bands: common practice, no source",
    each=POINTS,
    waits_for=("supply.phases", "supply.unbalance", "supply.voltage-range"),
    applies=lambda case: has_drive(case) and _has(case, *PLACES),
    check=_voltages,
    limits={
        "above-supply": Limit(130, "%", "of the supply", "lower", "common practice"),
        "below-line": Limit(40, "%", "of the voltage expected", "higher", "common practice"),
    },
    sentences={
        "high": "{probably}{read} were read at the {where}, with a supply of {line}: more than a "
        "drive can give.",
        "low": "{probably}{read} were read at the {where}, where about {expected} are expected at "
        "this frequency.",
    },
    remedies=dict.fromkeys(("high", "low"), "Check digits and unit, and where it was read."),
)


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


def _display_against_output(case: Case, place: str) -> Iterator[Finding]:
    shown, measured = (case.find(f"{place}/{name}") for name in POWERS[::-1])
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


POWER = Rule(
    id="load.power",
    title="Power at the drive's output and on its display",
    severities=("review",),
    condition="No power at the drive's output or on its display is more than 150 % of what the "
    "motor takes at its service factor; display and measured output agree to within 25 % from a "
    "fifth of the rated power on.",
    source="common practice, no source",
    each=POINTS,
    needs=("/rating/power",),
    waits_for=("motor.power-balance", "load.current-nameplate"),
    applies=lambda case: has_motor(case) and _has(case, *POWERS),
    check=_power,
    limits={
        "above-plate": Limit(150, "%", "of the motor's intake", "lower", "common practice"),
        "display": Limit(25, "%", "display against output", "lower", "common practice"),
        "least": Limit(20, "%", "of rated power, from which it is judged", "higher",
                       "common practice"),
    },
    sentences={
        "high": "{probably}{read} were read at the {where}; the motor is one of {plate}.",
        "display": "The drive shows {shown} where {measured} were measured at its output.",
    },
    remedies={
        "high": "Check digits and unit, and where it was read.",
        "display": "Check the unit of the display and the motor data in the drive.",
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
