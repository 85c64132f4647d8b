"""What time it is, where a clock that jumped ahead would make what cannot be taken back."""

import logging
import time
from collections.abc import Callable
from datetime import datetime, timedelta

from django.db import connection
from django.utils import timezone

log = logging.getLogger(__name__)

AHEAD = timedelta(minutes=10)
"""More than clocks are put right by in the course of a look."""
BELIEVED_AFTER = timedelta(hours=1)


def earlier_of_both() -> datetime:
    """This machine's time or the database's, whichever is earlier: one alone may be wrong."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT clock_timestamp()")
        told: datetime = cursor.fetchone()[0]
    return min(timezone.now(), told)


def _elapsed() -> float:
    """Seconds that went by, those of a machine asleep included on Linux; no one sets this clock."""
    return time.clock_gettime(getattr(time, "CLOCK_BOOTTIME", time.CLOCK_MONOTONIC))


class SteadyClock:
    """A clock that is not believed for an hour after it went ahead faster than time goes by.

    One that is put right until then has done no harm. What is due waits as long; one that was
    behind and was put right costs that hour.
    """

    def __init__(
        self,
        told: Callable[[], datetime] = earlier_of_both,
        elapsed: Callable[[], float] = _elapsed,
    ) -> None:
        self._told, self._elapsed = told, elapsed
        self._began: tuple[datetime, float] | None = None
        self._jumped: tuple[datetime, float] | None = None

    def now(self) -> datetime | None:
        """The time; None while it is not believed."""
        told, elapsed = self._told(), self._elapsed()
        if self._began is None or told <= _later(self._began, elapsed) + AHEAD:
            self._began, self._jumped = (told, elapsed), None
            return told
        if self._jumped is None or abs(told - _later(self._jumped, elapsed)) > AHEAD:
            self._jumped = told, elapsed
            log.error(
                "the clock went ahead by %s at once, to %s: no report of a period that is over is "
                "asked for in the next hour. Put the clock right until then if it is wrong.",
                told - _later(self._began, elapsed), told.isoformat(),
            )  # fmt: skip
        if elapsed - self._jumped[1] < BELIEVED_AFTER.total_seconds():
            return None
        self._began, self._jumped = (told, elapsed), None
        return told


def _later(seen: tuple[datetime, float], elapsed: float) -> datetime:
    """What a clock that told a time then would tell now."""
    told, then = seen
    return told + timedelta(seconds=elapsed - then)
