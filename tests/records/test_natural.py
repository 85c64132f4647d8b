"""Codes and tags in the order in which people count."""

import random

import pytest
from django.db import connection

from records import natural

IN_ORDER = [
    "10", "PS", "PS-1", "PS-2", "PS-2A", "PS-02B", "PS-10", "PS-10-2", "PS-10-10", "PS-101",
    "ps-1", "Ä-9", "Ä-10",
]  # fmt: skip
SIGNS = ["0", "1", "9", "10", "A", "-", " ", "²", "٣", "é", "\\1", "0" * 21, "7" * 25, "%", "{"]


@pytest.fixture
def drawn() -> list[str]:
    draw = random.Random(20261128)
    return ["".join(draw.choices(SIGNS, k=draw.randint(0, 6))) for _ in range(2000)]


def in_sql(texts: list[str]) -> list[str]:
    """What the database makes of them, through a parameter as well as through a column."""
    told = "SELECT {} FROM unnest(%s::text[]) WITH ORDINALITY AS t (code, at) ORDER BY t.at"
    with connection.cursor() as cursor:
        cursor.execute(told.format(natural.sql("t.code")), [texts])
        return [key for (key,) in cursor]


def test_numbers_count_as_what_they_are() -> None:
    mixed = random.Random(1).sample(IN_ORDER, len(IN_ORDER))
    assert sorted(mixed, key=natural.place) == IN_ORDER


@pytest.mark.django_db
def test_the_database_counts_alike(drawn: list[str]) -> None:
    assert in_sql([*IN_ORDER, *drawn]) == [natural.key(each) for each in [*IN_ORDER, *drawn]]


@pytest.mark.django_db
def test_the_database_sorts_alike(drawn: list[str]) -> None:
    told = f"SELECT code FROM unnest(%s::text[]) AS t (code) ORDER BY {natural.in_order('code')}"
    with connection.cursor() as cursor:
        cursor.execute(told, [drawn])
        assert [code for (code,) in cursor] == sorted(drawn, key=natural.place)
