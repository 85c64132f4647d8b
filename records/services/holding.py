"""Holding rows that others wait for, in the one order that every service keeps.

1. the imports of an office, then the clients that an import brings new stations for: whoever
   cannot have them comes back later (`Busy`), so that no wait takes time from the work;
2. instruments;
3. drafts;
4. stations, each of them before what stands there;
5. counts of stations (`summaries.hold`);
6. sealed records, each of them before what is kept beside it.

Of each kind by `row`. Who holds one of them asks for none that comes before it: two who did would
wait for each other. Whoever learns only at a station of drafts that it needs goes back
(`drafts_first`).
"""

from collections.abc import Callable, Iterable
from typing import Any, TypeVar
from uuid import UUID

from django.db import connection, transaction
from django.db.models import QuerySet

from records.models import Event, Record, Site

Done = TypeVar("Done")


class Busy(Exception):
    """Somebody else has it, and keeps it for long."""


class BusyElsewhere(Busy):
    """Another office has it."""


def imports_of(contractor: UUID) -> None:
    """Let no other file of an office be tried or written, until the transaction ends.

    Two that add the same pieces in another order would wait for each other. `Busy` where one is.
    """
    _have("imports", contractor)


def new_stations_of(clients: Iterable[UUID]) -> None:
    """Let no other office's file bring stations for these clients, until the transaction ends.

    A code is a client's own, whoever enters it: two files that bring the same codes in another
    order would wait for each other. `BusyElsewhere` where there is one.
    """
    for client in sorted(clients):
        _have("new stations", client, BusyElsewhere)


def _have(what: str, whose: UUID, otherwise: type[Busy] = Busy) -> None:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT pg_try_advisory_xact_lock(hashtext(%s), hashtext(%s))", [what, str(whose)]
        )
        if not cursor.fetchone()[0]:
            raise otherwise


def in_order(rows: "QuerySet[Any]") -> list[int]:
    """Hold these rows of one kind, waiting for each; answers which."""
    ordered = rows.order_by("row").select_for_update(of=("self",))
    return list(ordered.values_list("row", flat=True))


def records(rows: "QuerySet[Record]", most: int | None = None) -> list[Record]:
    """Hold sealed records, `most` of them: meanwhile nobody hands them on; answers them.

    Who writes something beside records takes along to whom they were handed, so that none may be
    handed on in between.
    """
    return list(rows.order_by("row").select_for_update(of=("self",), no_key=True)[:most])


def stations(rows: Iterable[int]) -> None:
    """Let nobody write a draft there that was judged before a change.

    Whoever posts one waits for the station's row, and compares its count with the one it read.
    """
    in_order(Site.objects.filter(row__in=list(rows)))


def stations_as_they_are(identities: Iterable[UUID]) -> None:
    """Hold stations as whoever adds something there does: nobody else who adds waits for it."""
    named = Site.objects.filter(id__in=list(identities)).order_by("row")
    rows = list(named.values_list("row", flat=True))
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT FROM records_site WHERE row = ANY (%s) ORDER BY row FOR KEY SHARE", [rows]
        )


def drafts_first(
    drafts: "QuerySet[Event]", others: Callable[[], None], change: Callable[[], Done]
) -> Done:
    """Hold drafts, then what comes after them, and make a change for which none may escape.

    A draft that was posted in between may be held by somebody who waits for the others: they are
    let go then, and it is begun anew.
    """
    while True:
        in_order(drafts)
        with transaction.atomic():
            others()
            if _are_all_held(drafts):
                return change()
            transaction.set_rollback(True)


def _are_all_held(drafts: "QuerySet[Event]") -> bool:
    """Whether all of them could be held without waiting for anybody."""
    free = drafts.order_by("row").select_for_update(of=("self",), skip_locked=True)
    held = set(free.values_list("row", flat=True))
    return held >= set(drafts.values_list("row", flat=True))
