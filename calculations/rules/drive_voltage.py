"""Rules of the motor voltage that a drive is set to, and of volts per hertz that go on above it."""

from collections.abc import Iterator

from calculations.aspects.rating import (
    EXTENDS,
    EXTENSION_RULE,
    HIGHEST_STRETCH,
    REACH,
    SUPPLY,
    is_untold,
    most_given,
    run_rating,
)
from calculations.case import Case, Waits
from calculations.findings import Finding
from calculations.inputs.motor import Rating
from calculations.rule import Limit, Rule, about, percent
from calculations.rules.closeness import Apart, above, apart_from, rounding, signed_percent
from calculations.rules.drive_flux import (
    from_the_plates_frequency,
    highest_run_told,
    links_of,
    lowered,
    other_column,
    tell_a_cause_once,
    trust_frequency,
)
from calculations.rules.scope import has_drive
from calculations.units import Quantity


def _motor_voltage(case: Case, place: str) -> Iterator[Finding]:
    entered, plate = case.require("/settings/motor_voltage", "/rating/voltage")
    limit = case.limit("drive.motor-voltage.difference")
    run = run_rating(case)
    nearest = min(max(entered.si, run.voltage), run.voltage_upper)
    found = apart_from(entered, nearest, rounding(plate))
    column = other_column(case, entered)
    if found.beyond(limit):
        trust_frequency(case)
        tell_a_cause_once(case)
        is_lowered = lowered(case) is not None and not column
        if from_the_plates_frequency(case) is not None:
            if is_lowered:
                return  # drive.motor-frequency notes it
            raise Waits("drive.motor-frequency")
        yield MOTOR_VOLTAGE.finding(
            "column" if column else "lowered" if is_lowered else "plain",
            "note" if is_lowered else "review", place,
            compared={"set": entered, "plate": plate},
            limit=percent(limit), deviation=signed_percent(found.deviation), column=column,
            highest=highest_run_told(case),
        )  # fmt: skip
    else:
        yield from _above_supply(case, place, entered)


def _above_supply(case: Case, place: str, entered: Quantity) -> Iterator[Finding]:
    supply = case.find(SUPPLY)
    limit = case.limit("drive.motor-voltage.above-supply")
    if supply is None or not apart_from(entered, supply.si, rounding(supply)).over(limit):
        return
    given = most_given(case, supply.si)
    doubled = given > supply.si and not apart_from(entered, given, rounding(supply)).over(limit)
    far = not doubled and above(entered.si, given * (1 + REACH))
    links = _links_for(case, supply) if far else ""
    yield MOTOR_VOLTAGE.finding(
        "doubled" if doubled else "links" if links else "above_supply",
        "review" if links else "note", place,
        compared={"set": entered, "supply": supply}, limit=f"{percent(limit)} above the supply",
        links=links, torque=percent((given / entered.si) ** 2),
        single=_on_one_phase(case, entered, supply),
    )  # fmt: skip


def _links_for(case: Case, supply: Quantity) -> str:
    """How the winding is linked for a rating of the plate that the supply feeds; empty if none."""
    ratings: list[Rating] = case.find("/motor/ratings") or []
    for rating in ratings:
        if rating.voltage is not None and Apart(rating.voltage.si / supply.si).near(1, REACH):
            return links_of(case, rating.voltage)
    return ""


def _on_one_phase(case: Case, entered: Quantity, supply: Quantity) -> str:
    if case.find("/site/supply_phases") != 1:
        return ""
    if above(entered.si, 2 * supply.si * (1 + REACH)):
        return "; not even a drive that doubles a single phase gives it"
    return "; few drives double a single phase, and no reading shows that this one does"


_VOLTAGE = (
    "Motor voltage is set to {set}, the rating in use has {plate} ({deviation}), with volts per "
    "hertz right."
)

