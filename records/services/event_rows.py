"""A new event with what goes with it: one statement, all or nothing.

What was found in it, what is open at its station, and its entry in the audit.
"""

from collections.abc import Sequence
from enum import Enum
from functools import cache
from typing import Any

from django.db import connection, models

from records.json_text import text_of
from records.models import Event, Finding
from records.permissions import Actor
from records.selectors.subjects import Edition
from records.services import audit, summaries

# Columns are the models' own, so that a new one needs nothing here. What was found is one document:
# arrays take longer to write, and of more than fifty values psycopg takes the statement apart anew
# each time. Whether the id is free is asked by the statement itself: no savepoint to go back to,
# and nobody else's post in between.
#
# What an event was judged against may be changed by others meanwhile, who do not see the event and
# cannot judge it again. So the statement holds it, waiting for whoever changes it, and writes only
# where it is as it was read: a row that had to be waited for is compared as it is then. A record
# that was sealed meanwhile counts as well: the event may have to be judged beside it. Instruments
# come before the station, as who changes one takes its drafts' stations, and its count last.
_ADD = """
WITH as_read AS (
    SELECT station.row
      FROM (SELECT site.row
              FROM (SELECT count(*) AS number
                      FROM (SELECT row FROM records_instrument
                             WHERE row = ANY(%s) AND revision = (%s::jsonb ->> row::text)::int
                             ORDER BY row FOR SHARE) AS each) AS instruments,
                   records_site AS site
             WHERE instruments.number = %s AND site.row = %s AND site.register_revision = %s
               FOR KEY SHARE OF site) AS station
      JOIN records_sitesummary AS counts ON counts.site_id = station.row
     WHERE counts.last_number = %s
       FOR NO KEY UPDATE OF counts
), added AS (
    INSERT INTO records_event ({event}) SELECT {values} FROM as_read
    ON CONFLICT (contractor_id, id) DO NOTHING RETURNING row, site_id, contractor_id
), noted AS (
    INSERT INTO records_finding (event_id, {finding})
    SELECT added.row, found.* FROM added, jsonb_to_recordset(%s::jsonb) AS found ({typed})
), counted AS (
    {summary}
), written_down AS (
    {audit}
)
SELECT (SELECT row FROM added), EXISTS (SELECT FROM as_read)
"""


class Outcome(Enum):
    """What became of an event that was to be written."""

    WRITTEN = "written"
    THERE = "there is one of its id"
    MOVED = "what it was judged against has been changed meanwhile"


def entry(actor: Actor, event: Event) -> list[Any]:
    """That of a new event in the audit."""
    told = {"revision": event.revision, "digest": bytes(event.created_digest).hex()}
    return audit.entry(actor, "added", audit.of_event(event), audit.Change(after=told))


def add(event: Event, found: Sequence[Finding], noted: Sequence[Any], judged: Edition) -> Outcome:
    """Write a new event with its findings and its `entry`, and count it.

    Nothing is written where its contractor has an event of this id, nor where the register is no
    longer as it was `judged` against.
    """
    with connection.cursor() as cursor:
        cursor.execute(*addition(event, found, noted, judged))
        [row, as_read] = cursor.fetchone()
    if row is None:
        return Outcome.THERE if as_read else Outcome.MOVED
    event.row, event._state.adding = row, False
    return Outcome.WRITTEN


def addition(
    event: Event, found: Sequence[Finding], noted: Sequence[Any], judged: Edition
) -> tuple[str, list[Any]]:
    """The statement that `add` executes, with its values."""
    columns, of_findings = _columns()
    values = [_value(field, event) for field in columns]
    told = text_of([_as_told(each, of_findings) for each in found]).decode()
    counted = summaries.addition(event, found)
    return _statement(), [*_as_read(event, judged), *values, told, *counted, *noted]


def _as_read(event: Event, judged: Edition) -> list[Any]:
    revisions = {str(row): revision for row, revision in judged.of_instruments.items()}
    rows = list(judged.of_instruments)
    return [rows, text_of(revisions).decode(), len(rows), event.site_id, judged.of_site,
            judged.of_records]  # fmt: skip


Columns = list["models.Field[Any, Any]"]


@cache
def _columns() -> tuple[Columns, Columns]:
    """Those of an event, and those of a finding less its event's."""
    event, finding = ([field for field in model._meta.concrete_fields if not field.primary_key]
                      for model in (Event, Finding))  # fmt: skip
    return event, [field for field in finding if field.name != "event"]


@cache
def _statement() -> str:
    event, finding = _columns()
    return _ADD.format(
        event=_names(event),
        values=", ".join("%s" for _ in event),
        finding=_names(finding),
        typed=", ".join(f"{field.column} {field.db_type(connection)}" for field in finding),
        summary=summaries.addition_beside("added"),
        audit=audit.insertion_beside("added"),
    )


def _names(columns: Columns) -> str:
    return ", ".join(str(field.column) for field in columns)


def _value(field: "models.Field[Any, Any]", row: models.Model) -> Any:
    return field.get_db_prep_save(field.pre_save(row, True), connection)


def _as_told(row: models.Model, columns: Columns) -> dict[str, Any]:
    return {str(field.column): _in_json(getattr(row, field.attname)) for field in columns}


def _in_json(value: Any) -> Any:
    """Bytes as the database reads them in a text."""
    return f"\\x{value.hex()}" if isinstance(value, bytes) else value
