"""Rules of what a motor claims or is asked for: efficiency class, service factor, phases."""

from collections.abc import Iterator

from calculations import motor_efficiency
from calculations.aspects import load
from calculations.case import Case, Missing, once
from calculations.findings import Finding
from calculations.motor_efficiency import EfficiencyClass, NominalTable, RequiredEfficiency
from calculations.rule import Limit, Rule, about, percent
from calculations.rules.closeness import apart, below
from calculations.rules.scope import has_drive, has_motor, is_immersed
from calculations.units import Quantity

# -- efficiency class ---------------------------------------------------------------------------

AT_50_HZ = {each.value: each for each in EfficiencyClass}
AT_60_HZ = {each.value: each for each in NominalTable}
OPEN = ("open_drip_proof",)
ENCLOSED = ("totally_enclosed", "explosion_protected")


def claims_a_class(case: Case) -> bool:
    """Whether a class is claimed whose figures are known here; immersed motors have none."""
    frequency, claimed = case.find("/rating/frequency"), case.find("/motor/efficiency_class")
    if frequency is None or claimed is None or is_immersed(case):
        return False
    at_50, at_60 = (abs(frequency.si - mains) < 1 for mains in (50, 60))
    return (at_50 and claimed in AT_50_HZ) or (at_60 and claimed in AT_60_HZ)


@once
def required_efficiency(case: Case) -> RequiredEfficiency:
    """What the claimed class demands of the rating in use."""
    claimed = case.word("/motor/efficiency_class")
    power, poles = case.si("/rating/power"), int(case.value("motor.poles"))
    if claimed in AT_50_HZ:
        return motor_efficiency.minimum_efficiency_50_hz(
            efficiency_class=AT_50_HZ[claimed], poles=poles, power=power
        )
    return motor_efficiency.nominal_efficiency_60_hz(
        table=AT_60_HZ[claimed], poles=poles, enclosed=_is_enclosed(case), power=power
    )


def _is_enclosed(case: Case) -> bool:
    if not case.is_("/motor/enclosure", *OPEN, *ENCLOSED):
        raise Missing("/motor/enclosure")
    return case.is_("/motor/enclosure", *ENCLOSED)


def _efficiency(case: Case, place: str) -> Iterator[Finding]:
    stated: Quantity = case.quantity("/rating/efficiency")
    required = required_efficiency(case)
    slack = case.limit("motor.efficiency-class.slack") if _is_by_formula(case) else 0.0
    least = required.efficiency if _is_by_formula(case) else required.printed
    if not below(stated.at_most, least - slack):
        return
    yield EFFICIENCY_CLASS.finding(
        "below", "review", place,
        compared={"stated": stated, "required": about(required.printed, "%")},
        limit=f"{about(required.printed, '%')} for {required.rating}",
        claimed=case.word("/motor/efficiency_class"), rating=required.rating,
    )  # fmt: skip


def _is_by_formula(case: Case) -> bool:
    return case.word("/motor/efficiency_class") in AT_50_HZ


EFFICIENCY_CLASS = Rule(
    id="motor.efficiency-class",
    title="Plate efficiency against the class that the motor claims",
    severities=("review",),
    condition="Where a class is claimed: the plate's efficiency is not more than 0.15 point below "
    "the 50 Hz formula of IE2, IE3, IE4, nor below the 60 Hz table (premium, or the older level). "
    "Nothing is said of immersed motors and of classes without published figures here.",
    source="50 Hz: UK SI 2021/745 Sch. 16 Tables 27, 28 = EU 2019/1781; 60 Hz: 10 CFR 431.25 = "
    "NEMA MG 1 Tables 12-11, 12-12 (above 200 hp and 8 poles partly from memory)",
    scope="nameplate",
    subject="/rating/efficiency",
    needs=("/rating/efficiency", "/rating/power"),
    waits_for=("motor.slip", "motor.poles", "motor.power-balance"),
    applies=claims_a_class,
    check=_efficiency,
    limits={"slack": Limit(0.15, "%", "points below the formula", "lower", "common practice")},
    sentences={
        "below": "Plate efficiency {stated} is below the {required} that class {claimed} demands "
        "of {rating}."
    },
    remedies={"below": "Read efficiency, power and class from the plate again."},
)

# -- service factor -----------------------------------------------------------------------------


def _has_service_factor(case: Case) -> bool:
    factor = case.find("/motor/service_factor")
    return has_drive(case) and factor is not None and factor.si > 1 and not is_immersed(case)


def _service_factor(case: Case, place: str) -> Iterator[Finding]:
    """Above the plate, yet not so far that another rule already tells it."""
    stated = case.find("/motor/inverter_service_factor")
    allowed = stated.si if stated is not None else 1.0
    for pointer in ("/settings/overload_current", "/settings/motor_current"):
        entered = case.find(pointer)
        if entered is not None and entered.kind == "current":
            yield from _used(case, "setting", case.place(pointer), entered, allowed)
    reading = load.highest_reading(case)
    if reading:
        accuracy = load.instrument_share(case, *reading)
        yield from _used(case, "load", *reading, allowed + accuracy)


def _used(
    case: Case, variant: str, place: str, value: Quantity, allowed: float
) -> Iterator[Finding]:
    plate = case.quantity("/rating/current")
    found = apart(value, plate)
    told = case.limit("motor.service-factor.told")
    if found.over(allowed - 1) and not found.over(told):
        yield SERVICE_FACTOR.finding(
            variant, "note", place,
            compared={
                "value": value,
                "plate": plate,
                "factor": case.quantity("/motor/service_factor"),
            },
            limit=f"{percent(allowed)} of the plate",
        )  # fmt: skip


SERVICE_FACTOR = Rule(
    id="motor.service-factor",
    title="Service factor used on a drive",
    severities=("note",),
    condition="On a drive neither motor current, overload nor load use the service factor, unless "
    "the plate states one for drives. Beyond 5 % other rules tell it.",
    source="NEMA MG 1-2011 Parts 30 and 31, from memory",
    subject="/motor/service_factor",
    needs=("/rating/current",),
    waits_for=("motor.power-balance", "drive.volts-per-hertz"),
    applies=_has_service_factor,
    check=_service_factor,
    limits={"told": Limit(5, "%", "beyond which other rules tell it", "higher", "common practice")},
    sentences={
        "setting": "{value} is set where the plate has {plate}: the service factor of {factor} "
        "does not hold on a drive.",
        "load": "The motor drew {value} of the plate's {plate}: the service factor of {factor} "
        "does not hold on a drive.",
    },
)

# -- phases -------------------------------------------------------------------------------------


def _is_single_phase(case: Case) -> bool:
    return has_motor(case) and not case.fixed_speed and case.find("/motor/phases") == 1


def _single_phase(case: Case, place: str) -> Iterator[Finding]:
    if not has_drive(case):
        raise Missing("/drive")
    yield SINGLE_PHASE.finding("single_phase", "stop", place, compared={})


SINGLE_PHASE = Rule(
    id="motor.single-phase-on-drive",
    title="Single-phase motor on a drive",
    severities=("stop",),
    condition="A motor fed by a drive has three phases.",
    source="common practice: drive manuals",
    scope="nameplate",
    subject="/motor/phases",
    applies=_is_single_phase,
    check=_single_phase,
    correct_only=True,
    sentences={
        "single_phase": "The motor has a single phase: a drive cannot start it and destroys its "
        "capacitor or starting winding."
    },
    remedies={"single_phase": "Take a three-phase motor, or run this one without the drive."},
)
