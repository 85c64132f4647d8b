"""The motor's rating as it is run: as linked in the terminal box, or stretched on purpose.

A motor run along its volts per hertz above the rated frequency ("87 Hz" operation of a delta
winding) has a larger power, frequency, voltage and speed than its plate, at the plate's current.
"""

from dataclasses import dataclass

from calculations import motor_operation
from calculations.case import Case, Missing, once
from calculations.rules.closeness import above
from calculations.rules.scope import is_synchronous
from calculations.units import Quantity

BARELY_ABOVE = 1.02
"""Set over rated frequency [1] up to which nothing is stretched."""

HIGHEST_STRETCH = 2.0
"""Most by which a rating is stretched [1], whatever is set; delta to star is 1.73."""


@dataclass(frozen=True, slots=True)
class RunRating:
    """Voltage [V], frequency [Hz], power [W], speed [1/s] and current [A] as the motor is run."""

    stretch: float
    voltage: float
    voltage_upper: float
    frequency: float
    power: float | None
    speed: float | None
    current: float | None

    @property
    def volts_per_hertz(self) -> float:
        """Volts per hertz [V/Hz]."""
        return self.voltage / self.frequency


SUPPLY = "/site/supply_nominal_voltage"

REACH = 1 / 0.90 - 1
"""How far the rated voltage may lie above the supply [1] for a drive to give it still: a motor runs
at 10 % less than its own, NEMA MG 1-2011 12.44.1; so one of 230 V does on 208 V."""


def most_given(case: Case, supply: float) -> float:
    """The most voltage [V] that a drive makes of a line voltage of the supply [V].

    One that is fed by a single phase may double it, for a motor that asks for more: few do, so
    that one which could be linked for the supply is taken to be meant so, unless readings show it.
    """
    plate = case.find("/rating/voltage") if case.find("/site/supply_phases") == 1 else None
    if plate is None or not above(plate.si, supply * (1 + REACH)):
        return supply
    doubled = not _could_be_linked_for(case, supply) or _is_seen_doubled(case, supply)
    return 2 * supply if doubled else supply


def _could_be_linked_for(case: Case, supply: float) -> bool:
    """Whether the plate has a rating for the supply [V]."""
    voltages = [each.voltage for each in case.find("/motor/ratings") or ()]
    return any(each is not None and abs(each.si / supply - 1) <= REACH for each in voltages)


def _is_seen_doubled(case: Case, supply: float) -> bool:
    """Whether d.c. link or output were read higher than a drive gets out of the supply [V]."""
    link = case.find("/event/supply/dc_bus_voltage")
    if link is not None and above(link.at_least, case.limit("supply.dc-link.high") * supply):
        return True
    most = case.limit("load.voltage.above-supply") * supply
    read = [
        each
        for point in case.find("/event/duty_points") or ()
        for each in (*(point.voltages_drive_output or ()), *(point.voltages_drive_display or ()))
    ]
    return any(above(each.at_least, most) for each in read)


def available(case: Case) -> Quantity | None:
    """The voltage that a stretched motor may get: the supply's, else what the drive is set to."""
    found: Quantity | None = case.find(SUPPLY) or case.find("/settings/motor_voltage")
    return found


def stretch(case: Case) -> float:
    """How far the rating is stretched [1]: no further than the supply's voltage carries.

    `Missing` where a motor is run above its rating and the supply is not known.
    """
    if case.find("/motor/extended_constant_torque") is not True:
        return 1.0
    voltage, frequency = case.require("/rating/voltage", "/rating/frequency")
    asked = case.find("/settings/motor_frequency")
    wanted = asked.si / frequency.si if asked is not None else HIGHEST_STRETCH
    if wanted <= BARELY_ABOVE:
        return 1.0
    supply = available(case)
    if supply is None:
        raise Missing(SUPPLY)
    found = min(wanted, supply.si / voltage.si, HIGHEST_STRETCH)
    return found if found > BARELY_ABOVE else 1.0


@once
def run_rating(case: Case) -> RunRating:
    """The rating as run; `Missing` without voltage and frequency, or the supply where stretched."""
    voltage, frequency = case.require("/rating/voltage", "/rating/frequency")
    factor = stretch(case)
    upper = case.find("/rating/voltage_upper") or voltage
    power, current = case.find("/rating/power"), case.find("/rating/current")
    return RunRating(
        stretch=factor,
        voltage=voltage.si * factor,
        voltage_upper=max(voltage.si, upper.si) * factor,
        frequency=frequency.si * factor,
        power=power.si * factor if power else None,
        speed=_speed(case, voltage, frequency, factor),
        current=current.si if current else None,
    )


def _speed(case: Case, voltage: Quantity, frequency: Quantity, factor: float) -> float | None:
    """The slip speed stays, so that the speed grows by more than the frequency."""
    speed = case.find("/rating/speed")
    if speed is None or factor == 1:
        return speed.si if speed else None
    poles = case.known("motor.poles")
    if is_synchronous(case) or poles is None:
        return float(speed.si * factor)
    stretched = motor_operation.extended_rating(
        voltage=voltage.si,
        frequency=frequency.si,
        power=1.0,
        speed=speed.si,
        poles=int(poles),
        supply=voltage.si * factor,
    )
    return stretched.speed


EXTENSION_RULE = "drive.extended-torque"
"""Rule that names a drive which is not told how far the motor keeps its torque."""

WORTH = 1.1
"""Reach above the plate [1] up to which no extension is meant: the mains' tolerance; practice."""


def is_untold(case: Case) -> bool:
    """Whether a motor is meant to keep its torque above the plate, and its drive has the plate's
    voltage and frequency; False where that is not known."""
    known = [case.find(each) for each in EXTENDS]
    if None in known or case.find("/motor/extended_constant_torque") is not True:
        return False
    voltage, frequency, highest, supply, plate, base = (each.si for each in known)
    reach = min(supply / plate, highest / base)
    told = max(voltage / plate, frequency / base)
    return above(reach, WORTH) and not told > BARELY_ABOVE


EXTENDS = (
    "/settings/motor_voltage", "/settings/motor_frequency", "/settings/maximum_frequency", SUPPLY,
    "/rating/voltage", "/rating/frequency",
)  # fmt: skip
