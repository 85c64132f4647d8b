"""Rules of the drive's motor data against the plate: its kind, pole count, and links."""

from collections.abc import Iterator

from calculations import motors
from calculations.aspects.rating import run_rating
from calculations.case import Case
from calculations.findings import Finding, Severity, Shown
from calculations.rule import Rule, rpm, show, spaced
from calculations.rules.closeness import above
from calculations.rules.drive_switching import VECTOR
from calculations.rules.motor_plate import POLE_COUNTS, largest_slip
from calculations.rules.scope import has_drive, has_slip
from calculations.units import Quantity


def severity_of_poles(case: Case) -> Severity:
    """What a wrong pole count is worth: by volts per hertz it changes little but the display."""
    return "stop" if case.is_("/settings/control_mode", *VECTOR) else "review"


# -- kind of motor ------------------------------------------------------------------------------

# A drive knows fewer kinds than there are: what a motor may be called there.
COMPATIBLE = {
    "induction": ("induction", "wound_rotor"),
    "wound_rotor": ("induction", "wound_rotor"),
    "permanent_magnet": ("permanent_magnet",),
    "synchronous_reluctance": ("synchronous_reluctance",),
    "pm_assisted_reluctance": (
        "pm_assisted_reluctance", "synchronous_reluctance", "permanent_magnet",
    ),
}  # fmt: skip
WORDS = {
    "induction": "an induction motor",
    "wound_rotor": "a wound-rotor motor",
    "permanent_magnet": "a permanent-magnet motor",
    "synchronous_reluctance": "a synchronous reluctance motor",
    "pm_assisted_reluctance": "a permanent-magnet-assisted reluctance motor",
}


def _needs_a_kind(case: Case) -> bool:
    """A drive that says nothing of the kind of motor takes it for an induction motor."""
    silent = has_slip(case) and case.find("/settings/motor_kind") is None
    return has_drive(case) and not silent


def _motor_kind(case: Case, place: str) -> Iterator[Finding]:
    kind, chosen = case.word("/motor/kind"), case.word("/settings/motor_kind")
    if chosen not in COMPATIBLE[kind]:
        yield MOTOR_KIND.finding(
            "differs", "stop", place, compared={}, kind=WORDS[kind], chosen=WORDS[chosen]
        )


MOTOR_KIND = Rule(
    id="drive.motor-kind",
    title="Kind of motor as set in the drive",
    severities=("stop",),
    condition="The drive is set for the kind of motor that the plate states.",
    source="common practice: the drive's model of the motor is another one",
    subject="/settings/motor_kind",
    needs=("/motor/kind", "/settings/motor_kind"),
    applies=_needs_a_kind,
    check=_motor_kind,
    correct_only=True,
    sentences={"differs": "The drive is set for {chosen}, the plate is that of {kind}."},
    remedies={"differs": "Set the drive for {kind} and run the motor identification again."},
)


# -- poles --------------------------------------------------------------------------------------


def poles_of_speed(case: Case, speed: Quantity) -> int | None:
    """The pole count that a set speed fits with an ordinary slip, if it is not the motor's own."""
    own, frequency = case.known("motor.poles"), run_rating(case).frequency
    largest = largest_slip(case)
    for poles in POLE_COUNTS:
        slip = motors.slip(speed=speed.si, frequency=frequency, poles=poles)
        if poles != own and slip >= 0 and not above(slip, largest):
            return poles
    return None


def _motor_poles(case: Case, place: str) -> Iterator[Finding]:
    given, poles = int(case.require(place)[0]), int(case.value("motor.poles"))
    if given == poles:
        return
    run = run_rating(case)
    speed = case.find("/settings/motor_speed")
    fits = speed is not None and poles_of_speed(case, speed) == given
    yield MOTOR_POLES.finding(
        "with_speed" if fits else "plain", severity_of_poles(case), place,
        compared={"set": Shown(str(given), ""), "poles": Shown(str(poles), "")},
        frequency=show(run.frequency, "Hz"), speed=f"{speed.value} {speed.unit}" if fits else "",
        synchronous=rpm(motors.synchronous_speed(frequency=run.frequency, poles=given)),
    )  # fmt: skip


