"""Taking back: a draft that should not be there, a signature given by mistake. Both are kept."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.utils import timezone

from calculations.inputs.base import Part, Words
from records import permissions
from records.errors import Forbidden, NotFound
from records.models import Event, Signature
from records.permissions import Actor
from records.services import audit, drafts, events, signatures, summaries
from records.services.reading import read_input


class WithdrawalInput(Part):
    """Why a draft is withdrawn."""

    reason: Words


def withdraw(
    actor: Actor, event: Event, given: Mapping[str, Any], *, shown: str | None = None
) -> tuple[Event, bool]:
    """Withdraw a draft: it stays readable, and nothing more is done with it.

    The same reason again changes nothing. Returns the event and whether it is withdrawn just now.
    `shown` is the ETag of the event as the person was shown it: `Stale` where it is no longer so.
    """
    permissions.require(actor, "events.withdraw")
    reason = read_input(WithdrawalInput, given).reason.strip()
    locked = Event.objects.select_for_update().get(row=event.row)
    if locked.state == "withdrawn" and locked.withdrawal_reason == reason:
        return events.get(actor, event.id), False
    locked.refuse_closed()
    locked.refuse_unless_shown(shown)
    signatures.void(signatures.valid(locked))
    locked.note_said(
        state="withdrawn",
        withdrawal_reason=reason,
        withdrawn_at=timezone.now(),
        withdrawn_by_id=actor.user_id,
        withdrawn_by_name=actor.name,
    )
    audit.write(actor, "withdrawn", audit.of_event(locked), reason=reason)
    summaries.refresh(locked.site_id)
    return events.get(actor, event.id), True


def withdraw_signature(actor: Actor, event: Event, identity: UUID) -> None:
    """Make the actor's own signature void; again changes nothing.

    Without a valid signature the nameplates are free again, and the draft is judged by them.
    """
    permissions.require(actor, "events.sign")
    locked = Event.objects.select_for_update().get(row=event.row)
    row = Signature.objects.filter(event=locked, id=identity).first()
    if row is None:
        raise NotFound()
    if row.by_id != actor.user_id:
        raise Forbidden("a signature is withdrawn by the person who gave it")
    if row.void_since is not None:
        return
    locked.refuse_unless_draft()
    signatures.void([row])
    signatures.write_down(actor, locked, "signature withdrawn", row)
    frozen = bool(signatures.valid(locked))
    locked.note_said(snapshot_frozen=frozen)
    if not frozen:
        drafts.judge(actor, locked)
