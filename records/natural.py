"""The order of codes and tags as people count: PS-2 before PS-10.

A run of digits counts as the number that it is (its last 20 digits), everything else by its
characters. Two texts of one key, PS-2 and PS-02, are put in order by the texts themselves.
"""

import re
from typing import Any

from django.db.models import F, Func, OrderBy, TextField
from django.db.models.functions import Collate

_LONGEST = 20
_DIGITS = re.compile("[0-9]+")
_ZEROS = "0" * _LONGEST

# Nearly all texts are letters with one number behind, or have none: to take one apart takes three
# times as long, and counting to twenty by a regular expression thirty times.
_PLAIN = "rtrim({text}, '0123456789')"
_SQL = f"""(CASE
 WHEN {{text}} ~ '^[^0-9]*[0-9]+$'
 THEN {_PLAIN} || right('{_ZEROS}' || substr({{text}}, length({_PLAIN}) + 1), {_LONGEST})
 WHEN {{text}} !~ '[0-9]' THEN {{text}}
 ELSE (SELECT string_agg(CASE WHEN ascii(part[1]) BETWEEN ascii('0') AND ascii('9')
                              THEN right('{_ZEROS}' || part[1], {_LONGEST}) ELSE part[1] END,
                         '' ORDER BY number)
         FROM regexp_matches({{text}}, '[0-9]+|[^0-9]+', 'g') WITH ORDINALITY
           AS parts (part, number)) END) COLLATE "C"
"""  # noqa: S608


def key(text: str) -> str:
    """What texts are compared by, as the database does it."""
    return _DIGITS.sub(lambda run: (_ZEROS + run[0])[-_LONGEST:], text)


def place(text: str) -> tuple[str, str]:
    """Where a text stands among others."""
    return key(text), text


def sql(text: str) -> str:
    """The same key of a column or parameter, in SQL."""
    return _SQL.format(text=text)


def in_order(column: str) -> str:
    """What a statement is sorted by where it is sorted by a column of codes or tags."""
    return f'{sql(column)}, {column} COLLATE "C"'


class _Key(Func):
    """The key of a column, for a queryset."""

    output_field = TextField()
    arity = 1

    def as_sql(
        self, compiler: Any, connection: Any, *given: Any, **extra: Any
    ) -> tuple[str, tuple[str | int, ...]]:
        column, _ = compiler.compile(self.source_expressions[0])
        return sql(column), ()


def order(column: str) -> tuple[OrderBy, OrderBy]:
    """The order of a queryset by a column of codes or tags."""
    return OrderBy(_Key(F(column))), OrderBy(Collate(F(column), "C"))
