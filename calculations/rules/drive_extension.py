"""Rule of a drive whose motor is run along its volts per hertz above the plate's frequency."""

from collections.abc import Iterator

from calculations.aspects import rating
from calculations.case import Case
from calculations.findings import Finding
from calculations.rule import Rule, about
from calculations.rules.scope import has_drive


def _is_extended(case: Case) -> bool:
    return has_drive(case) and case.find("/motor/extended_constant_torque") is True


def _extension(case: Case, place: str) -> Iterator[Finding]:
    """Volts per hertz go on above the plate's frequency only as far as the drive is told."""
    voltage, frequency, highest, supply, plate, base = case.require(*rating.EXTENDS)
    if not rating.is_untold(case):
        return
    carried = min(supply.si / plate.si, rating.HIGHEST_STRETCH)
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
    id=rating.EXTENSION_RULE,
    title="Drive set for a motor that keeps its torque above the plate's frequency",
    severities=("review",),
    condition="Where a motor is meant to keep its torque above the plate's frequency and runs "
    "there, the drive has the voltage and frequency that belong to that, and not the plate's.",
    source="common practice: a drive gives no more than the motor voltage it is set to",
    subject="/settings/motor_frequency",
    needs=rating.EXTENDS,
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
