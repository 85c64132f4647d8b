"""What an event is judged by, beside its document and its nameplates.

The client's own limits, other records of the same pump set, what was answered so far, and the
files that were kept.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from calculations.inputs.event import Event as EventInput
from calculations.recordings import Recording
from records import permissions
from records.models import Answer, Event, Record, Site
from records.permissions import Actor
from records.selectors import attachments, other_records, rule_settings, traces
from records.selectors.attachments import KeptFile
from records.selectors.other_records import Records
from records.services.times import instant

Document = dict[str, Any]
Pair = tuple[str, str]


@dataclass(frozen=True)
class Basis:
    """Limits that differ from the catalogue's, records beside it, accepted answers.

    `accepted` holds rules with subjects; `held_against` the digests of what was compared when
    each finding was accepted: an answer holds while they stay the same. `answered` holds all that
    was ever answered, whatever was said.
    """

    limits_changed: list[Document] = field(default_factory=list)
    records: Records = field(default_factory=Records)
    accepted: frozenset[Pair] = frozenset()
    held_against: Mapping[str, set[bytes]] = field(default_factory=dict)
    answered: frozenset[Pair] = frozenset()
    recordings: Mapping[str, Recording] = field(default_factory=dict)
    files: tuple[KeptFile, ...] = ()


def of(
    actor: Actor, event: Event, parsed: EventInput, snapshot: Document, *, limits_set: bool
) -> Basis:
    """What an event is judged by now; `limits_set`: whether there may be limits of its client."""
    rows = rule_settings.in_force(actor, event.client_id) if limits_set else []
    changed = rule_settings.changes(rows)
    found = other_records.around(actor, event, parsed, snapshot)
    return _of_event(event, parsed, changed, found)


def as_judged(actor: Actor, event: Event, parsed: EventInput) -> Basis:
    """The same as when it was judged last; only answers and traces are read again."""
    found = other_records.as_told(actor, event, parsed)
    return _of_event(event, parsed, event.judgement["limits_changed"], found)


def _of_event(event: Event, parsed: EventInput, changed: list[Document], found: Records) -> Basis:
    answers = _answers(event) if event.row else (frozenset[Pair](), {}, frozenset[Pair]())
    recordings = traces.recordings(event, parsed)
    files = attachments.kept(event) if event.row else ()
    return Basis(changed, found, *answers, recordings, files)


# -- the first record of each pump set --------------------------------------------------------


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


# -- answers ----------------------------------------------------------------------------------


def _answers(event: Event) -> tuple[frozenset[Pair], dict[str, set[bytes]], frozenset[Pair]]:
    """Findings whose latest answer to what was compared accepts it, and all that were answered."""
    rows = Answer.objects.filter(event=event).order_by("row")
    latest: dict[tuple[UUID, bytes], tuple[bool, Pair]] = {}
    for finding, rule, subject, severity, digest, accepted in rows.values_list(
        "finding__id", "finding__rule", "finding__subject", "finding__severity",
        "compared_digest", "accepted",
    ):  # fmt: skip
        latest[finding, bytes(digest)] = (accepted and severity != "note", (rule, subject))
    held: dict[str, set[bytes]] = {}
    for (finding, digest), (accepted, _) in latest.items():
        if accepted:
            held.setdefault(str(finding), set()).add(digest)
    accepting = frozenset(pair for accepted, pair in latest.values() if accepted)
    return accepting, held, frozenset(pair for _, pair in latest.values())