_POLES = (
    "The drive is set for {set} poles, the motor has {poles}: {set} poles at {frequency} turn at "
    "{synchronous}"
)

MOTOR_POLES = Rule(
    id="drive.motor-poles",
    title="Pole count as set against the motor's",
    severities=("stop", "review"),
    condition="The pole count as set is that of the plate, or of the rated speed. Stop where the "
    "drive regulates by a model of the motor (vector control), review where it goes by volts per "
    "hertz.",
    source="definition of synchronous speed; a model of another motor: common practice",
    subject="/settings/motor_poles",
    needs=("/rating/frequency", "/rating/voltage"),
    waits_for=("motor.slip", "motor.poles", "drive.volts-per-hertz", "drive.motor-frequency"),
    applies=lambda case: has_drive(case) and case.find("/settings/motor_poles") is not None,
    check=_motor_poles,
    sentences={
        "with_speed": _POLES + ", and the speed of {speed} that is set fits that, not the plate.",
        "plain": _POLES + ".",
    },
    remedies=dict.fromkeys(
        ("with_speed", "plain"),
        "Set {poles} poles and the speed of the plate, and run the motor identification again.",
    ),
)


# -- connection ---------------------------------------------------------------------------------

FAMILY = {
    "star": "star",
    "parallel_star": "star",
    "series_star": "star",
    "delta": "delta",
    "parallel_delta": "delta",
    "series_delta": "delta",
}
EFFECT = {
    ("star", "delta"): "in star its winding gets 58 % of its voltage and gives a third of its "
    "torque",
    ("delta", "star"): "in delta its winding gets 1.73 times its voltage and saturates",
}


def _motor_connection(case: Case, place: str) -> Iterator[Finding]:
    given, plate = case.word(place), case.word("/rating/connection")
    ours, theirs = FAMILY.get(given), FAMILY.get(plate)
    if ours is None or theirs is None or given == plate:
        return
    if ours == theirs and ours in (given, plate):
        return  # a drive need not tell series from parallel
    yield MOTOR_CONNECTION.finding(
        "family" if ours != theirs else "links", "review", place,
        compared={"set": Shown(spaced(given), ""), "plate": Shown(spaced(plate), "")},
        voltage=show(run_rating(case).voltage, "V"), effect=EFFECT.get((ours, theirs), ""),
        column=_column(case, given),
    )  # fmt: skip


def _column(case: Case, connection: str) -> str:
    """What the plate says of the connection that is set, where it states it."""
    for rating in case.find("/motor/ratings") or ():
        if rating.connection == connection and rating.voltage is not None:
            return f" ({rating.voltage.value} {rating.voltage.unit} on the plate)"
    return ""


_LINKS = "The drive is set for a winding in {set}{column}, the rating in use ({voltage}) is that in"

MOTOR_CONNECTION = Rule(
    id="drive.motor-connection",
    title="Connection of the winding as set against the rating in use",
    severities=("review",),
    condition="The connection as set is that of the rating in use; a drive that tells star and "
    "delta only need not tell series from parallel.",
    source="voltage over a winding in star and delta: definition",
    subject="/settings/motor_connection",
    needs=("/settings/motor_connection", "/rating/connection", "/rating/voltage",
           "/rating/frequency"),
    waits_for=("motor.power-balance", "drive.volts-per-hertz"),
    applies=lambda case: has_drive(case) and case.find("/settings/motor_connection") is not None,
    check=_motor_connection,
    sentences={
        "family": _LINKS + " {plate}: {effect}.",
        "links": _LINKS + " {plate}: half or twice the voltage over each coil.",
    },
    remedies=dict.fromkeys(
        ("family", "links"),
        "Isolate, prove dead, look at the links in the terminal box; then correct what is set or "
        "the rating in use.",
    ),
)  # fmt: skip
