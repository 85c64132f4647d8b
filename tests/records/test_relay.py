"""What is missing is queued, and queued again, but not so often that the queue outgrows work."""

from types import SimpleNamespace

import pytest

from records.management.commands import relay

HOUR = 3600.0


@pytest.fixture
def asked(monkeypatch):
    """When each thing is queued, in seconds, while no worker takes anything up."""
    clock, missing, found = SimpleNamespace(now=0.0), [("a", 0)], []
    task = SimpleNamespace(name="make", delay=lambda what: found.append((clock.now, what)))
    monkeypatch.setattr(relay, "_WORK", ((lambda: missing, task, str),))
    monkeypatch.setattr(relay.time, "monotonic", lambda: clock.now)
    one = relay.Relay(now=lambda: None)

    def until(end, *waiting):
        missing[:] = waiting or missing
        while clock.now < end:
            one.queue_missing()
            clock.now += relay.LOOK_EVERY
        return found

    return until


def test_what_is_not_taken_up_is_queued_ever_less_often(asked):
    assert [at for at, _ in asked(HOUR)] == [0, 60, 180, 420, 900, 1800, 2700]
    over_a_weekend = asked(60 * HOUR)
    assert len(over_a_weekend) < 60 * 4 + 7


def test_what_has_failed_waits_longer_still(asked):
    assert [at for at, _ in asked(2 * HOUR, ("a", 5))] == [0, 1920, 3840, 5760]


def test_what_is_new_is_queued_at_once_whatever_waits_beside_it(asked):
    asked(HOUR)
    assert asked(HOUR + 10, ("a", 0), ("b", 0))[-1] == (HOUR, "b")


def test_what_was_done_and_is_missing_anew_is_new(asked):
    asked(HOUR)
    asked(HOUR + 10, ("b", 0))
    assert asked(HOUR + 20, ("a", 0))[-1] == (HOUR + 10, "a")
