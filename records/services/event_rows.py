"""A new event with what goes with it: one statement, all or nothing.

What was found in it, what is open at its station, and its entry in the audit.
"""

from collections.abc import Sequence
from functools import cache
from typing import Any

from django.db import connection, models

from records.json_text import text_of
from records.models import Event, Finding
from records.permissions import Actor
from records.services import audit, summaries

# Columns are the models' own, so that a new one needs nothing here. What was found is one document:
# arrays take longer to write, and of more than fifty values psycopg takes the statement apart anew
# each time. Whether the id is free is asked by the statement itself: no savepoint to go back to,
# and nobody else's post in between.
_ADD = """
WITH added AS (
    INSERT INTO records_event ({event}) VALUES ({values})
    ON CONFLICT (contractor_id, id) DO NOTHING RETURNING row
), noted AS (
    INSERT INTO records_finding (event_id, {finding})
    SELECT added.row, found.* FROM added, jsonb_to_recordset(%s::jsonb) AS found ({typed})
), counted AS (
    {summary}
), written_down AS (
    {audit}
)
SELECT row FROM added
"""


def entry(actor: Actor, event: Event) -> list[Any]:
    """That of a new event in the audit."""
    told = {"revision": event.revision, "digest": bytes(event.created_digest).hex()}
    return audit.entry(actor, "added", audit.of_event(event), audit.Change(after=told))


def add(event: Event, found: Sequence[Finding], noted: Sequence[Any]) -> bool:
    """Write a new event with its findings and its `entry`, and count it.

    False, and nothing is written, where its contractor has an event of this id.
    """
    with connection.cursor() as cursor:
        cursor.execute(*addition(event, found, noted))
        row = cursor.fetchone()
    if row is None:
        return False
    event.row, event._state.adding = row[0], False
    return True


def addition(event: Event, found: Sequence[Finding], noted: Sequence[Any]) -> tuple[str, list[Any]]:
    """The statement that `add` executes, with its values."""
    columns, of_findings = _columns()
    values = [_value(field, event) for field in columns]
    told = text_of([_as_told(each, of_findings) for each in found]).decode()
    return _statement(), [*values, told, *summaries.addition(event, found), *noted]


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
