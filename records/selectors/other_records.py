"""Records that a visit is held against: the first of its pump set, those around it, the corrected.

Only those count that still stand. The first one of all is compared with while its pieces are the
same; where one of them was exchanged or trimmed since, the first record after that takes its place.
A sensor is compared with the last record of its station in which it was adjusted, or else the first
in which it was read, whatever the pump set; settings with the last that has them: where the first
and the last one of all have not, those between are read.
"""

import json
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import cache
from threading import Lock
from typing import Any
from uuid import UUID

from django.db.models import Value

from calculations.aspects import pieces, sensor_history
from calculations.aspects.sensor_history import Sensor
from calculations.beside import Beside, Sealed
from calculations.case import Case
from calculations.inputs.event import Event as EventInput
from calculations.inputs.reading import InvalidDocument, read
from calculations.inputs.subject import Subject
from calculations.rules.counters import COUNTERS
from calculations.tasks.catalogue import FLOW_METER, TRANSMITTER
from records import permissions
from records.models import Event, PerformedTask, Record
from records.permissions import Actor

Document = dict[str, Any]

_COLUMNS = ("row", "id", "number", "performed_at", "digest")


@dataclass(frozen=True)
class Standing:
    """A record as it is told of what was judged beside it, and what it says of the pump set."""

    told: Document
    sealed: Sealed | None


@dataclass(frozen=True)
class Records:
    """By role: `first` and `last` before a visit, `next` after it, `corrected`; `anew` by kind.

    `left` is the newest before it with settings as left, where it found some and `last` has none.
    """

    by_role: Mapping[str, Standing] = field(default_factory=dict)
    anew: Mapping[str, Standing] = field(default_factory=dict)

    def told(self, role: str) -> Document | None:
        """The record of a role, as it is told; None where there is none."""
        found = self.by_role.get(role)
        return found.told if found else None

    @property
    def told_beside(self) -> Document:
        """All of them but the first, as they are told."""
        return {
            "last": self.told("last"),
            "next": self.told("next"),
            "left": self.told("left"),
            "anew": {kind: each.told for kind, each in self.anew.items()},
        }

    @property
    def first(self) -> Subject | None:
        """The pump set as its first record has it."""
        found = self._sealed("first")
        return found.subject if found else None

    @property
    def beside(self) -> Beside:
        """The others, as they are judged beside."""
        first = self._sealed("first")
        return Beside(
            first_number=first.number if first else None,
            last=self._sealed("last"),
            following=self._sealed("next"),
            corrected=self._sealed("corrected"),
            left=self._sealed("left"),
            anew={kind: each.sealed for kind, each in self.anew.items() if each.sealed},
        )

    def _sealed(self, role: str) -> Sealed | None:
        found = self.by_role.get(role)
        return found.sealed if found else None


def around(actor: Actor, event: Event, parsed: EventInput, snapshot: Document) -> Records:
    """What an event is held against now."""
    if event.site.sitesummary.last_number == 0:
        return Records()  # nothing was sealed here yet
    asked = list(_asked(actor, event, parsed))
    by_role = {row["role"]: each for row, each in zip(asked, _standing(asked), strict=True)}
    return gathered(
        by_role,
        parsed,
        snapshot,
        lambda: _standing(_before(actor, event, parsed)),
        lambda tags: _standing(_verified_before(actor, event, parsed, tags)),
    )


def as_told(actor: Actor, event: Event, parsed: EventInput) -> Records:
    """What it was held against when it was judged last."""
    beside = event.judgement.get("records_beside") or {}
    roles = {"first": event.judgement.get("earlier_record")}
    roles |= {role: beside.get(role) for role in ("last", "next", "left")}
    wanted = {role: UUID(told["record_id"]) for role, told in roles.items() if told}
    if parsed.corrects:
        wanted["corrected"] = UUID(parsed.corrects)
    begun = {kind: UUID(told["record_id"]) for kind, told in beside.get("anew", {}).items()}
    named = {*wanted.values(), *begun.values()}
    if not named:
        return Records()
    seen = permissions.visible(Record.objects.filter(id__in=named), actor)
    rows = list(seen.values(*_COLUMNS))
    found = {row["id"]: each for row, each in zip(rows, _standing(rows), strict=True)}
    return Records(
        {role: found[each] for role, each in wanted.items() if each in found},
        {kind: found[each] for kind, each in begun.items() if each in found},
    )


