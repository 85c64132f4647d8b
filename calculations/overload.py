"""Overload protection of a motor, and the currents that size its conductors.

The 125/115 % of NFPA 70 are the highest trip of a separate overload device across the line; they
are not for a drive's own overload, which is set to the plate's current itself.
"""

from dataclasses import dataclass
from enum import StrEnum

from calculations import guards
from calculations.errors import InvalidInput

SERVICE_FACTOR_FOR_HIGHER_TRIP = 1.15
"""Least service factor [1] for the higher trip; NFPA70 430.32(A)(1)."""

TEMPERATURE_RISE_FOR_HIGHER_TRIP = 40.0
"""Or: highest marked temperature rise [K] for the higher trip; NFPA70 430.32(A)(1)."""

SEPARATE_DEVICE = "separate overload device across the line: not for a drive's own overload"
"""The label that every figure of this kind carries."""

CONDUCTOR_SHARE = 1.25
"""Ampacity over full-load current of a continuous motor [1]; NFPA70 430.22."""

DRIVE_INPUT_CONDUCTOR_SHARE = 1.25
"""Ampacity over the drive's rated input current [1]; NFPA70 430.122, from memory."""

LOW_SPEED = 20.0
"""Synchronous speed [1/s] below which the plate's current counts; NFPA70 430.6(A), 1200 rpm."""

THERMAL_PROTECTOR_SHARES = ((9.0, 1.70), (20.0, 1.56), (float("inf"), 1.40))
"""Table current up to [A] and highest trip over it [1]; NFPA70 430.32(A)(2)."""

REVIEW_SHARE = 1.05
"""Drive overload over its reference current [1] that is worth a question; common practice."""

STOP_SHARE_ELSEWHERE = 1.10
"""The same beyond which a drive should not be handed over in other countries; common practice."""


class ElectricalPractice(StrEnum):
    """Which rules of the trade hold at a site; the words of the site's field."""

    US_NEC = "us_nec"
    CANADIAN = "canadian"
    IEC = "iec"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class SeparateDeviceLimit:
    """Highest trip current [A], the one allowed if the motor will not start, and the label."""

    maximum: float
    raised: float
    label: str = SEPARATE_DEVICE


def separate_device_limit(
    *,
    nameplate_current: float,
    service_factor: float | None = None,
    temperature_rise: float | None = None,
) -> SeparateDeviceLimit:
    """Highest trip of a separate overload device of a continuous motor above 1 hp.

    nameplate_current: on the plate [A], above 0; never the table's current, which is higher.
    service_factor: on the plate [1], at least 1, None if not marked.
    temperature_rise: marked on the plate [K], above 0, None if not marked.
    Returns the limits; not for a drive's own overload.
    Raises InvalidInput outside these ranges.
    Equation: 125 % (raised 140 %) with service factor >= 1.15 or rise <= 40 K, else 115 % (130 %).
    Source: NFPA70 430.32(A)(1) and (C), 430.6(A)(2).
    """
    guards.positive(nameplate_current=nameplate_current)
    share, raised = (
        (1.25, 1.40) if _is_marked_for_higher(service_factor, temperature_rise) else (1.15, 1.30)
    )
    return SeparateDeviceLimit(nameplate_current * share, nameplate_current * raised)


def _is_marked_for_higher(service_factor: float | None, temperature_rise: float | None) -> bool:
    """Either marking is enough: the code says "or"."""
    if service_factor is not None and service_factor < 1:
        raise InvalidInput("service_factor", f"expected at least 1, got {service_factor:g}")
    if temperature_rise is not None:
        guards.positive(temperature_rise=temperature_rise)
    by_factor = (service_factor or 1.0) >= SERVICE_FACTOR_FOR_HIGHER_TRIP
    by_rise = temperature_rise is not None and temperature_rise <= TEMPERATURE_RISE_FOR_HIGHER_TRIP
    return by_factor or by_rise


def thermal_protector_limit(*, table_current: float) -> float:
    """Highest trip current of a thermal protector built into a motor across the line.

    table_current: full-load current of NFPA 70 Table 430.250 [A], above 0.
    Returns the current [A]; not for a drive's own overload.
    Raises InvalidInput outside the range.
    Equation: 170 % up to 9 A, 156 % up to 20 A, 140 % above.
    Source: NFPA70 430.32(A)(2).
    """
    guards.positive(table_current=table_current)
    return next(
        table_current * share
        for highest, share in THERMAL_PROTECTOR_SHARES
        if table_current <= highest
    )


