"""Posting and changing commissioning events."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any, NamedTuple
from uuid import UUID

from django.db import transaction
from django.db.models import QuerySet
from django.utils import timezone

from calculations.inputs.base import Part
from calculations.inputs.event import Event as EventInput
from calculations.inputs.reading import InvalidDocument, Problem, read
from calculations.offline import instruments_named
from calculations.statements import kept
from records import permissions
from records.errors import (
    BookError,
    Conflict,
    Invalid,
    NotFound,
    SameIdOtherContent,
    Stale,
    first_of_each,
)
from records.ids import is_id
from records.models import Event, Finding, Record, Site
from records.models.base import new_id
from records.permissions import Actor
from records.selectors import bases, subjects
from records.selectors.subjects import Edition, Surroundings
from records.services import (
    audit,
    event_checks,
    event_rows,
    holding,
    judging,
    references,
    signatures,
    summaries,
)
from records.services.content import merge_patch, quick_digest, units_alone
from records.services.event_rows import Outcome
from records.services.reading import read_input

LONGEST_BATCH = 100
TRIES = 5
"""How often a new event is judged, where what it is judged against is changed meanwhile."""


class Posted(NamedTuple):
    """The event of a POST. What was found in a new one is at hand; nobody has answered it yet."""

    event: Event
    created: bool
    found: list[Finding]


def post(actor: Actor, given: Mapping[str, Any]) -> Posted:
    """Add an event; the same id with the same content again changes nothing.

    Findings are computed before it is kept.
    """
    permissions.require(actor, "events.write")
    document, parsed = _read(given)
    digest = quick_digest(document)
    named = document.get("id")
    document["id"] = document.get("id") or str(new_id())
    for _ in range(TRIES):
        try:
            event, found, edition = _new(actor, document, parsed, digest)
        except Invalid:
            # A repeat, even where what it refers to has since been taken out of service.
            existing = _own(actor, UUID(named)).first() if named else None
            if existing is None:
                raise
            return Posted(_repeated(existing, digest), False, [])
        outcome = _write(actor, event, found, edition)
        if outcome is Outcome.WRITTEN:
            return Posted(event, True, found)
        if outcome is Outcome.THERE:
            return Posted(_repeated(_own(actor, event.id).get(), digest), False, [])
    raise Conflict(_RESTLESS)


_RESTLESS = "what stands at this site was changed each time the visit was judged: send it again"


def _new(
    actor: Actor, document: dict[str, Any], parsed: EventInput, digest: bytes
) -> tuple[Event, list[Finding], Edition]:
    """The event that a document makes, judged, and against what; nothing is written yet."""
    near = _places(actor, document)
    event = Event(
        id=UUID(document["id"]),
        contractor_id=actor.organization_id,
        client_id=near.site.client_id,
        site=near.site,
        pump_set_id=near.own.row if near.own else None,
        kind=document["kind"],
        created_by_id=actor.user_id,
        created_digest=digest,
    )
    snapshot = _snapshot(actor, event, document, near)
    judged = _judged(actor, event, parsed, snapshot, limits_set=near.limits_set)
    for name, value in _revision(document, parsed, snapshot, judged).items():
        setattr(event, name, value)
    return event, judging.rows(event, judged), near.edition


def _write(actor: Actor, event: Event, found: list[Finding], edition: Edition) -> Outcome:
    """Write a new event with what goes with it, if the register is as it was read."""
    return event_rows.add(event, found, event_rows.entry(actor, event), edition)


def _own(actor: Actor, identity: UUID) -> QuerySet[Event]:
    return permissions.visible(Event.objects.filter(id=identity), actor)


def _repeated(existing: Event, digest: bytes) -> Event:
    if bytes(existing.created_digest) != digest:
        raise SameIdOtherContent()
    return existing


def change(actor: Actor, identity: UUID, patch: Mapping[str, Any], revision: int) -> Event:
    """Change an event by a merge patch (RFC 7396) meant for one revision of it.

    What was signed and is changed by it makes that signature void.
    """
    permissions.require(actor, "events.write")
    hold_instruments(actor, [patch])
    holding.in_order(permissions.visible(Event.objects.filter(id=identity), actor))
    event = _get(actor, identity)  # read once it is held: no answer and no seal in between
    event.refuse_unless_draft()
    if event.revision != revision:
        raise Stale(revision=event.revision, etag=event.etag)
    beside = event_checks.fixed(event.document, patch) + units_alone(event.document, patch)
    document, parsed = _read(merge_patch(event.document, patch), beside)
    change = audit.difference(event.document, document)
    with transaction.atomic():
        near = _places(actor, document)
        snapshot = _snapshot(actor, event, document, near)
        _keep(actor, event, document, parsed, snapshot, limits_set=near.limits_set)
        summaries.refresh(event.site_id)
        audit.write(actor, "changed", audit.of_event(event), change)
        signatures.void_outdated(actor, event)
    return event


def get(actor: Actor, identity: UUID) -> Event:
    """The event of this id, if the actor's organization performed it."""
    permissions.require(actor, "events.read")
    return _get(actor, identity)


