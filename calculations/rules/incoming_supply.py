"""Rules of the supply as measured: phases, voltage, unbalance, frequency."""

from collections.abc import Iterator
from math import sqrt

from calculations import supply
from calculations.case import Case, Missing, Waits, once
from calculations.findings import Finding, Severity, Shown
from calculations.rule import Limit, Rule, about, entered, percent, rough_percent, show
from calculations.rules import mix_ups, motor_power
from calculations.rules.closeness import Apart, above, below, rounding, signed_percent
from calculations.rules.scope import (
    across_the_line,
    has_drive,
    has_motor,
    is_new_work,
    is_synchronous,
)
from calculations.units import Quantity

VOLTAGES = "/event/supply/line_voltages"
ONE_IS_WRONG = 0.20
"""Unbalance [1] that is a lost phase or a slip of the pen, not a supply; no source."""

ALIKE = 0.05
"""How near the two other phases are to each other where the third is a slip of the pen [1]; no
source."""

TO_NEUTRAL = 0.06
"""How near to 1/1.73 of nominal a voltage from line to neutral is [1]; common practice."""


def is_measured(case: Case) -> bool:
    """Whether the visit measured the supply, or should have."""
    return case.find("/event/supply") is not None or (is_new_work(case) and has_motor(case))


def has_three_phases(case: Case) -> bool:
    """Whether a measured supply is not known to have a single phase."""
    return is_measured(case) and case.find("/site/supply_phases") != 1


def line_voltages(case: Case) -> list[Quantity]:
    """The measured line-to-line voltages."""
    found: list[Quantity] = case.require(VOLTAGES)[0]
    return found


@once
def mean_voltage(case: Case) -> float:
    """Mean of the measured line-to-line voltages [V]."""
    found = line_voltages(case)
    return sum(each.si for each in found) / len(found)


@once
def unbalance(case: Case) -> float:
    """Voltage unbalance as NEMA defines it [1]; also of a lost phase."""
    found = line_voltages(case)
    if len(found) != 3:
        raise Missing(VOLTAGES, because="expected three voltages")
    return supply.unbalance(values=[each.si for each in found])


# -- phases -------------------------------------------------------------------------------------


def _phases(case: Case, place: str) -> Iterator[Finding]:
    phases, found = case.require("/site/supply_phases", VOLTAGES)
    if len(found) != phases:
        yield PHASES.finding(
            "count", "review", place,
            compared={"voltages": Shown(str(len(found)), "1"), "phases": Shown(str(phases), "1")},
        )  # fmt: skip


PHASES = Rule(
    id="supply.phases",
    title="Number of voltages against the site's supply",
    severities=("review",),
    condition="A three-phase supply has three line-to-line voltages, a single-phase supply one.",
    source="definition",
    subject=VOLTAGES,
    needs=("/site/supply_phases", VOLTAGES),
    applies=is_measured,
    check=_phases,
    sentences={
        "count": "Line-to-line voltages recorded: {voltages}; phases of the site's supply: "
        "{phases}."
    },
    remedies={"count": "Record three line-to-line voltages of a three-phase supply, one else."},
)


# -- unbalance ----------------------------------------------------------------------------------


def _unbalance(case: Case, place: str) -> Iterator[Finding]:
    value, found = unbalance(case), line_voltages(case)
    margin = max(each.resolution for each in found) / mean_voltage(case)
    direct = across_the_line(case)
    severity = _severity_of_unbalance(case, Apart(1 + value, margin), direct)
    if severity is None:
        return
    low, mid, high = found
    meant = _meant(found) if value > ONE_IS_WRONG else None
    variant = "direct" if direct and not above(value, supply.HIGHEST_UNBALANCE) else "drive"
    yield UNBALANCE.finding(
        "digits" if meant else variant, severity, place,
        compared={
            "first": low,
            "second": mid,
            "third": high,
            "unbalance": about(value, "%"),
        },
        limit=_limits_of_unbalance(case, direct),
        derating=_derating(value), farthest=_farthest(found),
        meant=entered(meant) if meant else "",
    )  # fmt: skip