def gathered(
    by_role: Mapping[str, Standing],
    event: EventInput,
    snapshot: Document,
    before: Callable[[], Sequence[Standing]],
    verified: Callable[[Collection[str]], Iterable[Standing]],
) -> Records:
    """Those by their roles, with what is found only in going through all before the visit.

    `before` are these, the oldest first; they are read once at most, and only where the first or
    the last one is not what is compared with: few pump sets have such a visit. `verified` are those
    of the station that verified sensors with these tags, the oldest first.
    """
    before = cache(before)
    first = by_role.get("first")
    left = _left(by_role.get("last"), event, before)
    begun = anew(first, snapshot, before) | sensors_anew(first, event, snapshot, verified)
    counted = _counted(by_role.get("last"), event, before)
    if counted is not None:
        begun = dict(sorted({**begun, pieces.COUNTED: counted}.items()))
    return Records({**by_role, **({"left": left} if left else {})}, begun)


def anew(
    first: Standing | None, snapshot: Document, before: Callable[[], Iterable[Standing]]
) -> dict[str, Standing]:
    """By what is compared: the first record since a piece that it rests on was another one."""
    if first is None or first.sealed is None:
        return {}
    now, then = pieces.of_document(snapshot), pieces.of_subject(first.sealed.subject)
    others = [kind for kind in pieces.RESTS_ON if pieces.changed(kind, then, now)]
    found: dict[str, Standing] = {}
    for each in before() if others else ():
        if each.sealed is None:
            continue
        then = pieces.of_subject(each.sealed.subject)
        for kind in others:
            if pieces.changed(kind, then, now):
                found.pop(kind, None)  # another piece came between: what was before has ended
            else:
                found.setdefault(kind, each)
    return found


def sensors_anew(
    first: Standing | None,
    event: EventInput,
    snapshot: Document,
    verified: Callable[[Collection[str]], Iterable[Standing]],
) -> dict[str, Standing]:
    """By sensor found at a visit: the record that its drift is counted from, if not the first."""
    sensors = _found(event, snapshot)
    if not sensors:
        return {}
    told = [each for each in verified({each.tag for each in sensors if each.tag}) if each.sealed]
    cases = [Case(each.sealed.subject) for each in told if each.sealed]
    found: dict[str, Standing] = {}
    for sensor in sensors:
        begun = sensor_history.begins_with(sensor_history.leaving(case, sensor) for case in cases)
        if begun is not None and (first is None or told[begun].told != first.told):
            found[sensor.kind] = told[begun]
    return dict(sorted(found.items()))


def _found(event: EventInput, snapshot: Document) -> set[Sensor]:
    """The sensors that were found at a visit."""
    if not event.sensor_verifications:
        return set()
    plates = read(Subject, {"sensors": snapshot.get("sensors") or []})
    return sensor_history.found(Case(plates.model_copy(update={"event": event})))


def _left(
    last: Standing | None, event: EventInput, before: Callable[[], Sequence[Standing]]
) -> Standing | None:
    """The newest before a visit that has settings as left; None where it asks only for the last."""
    wanted = event.settings is not None and event.settings.as_found is not None
    if not wanted or last is None or _has_settings(last):
        return None
    return next(filter(_has_settings, reversed(before())), None)


def _has_settings(record: Standing) -> bool:
    visit = record.sealed.subject.event if record.sealed else None
    return bool(visit and visit.settings and visit.settings.as_left is not None)


def _counted(
    last: Standing | None, event: EventInput, before: Callable[[], Sequence[Standing]]
) -> Standing | None:
    """The newest before a visit that read a counter; None where it asks only for the last."""
    if last is None or not _counts(event) or _read_counters(last):
        return None
    return next(filter(_read_counters, reversed(before())), None)


def _read_counters(record: Standing) -> bool:
    return record.sealed is not None and _counts(record.sealed.subject.event)


def _counts(visit: EventInput | None) -> bool:
    return visit is not None and any(getattr(visit, name) is not None for name in COUNTERS)


# -- rows -----------------------------------------------------------------------------------------