def conductor_basis_current(
    *, table_current: float, nameplate_current: float, synchronous_speed: float
) -> float:
    """Full-load current from which motor conductors are sized.

    table_current: of NFPA 70 Table 430.250 [A], above 0.
    nameplate_current: on the plate [A], above 0.
    synchronous_speed: of the motor [1/s], above 0; the code's 1200 rpm is read as synchronous, so
        that an ordinary 6-pole 60 Hz motor stays with the table.
    Returns the current [A]: the plate's for motors built for low speed, else the table's.
    Raises InvalidInput outside these ranges.
    Source: NFPA70 430.6(A)(1).
    """
    guards.positive(
        table_current=table_current,
        nameplate_current=nameplate_current,
        synchronous_speed=synchronous_speed,
    )
    return nameplate_current if synchronous_speed < LOW_SPEED else table_current


def conductor_ampacity(*, full_load_current: float) -> float:
    """Least ampacity of the conductors of one continuous motor across the line.

    full_load_current: from `conductor_basis_current` [A], above 0.
    Returns the ampacity [A].
    Raises InvalidInput outside the range.
    Equation: 1.25 I.
    Source: NFPA70 430.22.
    """
    guards.positive(full_load_current=full_load_current)
    return CONDUCTOR_SHARE * full_load_current


def drive_input_ampacity(
    *, rated_input_current: float, share: float = DRIVE_INPUT_CONDUCTOR_SHARE
) -> float:
    """Least ampacity of the conductors that supply a drive.

    rated_input_current: of the drive [A], above 0.
    share: ampacity over that current [1], above 0.
    Returns the ampacity [A].
    Raises InvalidInput outside these ranges.
    Equation: 1.25 I.
    Source: NFPA70 430.122; from memory.
    """
    guards.positive(rated_input_current=rated_input_current, share=share)
    return share * rated_input_current


@dataclass(frozen=True, slots=True)
class DriveOverload:
    """What a drive's own overload should be [A], and beyond what it is questioned or refused."""

    setting: float
    review_above: float
    stop_above: float


def drive_overload(
    *,
    nameplate_current: float,
    practice: ElectricalPractice,
    immersed: bool = False,
    service_factor_current: float | None = None,
    service_factor: float | None = None,
    temperature_rise: float | None = None,
    review_share: float = REVIEW_SHARE,
    stop_share_elsewhere: float = STOP_SHARE_ELSEWHERE,
) -> DriveOverload:
    """Overload setting of a drive that feeds one motor.

    nameplate_current: on the plate, for the rating in use [A], above 0.
    practice: rules of the trade at the site.
    immersed: whether the motor runs in the liquid and is rated to its service-factor current.
    service_factor_current: on the plate of an immersed motor [A], above 0, None if not printed.
    service_factor, temperature_rise: as in `separate_device_limit`, for the limit of the codes.
    review_share, stop_share_elsewhere: limits over the setting [1], at least 1.
    Returns setting and limits. The setting is the plate's current itself (the service-factor
    current of an immersed motor): the margin is in the drive's curve. The limit of the codes of
    the United States and Canada, the same shares (a marked rise counts in the first alone), goes
    by the plate's full-load current whatever the setting, but never refuses the setting itself.
    Check the unit the drive asks for, ampere or percent of motor current.
    Raises InvalidInput outside these ranges.
    Source: NFPA70 430.124, 430.32; Canadian Electrical Code, rule 28-306, from memory; else common
    practice, from memory.
    """
    reference = _overload_reference(nameplate_current, immersed, service_factor_current)
    limit = separate_device_limit(
        nameplate_current=nameplate_current,
        service_factor=service_factor,
        temperature_rise=None if practice is ElectricalPractice.CANADIAN else temperature_rise,
    )
    by_code = practice in (ElectricalPractice.US_NEC, ElectricalPractice.CANADIAN)
    stop = max(limit.maximum, reference) if by_code else reference * stop_share_elsewhere
    return DriveOverload(reference, reference * review_share, stop)


def _overload_reference(
    nameplate_current: float, immersed: bool, service_factor_current: float | None
) -> float:
    guards.positive(nameplate_current=nameplate_current)
    if not immersed or service_factor_current is None:
        return nameplate_current
    guards.positive(service_factor_current=service_factor_current)
    return service_factor_current
