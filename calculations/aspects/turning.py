"""The direction of rotation as it was recorded."""

from calculations.case import Case
from calculations.rules.closeness import above, below

DIRECTION = "/event/rotation/drive_direction"
BYPASS = "/event/rotation/bypass_direction"


def across_the_line(case: Case) -> tuple[str, str | None]:
    """Place and direction at fixed speed, in whichever field; one that is reversed goes first.

    Without a drive there is one direction, and people record it where they find a field for it.
    """
    found = [(place, case.find(place)) for place in (BYPASS, DIRECTION)]
    checked = [each for each in found if each[1] not in (None, "not_checked")]
    reverse = [each for each in checked if each[1] == "reversed"]
    return (*reverse, *checked, found[0])[0]


def is_of_reversed(case: Case, ratio: float) -> bool:
    """Whether a head over that of the curve [1] is one that a pump gives turning backwards."""
    lowest, highest = map(case.limit, ("rotation.reversed.lowest", "rotation.reversed.highest"))
    return not below(ratio, lowest) and not above(ratio, highest)


def may_be_reversed(case: Case, ratio: float) -> bool:
    """Whether head over that of the curve [1] is a reversed pump's, and no direction was seen."""
    direction = across_the_line(case)[1] if case.fixed_speed else case.find(DIRECTION)
    return direction != "correct" and is_of_reversed(case, ratio)
