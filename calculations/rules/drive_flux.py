"""Rules of the drive's motor data against the plate: volts per hertz, frequency. What else is set
rests on these.
"""

from collections.abc import Iterator

from calculations.aspects.rating import REACH, SUPPLY, RunRating, most_given, run_rating
from calculations.case import Case, Missing, Waits, once
from calculations.findings import Finding, Severity
from calculations.inputs.motor import Rating
from calculations.rule import Limit, Rule, about, percent, show, spaced
from calculations.rules import mix_ups, motor_plate
from calculations.rules.closeness import (
    Apart,
    above,
    apart_from,
    below,
    rounding,
    signed_percent,
)
from calculations.rules.scope import has_drive
from calculations.units import Quantity

MAINS_RATIOS = (50 / 60, 60 / 50)
SAME = 0.01
SAME_DIGITS = 0.005
"""How near other digits must come to the plate's voltage [1], a round figure; no source."""

# -- volts per hertz ----------------------------------------------------------------------------


def _flux(run: RunRating, voltage: Quantity, frequency: Quantity, plate: Quantity) -> Apart:
    """Volts per hertz as set over those of the plate, which may state a range of voltages."""
    ratio = voltage.si / frequency.si
    lowest, highest = run.volts_per_hertz, run.voltage_upper / run.frequency
    nearest = min(max(ratio, lowest), highest)
    return Apart(ratio / nearest, ratio / nearest * (rounding(voltage) + rounding(plate)))


def _volts_per_hertz(case: Case, place: str) -> Iterator[Finding]:
    voltage, frequency = case.require("/settings/motor_voltage", "/settings/motor_frequency")
    run, plate = run_rating(case), case.quantity("/rating/voltage")
    found = _flux(run, voltage, frequency, plate)
    review = case.limit("drive.volts-per-hertz.review")
    stop = case.limit("drive.volts-per-hertz.stop")
    if not found.beyond(review):
        return
    trust_frequency(case)
    severity: Severity = "stop" if found.beyond(stop) else "review"
    variant, column = _explanation(case, found)
    supply = _supply_below(case, run) if variant in ("column", "plain") else None
    if supply is not None:
        variant = "links" if column else "supply"
    yield VOLTS_PER_HERTZ.finding(
        variant, severity, place,
        compared={
            "voltage": voltage,
            "frequency": frequency,
            "rated_voltage": show(run.voltage, "V"),
            "rated_frequency": show(run.frequency, "Hz"),
        },
        limit=f"{percent(review)} review, {percent(stop)} stop",
        ratio=about(voltage.si / frequency.si, "V/Hz"),
        rated=about(run.volts_per_hertz, "V/Hz"),
        deviation=signed_percent(found.deviation), column=column,
        effect="saturates the motor" if found.over(0) else "takes torque from the motor",
        supply="" if supply is None else show(supply, "V"), links=links_of(case, voltage),
    )  # fmt: skip


def _supply_below(case: Case, run: RunRating) -> float | None:
    """The supply [V] where it is too low for a drive to give the rated voltage; else None.

    The higher of nominal and measured: what was measured may be from line to neutral.
    """
    read = case.find("/event/supply/line_voltages") or ()
    nominal = case.find("/site/supply_nominal_voltage")
    supply = max((each.si for each in (*read, nominal) if each is not None), default=None)
    if supply is None or not above(run.voltage, most_given(case, supply) * (1 + REACH)):
        return None
    return float(supply)


def links_of(case: Case, voltage: Quantity) -> str:
    """How the winding is linked for the other rating of a voltage: `in delta for 400 V 50 Hz`."""
    other = _other_rating(case, voltage)
    if other is None:
        return ""
    linked = f"in {spaced(other.connection)} " if other.connection else ""
    return f"{linked}for {_column(other)}"


