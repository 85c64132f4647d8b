"""Rules of running in hand: its speed, and whether the protections act."""

from collections.abc import Iterator

from calculations.case import Case
from calculations.derived import speeds
from calculations.findings import Finding, Shown
from calculations.rule import Rule, entered
from calculations.rules import motor_plate
from calculations.rules.closeness import above, below
from calculations.rules.scope import has_drive
from calculations.rules.speed_limits import MAXIMUM, MINIMUM
from calculations.units import Quantity

SPEED, PROTECTED = "/settings/hand_speed", "/settings/hand_protections_active"

# -- speed --------------------------------------------------------------------------------------


def _ceilings(case: Case) -> Iterator[tuple[str, Quantity, float]]:
    """Whose highest speed is stated, as it is stated, and as a frequency [Hz]."""
    highest = case.find(MAXIMUM)
    if highest is not None:
        yield "maximum", highest, highest.si
    # A pump's speed becomes a frequency by the plate.
    rated = case.find("/rating/speed") is not None and case.find("/rating/frequency") is not None
    yield from speeds.ceilings(case, pump=rated and not motor_plate.doubt(case))


def _hand_speed(case: Case, place: str) -> Iterator[Finding]:
    hand = case.quantity(SPEED)
    known = list(_ceilings(case))
    if not known:
        case.require(MAXIMUM)
    passed = [each for each in known if hand.si > each[2] * (1 + PLATE_ROUNDING)]
    if not passed:
        return
    # What pump or motor bears is worth more than a setting.
    variant, permitted, _ = min(passed, key=lambda each: (each[0] == "maximum", each[2]))
    compared: dict[str, Shown | Quantity] = {"hand": hand, "permitted": permitted}
    yield HAND_SPEED.finding(
        variant, "review", place, compared=compared, limit=f"at most {entered(permitted)}"
    )


def _is_told_with_the_maximum(case: Case, place: str) -> bool:
    """Whether the maximum frequency, or the range, has to be put right first: it is no faster."""
    hand, highest, lowest = (case.find(each) for each in (SPEED, MAXIMUM, MINIMUM))
    if hand is None or highest is None:
        return True
    reversed_ = lowest is not None and not below(lowest.si, highest.si)
    return reversed_ or not above(hand.si, highest.si)


PLATE_ROUNDING = 0.002
"""What the rounding of a rated speed may add to a ceiling [1]: 3 rpm of 1,500."""

HAND_SPEED = Rule(
    id="speed.hand",
    title="Speed in hand against the maximum frequency and what pump and motor permit",
    severities=("review",),
    condition="The speed in hand is not above the maximum frequency, nor above the highest speed "
    "that pump or motor permits.",
    source="logic; pump's and motor's manual",
    subject=SPEED,
    needs=(SPEED,),
    waits_for=("curve.speed", "speed.order", "speed.maximum-speed"),
    waits_at=_is_told_with_the_maximum,
    applies=lambda case: has_drive(case) and case.find(SPEED) is not None,
    check=_hand_speed,
    sentences={
        "maximum": "The speed in hand, {hand}, is above the maximum frequency {permitted}: either "
        "the drive never gives it, or hand passes a limit that was set for the pump.",
        "motor": "The speed in hand, {hand}, is above the {permitted} that the motor permits.",
        "pump": "At the speed in hand, {hand}, the pump turns faster than the {permitted} that it "
        "permits.",
    },
    remedies={
        "maximum": "Set the speed in hand to {permitted} or less.",
        "motor": "Set the speed in hand to {permitted} or less.",
        "pump": "Set the speed in hand, and what limits it, to the pump's {permitted} or less.",
    },
)

# -- protections ----------------------------------------------------------------------------------


def _protections(case: Case, place: str) -> Iterator[Finding]:
    if case.find(PROTECTED) is False:
        yield HAND_PROTECTIONS.finding("off", "review", place, compared={})


HAND_PROTECTIONS = Rule(
    id="protection.in-hand",
    title="Protections while running in hand",
    severities=("review",),
    condition="Protections act in hand as well.",
    source="common practice, no source",
    subject=PROTECTED,
    applies=lambda case: case.find(PROTECTED) is not None,
    check=_protections,
    sentences={
        "off": "In hand the protections do not act: whoever runs the pump in hand is all that "
        "keeps it from running dry, against a closed valve or above what the pipework bears.",
    },
    remedies={
        "off": "Let the protections act in hand as well; else say who may use it, and that the "
        "pump is watched all the time.",
    },
)
