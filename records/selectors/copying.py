"""Rows with many bytes by COPY, which sends them as they are; a query writes them in hex."""

from collections.abc import Sequence
from typing import Any

from django.db import connection


def copied(rows: Any, types: Sequence[str]) -> list[tuple[Any, ...]]:
    """The rows of a query set of values, whose columns have these types of PostgreSQL."""
    sql, parameters = rows.query.sql_with_params()
    with (
        connection.cursor() as cursor,
        cursor.copy(f"COPY ({sql}) TO STDOUT (FORMAT binary)", parameters) as copy,
    ):
        copy.set_types(types)
        return list(copy.rows())
