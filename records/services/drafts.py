"""Judging unsigned drafts again after what they rest on has changed."""

from collections.abc import Callable, Iterable, Mapping
from functools import partial
from typing import Any
from uuid import UUID

from django.db.models import F, Q, QuerySet

from calculations.inputs.event import Event as EventInput
from calculations.inputs.reading import read
from calculations.offline import instruments_named
from records import permissions
from records.ids import is_id
from records.models import Event, PumpSet, Record, Site
from records.models.base import Registered
from records.permissions import Actor
from records.selectors import other_records
from records.selectors.subjects import Snapshot, snapshot, surroundings
from records.services import events, holding, register, summaries
from records.services.holding import Done
from records.services.kinds import SENSOR_ROLES, Kind


def change_registered(
    actor: Actor, kind: Kind, identity: UUID, patch: Mapping[str, Any], revision: int
) -> Registered:
    """Change a resource of the register, and judge again the drafts whose snapshot can hold it.

    A draft may refer to what has just been taken out of service: that is judged, not refused.
    """
    permissions.require(actor, kind.write)  # a client has no drafts to hold

    def change() -> Registered:
        row = register.change(actor, kind, identity, patch, revision)
        _judge_concerned(actor, kind, row)
        return row

    if kind.name == "instruments":
        return change()
    return at_stations(actor, _site_of(kind, register.get(actor, kind, identity)), change)


def add_registered(actor: Actor, kind: Kind, given: Mapping[str, Any]) -> tuple[Registered, bool]:
    """Add a resource to the register, and judge again the drafts that it concerns.

    Returns the row and whether it is new. Sensors and vessels belong to every draft of a station
    until pump sets hold them, a pump set is a neighbour; other pieces concern no draft before they
    are joined.
    """
    permissions.require(actor, kind.write)

    def add() -> tuple[Registered, bool]:
        row, created = register.create(actor, kind, given)
        if created:
            _judge_concerned(actor, kind, row)
        return row, created

    site = str(given.get("site"))
    if kind.name not in _AT_A_STATION or not is_id(site):
        return register.create(actor, kind, given)  # which refuses what names no station
    return at_stations(actor, Q(id=site), add)


_AT_A_STATION = ("sensors", "vessels", "pump-sets")


def of_client(actor: Actor, client: UUID, change: Callable[[], None]) -> None:
    """Change the limits that are set for a client, and judge its unsigned drafts again."""

    def change_and_judge() -> None:
        change()
        _count(actor, Q(client=client))
        _judge(actor, _unsigned(actor).filter(client_id=client), lambda *_: True)

    at_stations(actor, Q(client=client), change_and_judge)


def at_stations(actor: Actor, which: Q, change: Callable[[], Done]) -> Done:
    """Change what drafts of stations are judged against, so that none escapes that is posted now.

    Drafts are taken before their stations, as everybody does who changes one of them.
    """
    rows = list(_own(actor, which).order_by("row").values_list("row", flat=True))
    drafts = _unsigned(actor).filter(site__in=rows)
    return holding.drafts_first(drafts, lambda: holding.stations(rows), change)


def sealing(event: Event, seal: Callable[[], Done]) -> Done:
    """Seal one draft while no draft of its site is changed, and no other record of it comes.

    All of them are held: one that stands beside nothing yet may become one that does.
    """
    drafts = Event.objects.filter(Q(row=event.row) | Q(site=event.site_id, state="draft"))
    return holding.drafts_first(drafts, lambda: summaries.hold(event.site_id), seal)


def around(actor: Actor, record: Record) -> None:
    """Judge unsigned drafts again that a new record stands beside."""
    of_site = _unsigned(actor).filter(site=record.site_id)
    _judge(actor, of_site.filter(_around(record.event)), partial(_beside, actor))


def _around(event: Event) -> Q:
    """Of the drafts of its site those of its pump set; if it verifies sensors, those that do.

    All of them where it corrects a record, which may have been of another pump set, or of sensors.
    """
    if event.document.get("corrects"):
        return Q()
    of_set = Q(pump_set=event.pump_set_id) if event.pump_set_id else Q(row=event.row)
    if not event.document.get("sensor_verifications"):
        return of_set
    return of_set | Q(document__has_key="sensor_verifications")


def _beside(actor: Actor, event: Event, snapshot: Snapshot) -> bool:
    """Whether a draft stands beside other records than when it was judged."""
    found = other_records.around(actor, event, read(EventInput, event.document), snapshot)
    first, others = event.judgement["earlier_record"], event.judgement.get("records_beside")
    return bool(first != found.told("first") or others != found.told_beside)


