"""What an office sets for a client: in force until it is ended, and never changed or deleted."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any, TypeVar
from uuid import UUID

from django.db.models import QuerySet

from calculations.inputs.reading import Problem
from records import permissions
from records.errors import SameIdOtherContent
from records.models import Clientele, IntervalSetting, Report, ReportSchedule, RuleSetting
from records.permissions import Actor

Asked = TypeVar("Asked", RuleSetting, IntervalSetting, ReportSchedule, Report)
Ended = TypeVar("Ended", RuleSetting, IntervalSetting, ReportSchedule)


def sent_before(rows: QuerySet[Asked], identity: UUID, digest: bytes) -> Asked | None:
    """The row that was made under this id of the same content.

    `SameIdOtherContent` where it was made of something else.
    """
    row = rows.filter(id=identity).first()
    if row is not None and bytes(row.created_digest) != digest:
        raise SameIdOtherContent()
    return row


def set_by(actor: Actor, at: datetime) -> Mapping[str, Any]:
    """Who sets a row, and when, as its columns."""
    return {"set_by_id": actor.user_id, "set_by_name": actor.name, "set_at": at}


def end(actor: Actor, rows: QuerySet[Ended], at: datetime) -> bool:
    """End those of the rows that are in force; returns whether there was one."""
    by = {"ended_by_id": actor.user_id, "ended_by_name": actor.name}
    return rows.filter(ended_at=None).update(ended_at=at, **by) > 0


def client_problems(actor: Actor, client: str | None) -> list[Problem]:
    """What is wrong with the client that something is set for; None is all of them together."""
    if client is None:
        return []
    pairs = permissions.visible(Clientele.objects.filter(client_id=UUID(client)), actor)
    if pairs.exists():
        return []
    return [Problem("/client", "unknown_id", "there is no such client of yours")]
