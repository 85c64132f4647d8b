"""The audit of an organization, as its office reads it."""

from datetime import UTC, date, datetime, time
from typing import Any
from uuid import UUID

from records import permissions
from records.models import AuditEntry
from records.permissions import Actor
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
