"""What an event is judged by, beside its document and its nameplates.

The client's own limits, the first record of the same pump set, what was answered so far, and
the files that were kept.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from functools import lru_cache
from typing import Any
from uuid import UUID

from calculations.inputs.event import Event as EventInput
from calculations.inputs.reading import InvalidDocument, read
from calculations.inputs.subject import Subject
from calculations.recordings import Recording
from records import permissions
from records.models import Answer, Event, Record, Site
from records.permissions import Actor
from records.selectors import attachments, rule_settings, traces
from records.selectors.attachments import KeptFile
from records.services.times import instant

Document = dict[str, Any]
Pair = tuple[str, str]


@dataclass(frozen=True)
class Basis:
    """Limits that differ from the catalogue's, an earlier record, accepted answers.

    `accepted` holds rules with subjects; `held_against` the digests of what was compared when
    each finding was accepted: an answer holds while they stay the same.
    """

    limits_changed: list[Document] = field(default_factory=list)
    earlier_record: Document | None = None
    earlier: Subject | None = None
    accepted: frozenset[Pair] = frozenset()
    held_against: Mapping[str, set[bytes]] = field(default_factory=dict)
    recordings: Mapping[str, Recording] = field(default_factory=dict)
    files: tuple[KeptFile, ...] = ()


def of(actor: Actor, event: Event, parsed: EventInput, *, limits_set: bool) -> Basis:
    """What an event is judged by now; `limits_set`: whether there may be limits of its client."""
    rows = rule_settings.in_force(actor, event.client_id) if limits_set else []
    changed = rule_settings.changes(rows)
    return _of_event(event, parsed, changed, _first_record(actor, event, parsed))


def as_judged(actor: Actor, event: Event, parsed: EventInput) -> Basis:
    """The same as when it was judged last; only answers and traces are read again."""
    told = event.judgement.get("earlier_record")
    rows = permissions.visible(Record.objects.all(), actor)
    found = rows.filter(id=told["record_id"]) if told else rows.none()
    return _of_event(event, parsed, event.judgement["limits_changed"], _told(found))


def _of_event(
    event: Event, parsed: EventInput, changed: list[Document], record: Document | None
) -> Basis:
    accepted, held_against = _accepted(event) if event.row else (frozenset[Pair](), {})
    told = {name: record[name] for name in _TOLD} if record else None
    earlier = _subject(record["row"], record["digest"]) if record else None
    recordings = traces.recordings(event, parsed)
    files = attachments.kept(event) if event.row else ()
    return Basis(changed, told, earlier, accepted, held_against, recordings, files)


# -- the first record of the pump set ---------------------------------------------------------

_TOLD = ("record_id", "number", "performed_at")


def _first_record(actor: Actor, event: Event, parsed: EventInput) -> Document | None:
    """The first one of the pump set that still stands, from before this event."""
    if event.pump_set_id is None or parsed.performed_at is None:
        return None
    if event.site.sitesummary.last_number == 0:
        return None  # nothing was sealed here yet
    rows = permissions.visible(Record.objects.filter(pump_set=event.pump_set_id), actor)
    rows = rows.filter(performed_at__lt=parsed.performed_at.at, corrections=None)
    if parsed.corrects:
        rows = rows.exclude(id=UUID(parsed.corrects))
    return _told(rows.order_by("performed_at", "row"))


def first_records(actor: Actor, site: Site) -> dict[str, Document]:
    """The first record that still stands of each pump set of a site, by the set's id."""
    rows = permissions.visible(Record.objects.filter(site=site, corrections=None), actor)
    rows = rows.exclude(pump_set=None).order_by("pump_set", "performed_at", "row")
    found = rows.distinct("pump_set").values("pump_set__id", "id", "number", "performed_at")
    return {
        str(row["pump_set__id"]): {
            "record_id": str(row["id"]), "number": row["number"],
            "performed_at": instant(row["performed_at"]),
        }
        for row in found
    }  # fmt: skip


def _told(rows: Any) -> Document | None:
    found = rows.values("row", "id", "number", "performed_at", "digest")[:1]
    for row in found:
        told = record_told(row["id"], row["number"], row["performed_at"])
        return told | {"row": row["row"], "digest": bytes(row["digest"])}
    return None


def record_told(identity: UUID, number: int, performed_at: datetime) -> Document:
    """An earlier record, as it is told of what was judged beside it."""
    at = performed_at.isoformat().replace("+00:00", "Z")
    return {"record_id": str(identity), "number": number, "performed_at": at}


@lru_cache(maxsize=128)
def _subject(row: int, digest: bytes) -> Subject | None:
    """What a record's text says of the pump set; it never changes, so it is read once."""
    text = Record.objects.values_list("canonical", flat=True).get(row=row, digest=digest)
    return subject_of(bytes(text))


def subject_of(text: bytes) -> Subject | None:
    """What a record's text says of the pump set.

    None where an old record holds what today's documents no longer allow.
    """
    content = json.loads(text)
    try:
        return read(Subject, {**content["snapshot"], "event": content["event"]})
    except InvalidDocument:
        return None


# -- answers ----------------------------------------------------------------------------------


def _accepted(event: Event) -> tuple[frozenset[Pair], dict[str, set[bytes]]]:
    """Findings whose latest answer to what was compared accepts it."""
    rows = Answer.objects.filter(event=event).exclude(finding__severity="note").order_by("row")
    latest: dict[tuple[UUID, bytes], tuple[bool, Pair]] = {}
    for finding, rule, subject, digest, accepted in rows.values_list(
        "finding__id", "finding__rule", "finding__subject", "compared_digest", "accepted"
    ):
        latest[finding, bytes(digest)] = (accepted, (rule, subject))
    held: dict[str, set[bytes]] = {}
    for (finding, digest), (accepted, _) in latest.items():
        if accepted:
            held.setdefault(str(finding), set()).add(digest)
    return frozenset(pair for accepted, pair in latest.values() if accepted), held
