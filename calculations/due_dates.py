"""When something is due again: calendar months from the day it was done, and what that says today.

Days are calendar days of the place where the equipment stands.
"""

from calendar import monthrange
from datetime import date
from enum import StrEnum

from calculations.errors import InvalidInput

SHORTEST, LONGEST = 1, 120
"""Months that an interval may last; common practice, no source."""

SOON = 1
"""Months before its date from which something is due soon; common practice, no source."""

GRACE = 3
"""Months in which what nobody has verified yet is to be verified; common practice, no source."""


class State(StrEnum):
    """What a date says on a day."""

    CURRENT = "current"
    DUE_SOON = "due_soon"
    OVERDUE = "overdue"
    NEVER_VERIFIED = "never_verified"


def after_months(day: date, months: int) -> date:
    """The same day of the month, so many months later; its last day where there is none.

    day: to count from.
    months: calendar months [1], zero or more.
    Returns the day: 31 January and one month are 28 or 29 February.
    Raises InvalidInput for a negative count, or a day after the year 9999.
    Source: calendar; the last day of a shorter month by common practice.
    """
    if months < 0:
        raise InvalidInput("months", f"expected zero or more, got {months}")
    years, month = divmod(day.month - 1 + months, 12)
    year = day.year + years
    if year > date.max.year:
        raise InvalidInput("months", f"expected a day before the year 10000, got {year}")
    last = monthrange(year, month + 1)[1]
    return date(year, month + 1, min(day.day, last))


def shortened(months: int) -> int:
    """The interval after something was found outside its tolerance: half of it, rounded down.

    months: interval before [months], 1 to 120.
    Returns the interval [months], at least 1.
    Raises InvalidInput for an interval outside these bounds.
    Source: ILAC-G24-2022, method 1 (staircase); half by common practice.
    """
    _within(months)
    return max(months // 2, SHORTEST)


def state_on(*, today: date, due: date, verified: bool) -> State:
    """What a due date says today.

    today, due: days.
    verified: whether it was ever verified, or counts from a day on which it was new.
    Returns `due_soon` on the due day itself and in the month before; what was never verified stays
    so until its day is over.
    """
    if due < today:
        return State.OVERDUE
    if not verified:
        return State.NEVER_VERIFIED
    return State.DUE_SOON if due <= after_months(today, SOON) else State.CURRENT


def _within(months: int) -> None:
    if not SHORTEST <= months <= LONGEST:
        raise InvalidInput("months", f"expected {SHORTEST} to {LONGEST} months, got {months}")
