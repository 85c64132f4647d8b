"""A drawn book of seven years, and how reports of it are made and read in tests."""

import json
import os
from contextlib import contextmanager
from dataclasses import replace
from datetime import datetime

import psycopg
from django.core.files.storage import default_storage
from psycopg.conninfo import make_conninfo

from records import permissions
from records.models import Report
from records.services import reports
from records.services.files import stored_name
from tests import database
from tests.records.client import leave
from tests.records.due_book import Book, Draw


def write(stage, cast) -> Book:
    """Twelve stations of each contractor. Sensors are in order: their records have no text."""
    pairs = [(cast.contractor, cast.client), (cast.other_contractor, cast.other_client)]
    book = Draw(23, pairs).book_of(24)
    book.done = [
        replace(each, result="inside", as_found=None, reason="") if each.kind == "sensor" else each
        for each in book.done
    ]
    dsn = make_conninfo(os.environ[database.ADMIN], dbname=stage.database)
    with psycopg.connect(dsn) as admin:
        book.write(admin)
    return book


@contextmanager
def worker():
    """What a worker sees."""
    leave()
    permissions.enter_as_worker()
    yield
    leave()


def made(row: int) -> Report:
    """A report that was asked for, as it is made."""
    leave()
    assert reports.make(row)
    with worker():
        return Report.objects.get(row=row)


def content(report: Report, name: str = "json") -> bytes:
    """A file of a report."""
    digest = bytes(getattr(report, f"{name}_sha256"))
    with default_storage.open(stored_name(digest), "rb") as file:
        return file.read()


def data(report: Report) -> dict:
    """What a report says, as data."""
    return json.loads(content(report))


def asked(moment: datetime) -> list[int]:
    """Rows of the reports that are asked for of what is over at a moment."""
    leave()
    reports.ask_for_what_is_over(moment)
    return [row for row, _ in reports.missing()]