def _get(actor: Actor, identity: UUID) -> Event:
    rows = permissions.visible(Event.objects.all(), actor).select_related(
        "site__sitesummary", "pump_set", "record"
    )
    event = rows.filter(id=identity).first()
    if event is None:
        raise NotFound()
    return event


class BatchInput(Part):
    """Up to 100 events."""

    events: list[Any]


def post_batch(actor: Actor, given: Mapping[str, Any]) -> list[Posted | BookError]:
    """Add up to 100 events, each for itself: a bad one does not stop the others."""
    permissions.require(actor, "events.write")
    listed = read_input(BatchInput, given).events
    if len(listed) > LONGEST_BATCH:
        words = f"expected at most {LONGEST_BATCH} events, got {len(listed)}"
        raise Invalid(problems=[Problem("/events", "too_long", words)])
    hold_instruments(actor, listed)
    # Stations and their counts stay held, in the order in which everybody holds them.
    named = [_site_named(document) for document in listed]
    rows = _rows_of_sites(actor, named)
    order = sorted(range(len(listed)), key=lambda place: rows.get(named[place], 0))
    done = {place: _one_of_batch(actor, listed[place]) for place in order}
    return [done[place] for place in range(len(listed))]


def hold_instruments(actor: Actor, given: Iterable[Any]) -> None:
    """Let nobody change what documents name from before it is read until it is kept.

    Who changes an instrument looks for drafts that name it, and does not see what names it in
    another transaction. It is held before drafts and counts, which they want next.
    """
    named = {name for document in given for name in _instruments_named(document)}
    if named:
        subjects.hold_instruments(actor, named)


def _instruments_named(document: Any) -> set[str]:
    """Those that can be read; what cannot is told by whoever reads the document as a whole."""
    try:
        return {name for name in instruments_named(document) if isinstance(name, str)}
    except (AttributeError, TypeError):
        return set()


def _site_named(document: Any) -> str:
    return str(document.get("site", "")) if isinstance(document, Mapping) else ""


def _rows_of_sites(actor: Actor, named: Iterable[str]) -> dict[str, int]:
    """Of those that are known here; what names another is told so when it is read."""
    known = {UUID(each): each for each in named if is_id(each)}
    sites = permissions.visible(Site.objects.filter(id__in=known), actor)
    return {known[identity]: row for identity, row in sites.values_list("id", "row")}


def _one_of_batch(actor: Actor, document: Any) -> Posted | BookError:
    try:
        with transaction.atomic():
            return post(actor, document)
    except BookError as error:
        return error


def judge_draft(actor: Actor, event: Event, snapshot: subjects.Snapshot) -> None:
    """Judge a locked draft again against what now surrounds it; the summary is the caller's."""
    parsed = read(EventInput, event.document)
    _keep(actor, event, event.document, parsed, snapshot)