def _severity_of_unbalance(case: Case, found: Apart, direct: bool) -> Severity | None:
    if found.over(case.limit("supply.unbalance.stop")):
        return "stop"
    if found.over(case.limit("supply.unbalance.direct" if direct else "supply.unbalance.review")):
        return "review"
    return "note" if found.over(case.limit("supply.unbalance.note")) else None


def _limits_of_unbalance(case: Case, direct: bool) -> str:
    review = case.limit("supply.unbalance.direct" if direct else "supply.unbalance.review")
    return f"{percent(review)} review, {percent(case.limit('supply.unbalance.stop'))} stop"


def _meant(found: list[Quantity]) -> Quantity | None:
    """The reading that is far from the two others, with its digits put right; none else."""
    for odd in found:
        others = [each.si for each in found if each is not odd]
        middle = sum(others) / len(others)
        alike = middle > 0 and max(others) / middle - 1 < ALIKE
        if alike and abs(odd.si / middle - 1) > ONE_IS_WRONG:
            return mix_ups.other_digits(odd, mix_ups.of(middle))
    return None


def _derating(value: float) -> str:
    if above(value, supply.HIGHEST_UNBALANCE):
        return ""
    return rough_percent(supply.derating_factor(voltage_unbalance=value))


def _farthest(found: list[Quantity]) -> Shown:
    middle = sum(each.si for each in found) / len(found)
    farthest = max(found, key=lambda each: abs(each.si - middle))
    return Shown(farthest.value, farthest.unit)


UNBALANCE = Rule(
    id="supply.unbalance",
    title="Voltage unbalance of the supply",
    severities=("stop", "review", "note"),
    condition="Largest deviation of a line-to-line voltage from their mean, over the mean: note "
    "above 2 %, review above 3 % (2 % where the motor can run across the line), stop above 5 %.",
    source="definition: NEMA MG 1-2011 12.45, 14.36; 3 % at no load: ANSI C84.1, annex; on a "
    "drive: common practice",
    subject=VOLTAGES,
    needs=(VOLTAGES,),
    waits_for=("supply.phases",),
    applies=has_three_phases,
    check=_unbalance,
    limits={
        "note": Limit(2, "%", "worth a note", "lower", "common practice"),
        "review": Limit(3, "%", "on a drive", "lower", "retrieved", "ANSI C84.1, annex"),
        "direct": Limit(2, "%", "motor across the line", "lower", "common practice"),
        "stop": Limit(5, "%", "must not stay", "lower", "retrieved", "NEMA MG 1-2011 14.36"),
    },
    sentences={
        "digits": "Probably {meant}. Supply voltages {first}, {second}, {third} are unbalanced by "
        "{unbalance}.",
        "drive": "Supply voltages {first}, {second}, {third} are unbalanced by {unbalance}; "
        "farthest from the mean is {farthest}. A drive's input currents differ by many times that.",
        "direct": "Supply voltages {first}, {second}, {third} are unbalanced by {unbalance}; "
        "farthest from the mean is {farthest}. Across the line the motor may give {derating} of "
        "its power.",
    },
    remedies={"digits": "Read it again, and enter {meant} if that is what it was."}
    | dict.fromkeys(
        ("drive", "direct"),
        "Measure again at the incoming terminals without load; isolated and proven dead, look for "
        "a loose connection or a blown fuse; look for single-phase loads, then ask the supplier.",
    ),
)


# -- voltage range ------------------------------------------------------------------------------


def _is_judged_on_voltage(case: Case) -> bool:
    known = is_measured(case) or case.find("/site/supply_nominal_voltage") is not None
    return known and (has_drive(case) or across_the_line(case))


@once
def supply_voltage(case: Case) -> tuple[str, float, float]:
    """Where the voltage is from, the voltage [V], and its rounding [V]; measured goes first."""
    found = case.find(VOLTAGES)
    if found:
        return VOLTAGES, mean_voltage(case), max(each.resolution for each in found)
    (nominal,) = case.require("/site/supply_nominal_voltage")
    return "/site/supply_nominal_voltage", nominal.si, 0.0