def _asked(actor: Actor, event: Event, parsed: EventInput) -> Iterable[Document]:
    """The first, the last, the next and the corrected one, by one statement."""
    asked = []
    standing = _of_the_set(actor, event, parsed)
    if standing is not None and parsed.performed_at is not None:
        at, rows = parsed.performed_at.at, standing
        asked = [
            _as("first", rows.filter(performed_at__lt=at).order_by("performed_at", "row")),
            _as("last", rows.filter(performed_at__lte=at).order_by("-performed_at", "-row")),
            _as("next", rows.filter(performed_at__gt=at).order_by("performed_at", "row")),
        ]
    if parsed.corrects:
        corrected = Record.objects.filter(id=UUID(parsed.corrects))
        asked.append(_as("corrected", permissions.visible(corrected, actor).order_by("row")))
    if not asked:
        return ()
    found: Iterable[Document] = asked[0].union(*asked[1:], all=True) if asked[1:] else asked[0]
    return found


def _of_the_set(actor: Actor, event: Event, parsed: EventInput) -> Any:
    """Rows of the pump set that stand, but for the one that the event corrects."""
    if event.pump_set_id is None:
        return None
    rows = permissions.visible(Record.objects.filter(pump_set=event.pump_set_id), actor)
    rows = rows.filter(corrections=None)
    return rows.exclude(id=UUID(parsed.corrects)) if parsed.corrects else rows


def _before(actor: Actor, event: Event, parsed: EventInput) -> list[Document]:
    """All of the pump set that were performed before the event, the oldest first."""
    rows = _of_the_set(actor, event, parsed)
    if rows is None or parsed.performed_at is None:
        return []
    before = rows.filter(performed_at__lt=parsed.performed_at.at)
    return list(before.order_by("performed_at", "row").values(*_COLUMNS))


def _verified_before(
    actor: Actor, event: Event, parsed: EventInput, tags: Collection[str]
) -> list[Document]:
    """Those of the station, before the event, that verified sensors with these tags."""
    if parsed.performed_at is None:
        return []
    verified = PerformedTask.objects.filter(
        site=event.site_id, task__in=(TRANSMITTER.id, FLOW_METER.id), tag__in=tags
    )
    at = parsed.performed_at.at
    rows = Record.objects.filter(site=event.site_id, performed_at__lt=at, corrections=None)
    rows = permissions.visible(rows.filter(row__in=verified.values("record")), actor)
    rows = rows.exclude(id=UUID(parsed.corrects)) if parsed.corrects else rows
    return list(rows.order_by("performed_at", "row").values(*_COLUMNS))


def _as(role: str, rows: Any) -> Any:
    """The first of these rows, by what it is to the event."""
    return rows.annotate(role=Value(role)).values("role", *_COLUMNS)[:1]


def _standing(rows: Sequence[Mapping[str, Any]]) -> list[Standing]:
    """Each of these rows; the texts that nobody has read yet are asked for at once."""
    subjects = _subjects({row["row"]: bytes(row["digest"]) for row in rows})
    return [
        Standing(
            record_told(row["id"], row["number"], row["performed_at"]),
            Sealed(subject, row["number"]) if (subject := subjects[row["row"]]) else None,
        )
        for row in rows
    ]


def record_told(identity: UUID, number: int, performed_at: datetime) -> Document:
    """A record, as it is told of what was judged beside it."""
    at = performed_at.isoformat().replace("+00:00", "Z")
    return {"record_id": str(identity), "number": number, "performed_at": at}


_READ: dict[bytes, Subject | None] = {}
"""What the texts of these digests say, the oldest first; they never change, so each is read once.

Of `_MOST` at most. Asked for together: a text for itself would be a question for each record.
"""
_MOST = 256
_reading = Lock()


def _subjects(wanted: Mapping[int, bytes]) -> dict[int, Subject | None]:
    """What records say of the pump set, by their rows."""
    with _reading:
        found = {row: _READ[digest] for row, digest in wanted.items() if digest in _READ}
    lacking = [row for row in wanted if row not in found]
    if lacking:
        texts = Record.objects.filter(row__in=lacking).values_list("row", "canonical")
        read_now = {row: subject_of(bytes(text)) for row, text in texts}
        _keep({wanted[row]: subject for row, subject in read_now.items()})
        found |= read_now
    return found


def _keep(subjects: Mapping[bytes, Subject | None]) -> None:
    with _reading:
        _READ.update(subjects)
        for digest in list(_READ)[:-_MOST]:
            del _READ[digest]


def subject_of(text: bytes) -> Subject | None:
    """What a record's text says of the pump set.

    None where an old record holds what today's documents no longer allow.
    """
    content = json.loads(text)
    try:
        return read(Subject, {**content["snapshot"], "event": content["event"]})
    except InvalidDocument:
        return None
