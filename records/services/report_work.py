"""The making of a report: reading, writing its three files, telling how far it is."""

import time
from collections.abc import Iterable
from contextlib import ExitStack
from datetime import UTC
from pathlib import Path
from typing import Any, Self

import psycopg
from django.db import connection
from django.utils import timezone

from records import roles
from records.documents.papers import PAPERS, usual
from records.documents.report import data, paper, workbook
from records.documents.report.gathered import CHANGES, Gathered
from records.models import Clientele, Report, Site
from records.selectors import reported
from records.selectors.reported import Window
from records.services.files import store, store_file
from records.services.times import instant

TELL_EVERY = 2.0  # s

# Of advisory locks, the kind that is a report's: its second number is the row.
_REPORTS = 7_201


def taken(row: int) -> bool:
    """Whether nobody else makes this report; held until the transaction ends."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_xact_lock(%s, %s)", [_REPORTS, row % 2**31])
        return bool(cursor.fetchone()[0])


def work(report: Report, folder: Path) -> dict[str, Any]:
    """Read all that a report tells and keep its files; returns the columns of what was made."""
    window = window_of(report)
    found = gather(report, window, folder)
    whole, book = folder / "data.json", folder / "workbook.xlsx"
    with whole.open("wb") as file:
        data.write(found, file)
    at = report.until.astimezone(UTC).replace(microsecond=0)
    workbook.write(found, book, at)
    pdf = paper.render(found, data.attached(found, whole), at, _paper(report))
    made: dict[str, Any] = {"summary": {"counts": found.counts, "changes": found.changes()}}
    made |= {"pdf_sha256": store(pdf), "pdf_size": len(pdf)}
    for name, path in (("json", whole), ("xlsx", book)):
        with path.open("rb+") as file:
            file.seek(0, 2)
            made[f"{name}_sha256"], made[f"{name}_size"] = store_file(file)
    stations = len(found.heads)
    return made | {"done": stations, "total": stations}


def window_of(report: Report) -> Window:
    """What a report is asked to tell."""
    actor = reported.as_office(report.contractor_id)
    return Window(
        actor, report.client_id, report.since, report.until, report.period_begins, report.as_of
    )


def gather(report: Report, window: Window, folder: Path) -> Gathered:
    """Everything that a report tells: lines go into files of a folder."""
    names = reported.names(window)
    found = Gathered.within(folder, head_of(report, names), names)
    found.heads.extend(reported.heads(window))
    with Progress(report.row, reported.stations(window)) as progress:
        progress.follow(found.take(reported.items(window)))
    for name in CHANGES:
        found.sections[name].fill(getattr(reported, name)(window))
    return found


def head_of(report: Report, names: dict[str, str]) -> dict[str, Any]:
    """What a report is: of whom, of which time."""
    contractor, client = str(report.contractor_id), str(report.client_id)
    return {
        "id": str(report.id),
        "kind": report.period,
        "contractor": {"id": contractor, "name": names.get(contractor, "")},
        "client": {"id": client, "name": names.get(client, "")} if report.client_id else None,
        "period_begins": str(report.period_begins),
        "as_of": str(report.as_of),
        "time_zone": report.time_zone,
        "since": instant(report.since),
        "until": instant(report.until),
        "whole": report.period != "day" or report.until < report.asked_at,
    }


def _paper(report: Report) -> str:
    """The paper that the client wants; else that of the first station's practice."""
    sites = Site.objects.filter(contractor=report.contractor_id).order_by("row")
    if report.client_id is not None:
        sites = sites.filter(client=report.client_id)
        pair = Clientele.objects.filter(contractor=report.contractor_id, client=report.client_id)
        wanted = pair.values_list("paper", flat=True).first()
        if wanted is not None and wanted in PAPERS:
            return PAPERS[wanted]
    site = sites.first()
    return PAPERS[usual({"site": site.plate if site else {}})]


class Progress:
    """Tells on a connection of its own how many stations are read: others see it at once."""

    def __init__(self, row: int, total: int) -> None:
        self._row, self._total, self._done = row, total, 0
        self._told_at, self._stack = time.monotonic(), ExitStack()
        self._ear: psycopg.Connection | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self._stack.close()

    def follow(self, sites: Iterable[str]) -> None:
        """Read to the end; items come by station."""
        before = ""
        for site in sites:
            if site != before:
                self._done, before = self._done + 1, site
                if time.monotonic() - self._told_at > TELL_EVERY:
                    self._tell()

    def _tell(self) -> None:
        self._told_at = time.monotonic()
        if self._ear is None:
            self._ear = self._stack.enter_context(_another_connection())
        with self._ear.transaction():
            self._ear.execute("SELECT set_config('role', %s, true)", [roles.WORKER])
            self._ear.execute(
                "UPDATE records_report SET done = %s, total = %s, worked_at = %s"
                " WHERE row = %s AND made_at IS NULL",
                [self._done, self._total, timezone.now(), self._row],
            )


def _another_connection() -> psycopg.Connection:
    given = connection.get_connection_params()
    wanted = ("host", "port", "dbname", "user", "password")
    return psycopg.connect(
        **{name: given[name] for name in wanted if name in given}, autocommit=True
    )
