"""The one way to write down who did what: in the transaction of what was done, with one INSERT."""

from collections.abc import Mapping
from typing import Any, NamedTuple
from uuid import UUID

from django.db import connections
from psycopg.types.json import Jsonb

from records.models import Event
from records.models.audit import Action, Subject
from records.models.base import new_id
from records.models.fields import label
from records.permissions import Actor

# Row and time are the database's own: who writes an entry cannot date it.
_COLUMNS = (
    "id", "contractor_id", "client_id", "site_id", "person_id", "person_name", "role", "token_id",
    "address", "action", "kind", "subject", "name", "before", "after", "reason",
)  # fmt: skip
_VALUES = ", ".join("%s" for _ in _COLUMNS)
_INTO = f"INSERT INTO records_auditentry ({', '.join(_COLUMNS)})"
_INSERT = f"{_INTO} VALUES ({_VALUES})"


class About(NamedTuple):
    """What an entry is about; `site` is the inner key of the station that it belongs to."""

    kind: Subject
    id: UUID
    name: str
    site: int | None = None
    client: UUID | None = None


class Change(NamedTuple):
    """Merge patches (RFC 7396) that lead to either side: what changed alone, as entered."""

    before: Any = None
    after: Any = None


NOTHING = Change()


def write(
    actor: Actor, action: Action, about: About, change: Change = NOTHING, reason: str = ""
) -> None:
    """Add an entry to the audit of the actor's organization.

    Texts of tokens and passwords have no place in it: only what may be read again goes in.
    """
    _insert("default", entry(actor, action, about, change, reason))


def entry(
    actor: Actor, action: Action, about: About, change: Change = NOTHING, reason: str = ""
) -> list[Any]:
    """The values of the entry that `write` adds, for a statement that writes what was done, too."""
    who = [actor.user_id, actor.name, actor.role, actor.token_id, actor.address]
    return _entry(actor.organization_id, who, action, about, change, reason)


def insertion_beside(done: str) -> str:
    """The INSERT of such an entry in that statement: one for each row of its part `done`."""
    return f"{_INTO} SELECT {_VALUES} FROM {done}"  # noqa: S608 - names of our own


def write_by_operator(
    organization: UUID,
    operator: str,
    action: Action,
    about: About,
    *,
    change: Change = NOTHING,
    reason: str = "",
    using: str,
) -> None:
    """The same by somebody who runs the service: known by name alone."""
    who = [None, operator, "", None, None]
    _insert(using, _entry(organization, who, action, about, change, reason))


def _entry(
    organization: UUID,
    who: list[Any],
    action: Action,
    about: About,
    change: Change,
    reason: str,
) -> list[Any]:
    return [
        new_id(), organization, about.client, about.site, *who, action, about.kind, about.id,
        about.name, _json(change.before), _json(change.after), reason,
    ]  # fmt: skip


def _insert(using: str, values: list[Any]) -> None:
    with connections[using].cursor() as cursor:
        cursor.execute(_INSERT, values)


def _json(document: Any) -> Jsonb | None:
    return None if document is None else Jsonb(document)


def of_event(event: Event) -> About:
    """An event, and with it everything that is answered, signed and sealed of it."""
    pump_set = event.snapshot.get("pump_set")
    name = f"{label(event.kind)} of {pump_set['tag'] if pump_set else 'sensors'}"
    return About("event", event.id, name, event.site_id, event.client_id)


def difference(old: Mapping[str, Any], new: Mapping[str, Any]) -> Change:
    """What leads from one document to another and back; lists are replaced whole."""
    return Change(_patch(new, old), _patch(old, new))


def _patch(old: Mapping[str, Any], new: Mapping[str, Any]) -> dict[str, Any]:
    """The merge patch that makes `new` of `old`."""
    patch: dict[str, Any] = {name: None for name in old if name not in new}
    for name, value in new.items():
        held = old.get(name)
        if name not in old or value != held:
            patch[name] = _inside(held, value) if isinstance(held, dict) else value
    return patch


def _inside(held: dict[str, Any], value: Any) -> Any:
    """A patch of an object; digits stay with their unit."""
    digits = {"value", "unit"}
    if not isinstance(value, dict) or set(value) == set(held) == digits:
        return value
    return _patch(held, value)