def _read(given: Any, beside: Iterable[Problem] = ()) -> tuple[dict[str, Any], EventInput]:
    """The document as it will be kept, and as it is typed; `beside` is wrong with it already."""
    problems = [*beside, *event_checks.problems(given)]
    try:
        parsed = read(EventInput, given)
    except InvalidDocument as error:
        problems += error.problems
    if problems:
        raise Invalid(problems=first_of_each(problems))
    return kept(parsed), parsed


def read_again(document: Any) -> tuple[dict[str, Any], datetime]:
    """A document as it would be kept, and when it says it was performed; or `Invalid`."""
    again, parsed = _read(document)
    assert parsed.performed_at is not None  # noqa: S101 - required above
    return again, parsed.performed_at.at


def _places(actor: Actor, document: Mapping[str, Any]) -> Surroundings:
    """What stands around the places that a document names; they must be there."""
    identity = document.get("pump_set")
    pump_set = UUID(identity) if identity else None
    near = subjects.surroundings(actor, UUID(document["site"]), pump_set, document)
    if near is None:
        raise Invalid(problems=[Problem("/site", "unknown_id", "there is no such site here")])
    if identity and near.own is None:
        words = "there is no such pump set at this site"
        raise Invalid(problems=[Problem("/pump_set", "unknown_id", words)])
    return near


def _snapshot(
    actor: Actor, event: Event, document: dict[str, Any], near: Surroundings
) -> subjects.Snapshot:
    """The nameplates that an event is judged against; what it refers to must be among them."""
    snapshot = subjects.snapshot(actor, near)
    problems = references.problems(document, snapshot) + _corrects(actor, event, document)
    if problems:
        raise Invalid(problems=problems)
    return snapshot


def _keep(
    actor: Actor,
    event: Event,
    document: dict[str, Any],
    parsed: EventInput,
    snapshot: subjects.Snapshot,
    *,
    limits_set: bool = True,
) -> None:
    judged = _judged(actor, event, parsed, snapshot, limits_set=limits_set)
    _save(event, _revision(document, parsed, snapshot, judged))
    judging.keep_findings(event, judged)


def _judged(
    actor: Actor,
    event: Event,
    parsed: EventInput,
    snapshot: subjects.Snapshot,
    *,
    limits_set: bool,
) -> judging.Judged:
    basis = bases.of(actor, event, parsed, snapshot, limits_set=limits_set)
    return judging.judge(event.id, snapshot, parsed, basis)


def _revision(
    document: dict[str, Any],
    parsed: EventInput,
    snapshot: subjects.Snapshot,
    judged: judging.Judged,
) -> dict[str, Any]:
    """What a revision of an event consists of."""
    assert parsed.performed_at is not None  # noqa: S101 - required above
    return {
        "document": document,
        "performed_at": parsed.performed_at.at,
        "snapshot": snapshot,
        "snapshot_frozen": False,
        "catalogue": judged.catalogue,
        "judgement": judged.without_findings(),
    }


def _save(event: Event, values: Mapping[str, Any]) -> None:
    """Change exactly the revision that was read."""
    now = timezone.now()
    changed = Event.objects.filter(row=event.row, revision=event.revision, state="draft").update(
        **values, revision=event.revision + 1, changed_at=now
    )
    if not changed:
        raise _overtaken(event)
    for name, value in values.items():
        setattr(event, name, value)
    event.revision, event.changed_at = event.revision + 1, now


def _overtaken(event: Event) -> BookError:
    """Why a change came too late."""
    now = Event.objects.only("state", "revision", "said").get(row=event.row)
    try:
        now.refuse_unless_draft()
    except Conflict as closed:
        return closed
    return Stale(revision=now.revision, etag=now.etag)


def _corrects(actor: Actor, event: Event, document: Mapping[str, Any]) -> list[Problem]:
    if not document.get("corrects"):
        return []
    records = permissions.visible(Record.objects.filter(site=event.site), actor)
    if records.filter(id=document["corrects"]).exists():
        return []
    return [Problem("/corrects", "unknown_id", "there is no such record of this site")]