MOTOR_VOLTAGE = Rule(
    id="drive.motor-voltage",
    title="Motor voltage as set against the plate",
    severities=("review", "note"),
    condition="Motor voltage as set is within 5 % of the rating in use, or of its extension on "
    "purpose; judged where volts per hertz and frequency are right. A voltage that the supply "
    "cannot give is noted; review where the plate has another rating for that supply. One below "
    "the plate's is noted where the motor is never run at a higher one. A drive that is fed by a "
    "single phase may double its voltage: a note where the plate has no rating for the supply, or "
    "d.c. link or output were read so high.",
    source="pull-out torque with the square of the voltage: IEC 60034-12, from memory; common "
    "practice, no source",
    subject="/settings/motor_voltage",
    needs=("/settings/motor_voltage", "/rating/voltage", "/rating/frequency"),
    waits_for=("motor.power-balance", "drive.volts-per-hertz", "drive.motor-frequency"),
    applies=has_drive,
    check=_motor_voltage,
    limits={
        "difference": Limit(5, "%", "set against plate", "lower", "common practice"),
        "above-supply": Limit(5, "%", "set above nominal supply", "lower", "common practice"),
    },
    sentences={
        "column": "Probably the plate's other rating ({column}) was entered. " + _VOLTAGE,
        "lowered": _VOLTAGE + " It is never run at more than {highest}, so that it lacks nothing.",
        "plain": _VOLTAGE,
        "above_supply": "Motor voltage {set} is above the supply's {supply}: the drive cannot give "
        "it under load, and the motor lacks torque near its rated frequency.",
        "doubled": "Motor voltage {set} is above the supply's {supply}: of a single phase only a "
        "drive that doubles it gives that.",
        "links": "Motor voltage {set} is far above the supply's {supply}, for which the plate has "
        "another rating: linked so the motor lacks flux from well below its rated frequency on, "
        "where {torque} of its pull-out torque are left{single}.",
    },
    remedies={
        "links": "Isolate, prove dead, open the terminal box and link the winding {links}; set the "
        "drive for that rating, and enter it as the one in use.",
        "column": "Set motor voltage {plate}, or correct the rating in use.",
        "plain": "Set motor voltage {plate}.",
    },
)


# -- above the plate's frequency ------------------------------------------------------------------


def _is_extended(case: Case) -> bool:
    return has_drive(case) and case.find("/motor/extended_constant_torque") is True


def _extension(case: Case, place: str) -> Iterator[Finding]:
    """Volts per hertz go on above the plate's frequency only as far as the drive is told."""
    voltage, frequency, highest, supply, plate, base = case.require(*EXTENDS)
    if not is_untold(case):
        return
    carried = min(supply.si / plate.si, HIGHEST_STRETCH)
    yield EXTENSION.finding(
        "not_set", "review", place,
        compared={
            "voltage": voltage,
            "frequency": frequency,
            "maximum": highest,
            "full_voltage": about(plate.si * carried, "V"),
            "full_frequency": about(base.si * carried, "Hz"),
        },
    )  # fmt: skip


EXTENSION = Rule(
    id=EXTENSION_RULE,
    title="Drive set for a motor that keeps its torque above the plate's frequency",
    severities=("review",),
    condition="Where a motor is meant to keep its torque above the plate's frequency and runs "
    "there, the drive has the voltage and frequency that belong to that, and not the plate's.",
    source="common practice: a drive gives no more than the motor voltage it is set to",
    subject="/settings/motor_frequency",
    needs=EXTENDS,
    waits_for=("drive.volts-per-hertz", "speed.order"),
    applies=_is_extended,
    check=_extension,
    sentences={
        "not_set": "The motor is meant to keep its torque above the plate's frequency, up to "
        "{maximum}, but the drive is set to the plate's {voltage} at {frequency}: most drives give "
        "no more than {voltage} above that, and the motor no more than its plate's power.",
    },
    remedies={
        "not_set": "Set {full_voltage} at {full_frequency}, the plate's volts per hertz up to the "
        "supply's voltage; or enter that the motor does not keep its torque there.",
    },
)  # fmt: skip
