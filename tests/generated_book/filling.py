"""Fills an empty, migrated book: people, clients, and so many stations."""

import uuid
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from typing import Any

import psycopg
from joserfc.jwk import OKPKey

from tests.generated_book.drawing import Draw
from tests.generated_book.texts import Party
from tests.generated_book.writing import Book
from tests.records import cast as casting
from tests.records.cast import NAMES, Cast

CLIENTS = ("Tresk Water District", "Morrane Utility", "Undervale Water", "Sallow County Works",
           "Pint Harbour Water", "Oxgate Irrigation", "Lower Farrel Services", "Kessmoor Works",
           "Joss Plain Utility", "Inver Ash Water")  # fmt: skip


@dataclass(frozen=True)
class Size:
    """How many stations, over how many years until which day, drawn with which number."""

    stations: int = 5000
    years: int = 20
    seed: int = 1
    today: date | None = None

    @property
    def until(self) -> date:
        """The day of the drawn book."""
        return self.today or datetime.now(UTC).date()


def fill(owner: psycopg.Connection[Any], people: Cast, key: OKPKey, size: Size) -> dict[str, int]:
    """Write the cast, its clients and the stations; answers how many rows each table got."""
    begun = datetime(size.until.year - size.years - 2, 1, 1, tzinfo=UTC)
    casting.engage(owner, people, key, since=begun)
    clients = [Party(people.client, CLIENTS[0])]
    for name in CLIENTS[1:]:
        other = Party(uuid.uuid4(), name)
        owner.execute(
            "INSERT INTO records_organization (id, name, revision, created_at)"
            " VALUES (%s, %s, 1, now())",
            [other.id, other.name],
        )
        owner.execute(
            "INSERT INTO records_clientele (contractor_id, client_id, since) VALUES (%s, %s, %s)",
            [people.contractor, other.id, begun],
        )
        clients.append(other)
    owner.commit()
    contractor = Party(people.contractor, NAMES["contractor"])
    book = Book(owner, contractor, clients, people.teo.id, key)
    drawn = Draw(size.seed, size.years, size.until - timedelta(days=1))
    counts = book.write(drawn.stations(size.stations))
    owner.commit()
    return counts
