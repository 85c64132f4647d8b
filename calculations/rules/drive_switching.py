"""Rules of what else is connected to the drive's output, and of the motor identification."""

from collections.abc import Iterator

from calculations.case import Case
from calculations.findings import Finding, Severity
from calculations.rule import Rule
from calculations.rules.scope import has_bypass, has_drive, is_synchronous

VECTOR = ("vector", "synchronous_vector")
"""Control that rests on a model of the motor, and with it on poles and rated speed."""

# -- capacitors ---------------------------------------------------------------------------------


def _capacitors(case: Case, place: str) -> Iterator[Finding]:
    if case.find("/drive/output_capacitors"):
        yield OUTPUT_CAPACITORS.finding("fitted", "stop", place, compared={})


OUTPUT_CAPACITORS = Rule(
    id="drive.output-capacitors",
    title="Capacitors at the drive's output",
    severities=("stop",),
    condition="No power-factor or surge capacitors are connected between drive and motor.",
    source="common practice: every drive manual; several application texts",
    subject="/drive/output_capacitors",
    needs=("/drive/output_capacitors",),
    applies=has_drive,
    check=_capacitors,
    correct_only=True,
    sentences={
        "fitted": "Capacitors are connected to the drive's output: its pulses drive currents "
        "through them that destroy both."
    },
    remedies={
        "fitted": "Isolate, discharge and remove them, also any in the motor's terminal box."
    },
)

# -- switch -------------------------------------------------------------------------------------


def _may_have_a_switch(case: Case) -> bool:
    return has_drive(case) and case.find("/drive/output_switch") is not False


def _switch(case: Case, place: str) -> Iterator[Finding]:
    case.require("/drive/output_switch_interlocked")
    if case.find("/drive/output_switch_interlocked") is False:
        yield OUTPUT_SWITCH.finding("open", "review", place, compared={})


OUTPUT_SWITCH = Rule(
    id="drive.output-switch",
    title="Switch between drive and motor",
    severities=("review",),
    condition="A switch at the drive's output is interlocked, so that it opens without current.",
    source="common practice: drive manuals",
    subject="/drive/output_switch_interlocked",
    needs=("/drive/output_switch", "/drive/output_switch_interlocked"),
    applies=_may_have_a_switch,
    check=_switch,
    sentences={
        "open": "The switch between drive and motor is not interlocked with the drive: opened or "
        "closed under way it trips or damages the drive."
    },
    remedies={"open": "Wire an early contact of the switch to the drive's enable input."},
)

# -- bypass -------------------------------------------------------------------------------------


def _is_bypassed(case: Case) -> bool:
    return has_drive(case) and has_bypass(case)


def _bypass(case: Case, place: str) -> Iterator[Finding]:
    if is_synchronous(case):
        yield BYPASS.finding("synchronous", "stop", place, compared={})
        return
    case.require("/pump_set/bypass_own_overload")
    if case.find("/pump_set/bypass_own_overload") is False:
        yield BYPASS.finding("no_overload", "review", place, compared={})


BYPASS = Rule(
    id="drive.bypass",
    title="Bypass of the drive",
    severities=("stop", "review"),
    condition="A synchronous motor has no bypass; the bypass of another motor has an overload "
    "device of its own.",
    source="common practice; NFPA 70 430.124, from memory",
    subject="/pump_set/bypass",
    applies=_is_bypassed,
    check=_bypass,
    correct_only=True,
    sentences={
        "synchronous": "The motor is synchronous and cannot start across the line, but a bypass is "
        "fitted.",
        "no_overload": "The bypass has no overload device of its own: over it the drive does not "
        "protect the motor.",
    },
    remedies={
        "synchronous": "Disconnect the bypass and lock it out.",
        "no_overload": "Fit an overload device to the bypass, set by the plate.",
    },
)

# -- identification -----------------------------------------------------------------------------


def _identification(case: Case, place: str) -> Iterator[Finding]:
    if case.word("/settings/motor_identification") != "skipped":
        return
    vector = case.is_("/settings/control_mode", *VECTOR)
    needed = vector or is_synchronous(case)
    severity: Severity = "review" if needed else "note"
    yield IDENTIFICATION.finding("needed" if needed else "useful", severity, place, compared={})


IDENTIFICATION = Rule(
    id="drive.identification",
    title="Motor identification",
    severities=("review", "note"),
    condition="The drive has measured the motor; under vector control and with synchronous motors "
    "it needs to.",
    source="common practice: drive manuals",
    subject="/settings/motor_identification",
    needs=("/settings/motor_identification",),
    applies=has_drive,
    check=_identification,
    sentences={
        "needed": "The motor identification was skipped, though the drive controls this motor by a "
        "model of it: current, torque and losses are guesses.",
        "useful": "The motor identification was skipped; it makes overload and current display "
        "more exact.",
    },
    remedies={"needed": "Run the motor identification at standstill, after the insulation test."},
)
