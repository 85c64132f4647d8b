"""The service's numbers, in the text form that Prometheus reads.

Requests are counted by each web process and added up over a folder that they share
(PROMETHEUS_MULTIPROC_DIR). What the book says is asked when somebody reads the numbers, and what
costs the database more than a glance at most every ten minutes.
"""

import json
import logging
import os
import time
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path
from typing import Generic, TypeVar

from django.conf import settings
from django.db import Error
from prometheus_client import CollectorRegistry, Histogram, generate_latest
from prometheus_client.core import GaugeMetricFamily, Metric
from prometheus_client.multiprocess import MultiProcessCollector
from prometheus_client.registry import REGISTRY, Collector

from records.selectors import watching

DUE_FOR = 600.0  # s that counted due items are told again
WAITING_FOR = 5.0  # s of the rest

log = logging.getLogger(__name__)

SECONDS = Histogram(
    "stationbook_request_seconds",
    "Time until the answer began, by route of the service, method and class of status.",
    ("route", "method", "status"),
    buckets=(0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0),
)


T = TypeVar("T")


class Remembered(Generic[T]):
    """What was asked lately, told again for a while; where asking fails, for as long again."""

    def __init__(self, ask: Callable[[], T], seconds: float) -> None:
        self._ask, self._seconds = ask, seconds
        self._until = 0.0
        self._told: T | None = None

    def __call__(self) -> T | None:
        """The answer; None where it cannot be had."""
        if time.monotonic() >= self._until:
            self._until = time.monotonic() + self._seconds
            try:
                self._told = self._ask()
            except (Error, OSError, ValueError) as error:
                log.warning("a number cannot be told: %s", error)
                self._told = None
        return self._told


waiting = Remembered(watching.waiting, WAITING_FOR)
due = Remembered(watching.due_counts, DUE_FOR)
last_report = Remembered(watching.last_report, WAITING_FOR)


class Book(Collector):
    """What the book says; a number that cannot be told is missing."""

    def collect(self) -> Iterator[Metric]:
        """Each number anew."""
        yield from _waiting()
        yield from _due()
        yield from _since("last_report", "When the last report was made", last_report())
        yield from _backup()


def _waiting() -> Iterator[Metric]:
    found = waiting()
    if found is None:
        return
    name = "stationbook_documents"
    yield _gauge(f"{name}_waiting", "Documents that are still to be made", found.documents)
    yield _gauge(f"{name}_failed", "Of those, the ones that failed at least once", found.failed)
    age = time.time() - found.asked_at.timestamp() if found.asked_at else 0.0
    yield _gauge(f"{name}_oldest_seconds", "How long the oldest of them has waited", max(0.0, age))


def _due() -> Iterator[Metric]:
    found = due()
    if found is None:
        return
    family = GaugeMetricFamily(
        "stationbook_due_items", "Verification tasks by state, of all stations", labels=["state"]
    )
    for state, count in found.items():
        family.add_metric([state], count)
    yield family


def _since(name: str, words: str, when: datetime | None) -> Iterator[Metric]:
    if when is not None:
        yield _gauge(
            f"stationbook_{name}_timestamp_seconds", f"{words}, in Unix time", when.timestamp()
        )


def _backup() -> Iterator[Metric]:
    """What the last backup left, where this machine can see it."""
    file: Path | None = settings.BACKUP_STATE_FILE
    if file is None:
        return
    try:
        told = json.loads(file.read_text(encoding="utf-8"))
        when = datetime.fromisoformat(told["finished_at"])
    except (OSError, ValueError, KeyError, TypeError):
        return
    yield from _since("last_backup", "When the last whole backup was finished", when)


def _gauge(name: str, words: str, value: float) -> GaugeMetricFamily:
    return GaugeMetricFamily(name, words + ".", value=value)


def written() -> bytes:
    """All numbers as text."""
    registry = CollectorRegistry()
    if os.environ.get("PROMETHEUS_MULTIPROC_DIR"):
        MultiProcessCollector(registry)  # type: ignore[no-untyped-call]
        registry.register(Book())
        return generate_latest(registry)
    registry.register(Book())
    return generate_latest(REGISTRY) + generate_latest(registry)
