"""Whether a subject has a drive: what is said of it, and what is entered that only a drive has."""

from collections.abc import Callable
from typing import Any

from calculations.inputs.subject import Subject

Find = Callable[[str], Any]

# A soft starter has currents, times and limits as well, but no frequency and no loop.
ONLY_A_DRIVE_HAS = (
    "minimum_frequency", "maximum_frequency", "control_mode", "motor_identification",
    "carrier_frequency", "skip_bands", "sleep_frequency", "frequency_at_lower_reference",
    "frequency_at_upper_reference", "stage_on_frequency", "signal_loss_frequency",
)  # fmt: skip
REGULATES = ("closed_loop_in_drive", "speed_from_external_controller")


def settings_of_a_drive(find: Find) -> tuple[str, ...]:
    """Names of the settings that are known and that only a drive has."""
    found = [name for name in ONLY_A_DRIVE_HAS if find(f"/settings/{name}")]
    regulates = find("/settings/regulation") in REGULATES
    return (*found, *(("regulation",) if regulates else ()))


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
    """Whether, besides, no settings of one are entered either."""
    return is_recorded(subject) and not settings_of_a_drive(find)


def is_open(subject: Subject, find: Find) -> bool:
    """Whether nothing tells of a drive, nor that there is none."""
    named = subject.pump_set is not None and subject.pump_set.drive is not None
    told = named or is_said(subject) or subject.drive is not None
    return not told and not settings_of_a_drive(find)


def concerns(place: str) -> bool:
    """Whether a place is a drive's plate, or a setting that only a drive has."""
    top, name = place.split("/")[1], place.rsplit("/", 1)[-1]
    return top == "drive" or (top == "event" and name in ONLY_A_DRIVE_HAS)
