"""The readings of sealed records as CSV, kept beside each record, so that many go out at once.

They follow from the record's text alone. Where they are missing, or of an older edition of columns
and words, `selectors.readings` makes them while it sends; `rewrite_readings` makes them for good.
"""

import json
from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.db.models import Q

from records.documents.readings_csv import EDITION, lines
from records.models import Record, RecordReadings
from records.services import holding

_AT_ONCE = 100


def keep(record: Record, content: Mapping[str, Any]) -> None:
    """Write the readings of a record that was just sealed."""
    RecordReadings.objects.create(**row_of(record, content))


def row_of(record: Record, content: Mapping[str, Any]) -> dict[str, Any]:
    """What is kept beside a record, as columns."""
    return {
        "record": record,
        "contractor_id": record.contractor_id,
        "client_id": record.client_id,
        "edition": EDITION,
        "lines": lines(content),
        "handed_to": record.handed_to,
    }


def rewrite(using: str) -> int:
    """Make those that are missing or of an older edition; `using` is the tables' owner's.

    Safe to break off, and to run beside a serving process.
    """
    count = 0
    while made := _rewrite_some(using):
        count += made
    return count


def _rewrite_some(using: str) -> int:
    with transaction.atomic(using=using):
        stale = holding.records(_stale(using), _AT_ONCE)
        for record in stale:
            row = row_of(record, json.loads(bytes(record.canonical)))
            rows = RecordReadings.objects.using(using)
            rows.update_or_create(record=row.pop("record"), defaults=row)
        return len(stale)


def _stale(using: str) -> Any:
    missing = Q(readings=None) | ~Q(readings__edition=EDITION)
    return Record.objects.using(using).filter(missing)
