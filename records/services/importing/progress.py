"""How far the work on a spreadsheet is, and whether it is still wanted."""

from typing import Any

import psycopg
from django.db import connection
from django.db.models import QuerySet

from records import roles
from records.models import Import

TELL_EVERY = 100
"""Rows."""

UNDER_WAY = ("to check", "to write")
"""States in which it is the background's turn."""


def ahead_of(of: Import, others: QuerySet[Import]) -> Import | None:
    """Of an office's files the one that is worked on before this one, where one is."""
    first = first_of(others)
    return first if first is not None and first.row != of.row else None


def first_of(files: QuerySet[Import]) -> Import | None:
    """Of an office's files the one that is worked on, or would be next."""
    return files.filter(state__in=UNDER_WAY).order_by("changed_at", "row").first()


class Stopped(Exception):
    """Somebody stopped it, and may have asked for it anew since: nothing of this attempt stays."""


class Progress:
    """Tells how far it is, by a connection of its own: the work's is one long transaction.

    There it sees as well that somebody stopped it, and raises `Stopped`.
    """

    def __init__(self, of: Import) -> None:
        self._of, self._done = of, 0
        self._told: psycopg.Connection[Any] | None = None

    def __enter__(self) -> "Progress":
        return self

    def __exit__(self, *_: object) -> None:
        if self._told is not None:
            self._told.close()

    def one_more(self) -> None:
        """A row more is done."""
        self._done += 1
        waits_no_more = self._done == 1 and self._of.held_since is not None
        if waits_no_more or self._done % TELL_EVERY == 0:
            self._tell()

    def _tell(self) -> None:
        if self._told is None:
            given = connection.get_connection_params()
            names = ("host", "port", "dbname", "user", "password")
            self._told = psycopg.connect(
                **{name: given[name] for name in names if name in given}, autocommit=True
            )
            self._told.execute("SELECT set_config('role', %s, false)", [roles.WORKER])
        of = self._of
        told = self._told.execute(
            "UPDATE records_import SET done = %s, held_since = NULL"
            " WHERE row = %s AND state = %s AND changed_at = %s",
            [self._done, of.row, of.state, of.changed_at],
        )
        if not told.rowcount:
            raise Stopped
