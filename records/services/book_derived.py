"""What follows from the texts of sealed records: made anew, and not believed from a file."""

import json
from itertools import islice
from uuid import UUID

from django.db import connections
from django.db.models.expressions import RawSQL

from calculations.errors import CalculationError
from records.errors import Conflict
from records.models import PerformedTask, Record, RecordedValue, RecordReadings
from records.services import performed_tasks, readings, recorded_values
from records.verifier.telling import MALFORMED

_AT_ONCE = 50
_NAMED = """
SELECT r.id, p.task, p.tag, p.id
  FROM staged_performed_tasks p JOIN staged_records r ON r.row = p.record_id
 WHERE r.id = ANY (%s)
"""


def write(using: str) -> None:
    """Readings, values and performed tasks of every record that was just taken in.

    Of the tasks the file has ids, by which settings name them.
    """
    came = RawSQL("SELECT new_row FROM staged_records", [])
    rows = Record.objects.using(using).filter(row__in=came).order_by("row")
    records = rows.iterator(chunk_size=_AT_ONCE)
    while some := list(islice(records, _AT_ONCE)):
        beside, values, tasks = [], [], []
        named = _named([record.id for record in some], using)
        for record in some:
            kept, found, done = _following(record)
            for task in done:
                task.id = named.get((record.id, task.task, task.tag), task.id)
            beside.append(kept)
            values += found
            tasks += done
        RecordReadings.objects.using(using).bulk_create(beside)
        RecordedValue.objects.using(using).bulk_create(values)
        PerformedTask.objects.using(using).bulk_create(tasks)


def _following(record: Record) -> tuple[RecordReadings, list[RecordedValue], list[PerformedTask]]:
    """`Conflict` where a text that was sealed is none that this version reads."""
    try:
        content = json.loads(bytes(record.canonical))
        kept = RecordReadings(**readings.row_of(record, content))
        found = recorded_values.values(record, content)
        done = performed_tasks.rows(record, content)
    except (*MALFORMED, ArithmeticError, CalculationError) as error:
        words = f"nothing is taken in, since the text of record {record.id} cannot be read"
        raise Conflict(f"{words}: {type(error).__name__}: {error}") from error
    for value in found:
        value.handed_to = record.handed_to
    return kept, found, done


def _named(records: list[UUID], using: str) -> dict[tuple[UUID, str, str], UUID]:
    with connections[using].cursor() as cursor:
        cursor.execute(_NAMED, [records])
        return {(record, task, tag): found for record, task, tag, found in cursor.fetchall()}