def trust_frequency(case: Case) -> None:
    """Wait where the plate's speed does not fit its frequency, which the drive does not confirm.

    Where plate and drive have the same frequency it is the speed, or the poles, that is in doubt.
    """
    entered, plate = case.find("/settings/motor_frequency"), case.si("/rating/frequency")
    if entered is None or not apart_from(entered, plate).near(1, SAME):
        motor_plate.require_consistent(case)


def require_rating(case: Case) -> None:
    """Wait where volts per hertz leave open which rating of the plate is the one in use.

    So does a rating that the supply cannot feed: before a transformer the drive is set for other
    currents than the plate's. Other contradictions (mains, digits) leave current, power and speed.
    """
    voltage = case.find("/settings/motor_voltage")
    if voltage is None or not _are_others(case):
        return
    beyond = _supply_below(case, run_rating(case)) is not None  # also where that was accepted
    if beyond or (is_contradicted(case) and _may_be_another(case, voltage)):
        trust_frequency(case)
        raise Waits(VOLTS_PER_HERTZ.id)


def is_contradicted(case: Case) -> bool:
    """Whether volts per hertz as set are not those of the plate, and nobody accepted that."""
    return VOLTS_PER_HERTZ.id not in case.accepted and _are_others(case)


@once
def _are_others(case: Case) -> bool:
    try:
        voltage, frequency = case.require("/settings/motor_voltage", "/settings/motor_frequency")
        found = _flux(run_rating(case), voltage, frequency, case.quantity("/rating/voltage"))
    except Missing:
        return False
    return found.beyond(case.limit("drive.volts-per-hertz.review"))


def _may_be_another(case: Case, voltage: Quantity) -> bool:
    """Whether another rating of the plate, or one that is not told, explains what is set."""
    as_set = voltage.si / case.si("/settings/motor_frequency")
    within = case.limit("drive.volts-per-hertz.review")
    in_use = case.place("/rating")
    for index, each in enumerate(case.find("/motor/ratings") or ()):
        if f"/motor/ratings/{index}" == in_use:
            continue
        if each.voltage is None or each.frequency is None:
            return True
        if Apart(as_set * each.frequency.si / each.voltage.si).near(1, within):
            return True
    return bool(other_column(case, voltage))


def _explanation(case: Case, found: Apart) -> tuple[str, str]:
    voltage, frequency = case.require("/settings/motor_voltage", "/settings/motor_frequency")
    column = other_column(case, voltage)
    if column:
        return "column", column
    rated = case.si("/rating/frequency")
    if any(apart_from(frequency, rated * each).near(1, SAME) for each in MAINS_RATIOS):
        return "mains", ""
    right = voltage.si / found.ratio
    read = mix_ups.other_digits(voltage, mix_ups.of(right))
    if read is not None and above(abs(read.si / right - 1), SAME_DIGITS):
        read = None  # a voltage of the mains near to it, which no slip of the pen makes the plate's
    return ("digits", f"{read.value} {read.unit}") if read else ("plain", "")


def other_column(case: Case, entered: Quantity) -> str:
    """The rating of the plate, not in use, that an entered voltage or current belongs to."""
    other = _other_rating(case, entered)
    return "" if other is None else _column(other)


def _other_rating(case: Case, entered: Quantity) -> Rating | None:
    in_use = case.place("/rating")
    ratings: list[Rating] = case.find("/motor/ratings") or []
    for index, rating in enumerate(ratings):
        if f"/motor/ratings/{index}" != in_use and _is_of(rating, entered):
            return rating
    return None


def _is_of(rating: Rating, entered: Quantity) -> bool:
    printed = getattr(rating, entered.kind, None)
    return printed is not None and apart_from(entered, printed.si).near(1, SAME)


def _column(rating: Rating) -> str:
    printed = (rating.voltage, rating.frequency)
    return " ".join(f"{each.value} {each.unit}" for each in printed if each)


_FLUX = (
    "Motor voltage {voltage} at {frequency} is {ratio}, the motor is made for {rated} "
    "({deviation}): that {effect}."
)

