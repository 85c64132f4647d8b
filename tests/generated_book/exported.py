"""What due dates come from, exported out of a book, and the same answers by plain loops over it."""

from collections.abc import Iterator
from dataclasses import dataclass, fields
from datetime import date, datetime
from typing import Any
from uuid import UUID

import psycopg
from psycopg.rows import class_row

from records.selectors.due_items import Item
from tests.records.due_book import TABLES, Appointed, Book, Done, Sealed, Setting, Stands
from tests.records.due_reference import Reference

OF = {"stands": Stands, "records": Sealed, "done": Done, "settings": Setting,
      "appointments": Appointed}  # fmt: skip
AT_ONCE = 100
# Texts and signatures say nothing of dates.
LEFT_OUT = {"canonical": "''::bytea", "signature": "''", "digest": "''::bytea"}


def compared(item: Item) -> tuple[Any, ...]:
    """An item of the service in the reference's form."""
    names = ("site_id", "tag", "number", "state", "due_on", "months", "halved")
    return *(getattr(item, name) for name in names), item.tried_result == "not_possible"


@dataclass(frozen=True)
class Exported:
    """A book's rows by station, read by whoever may read all of it."""

    owner: psycopg.Connection[Any]

    def stations(self) -> list[int]:
        """Rows of the stations."""
        text = "SELECT DISTINCT site_id FROM records_piecestanding ORDER BY site_id"
        return [row for (row,) in self.owner.execute(text)]

    def books(self) -> Iterator[Book]:
        """A small book for each station: no date of one depends on another one's rows."""
        sites = self.stations()
        settings = list(self._rows("settings", "true", []))
        for start in range(0, len(sites), AT_ONCE):
            some = sites[start : start + AT_ONCE]
            books = {site: Book(settings=settings) for site in some}
            for name in ("stands", "records", "done", "appointments"):
                for row in self._rows(name, "site_id = ANY(%s)", [some]):
                    getattr(books[row.site_id], name).append(row)
            yield from books.values()

    def items(
        self, party: str, organization: UUID, as_of: date | None, now: datetime
    ) -> Iterator[tuple[Any, ...]]:
        """Every due item of an organization, as the reference says."""
        for book in self.books():
            yield from Reference(book, party, organization, as_of, now).items()

    def _rows(self, name: str, where: str, given: list[Any]) -> Iterator[Any]:
        kind: Any = OF[name]
        columns = ", ".join(LEFT_OUT.get(each.name, each.name) + f" AS {each.name}"
                            for each in fields(kind))  # fmt: skip
        text = f"SELECT {columns} FROM {TABLES[name]} WHERE {where}"
        with self.owner.cursor(row_factory=class_row(kind)) as cursor:
            yield from cursor.execute(text, given)  # type: ignore[arg-type]
