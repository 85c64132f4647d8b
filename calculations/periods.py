"""Weeks and months as reports count them, and the moment at which one is over in a time zone."""

from datetime import UTC, date, datetime, time, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

from calculations.due_dates import after_months

Period = Literal["week", "month"]
DAYS_OF_A_WEEK = 7


def begin(day: date, period: Period) -> date:
    """The first day of the week or month that a day is in.

    Source: ISO 8601-1:2019, 3.1.1.8: a week begins on Monday.
    """
    if period == "week":
        return day - timedelta(days=day.weekday())
    return day.replace(day=1)


def following(begins: date, period: Period) -> date:
    """The first day of the next week or month.

    begins: the first day of one.
    Raises InvalidInput for a month after the year 9999.
    """
    if period == "week":
        return begins + timedelta(days=DAYS_OF_A_WEEK)
    return after_months(begins, 1)


def last_day(begins: date, period: Period) -> date:
    """The last day of a week or month."""
    return following(begins, period) - timedelta(days=1)


def over(day: date, zone: ZoneInfo) -> datetime:
    """The moment at which a day is over in a time zone: the first midnight of the next one.

    Where clocks skip that midnight it is the moment at which they do. In UTC: Python compares
    times of one zone by what their clocks show.
    """
    return datetime.combine(day + timedelta(days=1), time(), zone).astimezone(UTC)
