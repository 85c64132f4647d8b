"""A clock that jumps ahead is not believed at once."""

from datetime import UTC, datetime, timedelta

import pytest
from django.utils import timezone

from records.management.commands import relay
from records.services import steady_clock
from records.services.steady_clock import BELIEVED_AFTER, SteadyClock

NOON = datetime(2026, 3, 14, 12, tzinfo=UTC)
LOOK = timedelta(seconds=5)
HOUR, YEAR = timedelta(hours=1), timedelta(days=365)


class Machine:
    """Time that goes by, and a clock that may be wrong by something."""

    def __init__(self):
        self.gone, self.wrong_by = timedelta(0), timedelta(0)
        self.clock = SteadyClock(self.told, lambda: self.gone.total_seconds())

    def told(self):
        return NOON + self.gone + self.wrong_by

    def look(self, after=LOOK):
        self.gone += after
        return self.clock.now()


@pytest.fixture
def machine():
    made = Machine()
    assert made.look() == made.told()
    return made


def test_time_that_goes_by_is_believed(machine):
    """However long nobody looked: the machine slept, or a look took long."""
    for after in (LOOK, HOUR, YEAR, LOOK):
        assert machine.look(after) == machine.told()


@pytest.mark.parametrize("seconds", [-3600, -1, 1, 600])
def test_a_clock_is_put_right_by_a_little_or_back(machine, seconds):
    machine.wrong_by = timedelta(seconds=seconds)
    assert machine.look() == machine.told()
    assert machine.look() == machine.told()


@pytest.mark.parametrize("ahead", [timedelta(seconds=601), HOUR, YEAR])
def test_a_jump_that_is_put_right_within_the_hour_was_never_told(machine, ahead, caplog):
    machine.wrong_by = ahead
    while machine.gone < timedelta(minutes=59):
        assert machine.look() is None
    assert len(caplog.records) == 1
    assert "Put the clock right" in caplog.text
    machine.wrong_by = timedelta(0)
    assert machine.look() == machine.told()


def test_a_clock_that_stays_is_believed_after_an_hour(machine):
    machine.wrong_by = YEAR
    assert machine.look() is None
    assert machine.look(BELIEVED_AFTER - LOOK) is None
    assert machine.look(LOOK) == machine.told()
    assert machine.look() == machine.told()


def test_another_jump_begins_another_hour(machine):
    machine.wrong_by = YEAR
    assert machine.look() is None
    machine.wrong_by = 2 * YEAR
    assert machine.look(HOUR) is None
    assert machine.look(HOUR) == machine.told()


@pytest.mark.django_db
@pytest.mark.parametrize("hours", [-5, 5])
def test_of_two_clocks_the_earlier_is_told(monkeypatch, hours):
    """The database's own is right here: one that is behind it is told, one ahead of it is not."""
    right = timezone.now()
    monkeypatch.setattr(steady_clock.timezone, "now", lambda: right + timedelta(hours=hours))
    told = steady_clock.earlier_of_both() - right
    assert abs(told - timedelta(hours=min(hours, 0))) < timedelta(minutes=30)


def test_the_relay_asks_for_no_report_while_the_clock_is_not_believed(machine, monkeypatch):
    asked = []
    monkeypatch.setattr(relay, "_WORK", ())
    monkeypatch.setattr(relay.reports, "ask_for_what_is_over", asked.append)
    one = relay.Relay(now=machine.look)
    one.queue_missing()
    assert asked == [machine.told()]
    machine.wrong_by = YEAR
    one.queue_missing()
    assert len(asked) == 1
    machine.wrong_by = timedelta(0)
    one.queue_missing()
    assert asked[1:] == [machine.told()]