def judge(actor: Actor, event: Event) -> None:
    """Judge one draft again, against the register as it is now."""
    _judge(actor, _unsigned(actor).filter(row=event.row))


def _judge_concerned(actor: Actor, kind: Kind, row: Any) -> None:
    if kind.name != "instruments":
        _count(actor, _site_of(kind, row))
    _judge(actor, _unsigned(actor).filter(_concerned(actor, kind, row)))


def _site_of(kind: Kind, row: Any) -> Q:
    return Q(row=row.row if kind.name == "sites" else row.site_id)


def _count(actor: Actor, which: Q) -> None:
    """Tell whoever posts a draft there that what it was judged against has changed."""
    _own(actor, which).update(register_revision=F("register_revision") + 1)


def _own(actor: Actor, which: Q) -> QuerySet[Site]:
    sites = Site.objects.filter(which, contractor=actor.organization_id)
    return permissions.visible(sites, actor)


def _unsigned(actor: Actor) -> QuerySet[Event]:
    still = {"site__contractor": actor.organization_id}  # another may look after it by now
    drafts = Event.objects.filter(state="draft", snapshot_frozen=False, **still)
    return permissions.visible(drafts, actor)


def _concerned(actor: Actor, kind: Kind, row: Any) -> Q:
    """Drafts that a resource concerns."""
    if kind.name == "instruments":
        return Q(snapshot__instruments__contains=[{"id": str(row.id)}])
    if kind.name == "sites":
        return Q(site=row.row)
    return Q(site=row.site_id) & _near(actor, kind, row)


def _near(actor: Actor, kind: Kind, row: Registered) -> Q:
    """Which drafts of its site a piece concerns: all of them, unless pump sets hold it."""
    if kind.name in ("pumps", "motors", "drives"):
        holders = _holders(actor, Q(**{kind.name.removesuffix("s"): row.row}))
        return Q(pump_set__in=_with_neighbours(actor, holders))
    if kind.name == "sensors":
        holders = _holders(actor, _any(Q(**{role: row.row}) for role in SENSOR_ROLES))
        in_service = [each for each in holders if each.out_of_service_on is None]
        # A sensor of no pump set belongs to all; visits for sensors alone take every one.
        rows = [each.row for each in holders]
        return Q(pump_set__in=rows) | Q(pump_set=None) if in_service else Q()
    return Q()


def _holders(actor: Actor, holding: Q) -> list[PumpSet]:
    return list(permissions.visible(PumpSet.objects.filter(holding), actor))


def _with_neighbours(actor: Actor, holders: Iterable[PumpSet]) -> list[int]:
    """The pump sets themselves, and those that share a header or a group with one of them."""
    held = list(holders)
    shared = _any(
        Q(site=each.site_id, **{name: value})
        for each in held
        for name in ("discharge_header", "group")
        if (value := getattr(each, name))
    )
    neighbours = _holders(actor, shared) if shared else []
    return [each.row for each in (*held, *neighbours)]


def _any(conditions: Iterable[Q]) -> Q:
    joined = Q()
    for condition in conditions:
        joined |= condition
    return joined


def _stands_otherwise(event: Event, snapshot: Snapshot) -> bool:
    return bool(snapshot != event.snapshot)


def _judge(
    actor: Actor,
    drafts: QuerySet[Event],
    is_concerned: Callable[[Event, Snapshot], bool] = _stands_otherwise,
) -> None:
    """Judge drafts against what stands there now: of these, where it is no longer the snapshot."""
    # Read once they are held: what was read while waiting for one may have been sealed beside.
    held = Event.objects.filter(row__in=holding.in_order(drafts))
    snapshots: dict[Any, Snapshot] = {}
    sites = set()
    for event in held.select_related("site__sitesummary", "pump_set").order_by("row"):
        # Drafts of one pump set with the same instruments have the same snapshot.
        place = (event.site_id, event.pump_set_id, frozenset(instruments_named(event.document)))
        if place not in snapshots:
            snapshots[place] = _snapshot_now(actor, event)
        if is_concerned(event, snapshots[place]):
            events.judge_draft(actor, event, snapshots[place])
            sites.add(event.site_id)
    for site in sorted(sites):  # in one order, so that two that hold several do not deadlock
        summaries.refresh(site)


def _snapshot_now(actor: Actor, event: Event) -> Snapshot:
    """What stands around a draft; of a site that has gone to another contractor, what stood."""
    pump_set = event.pump_set.id if event.pump_set else None
    around = surroundings(actor, event.site.id, pump_set, event.document)
    return snapshot(actor, around) if around else event.snapshot