VOLTS_PER_HERTZ = Rule(
    id="drive.volts-per-hertz",
    title="Volts per hertz as set against the plate",
    severities=("stop", "review"),
    condition="Motor voltage over motor frequency as set is within 5 % of that of the rating in "
    "use (stop beyond 10 %), also where the rating is extended on purpose above its frequency.",
    source="law of induction; windows of NEMA MG 1-2011 12.44, bands from memory",
    subject="/settings/motor_voltage",
    needs=(
        "/settings/motor_voltage",
        "/settings/motor_frequency",
        "/rating/voltage",
        "/rating/frequency",
    ),
    waits_for=("motor.power-balance",),
    applies=has_drive,
    check=_volts_per_hertz,
    limits={
        "review": Limit(5, "%", "difference that needs an answer", "lower", "from memory"),
        "stop": Limit(10, "%", "difference that must not stay", "lower", "from memory"),
    },
    sentences={
        "column": "Probably the plate's other rating ({column}) was entered. " + _FLUX,
        "mains": "Probably the other mains frequency was entered: {frequency} instead of "
        "{rated_frequency}. " + _FLUX,
        "digits": "Probably {column} was meant. " + _FLUX,
        "links": "The rating in use wants {rated_voltage}, which no drive gives from a supply of "
        "{supply}. " + _FLUX,
        "supply": "The rating in use wants {rated_voltage}, which no drive gives from a supply of "
        "{supply} without a transformer behind it. " + _FLUX,
        "plain": _FLUX,
    },
    remedies={
        "links": "Isolate, prove dead, open the terminal box and link the winding {links}, as the "
        "drive is set; if it is linked so already, correct the rating in use.",
        "supply": "Isolate, prove dead, look at plate and links in the terminal box: the rating in "
        "use must be one that this supply can feed. Where a transformer steps the voltage up "
        "behind the drive, say so in the answer: the drive is set for its own side, the plate's "
        "voltage over the ratio and its current times it, which is not judged here.",
    }
    | dict.fromkeys(
        ("column", "mains", "digits", "plain"),
        "Set motor voltage {rated_voltage} and motor frequency {rated_frequency}, or correct the "
        "rating in use to what the terminal box is linked for: isolate, prove dead, and look.",
    ),
)


# -- a base point below the plate's -------------------------------------------------------------


@once
def lowered(case: Case) -> float | None:
    """The drive's base frequency over the plate's [1], where it was lowered and nothing is lost.

    Volts per hertz are the plate's as far as the motor is ever run. None where it was not lowered,
    or more is run, or nobody knows.
    """
    try:
        voltage, frequency = case.require("/settings/motor_voltage", "/settings/motor_frequency")
        run, highest = run_rating(case), highest_run(case)
    except Missing:
        return None
    ratio = frequency.si / run.frequency
    if highest is None or not below(ratio, 1) or _are_others(case):
        return None
    enough = highest * (1 - case.limit("drive.motor-voltage.difference"))
    return None if below(voltage.si, enough) else float(ratio)


def highest_run(case: Case) -> float | None:
    """The highest voltage [V] that the motor is run at, by the supply and the maximum frequency."""
    run, found = run_rating(case), []
    supply, fastest = case.find(SUPPLY), case.find("/settings/maximum_frequency")
    if supply is not None:
        found.append(most_given(case, supply.si))
    if fastest is not None:
        found.append(run.volts_per_hertz * fastest.si)
    return min(*found, run.voltage) if found else None


# -- frequency ----------------------------------------------------------------------------------


def tell_a_cause_once(case: Case) -> None:
    """Also where it was accepted that volts per hertz are others: then nothing more is wrong.

    Asked here and not declared, so that what waits for the frequency does not wait for them.
    """
    if _are_others(case):
        raise Waits(VOLTS_PER_HERTZ.id)


