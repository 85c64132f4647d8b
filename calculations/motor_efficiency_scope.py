"""Whether a law demands an efficiency of a motor, and why not where it does not.

Silence is the rule: a motor whose year or construction is unknown, an immersed or integrated one,
one made for drives only, is not judged. Nothing here says that a motor may be sold or used.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from calculations import guards, motor_guards
from calculations.motor_efficiency import EfficiencyClass, NominalTable
from calculations.motors import MECHANICAL_HORSEPOWER

ECODESIGN_IE3_SINCE = 2022
"""First year [1] wholly under IE3 for 0.75 to 1000 kW, in force on 1 July 2021; UKSI-2021-745."""

ECODESIGN_IE4_SINCE = 2024
"""First year [1] wholly under IE4 for 75 to 200 kW, in force on 1 July 2023; UKSI-2021-745."""

FEDERAL_FLOOR_SINCE = 1998
"""First year [1] wholly under the first US floor, of 24 October 1997; 10CFR431.25 of 2006."""

FEDERAL_PREMIUM_SINCE = 2011
"""First year [1] of the premium level for subtype I, of 19 December 2010; 10CFR431.25(a)."""

FEDERAL_SUBTYPE_TWO_SINCE = 2011
"""First year [1] of the older level for subtype II, of 19 December 2010; 42USC6313(b), date from
memory."""

FEDERAL_ALL_PREMIUM_SINCE = 2017
"""First year [1] wholly under the premium level for both, of 1 June 2016; 10CFR431.25."""


class Construction(StrEnum):
    """How a motor is built, as far as the laws ask."""

    GENERAL_PURPOSE = "foot-mounted, horizontal, general purpose"
    CLOSE_COUPLED_PUMP = "close-coupled pump motor"
    VERTICAL_SOLID_SHAFT = "vertical solid-shaft motor"
    FOOTLESS = "footless motor"
    IMMERSED = "runs in the liquid"
    INTEGRATED = "integrated into the machine, cannot be tested alone"
    DRIVE_ONLY = "made for operation on a drive only"
    BRAKE_OR_EXPLOSION_PROTECTED = "with brake, or explosion-protected"
    UNKNOWN = "unknown"


_OUTSIDE_EVERY_LAW = {
    Construction.UNKNOWN: "the construction is unknown",
    Construction.IMMERSED: "immersed motors are outside the regulation",
    Construction.INTEGRATED: "motors that cannot be tested alone are outside the regulation",
    Construction.DRIVE_ONLY: "the regulation covers motors rated for direct-on-line operation",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class MotorDescription:
    """What the laws ask about a motor; None where it is not known.

    power [W], voltage of the rating in use [V], frequency [Hz], year of manufacture [1],
    induction: squirrel-cage induction motor; continuous_duty: duty S1.
    """

    power: float
    poles: int
    frequency: float
    voltage: float
    phases: int = 3
    construction: Construction = Construction.UNKNOWN
    year: int | None = None
    induction: bool | None = None
    continuous_duty: bool | None = None

    def __post_init__(self) -> None:
        guards.positive(power=self.power, frequency=self.frequency, voltage=self.voltage)
        motor_guards.poles(self.poles)


@dataclass(frozen=True, slots=True)
class Applicability:
    """What a law demands of a motor: a level, or None with the reason for demanding nothing."""

    demanded: EfficiencyClass | NominalTable | None
    reason: str

    @property
    def applicable(self) -> bool:
        """Whether anything is demanded."""
        return self.demanded is not None


def ecodesign_requirement(*, motor: MotorDescription) -> Applicability:
    """Class that the Ecodesign regulation demands of a 50 Hz motor.

    motor: the description; powers [W], voltages [V].
    Returns the class or None, with the reason.
    Raises nothing: what is unknown is a reason.
    Source: UKSI-2021-745 Sch. 16 paras 1, 2 = EU-2019-1781 Art. 2(1) and Annex I: induction motors
        of 2 to 8 poles, duty S1, rated direct-on-line; immersed and integrated ones were outside
        EC-640-2009 Art. 1(2) and remain so (from memory).
    """
    reason = _first_true(_common_exclusions(motor)) or _first_true(_ecodesign_exclusions(motor))
    if reason:
        return Applicability(None, reason)
    demanded = _ecodesign_class(motor)
    return Applicability(demanded, f"{demanded.upper()} for this size and number of poles")


def federal_requirement(*, motor: MotorDescription) -> Applicability:
    """Level of nominal efficiency that United States law demands of a 60 Hz motor.

    motor: the description; powers [W], voltages [V].
    Returns the level or None, with the reason.
    Raises nothing: what is unknown is a reason.
    Source: 10CFR431.25 (2006 and later editions), 42USC6311(13)(B) for the subtypes.
    """
    reason = _first_true(_common_exclusions(motor)) or _first_true(_federal_exclusions(motor))
    if reason:
        return Applicability(None, reason)
    return _federal_level(motor)


def _first_true(exclusions: Iterable[tuple[bool, str]]) -> str | None:
    return next((reason for holds, reason in exclusions if holds), None)


def _common_exclusions(motor: MotorDescription) -> Iterable[tuple[bool, str]]:
    yield motor.phases != 3, "only three-phase motors are judged"
    yield motor.induction is None, "the kind of motor is unknown"
    yield motor.induction is False, "the regulation's tables are for induction motors"
    outside = _OUTSIDE_EVERY_LAW.get(motor.construction)
    yield outside is not None, outside or ""
    yield motor.year is None, "the year of manufacture is unknown"
    yield motor.continuous_duty is None, "the duty is unknown"
    yield motor.continuous_duty is False, "the regulation covers continuous duty only"
    yield motor.poles > 8, "the regulation covers 2 to 8 poles"


def _ecodesign_exclusions(motor: MotorDescription) -> Iterable[tuple[bool, str]]:
    yield motor.frequency != 50, "60 Hz figures of this regulation are not kept here"
    yield not 120 <= motor.power <= 1000e3, "the regulation covers 0.12 to 1000 kW"
    yield motor.voltage > 1000, "the regulation covers up to 1000 V"
    protected = motor.construction is Construction.BRAKE_OR_EXPLOSION_PROTECTED
    yield protected, "brake and explosion-protected motors have exceptions that are not kept here"
    too_early = (motor.year or 0) < ECODESIGN_IE3_SINCE
    yield too_early, "before 2022 earlier steps held, which allowed a lower class with a drive"


def _ecodesign_class(motor: MotorDescription) -> EfficiencyClass:
    is_ie4_size = 75e3 <= motor.power <= 200e3 and motor.poles <= 6
    if is_ie4_size and (motor.year or 0) >= ECODESIGN_IE4_SINCE:
        return EfficiencyClass.IE4
    return EfficiencyClass.IE3 if motor.power >= 750 else EfficiencyClass.IE2


def _federal_exclusions(motor: MotorDescription) -> Iterable[tuple[bool, str]]:
    horsepower = motor.power / MECHANICAL_HORSEPOWER
    yield motor.frequency != 60, "the tables are for 60 Hz"
    yield not 0.98 <= horsepower <= 510, "the tables cover 1 to 500 hp"
    yield motor.voltage > 600, "the regulation covers up to 600 V"
    protected = motor.construction is Construction.BRAKE_OR_EXPLOSION_PROTECTED
    yield protected, "brake and explosion-protected motors have exceptions that are not kept here"
    too_early = (motor.year or 0) < FEDERAL_FLOOR_SINCE
    yield too_early, "before 1998 there was no federal floor for the whole year"


def _is_subtype_one(motor: MotorDescription) -> bool:
    """General purpose, 2 to 6 poles, 230 or 460 V; everything else here is subtype II."""
    is_ordinary = motor.construction is Construction.GENERAL_PURPOSE
    return is_ordinary and motor.poles <= 6 and motor.voltage in (230, 460)


def _federal_level(motor: MotorDescription) -> Applicability:
    year = motor.year or 0
    if year >= FEDERAL_ALL_PREMIUM_SINCE:
        return Applicability(NominalTable.PREMIUM, "premium level since June 2016")
    if motor.power > 200 * MECHANICAL_HORSEPOWER * 1.02:
        return Applicability(None, "above 200 hp nothing is kept here for the years before 2017")
    if not _is_subtype_one(motor):
        return _subtype_two_level(year)
    if year >= FEDERAL_PREMIUM_SINCE:
        return Applicability(NominalTable.PREMIUM, "subtype I, premium level since December 2010")
    return Applicability(NominalTable.ENERGY_EFFICIENT, "subtype I, older level since October 1997")


def _subtype_two_level(year: int) -> Applicability:
    if year < FEDERAL_SUBTYPE_TWO_SINCE:
        return Applicability(None, "subtype II (pump, vertical, footless, 8-pole): no floor then")
    return Applicability(
        NominalTable.ENERGY_EFFICIENT, "subtype II, older level from December 2010 to May 2016"
    )
