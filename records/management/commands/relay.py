"""Queues the task for whatever the book still lacks; runs beside the workers.

Nothing is queued inside a request: what must happen after a commit is read from what was
committed, so that nothing is forgotten when a process or the queue dies in between. The clock is
here as well: of every period that is over and has no report yet, one is asked for.
"""

import logging
import time
from argparse import ArgumentParser
from collections.abc import Callable, Hashable, Sequence
from datetime import datetime
from typing import Any

import psycopg
from django.core.management.base import BaseCommand
from django.db import Error, connection, transaction
from kombu.exceptions import KombuError

from records import permissions, tasks
from records.services import (
    documents,
    enrolments,
    files,
    guessing,
    kept_due_dates,
    report_mails,
    reports,
    uploads,
)
from records.services.importing import imports
from records.services.steady_clock import SteadyClock

log = logging.getLogger(__name__)

CHANNEL = "work_to_do"
LOOK_EVERY = 5.0  # s, without being woken
ASK_AGAIN_AFTER = 60.0  # s, for what was queued and is still missing; doubles with each failure
LONGEST_WAIT = 3600.0  # s
# What was queued and not taken up doubles it, too: while no worker is there, the queue would grow
# by all that is missing each minute. A queue that lost its messages is asked again after this.
LONGEST_UNTAKEN = 900.0  # s
FORGET_EVERY = 600.0  # s
PAUSE_AFTER_FAILURE = 1.0  # s


_WORK: tuple[tuple[Callable[[], Sequence[tuple[Any, int]]], Any, Callable[..., Any]], ...] = (
    (documents.missing, tasks.make_document, str),
    (reports.missing, tasks.make_report, int),
    (report_mails.missing, tasks.send_report, int),
    (imports.missing, tasks.go_on_with_import, lambda waiting: str(waiting[0])),
)
"""What the book may lack, with the attempts so far; the task that does it; what that takes."""


class Relay:
    """Remembers until when it waits for what it queued; forgets it when it dies, and asks again."""

    def __init__(self, now: Callable[[], datetime | None] | None = None) -> None:
        self._now = now or SteadyClock().now
        self._waits: dict[Hashable, tuple[float, int]] = {}  # until when, and how often asked
        self._forget_at = 0.0
        self._older = True

    def forget_what_is_over(self) -> None:
        """Delete, now and then, counts, uploads, codes and imports whose time is over."""
        if time.monotonic() < self._forget_at:
            return
        self._forget_at = time.monotonic() + FORGET_EVERY
        with transaction.atomic():
            permissions.enter_as_worker()
            guessing.forget_old()
            uploads.forget_expired()
            enrolments.forget_expired()
            imports.forget_old()
        files.forget_unfinished()
        self._older = True

    def keep_due_dates(self) -> bool:
        """Make anew some of the due dates that hold no more; whether there may be others."""
        found = kept_due_dates.keep_waiting(older=self._older)
        self._older = self._older and found > 0
        return found > 0

    def queue_missing(self) -> int:
        """Ask for reports of periods that are over; queue what is missing and was not lately."""
        moment = self._now()
        if moment is not None:
            reports.ask_for_what_is_over(moment)
        now, queued = time.monotonic(), 0
        waits: dict[Hashable, tuple[float, int]] = {}
        for missing, task, argument in _WORK:
            for identity, attempts in missing():
                place = (task.name, identity)
                until, asked = self._waits.get(place, (now, 0))
                if now >= until:
                    task.delay(argument(identity))
                    queued += 1
                    until, asked = now + _wait(attempts, asked), asked + 1
                self._waits[place] = waits[place] = until, asked
        self._waits = waits
        return queued


def _wait(attempts: int, asked: int) -> float:
    """Seconds until what is missing is queued again."""
    failed, untaken = (ASK_AGAIN_AFTER * 2.0 ** min(often, 10) for often in (attempts, asked))
    return max(min(failed, LONGEST_WAIT), min(untaken, LONGEST_UNTAKEN))


class Command(BaseCommand):
    """Look, queue, sleep until woken."""

    help = __doc__

    def add_arguments(self, parser: ArgumentParser) -> None:
        """`--once` looks a single time."""
        parser.add_argument("--once", action="store_true", help="look once and end")

    def handle(self, *args: Any, once: bool = False, **options: Any) -> None:
        """Run until stopped; a database or queue that is away is waited for."""
        relay = Relay()
        while True:
            try:
                if once:
                    relay.queue_missing()
                    while relay.keep_due_dates():
                        pass
                    return
                _listen(relay)
            except (Error, psycopg.Error, KombuError, OSError) as error:
                log.warning("the relay waits for database or queue: %s", error)
                connection.close()
                time.sleep(PAUSE_AFTER_FAILURE)


def _listen(relay: Relay) -> None:
    parameters = connection.get_connection_params()
    wanted = ("host", "port", "dbname", "user", "password")
    with psycopg.connect(
        **{name: parameters[name] for name in wanted if name in parameters}, autocommit=True
    ) as ear:
        ear.execute(f"LISTEN {CHANNEL}")
        while True:
            relay.queue_missing()
            relay.forget_what_is_over()
            wait = 0.0 if relay.keep_due_dates() else LOOK_EVERY
            for _ in ear.notifies(timeout=wait, stop_after=1):
                pass
