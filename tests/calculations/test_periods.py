"""Weeks, months, and when a day is over: expected times are by the IANA time zone database."""

from datetime import UTC, date, datetime
from zoneinfo import ZoneInfo

import pytest

from calculations.periods import begin, following, last_day, over


@pytest.mark.parametrize(
    ("day", "zone", "moment"),
    [
        (date(2026, 11, 25), "UTC", datetime(2026, 11, 26)),
        (date(2026, 11, 25), "Pacific/Kiritimati", datetime(2026, 11, 25, 10)),  # UTC+14
        (date(2026, 3, 29), "Europe/Berlin", datetime(2026, 3, 29, 22)),  # of 23 hours
        (date(2026, 10, 25), "Europe/Berlin", datetime(2026, 10, 25, 23)),  # of 25 hours
        # Brazil's clocks went from 0:00 to 1:00 on 4 November 2018: 3 h behind, then 2.
        (date(2018, 11, 3), "America/Sao_Paulo", datetime(2018, 11, 4, 3)),
        # Cuba goes from 1:00 back to 0:00 on 1 November 2026: the first midnight is 4 h behind.
        (date(2026, 10, 31), "America/Havana", datetime(2026, 11, 1, 4)),
        # Samoa had no 30 December 2011.
        (date(2011, 12, 29), "Pacific/Apia", datetime(2011, 12, 30, 10)),
        (date(2011, 12, 30), "Pacific/Apia", datetime(2011, 12, 30, 10)),
        (date(2028, 2, 28), "UTC", datetime(2028, 2, 29)),
    ],
)  # fmt: skip
def test_a_day_is_over_with_the_first_midnight_of_the_next(day, zone, moment):
    assert over(day, ZoneInfo(zone)) == moment.replace(tzinfo=UTC)


def test_a_day_that_was_left_out_has_no_time():
    """Times of one zone would be compared by their clocks: these two would be a day apart."""
    apia = ZoneInfo("Pacific/Apia")
    assert not over(date(2011, 12, 29), apia) < over(date(2011, 12, 30), apia)


@pytest.mark.parametrize(
    ("day", "period", "first", "last"),
    [
        (date(2028, 2, 29), "month", date(2028, 2, 1), date(2028, 2, 29)),  # a leap year
        (date(2100, 2, 3), "month", date(2100, 2, 1), date(2100, 2, 28)),  # none
        (date(2026, 12, 31), "month", date(2026, 12, 1), date(2026, 12, 31)),
        (date(2026, 1, 1), "week", date(2025, 12, 29), date(2026, 1, 4)),  # a Thursday
        (date(2024, 2, 26), "week", date(2024, 2, 26), date(2024, 3, 3)),  # a Monday
    ],
)
def test_a_period_has_its_first_and_last_day(day, period, first, last):
    assert begin(day, period) == first
    assert last_day(first, period) == last
    assert begin(last, period) == first
    assert begin(following(first, period), period) == following(first, period)
