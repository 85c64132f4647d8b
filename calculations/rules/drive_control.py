"""Rule of the drive's way of control against the kind of motor."""

from collections.abc import Iterator

from calculations.case import Case
from calculations.findings import Finding
from calculations.rule import Rule
from calculations.rules.drive_flux import WORDS
from calculations.rules.scope import has_drive, has_slip

MODE = "/settings/control_mode"
BY_VOLTS_PER_HERTZ = ("volts_per_hertz_linear", "volts_per_hertz_quadratic")


def _control_mode(case: Case, place: str) -> Iterator[Finding]:
    kind = WORDS[case.word("/motor/kind")]
    if has_slip(case):
        if case.is_(MODE, "synchronous_vector"):
            yield CONTROL_MODE.finding("with_slip", "review", place, compared={}, kind=kind)
    elif case.is_(MODE, *BY_VOLTS_PER_HERTZ):
        yield CONTROL_MODE.finding("synchronous", "review", place, compared={}, kind=kind)


CONTROL_MODE = Rule(
    id="drive.control-mode",
    title="Way of control against the kind of motor",
    severities=("review",),
    condition="A motor with slip is not controlled by the model of a synchronous motor; a "
    "synchronous motor, which has no cage to start and to damp it, is not run by volts per hertz "
    "alone. Vector control without more is taken to be that of the motor's kind.",
    source="common practice, no source",
    subject=MODE,
    needs=("/motor/kind", MODE),
    waits_for=("drive.motor-kind",),
    applies=has_drive,
    check=_control_mode,
    sentences={
        "with_slip": "The drive controls by the model of a synchronous motor, the plate is that of "
        "{kind}.",
        "synchronous": "The drive runs by volts per hertz, the plate is that of {kind}: it does "
        "not know where the rotor stands, and the motor may fall out of step or not start.",
    },
    remedies={
        "with_slip": "Choose volts per hertz or vector control for {kind}.",
        "synchronous": "Choose the control for {kind} and run the motor identification.",
    },
)

RULES = (CONTROL_MODE,)
