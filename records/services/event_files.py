"""Files of a draft: taken once each; the draft is judged with them, and signed anew.

A wrong one is removed while nobody has signed.
"""

import re
from collections.abc import Mapping
from typing import Annotated, Any, TypeVar
from uuid import UUID

from django.db import IntegrityError, transaction
from pydantic import AfterValidator, BeforeValidator, WithJsonSchema

from calculations.inputs.base import Text, Words
from calculations.inputs.entered import refusal
from calculations.inputs.reading import Problem
from records import permissions
from records.errors import Conflict, Invalid, NotFound, SameIdOtherContent
from records.models import Attachment, Event, Trace
from records.models.base import new_id
from records.permissions import Actor
from records.services import audit, judging, signatures, summaries

MOST = 200
"""Files of a kind that one event may have."""

EventFile = TypeVar("EventFile", Attachment, Trace)

# -- what is said of them -------------------------------------------------------------------------

_IN_HEX = "^[0-9a-fA-F]{64}$"


def _sha256(given: object) -> object:
    if isinstance(given, str) and re.fullmatch(_IN_HEX, given):
        return given
    raise refusal("digest", "expected a SHA-256 in hex: 64 digits")


Sha256 = Annotated[
    str, BeforeValidator(_sha256), WithJsonSchema({"type": "string", "pattern": _IN_HEX})
]


_CONTROLS = re.compile("[\0-\x1f\x7f-\x9f\u2028\u2029]")


def _in_one_line(given: str) -> str:
    if _CONTROLS.search(given):
        raise refusal("one_line", "expected a name in one line, without control characters")
    return given


Title = Annotated[Text, AfterValidator(_in_one_line)]
"""What people call a file; it may say nothing."""
FileName = Annotated[Words, AfterValidator(_in_one_line)]
"""The same where it must: a download is saved under it."""


# -- adding and removing --------------------------------------------------------------------------


def refuse_one_more(event: Event, model: type[EventFile], identity: str | None) -> None:
    """Before anything is read and kept: `Conflict` where the event takes no more files.

    One that it has already may be sent again.
    """
    if _existing(event, model, identity) is None:
        _refuse_unless_room(event, model)


def add(
    actor: Actor,
    event: Event,
    model: type[EventFile],
    identity: str | None,
    values: Mapping[str, Any],
    same: tuple[str, ...],
) -> tuple[EventFile, bool]:
    """Add a file's row; the same id with the same values of `same` again changes nothing."""
    locked = Event.objects.select_for_update().get(row=event.row)
    existing = _existing(locked, model, identity)
    if existing is not None:
        if any(_plain(getattr(existing, name)) != values[name] for name in same):
            raise SameIdOtherContent()
        return existing, False
    _refuse_unless_room(locked, model)
    with transaction.atomic():
        row = _create(locked, model, identity, values)
        audit.write(actor, "file added", audit.of_event(event), audit.Change(after=_told(row)))
        _judge_again(actor, locked)
        signatures.void_outdated(actor, locked)
    return row, True


def remove(actor: Actor, event: Event, model: type[EventFile], identity: UUID) -> None:
    """Remove a file from a draft that nobody has signed; the draft is judged without it.

    Its bytes stay where they are kept: another event may hold the same.
    """
    permissions.require(actor, "events.write")
    locked = Event.objects.select_for_update().get(row=event.row)
    row = model.objects.filter(event=event, id=identity).first()
    if row is None:
        raise NotFound()
    locked.refuse_unless_draft()
    if signatures.valid(locked):
        raise Conflict(
            "the draft is signed: first each signer withdraws the signature, with"
            " DELETE /events/{id}/signatures/{signature}"
        )
    with transaction.atomic():
        audit.write(actor, "file removed", audit.of_event(event), audit.Change(before=_told(row)))
        row.delete()
        _judge_again(actor, locked)


def refuse_other_bytes(announced: str, sent: bytes) -> None:
    """Of bytes with the SHA-256 `sent`, where another digest (in hex) was announced."""
    if announced.lower() != sent.hex():
        words = f"other bytes came than were announced: their SHA-256 is {sent.hex()}"
        raise Invalid(problems=[Problem("/sha256", "digest", words)])


def _existing(event: Event, model: type[EventFile], identity: str | None) -> EventFile | None:
    return model.objects.filter(event=event, id=identity).first() if identity else None


def _refuse_unless_room(event: Event, model: type[EventFile]) -> None:
    event.refuse_unless_draft()
    if model.objects.filter(event=event).count() >= MOST:
        raise Conflict(f"an event may have {MOST} of these at most")


def _told(row: Attachment | Trace) -> dict[str, str]:
    kind = "trace" if isinstance(row, Trace) else "attachment"
    return {kind: str(row.id), "name": row.name, "sha256": bytes(row.sha256).hex()}


def _judge_again(actor: Actor, event: Event) -> None:
    judging.again(actor, event)
    event.note_said()
    summaries.refresh(event.site_id)


def _create(
    event: Event, model: type[EventFile], identity: str | None, values: Mapping[str, Any]
) -> EventFile:
    try:
        return model.objects.create(
            id=UUID(identity) if identity else new_id(),
            event=event,
            contractor_id=event.contractor_id,
            client_id=event.client_id,
            **values,
        )
    except IntegrityError:
        raise SameIdOtherContent() from None


def _plain(value: Any) -> Any:
    return bytes(value) if isinstance(value, memoryview) else value
