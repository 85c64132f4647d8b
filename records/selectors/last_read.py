"""What was last read of a pump set that the next visit reads again, and compares with."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from django.db.models import QuerySet

from calculations.aspects import pieces
from records import permissions
from records.models import Event
from records.permissions import Actor
from records.services.times import instant

Document = Mapping[str, Any]

COUNTERS = ("hours_run", "start_count", "energy_counter")


def last_read(actor: Actor, pump_set: int, snapshot: Document) -> dict[str, dict[str, Any]]:
    """Counters and insulation as the newest visit has them, each with its day and its state.

    None of another motor, nor counters of another drive, nor of a winding that was renewed since;
    none of a visit whose record was corrected, which says it again.
    """
    events = permissions.visible(Event.objects.filter(pump_set=pump_set), actor)
    standing = events.exclude(state="withdrawn").filter(record__corrections=None)
    rows = standing.order_by("-performed_at", "-row")
    counted = rows.filter(document__hours_run__isnull=False)
    tested = rows.filter(document__motor_tests__insulation__resistance_1_min__isnull=False)
    found = {
        "counters": _newest(counted, lambda then: _counts_on(then, snapshot), _counters),
        "insulation": _newest(tested, lambda then: _is_insulated_so(then, snapshot), _insulation),
    }
    return {name: read for name, read in found.items() if read}


def _newest(
    rows: QuerySet[Event],
    is_of_same: Callable[[Document], bool],
    read: Callable[[Document], dict[str, Any]],
) -> dict[str, Any] | None:
    row = rows.values("state", "performed_at", "document", "snapshot").first()
    if row is None:
        return None
    performed_at = instant(row["performed_at"])
    if not is_of_same({**row["snapshot"], "event": {"performed_at": performed_at}}):
        return None
    at = {"state": row["state"], "performed_at": performed_at}
    return {**at, **read(row["document"])}


def _counts_on(then: Document, now: Document) -> bool:
    both = pieces.of_document(then), pieces.of_document(now)
    return all(pieces.is_same(*both, piece) for piece in ("motor", "drive"))


def _is_insulated_so(then: Document, now: Document) -> bool:
    changed = pieces.changed("insulation", pieces.of_document(then), pieces.of_document(now))
    return changed is None


def _counters(document: Document) -> dict[str, Any]:
    return _named(document, COUNTERS)


def _insulation(document: Document) -> dict[str, Any]:
    test = document["motor_tests"]["insulation"]
    return _named(
        test, ("resistance_1_min", "winding_temperature", "test_voltage", "includes_cable")
    )


def _named(document: Document, names: Iterable[str]) -> dict[str, Any]:
    return {name: document[name] for name in names if document.get(name) is not None}
