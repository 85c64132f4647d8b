"""Setting a rule's limit for a client: tighter freely, looser with a reason, kept who and when."""

import math
from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import IntegrityError
from django.utils import timezone

from calculations.errors import UnitError
from calculations.inputs.base import Id, Part, Text, in_unit
from calculations.inputs.reading import Problem
from calculations.rule import Limit
from calculations.units import Quantity, kinds_of
from records import permissions
from records.errors import Conflict, Invalid, Stale
from records.models import RuleSetting
from records.models.base import new_id
from records.permissions import Actor
from records.selectors import rule_settings as selector
from records.services import audit, drafts, in_force
from records.services.content import quick_digest
from records.services.reading import read_input


class LimitValue(Part):
    """A limit: decimal digits, and a unit of the same kind as the catalogue's own."""

    value: str | int
    unit: Text


class RuleSettingInput(Part):
    """One limit of one rule, as it shall be for one client."""

    id: Id | None = None
    client: Id
    rule: Text
    limit: Text
    value: LimitValue
    reason: Text = ""


def put(
    actor: Actor, given: Mapping[str, Any], *, shown: str | None = None
) -> tuple[RuleSetting, bool]:
    """Set a limit in place of what was set before; returns the row and whether it is new.

    The same id with the same content again changes nothing. Drafts of the client are judged again.
    `shown` is the id of the setting that the person was shown as in force, nothing for the
    catalogue's own limit: `Stale` where it is no longer so.
    """
    permissions.require(actor, "rules.write")
    wanted = read_input(RuleSettingInput, given)
    digest = quick_digest(wanted.model_dump(mode="json"))
    identity = UUID(wanted.id) if wanted.id else new_id()
    existing = in_force.sent_before(selector.rows(actor), identity, digest)
    if existing is not None:
        return existing, False
    row = _row(actor, wanted, identity, digest)
    try:
        drafts.of_client(actor, row.client_id, lambda: _set(actor, row, shown))
    except (IntegrityError, Stale) as error:
        existing = in_force.sent_before(selector.rows(actor), identity, digest)  # and quicker
        if existing is not None:
            return existing, False
        raise _told(error) from error
    return row, True


def _set(actor: Actor, row: RuleSetting, shown: str | None) -> None:
    others = _same_limit(actor, row).exclude(id=row.id)
    before = others.first()
    _refuse_unless_shown(before, shown)
    if before is not None:
        in_force.end(actor, others, _now())
    row.save(force_insert=True)
    change = audit.Change(_told_of(before) if before else None, _told_of(row))
    audit.write(actor, "limit set", _about(row), change, row.reason)


def remove(actor: Actor, identity: UUID) -> None:
    """Let the catalogue's own limit apply again; again changes nothing."""
    permissions.require(actor, "rules.write")
    row = selector.get(actor, identity)
    if row.ended_at is None:
        drafts.of_client(actor, row.client_id, lambda: _removed(actor, row))


def _removed(actor: Actor, row: RuleSetting) -> None:
    if in_force.end(actor, selector.rows(actor).filter(row=row.row), _now()):
        audit.write(actor, "limit removed", _about(row), audit.Change(before=_told_of(row)))


def problems_of(row: RuleSetting) -> list[Problem]:
    """What of a row could not have been set; nothing is known of another catalogue's limits."""
    limit = selector.known_limit(row.rule, row.limit)
    value, problems = _value(LimitValue(value=row.value, unit=row.unit), limit)
    if limit is None or value is None:
        return problems
    if (row.si, row.tighter) != (_si(value, limit), limit.tighter):
        return [Problem("/si", "differs", "expected what value and unit say of this limit")]
    return []


def _refuse_unless_shown(before: RuleSetting | None, shown: str | None) -> None:
    if shown is not None and shown != (str(before.id) if before else ""):
        raise Stale("somebody has set this limit in between: read it again")


def _about(row: RuleSetting) -> audit.About:
    name = f"{row.rule}, {row.limit}"
    return audit.About("rule setting", row.id, name, client=row.client_id)


def _told_of(row: RuleSetting) -> dict[str, Any]:
    return {"value": {"value": row.value, "unit": row.unit}}


def _told(error: IntegrityError | Stale) -> Exception:
    if "one_setting_in_force_a_limit" not in str(error):
        return error
    words = "somebody has just set this limit: read it again"
    return Conflict(words, [Problem("/limit", "taken", words)])


def _same_limit(actor: Actor, row: RuleSetting) -> Any:
    same = {"client_id": row.client_id, "rule": row.rule, "limit": row.limit}
    return selector.rows(actor).filter(**same, ended_at=None)


def _now() -> datetime:
    return timezone.now().replace(microsecond=0)


def _row(actor: Actor, wanted: RuleSettingInput, identity: UUID, digest: bytes) -> RuleSetting:
    """The row of what is wanted; `Invalid` tells everything that is wrong with it."""
    problems = in_force.client_problems(actor, wanted.client)
    limit, more = _limit(wanted)
    value, wrong = _value(wanted.value, limit)
    problems += more + wrong
    if limit is None or value is None or problems:
        raise Invalid(problems=problems)
    row = RuleSetting(
        id=identity,
        contractor_id=actor.organization_id,
        client_id=UUID(wanted.client),
        rule=wanted.rule,
        limit=wanted.limit,
        value=value.value,
        unit=value.unit,
        si=_si(value, limit),
        tighter=limit.tighter,
        catalogue_si=limit.si,
        reason=wanted.reason.strip(),
        created_digest=digest,
        **in_force.set_by(actor, _now()),
    )
    if row.looser and not row.reason:
        own = (
            f"{limit}, which is {in_unit(limit.si, row.unit)}" if row.unit != limit.unit else limit
        )
        words = f"a limit looser than the catalogue's own ({own}) needs a reason"
        raise Invalid(problems=[Problem("/reason", "required", words)])
    return row


def _limit(wanted: RuleSettingInput) -> tuple[Limit | None, list[Problem]]:
    found = selector.known_limit(wanted.rule, wanted.limit)
    if found is not None:
        return found, []
    names = selector.names_of_limits(wanted.rule)
    if names is None:
        return None, [Problem("/rule", "unknown", "there is no such rule: GET /rules lists them")]
    words = f"expected one of {', '.join(names)}" if names else "this rule has no limits"
    return None, [Problem("/limit", "unknown", words)]


def _value(given: LimitValue, limit: Limit | None) -> tuple[Quantity | None, list[Problem]]:
    if limit is None:
        return None, []
    try:
        value = Quantity.of(given.value, given.unit, *kinds_of(limit.unit))
    except UnitError as error:
        return None, [Problem("/value/unit", "wrong_unit", error.message)]
    except ValueError as error:
        return None, [Problem("/value/value", "not_a_number", str(error))]
    if limit.value > 0 and value.si <= 0:
        return None, [Problem("/value", "out_of_range", "expected more than 0")]
    return value, []


def _si(value: Quantity, limit: Limit) -> float:
    """In SI; the same limit in another unit is the catalogue's own, to the last bit."""
    return limit.si if math.isclose(value.si, limit.si, rel_tol=1e-9) else value.si
