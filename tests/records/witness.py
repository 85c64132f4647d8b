"""Holds what a request wrote against the audit: no change without an entry."""

import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import connection

from records import roles, wall

_WRITTEN = re.compile(r'\b(?:INSERT INTO|UPDATE|DELETE FROM)\s+"?(records_\w+)"?')
# What follows from something else that is written down, in the same transaction.
_FOLLOWS = {
    "records_appointment",
    "records_clientele",
    "records_finding",
    "records_recorddocument",
    "records_recordreadings",
    "records_recordedvalue",
    "records_sitesummary",
    # Under way: it becomes a file, with its entry, or nothing.
    "records_import",
    "records_importline",
    "records_upload",
    "records_uploadpart",
}
AUDIT = "records_auditentry"
WATCHED = {t for t, guard in wall.GUARDS.items() if roles.OFFICE in guard.policies} - _FOLLOWS


@contextmanager
def watched() -> Iterator[set[str]]:
    """The tables that are written to meanwhile."""
    written: set[str] = set()

    def watch(execute: Any, sql: Any, *rest: Any) -> Any:
        done = execute(sql, *rest)
        written.update(_WRITTEN.findall(str(sql)))  # what was refused wrote nothing
        return done

    with connection.execute_wrapper(watch):
        yield written


def assert_written_down(written: set[str], what: str) -> None:
    """Whoever changes something says so in the audit."""
    silent = written & (WATCHED - {AUDIT})
    assert not silent or AUDIT in written, f"{what} wrote to {sorted(silent)} without an entry"
