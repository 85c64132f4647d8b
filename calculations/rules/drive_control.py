"""Rules of the drive as a whole: whether there is one, and its way of control."""

from collections.abc import Iterator

from calculations import without_drive
from calculations.case import Case
from calculations.findings import Finding
from calculations.rule import Rule, entered, percent, spaced
from calculations.rules.drive_motor_links import WORDS
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


# -- settings without a drive -------------------------------------------------------------------

NAMED = 3
"""Fields that the sentence names."""


def _has_none(case: Case) -> bool:
    """Whether the set says that it has no drive, and shares none with another."""
    return without_drive.is_said(case.subject) and not case.find("/pump_set/drive_shared_with")


def _without_drive(case: Case, place: str) -> Iterator[Finding]:
    if case.subject.drive is not None:
        yield NO_DRIVE.finding("plate", "review", place, compared={})
        return
    names = without_drive.settings_of_a_drive(case.find)
    if names:
        yield NO_DRIVE.finding(
            "stray" if case.fixed_speed else "settings", "review",
            case.place(f"/settings/{names[0]}"),
            compared={}, names=", ".join(spaced(name) for name in names[:NAMED]),
        )  # fmt: skip
        return
    index = without_drive.read_off_the_supply(case.find)
    if index is not None:
        point = f"/event/duty_points/{index}"
        read, supply = case.require(f"{point}/frequency", "/site/supply_frequency")
        yield NO_DRIVE.finding(
            "read", "review", point, compared={"read": read, "supply": supply},
            limit=f"within {percent(without_drive.OFF_SUPPLY)} of {entered(supply)}",
        )  # fmt: skip


NO_DRIVE = Rule(
    id="drive.missing",
    title="A drive's plate or settings on a set without one",
    severities=("review",),
    condition="A pump set that is recorded without a drive has no plate of one, and no settings "
    "that only a drive has (frequencies, its control of the motor, its loop); a soft starter's "
    "currents, times and limits are its own. Where there are several, or one beside a duty point "
    "more than 5 % off the supply's frequency, the set is judged as one with a drive; a single one "
    "is taken for a stray entry, and the set for one at fixed speed. Nor was a point of such a set "
    "read more than 5 % off the supply's frequency.",
    source="logic",
    subject="/pump_set/drive",
    applies=_has_none,
    check=_without_drive,
    sentences={
        "plate": "The pump set is recorded without a drive, but the plate of one is entered: it is "
        "judged as one with a drive.",
        "settings": "The pump set is recorded without a drive, but settings of one are entered "
        "({names}): it is judged as one with a drive, without what its plate would tell.",
        "stray": "The pump set is recorded without a drive, but a setting is entered that only a "
        "drive has ({names}): nothing else is known of one, and the set is judged as one that runs "
        "across the line.",
        "read": "The pump set is recorded without a drive, but was read at {read}: across the line "
        "it runs at the supply's {supply}.",
    },
    remedies={
        "plate": "Join the drive to the pump set, or take its plate out.",
        "settings": "Join the drive to the pump set, or take its settings out.",
        "read": "Read it again; if there is a drive, join it to the pump set and enter what it is "
        "set to.",
        "stray": "Take the entry out; if there is a drive, join it to the pump set and enter what "
        "else it is set to.",
    },
)
