"""The same rows, and the same event as one document, by psycopg and nothing else.

The rows go into the tables of the generic build: the same columns, keys and indexes. Every
statement is written beforehand; what is left is what the database and its driver cost.
"""

import json
import uuid
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

import psycopg

from tests.benchmarks.clients import Post
from tests.benchmarks.documents import Document, head, relational, start_up

TABLES = {
    "settings": "generic_setting",
    "measurements": "generic_measurement",
    "duty_points": "generic_dutypoint",
    "sensor_checks": "generic_sensorcheck",
    "checks": "generic_check",
}
DOCUMENT_TABLE = """
CREATE TABLE bare_document (
    row bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY,
    id uuid NOT NULL UNIQUE,
    document jsonb NOT NULL
)
"""
DOCUMENT = "INSERT INTO bare_document (id, document) VALUES (%s, %s::jsonb)"


def prepare(dsn: str) -> None:
    """Make the table for documents; the others are the generic build's."""
    with psycopg.connect(dsn) as connection:
        connection.execute(DOCUMENT_TABLE)


def insertion(table: str, row: Document, key: str) -> str:
    """The statement that inserts such a row, whose first value is that of `key`."""
    values = ", ".join(["%s"] * (1 + len(row)))
    return f"INSERT INTO {table} ({', '.join([key, *row])}) VALUES ({values})"


@contextmanager
def rows(dsn: str) -> Iterator[Post]:
    """Insert the event as rows: an executemany for each table, all in one transaction."""
    event = start_up()
    visit = {"site": "B-01", "pump_set": "PS-101"} | head(event)
    parts = relational(event)
    statements = [("generic_visit", [visit], "id")]
    statements += [(TABLES[name], rows, "visit_id") for name, rows in parts.items()]
    prepared: list[tuple[str, Sequence[tuple[Any, ...]]]] = [
        (insertion(table, rows[0], key), [tuple(row.values()) for row in rows])
        for table, rows, key in statements
    ]
    with psycopg.connect(dsn) as connection:

        def post() -> None:
            identity = uuid.uuid4()
            with connection.cursor() as cursor:
                for statement, values in prepared:
                    cursor.executemany(statement, [(identity, *row) for row in values])
            connection.commit()

        yield post


@contextmanager
def document(dsn: str) -> Iterator[Post]:
    """Insert the event as one document in one row."""
    text = json.dumps(start_up())
    with psycopg.connect(dsn) as connection:

        def post() -> None:
            connection.execute(DOCUMENT, [uuid.uuid4(), text])
            connection.commit()

        yield post
