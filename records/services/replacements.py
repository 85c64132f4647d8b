"""Beginning the visit that replaces a sealed record: a draft with what the record says.

What replaces what is decided when it is sealed; the draft itself is posted like any other event.
"""

import json
from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.db import transaction

from calculations.inputs.base import Id, Part, Words
from records import permissions
from records.errors import Conflict
from records.models import Event, Record
from records.permissions import Actor
from records.selectors import sealed
from records.selectors.beginning import BEGUN_BY
from records.services import events, summaries
from records.services.reading import read_input

# What is of the old event alone: its files and traces were sent to it, and stay with it.
OF_THE_OLD_ALONE = (
    "id", "device_time", "attachments", "traces", "settings_file", "corrects", "correction_reason",
)  # fmt: skip


class ReplacementInput(Part):
    """Why a sealed record is replaced; an id of the draft makes a second sending harmless."""

    id: Id | None = None
    reason: Words


def begin(actor: Actor, record: UUID, given: Mapping[str, Any]) -> Event:
    """The draft that replaces a record: values as entered then, the day of the visit as well.

    `Conflict` where the record is replaced already, where another draft is to replace it, or where
    the station or the visit is another contractor's.
    """
    permissions.require(actor, "events.write")
    old = sealed.get(actor, record)
    asked = read_input(ReplacementInput, given)
    if why := _hindered(actor, old):
        raise Conflict(why)
    own = {"id": asked.id} if asked.id else {}
    document = own | _document(old, asked.reason)
    with transaction.atomic():
        events.hold_instruments(actor, [document])
        # As for sealing: no other draft and no seal comes in between.
        summaries.hold(old.site_id)
        if asked.id is None or not _is_there(actor, UUID(asked.id)):
            _refuse_twice(actor, old)
        return events.post(actor, document).event


def is_open_to(actor: Actor, record: Record) -> bool:
    """Whether the actor may begin a replacement, of a record that none has replaced."""
    return permissions.may(actor, "events.write") and not _hindered(actor, record)


def drafts_of(actor: Actor, record: Record) -> list[Event]:
    """Drafts that are to replace a record, the first one first."""
    named = Event.objects.filter(
        site=record.site_id, state="draft", document__corrects=str(record.id)
    )
    return list(permissions.visible(named, actor).annotate(begun_by=BEGUN_BY).order_by("row"))


def _is_there(actor: Actor, identity: UUID) -> bool:
    """Whether it was sent before: then it is held against what was sent, whatever came after."""
    return permissions.visible(Event.objects.filter(id=identity), actor).exists()


def _refuse_twice(actor: Actor, old: Record) -> None:
    newer = old.corrections.first()
    if newer is not None:
        raise Conflict(
            f"this record was replaced already, by record {newer.number}: if that is wrong,"
            " replace that one"
        )
    if drafts_of(actor, old):
        raise Conflict(
            "a draft that replaces this record is open already: change that one, or withdraw it"
        )


def _hindered(actor: Actor, old: Record) -> str:
    """Whose it must be: who was not there cannot say again what was measured."""
    if old.site.contractor_id != actor.organization_id:
        return "another contractor looks after this station now, and replaces its records"
    if old.contractor_id != actor.organization_id:
        return "another contractor did this visit: post one of your own, with your own readings"
    return ""


def _document(old: Record, reason: str) -> dict[str, Any]:
    said = json.loads(bytes(old.canonical))["event"]
    copied = {name: value for name, value in said.items() if name not in OF_THE_OLD_ALONE}
    if steps := copied.get("step_tests"):
        copied["step_tests"] = [_without_trace(each) for each in steps]
    return copied | {"corrects": str(old.id), "correction_reason": reason}


def _without_trace(step: Mapping[str, Any]) -> dict[str, Any]:
    """The trace of a step was sent to the old event: it is sent again, or left out."""
    return {name: value for name, value in step.items() if name != "trace"}