def _voltage_range(case: Case, place: str) -> Iterator[Finding]:
    found = case.find(VOLTAGES)
    if found and len(found) == 3 and mean_voltage(case) > 0 and unbalance(case) > ONE_IS_WRONG:
        raise Waits("supply.unbalance")
    yield from list(_against_equipment(case)) or _against_nominal(case)


@once
def _is_out_of_range(case: Case) -> bool:
    """Whether the supply as it was judged suits neither the drive nor a motor across the line."""
    try:
        return any(_against_equipment(case))
    except (Missing, Waits):
        return False


def require_in_range(case: Case) -> None:
    """Raise `Waits` where the supply does not suit what it feeds, and nobody accepted that.

    One that only differs from the site's nominal voltage is as it was measured.
    """
    if VOLTAGE_RANGE.id not in case.accepted and _is_out_of_range(case):
        raise Waits(VOLTAGE_RANGE.id)


def _against_equipment(case: Case) -> Iterator[Finding]:
    drive = list(_against_drive(case)) if has_drive(case) else []
    yield from drive or (_against_plate(case) if across_the_line(case) else ())


def _against_drive(case: Case) -> Iterator[Finding]:
    low, high = case.require("/drive/input_voltage_min", "/drive/input_voltage_max")
    stated = case.find("/drive/input_voltage_tolerance")
    tolerance = case.limit("supply.voltage-range.tolerance") if stated is None else stated.si
    place, voltage, rounded = supply_voltage(case)
    lowest, highest = low.si * (1 - tolerance), high.si * (1 + tolerance)
    if not below(voltage + rounded, lowest) and not above(voltage - rounded, highest):
        return
    yield VOLTAGE_RANGE.finding(
        "phase_voltage" if _is_to_neutral(case, voltage) else "drive", "stop", place,
        compared={"mean": show(voltage, "V"), "lowest": low, "highest": high},
        limit=f"{show(lowest, 'V')} to {show(highest, 'V')}",
        tolerance=percent(tolerance), line=show(voltage * sqrt(3), "V"),
        assumed="" if stated is not None else " (common practice, the drive states none)",
    )  # fmt: skip


def _is_to_neutral(case: Case, voltage: float) -> bool:
    nominal = case.find("/site/supply_nominal_voltage")
    return nominal is not None and Apart(voltage * sqrt(3) / nominal.si).near(1, TO_NEUTRAL)


def _against_plate(case: Case) -> Iterator[Finding]:
    if has_drive(case) and is_synchronous(case):
        raise Waits("drive.bypass")  # It names the bypass itself: no such motor runs on it.
    if motor_power.is_contradicted(case):
        raise Waits("motor.power-balance")
    plate = case.quantity("/rating/voltage")
    upper = case.find("/rating/voltage_upper") or plate
    place, voltage, rounded = supply_voltage(case)
    nearest = min(max(voltage, plate.si), max(upper.si, plate.si))
    found = Apart(voltage / nearest, rounded / nearest + rounding(plate))
    limit = case.limit("supply.voltage-range.plate")
    if found.beyond(limit):
        yield VOLTAGE_RANGE.finding(
            "plate", "review", place,
            compared={"mean": show(voltage, "V"), "plate": plate},
            limit=f"{percent(limit)} of the plate", deviation=signed_percent(found.deviation),
        )  # fmt: skip


def _against_nominal(case: Case) -> Iterator[Finding]:
    """What was measured against the site's; one line may be fed to a drive from line to neutral."""
    nominal = case.find("/site/supply_nominal_voltage")
    place, voltage, rounded = supply_voltage(case)
    if nominal is None or place != VOLTAGES or _is_to_neutral(case, voltage):
        return
    found = Apart(voltage / nominal.si, rounded / nominal.si)
    limit = case.limit("supply.voltage-range.nominal")
    if found.beyond(limit):
        yield VOLTAGE_RANGE.finding(
            "nominal", "review", place,
            compared={"mean": show(voltage, "V"), "nominal": nominal},
            limit=f"{percent(limit)} of nominal", deviation=signed_percent(found.deviation),
        )  # fmt: skip


