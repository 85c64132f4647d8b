"""The audit of an organization, as its office reads it."""

from collections.abc import Iterable, Iterator, Mapping
from datetime import UTC, date, datetime, time
from typing import Any
from uuid import UUID

from django.db.models import CharField, F, Q, QuerySet, Value
from django.db.models.functions import Cast, Coalesce, Concat, NullIf

from records import permissions
from records.ids import is_id
from records.models import AuditEntry, Membership, Organization, Record, User
from records.permissions import Actor
from records.services.kinds import KINDS
from records.services.times import instant

Document = dict[str, Any]

_COLUMNS = (
    "row", "id", "at", "client_id", "site__id", "site__code", "person_id", "person_name", "role",
    "token_id", "token__name", "token__prefix", "address", "action", "kind", "subject", "name",
    "before", "after", "reason",
)  # fmt: skip


def rows(
    actor: Actor,
    *,
    site: UUID | None = None,
    subject: UUID | None = None,
    person: UUID | None = None,
    since: date | None = None,
    until: date | None = None,
) -> Any:
    """Entries of the actor's organization as mappings; days are those of UTC, both included."""
    permissions.require(actor, "audit.read")
    wanted = {
        "site__id": site,
        "subject": subject,
        "person_id": person,
        "at__gte": datetime.combine(since, time.min, UTC) if since else None,
        "at__lte": datetime.combine(until, time.max, UTC) if until else None,
    }
    given = {name: value for name, value in wanted.items() if value is not None}
    found = permissions.visible(AuditEntry.objects.all(), actor).filter(**given)
    return found.values(*_COLUMNS)


def is_by_time(wanted: Iterable[str]) -> bool:
    """Whether entries narrowed in these ways go by their time, and not by their number.

    By number, those of a month that is over are found only past all that came after it; those of
    one station, subject or person have an index by number.
    """
    return {"since", "until"} >= set(wanted) > set()


def latest_first(entries: Any, after: tuple[datetime, int] | None) -> Any:
    """Entries by their time, those after a place (time and number) alone."""
    if after is not None:
        at, row = after
        entries = entries.filter(Q(at__lt=at) | Q(row__lt=row), at__lte=at)
    return entries.order_by("-at", "-row")


def document(row: Document) -> Document:
    """An entry as it is told."""
    return {
        "id": str(row["id"]),
        "at": instant(row["at"]),
        "person": {
            "id": str(row["person_id"]) if row["person_id"] else None,
            "name": row["person_name"],
            "role": row["role"] or None,
        },
        "device": {"token": _token(row), "address": row["address"]},
        "action": row["action"],
        "subject": {"kind": row["kind"], "id": str(row["subject"]), "name": row["name"]},
        "site": str(row["site__id"]) if row["site__id"] else None,
        "client": str(row["client_id"]) if row["client_id"] else None,
        "before": row["before"],
        "after": row["after"],
        "reason": row["reason"],
    }


def _token(row: Document) -> Document | None:
    if row["token_id"] is None:
        return None
    identity, name, prefix = row["token_id"], row["token__name"], row["token__prefix"]
    return {"id": str(identity), "name": name, "prefix": prefix}


def names(actor: Actor, entries: Iterable[Document]) -> dict[str, str]:
    """What the ids are called that stand in what changed; one question, however many there are."""
    ids = {each for row in entries for side in ("before", "after") for each in _ids(row[side])}
    if not ids:
        return {}
    first, *others = (rows.filter(id__in=ids).order_by() for rows in _named(actor))
    return {str(identity): name for identity, name in first.union(*others, all=True)}


def _ids(value: Any) -> Iterator[str]:
    if isinstance(value, str) and is_id(value):
        yield value
    elif isinstance(value, Mapping):
        for each in value.values():
            yield from _ids(each)
    elif isinstance(value, list):
        for each in value:
            yield from _ids(each)


def _named(actor: Actor) -> Iterator[QuerySet[Any, Any]]:
    """Ids and names of everything that a change may name by its id."""
    for kind in KINDS.values():
        column = {"sites": "name", "instruments": "serial"}.get(kind.name, "tag")
        yield _pair(permissions.visible(kind.model._default_manager.all(), actor), F(column))
    yield _pair(permissions.acquainted(Organization.objects.all(), actor), F("name"))
    members = Membership.objects.filter(organization_id=actor.organization_id).values("user_id")
    called = Coalesce(NullIf(F("full_name"), Value("")), F("username"), output_field=CharField())
    yield _pair(User.objects.filter(id__in=members), called)
    numbered = Concat(Value("record "), Cast("number", CharField()))
    yield _pair(permissions.visible(Record.objects.all(), actor), numbered)


def _pair(rows: QuerySet[Any], called: Any) -> QuerySet[Any, Any]:
    named: QuerySet[Any, Any] = rows.annotate(called=Cast(called, CharField()))
    return named.values_list("id", "called")
