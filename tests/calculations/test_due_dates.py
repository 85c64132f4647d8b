"""Due dates: a table made by hand with a calendar, month ends and leap days in it."""

from datetime import date

import pytest

from calculations import due_dates
from calculations.due_dates import State
from calculations.errors import InvalidInput

# Counted by hand, month by month: day, months, the same day later.
TABLE = [
    ("2026-03-14", 12, "2027-03-14"),
    ("2026-01-31", 1, "2026-02-28"),
    ("2028-01-31", 1, "2028-02-29"),  # a leap year
    ("2027-01-31", 1, "2027-02-28"),
    ("2026-01-30", 1, "2026-02-28"),
    ("2026-01-28", 1, "2026-02-28"),
    ("2028-02-29", 12, "2029-02-28"),
    ("2028-02-29", 48, "2032-02-29"),
    ("2096-02-29", 48, "2100-02-28"),  # 2100 is no leap year
    ("1996-02-29", 48, "2000-02-29"),  # 2000 is one
    ("2028-02-28", 12, "2029-02-28"),  # the 28th stays the 28th, whatever comes after it
    ("2027-02-28", 12, "2028-02-28"),
    ("2026-08-31", 1, "2026-09-30"),
    ("2026-08-31", 6, "2027-02-28"),
    ("2027-08-31", 6, "2028-02-29"),
    ("2026-03-31", 3, "2026-06-30"),
    ("2026-05-31", 4, "2026-09-30"),
    ("2026-12-31", 2, "2027-02-28"),
    ("2026-12-31", 12, "2027-12-31"),
    ("2026-12-01", 1, "2027-01-01"),
    ("2026-11-30", 3, "2027-02-28"),
    ("2026-10-25", 6, "2027-04-25"),  # a change of the clock in some places moves no day
    ("2026-03-29", 12, "2027-03-29"),
    ("2026-06-15", 24, "2028-06-15"),
    ("2026-06-15", 36, "2029-06-15"),
    ("2026-06-15", 120, "2036-06-15"),
    ("2026-06-15", 0, "2026-06-15"),
    ("9998-12-31", 12, "9999-12-31"),
]


@pytest.mark.parametrize(("day", "months", "expected"), TABLE)
def test_reference_table(day, months, expected):
    found = due_dates.after_months(date.fromisoformat(day), months)
    assert found == date.fromisoformat(expected)


@pytest.mark.parametrize(("day", "months"), [("2026-01-01", -1), ("9999-12-31", 1)])
def test_dates_that_there_are_not(day, months):
    with pytest.raises(InvalidInput) as raised:
        due_dates.after_months(date.fromisoformat(day), months)
    assert raised.value.argument == "months"


@pytest.mark.parametrize(("months", "half"), [(12, 6), (24, 12), (6, 3), (9, 4), (1, 1), (3, 1)])
def test_found_outside_the_interval_halves(months, half):
    # Whole months, rounded down: common practice, no source.
    assert due_dates.shortened(months) == half


@pytest.mark.parametrize("months", [0, -12, 121, 1200])
def test_an_interval_has_bounds(months):
    with pytest.raises(InvalidInput, match="months: expected 1 to 120 months"):
        due_dates.shortened(months)


@pytest.mark.parametrize(
    ("today", "verified", "state"),
    [
        ("2027-02-13", True, State.CURRENT),
        ("2027-02-14", True, State.DUE_SOON),  # a month before
        ("2027-03-14", True, State.DUE_SOON),  # on the day
        ("2027-03-15", True, State.OVERDUE),
        ("2027-02-13", False, State.NEVER_VERIFIED),
        ("2027-03-14", False, State.NEVER_VERIFIED),
        ("2027-03-15", False, State.OVERDUE),
    ],
)
def test_what_a_date_says(today, verified, state):
    due = date(2027, 3, 14)
    said = due_dates.state_on(today=date.fromisoformat(today), due=due, verified=verified)
    assert said is state


def test_due_soon_at_the_end_of_a_short_month():
    # One month after 31 January is 28 February.
    on = date(2027, 1, 31)
    assert due_dates.state_on(today=on, due=date(2027, 2, 28), verified=True) is State.DUE_SOON
    assert due_dates.state_on(today=on, due=date(2027, 3, 1), verified=True) is State.CURRENT


def test_what_nobody_has_verified_is_due_in_a_quarter():
    # Common practice, no source.
    begun = date(2026, 3, 14)
    assert due_dates.after_months(begun, due_dates.GRACE) == date(2026, 6, 14)


@pytest.mark.parametrize(("months", "half"), [(120, 60), (2, 1)])
def test_the_longest_and_shortest_interval_halve_too(months, half):
    assert due_dates.shortened(months) == half