VOLTAGE_RANGE = Rule(
    id="supply.voltage-range",
    title="Supply voltage against the drive's input range",
    severities=("stop", "review"),
    condition="The mean voltage is inside the drive's input range with the tolerance that the "
    "drive states (10 % where it states none). Against the plate, to within 10 %, only where the "
    "motor can run across the line; measured voltage goes before the nominal one, and is within "
    "10 % of it.",
    source="the drive's plate; for the motor NEMA MG 1-2011 12.44.1; for the supply IEC 60038, "
    "from memory",
    subject="/event/supply/line_voltages",
    applies=_is_judged_on_voltage,
    check=_voltage_range,
    limits={
        "tolerance": Limit(10, "%", "of the range if none is stated", "lower", "common practice"),
        "plate": Limit(10, "%", "motor across the line", "lower", "retrieved", "MG 1-2011 12.44.1"),
        "nominal": Limit(10, "%", "measured against nominal", "lower", "from memory", "IEC 60038"),
    },
    sentences={
        "phase_voltage": "Probably voltages from line to neutral were read: {mean} would be {line} "
        "from line to line. The drive's input is made for {lowest} to {highest}, with {tolerance} "
        "tolerance{assumed}.",
        "drive": "Supply voltage {mean} lies outside the drive's input range {lowest} to "
        "{highest}, with {tolerance} tolerance{assumed}.",
        "plate": "Supply voltage {mean} differs by {deviation} from the motor's {plate}; across "
        "the line the motor sees it itself.",
        "nominal": "Supply voltage {mean} differs by {deviation} from the site's nominal "
        "{nominal}.",
    },
    remedies={
        "phase_voltage": "Measure from line to line.",
        "drive": "Do not run the drive on this supply: another transformer tap or another drive.",
        "nominal": "Read it again under load; ask the supplier, look at the transformer's tap and "
        "the feeder, or correct the site's nominal voltage.",
        "plate": "Link the motor for the supply's voltage, or have the supply corrected.",
    },
)


# -- frequency ----------------------------------------------------------------------------------


def _share_by_source(case: Case, found: Apart) -> float:
    source = case.find("/site/supply_source")
    utility = case.limit("supply.frequency.utility")
    generator = case.limit("supply.frequency.generator")
    if case.is_("/event/supply/measured_at", "generator") or source in ("generator", "other"):
        return generator
    if source is None and found.beyond(utility) and not found.beyond(generator):
        raise Missing("/site/supply_source")
    return utility


def _frequency(case: Case, place: str) -> Iterator[Finding]:
    measured, nominal = case.require("/event/supply/frequency", "/site/supply_frequency")
    found = Apart(measured.si / nominal.si, measured.resolution / nominal.si)
    limit = _share_by_source(case, found)
    if not found.beyond(limit):
        return
    other = next((each for each in (50.0, 60.0) if abs(measured.si - each) <= 1.0), None)
    yield FREQUENCY.finding(
        "plain" if other is None else "other_mains", "review", place,
        compared={"measured": measured, "nominal": nominal},
        limit=percent(limit), deviation=signed_percent(found.deviation),
        other="" if other is None else show(other, "Hz"),
    )  # fmt: skip


_FREQUENCY = "Supply frequency {measured} differs from the site's {nominal} by {deviation}."

FREQUENCY = Rule(
    id="supply.frequency",
    title="Supply frequency",
    severities=("review",),
    condition="Measured frequency is within 2 % of the site's on a utility, 5 % on a generator.",
    source="IEC 60034-1 zone A and NEMA MG 1-2011 12.44.1; zone from memory",
    subject="/event/supply/frequency",
    needs=("/event/supply/frequency", "/site/supply_frequency"),
    applies=is_measured,
    check=_frequency,
    limits={
        "utility": Limit(2, "%", "on a utility's supply", "lower", "from memory"),
        "generator": Limit(5, "%", "on a generator", "lower", "retrieved", "MG 1-2011 12.44.1"),
    },
    sentences={
        "other_mains": "Probably the site has {other}. " + _FREQUENCY,
        "plain": _FREQUENCY,
    },
    remedies={
        "other_mains": "Correct the site's supply frequency.",
        "plain": "Measure again; on a generator, check its governor.",
    },
)
