"""Closed lists of words: the database checks the same ones as the models.

The framework sees no change of a table in other choices: a migration that adds a word changes the
check itself.
"""

import re

import pytest
from django.apps import apps
from django.db import connection

from records.models.fields import WordField

FIELDS = [
    field
    for model in apps.get_app_config("records").get_models()
    for field in model._meta.local_fields
    if isinstance(field, WordField)
]


@pytest.mark.django_db
@pytest.mark.parametrize("field", FIELDS, ids=str)
def test_the_database_knows_the_same_words(field):
    table = field.model._meta.db_table
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT pg_get_constraintdef(oid) FROM pg_constraint WHERE conrelid = %s::regclass"
            " AND conname = %s",
            [table, f"{table}_{field.column}_check"],
        )
        [[check]] = cursor.fetchall()
    assert set(re.findall(r"'((?:[^']|'')*)'::text", check)) == {word for word, _ in field.choices}
