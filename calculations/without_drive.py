"""Whether a subject has a drive: what is said of it, and what is entered that only a drive has."""

from collections.abc import Callable
from typing import Any

from calculations.inputs.subject import Subject

Find = Callable[[str], Any]

# A soft starter has currents, times and limits as well, but no frequency and no loop.
ONLY_A_DRIVE_HAS = (
    "minimum_frequency", "maximum_frequency", "control_mode", "motor_identification",
    "carrier_frequency", "skip_bands", "sleep_frequency", "frequency_at_lower_reference",
    "frequency_at_upper_reference", "stage_on_frequency", "stage_off_frequency",
    "signal_loss_frequency", "first_ramp_to_frequency", "last_ramp_from_frequency", "hand_speed",
    "proportional_gain", "integral_time",
)  # fmt: skip
REGULATES = ("closed_loop_in_drive", "speed_from_external_controller")
SEVERAL = 2
"""So many of them are no stray entry any more; common practice, no source."""

OFF_SUPPLY = 0.05
"""A frequency further from the supply's is a drive's [1]; MG1-2011 12.44 allows a motor 5 %."""


def settings_of_a_drive(find: Find) -> tuple[str, ...]:
    """Names of the settings that are known and that only a drive has."""
    settings = find("/settings")  # as entered: of a set without a drive a case hides them
    if settings is None:
        return ()
    given = [(name, getattr(settings, name)) for name in ONLY_A_DRIVE_HAS]
    found = [name for name, value in given if value and value != "unknown"]
    return (*found, *(("regulation",) if settings.regulation in REGULATES else ()))


def is_said(subject: Subject) -> bool:
    """Whether the pump set says that it has no drive: null is an answer, left out is none."""
    pump_set = subject.pump_set
    return pump_set is not None and (
        "drive" in pump_set.model_fields_set and pump_set.drive is None
    )


def is_recorded(subject: Subject) -> bool:
    """Whether `no drive` was entered, and no plate of one."""
    return is_said(subject) and subject.drive is None


def is_certain(subject: Subject, find: Find) -> bool:
    """Whether, besides, no settings of one are entered either, but for a stray one."""
    if not is_recorded(subject):
        return False
    entered = len(settings_of_a_drive(find))
    return not entered or (
        entered < SEVERAL
        and not find("/pump_set/drive_shared_with")
        and read_off_the_supply(find) is None
    )


def read_off_the_supply(find: Find) -> int | None:
    """Which duty point, if any, was the first to be read at a frequency the supply has not."""
    supply = find("/site/supply_frequency")
    if supply is None:
        return None
    for index, point in enumerate(find("/event/duty_points") or ()):
        read = point.frequency
        if read is not None and abs(read.si - supply.si) > OFF_SUPPLY * supply.si:
            return index
    return None


def is_open(subject: Subject, find: Find) -> bool:
    """Whether nothing tells of a drive, nor that there is none."""
    named = subject.pump_set is not None and subject.pump_set.drive is not None
    told = named or is_said(subject) or subject.drive is not None
    return not told and not settings_of_a_drive(find)


def concerns(place: str) -> bool:
    """Whether a place is a drive's plate, or a setting that only a drive has."""
    top, name = place.split("/")[1], place.rsplit("/", 1)[-1]
    return top == "drive" or (top == "event" and name in ONLY_A_DRIVE_HAS)