def from_the_plates_frequency(case: Case) -> Apart | None:
    """How far the frequency as set is from the plate's; None where it is near enough."""
    entered, plate = case.require("/settings/motor_frequency", "/rating/frequency")
    found = min(
        (apart_from(entered, each) for each in (run_rating(case).frequency, plate.si)),
        key=lambda each: abs(each.deviation),
    )
    return found if found.beyond(case.limit("drive.motor-frequency.difference")) else None


def _motor_frequency(case: Case, place: str) -> Iterator[Finding]:
    entered, plate = case.require("/settings/motor_frequency", "/rating/frequency")
    limit = case.limit("drive.motor-frequency.difference")
    found = from_the_plates_frequency(case)
    if found is None:
        return
    trust_frequency(case)
    tell_a_cause_once(case)
    other = _rating_of_frequency(case, entered)
    column, links = "" if other is None else _column(other), case.find("/rating/connection")
    alike = other is not None and links is not None and other.connection == links
    variant = (
        "same_links"
        if alike
        else "column"
        if column
        else "stretched"
        if 1 < found.ratio < 2
        else "plain"
    )
    if variant == "plain" and lowered(case) is not None:
        variant = "lowered"
    yield MOTOR_FREQUENCY.finding(
        variant, "note" if variant == "lowered" else "review", place,
        compared={"set": entered, "plate": plate},
        limit=percent(limit), deviation=signed_percent(found.deviation), column=column,
        voltage=show(case.si("/rating/voltage"), "V"), highest=highest_run_told(case),
        links=spaced(links or ""),
    )  # fmt: skip


def highest_run_told(case: Case) -> str:
    highest = highest_run(case)
    return "" if highest is None else str(show(highest, "V"))


def _rating_of_frequency(case: Case, entered: Quantity) -> Rating | None:
    ratings: list[Rating] = case.find("/motor/ratings") or []
    return next((rating for rating in ratings if _is_of(rating, entered)), None)


_FREQUENCY = (
    "Motor frequency is set to {set}, the rating in use has {plate} ({deviation}), with volts per "
    "hertz right."
)

_LOWERED = (
    " It is never run at more than {highest}, so that it lacks nothing. Other values that the "
    "drive takes from the plate, power and speed, may be those of either frequency."
)

MOTOR_FREQUENCY = Rule(
    id="drive.motor-frequency",
    title="Motor frequency as set against the plate",
    severities=("review", "note"),
    condition="Motor frequency as set is within 5 % of the rating in use, or of its extension on "
    "purpose; judged where volts per hertz are right. A note where voltage and frequency are below "
    "the plate's in proportion, and the motor is never run at a higher voltage: the supply gives "
    "no more, or the maximum frequency asks for no more.",
    source="common practice, no source",
    subject="/settings/motor_frequency",
    needs=("/settings/motor_frequency", "/rating/frequency", "/rating/voltage"),
    waits_for=("motor.power-balance",),
    applies=has_drive,
    check=_motor_frequency,
    limits={"difference": Limit(5, "%", "set against plate", "lower", "common practice")},
    sentences={
        "column": "Probably the plate's other rating ({column}) was entered. " + _FREQUENCY,
        "same_links": "Probably the plate's other rating ({column}) was entered. "
        + _FREQUENCY
        + " Both ratings are for a winding in {links}.",
        "stretched": _FREQUENCY + " If the motor is meant to run above its rated frequency at "
        "full torque, that belongs on its plate data.",
        "lowered": _FREQUENCY + _LOWERED,
        "plain": _FREQUENCY,
    },
    remedies={
        "column": "Isolate, prove dead, look at the links in the terminal box; then set the rating "
        "that they are for, or correct the rating in use.",
        "same_links": "The links are the same for both: set motor frequency {plate} with motor "
        "voltage {voltage} and the other values of that rating; or, where the other rating is "
        "meant, make it the rating in use.",
        "stretched": "Set motor frequency {plate} with motor voltage {voltage}, or record that the "
        "motor is extended on purpose.",
        "plain": "Set motor frequency {plate} with motor voltage {voltage}.",
    },
)
