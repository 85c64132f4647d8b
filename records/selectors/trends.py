"""What sealed records say of a pump set or a transmitter over the years."""

import json
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from calculations.courses import pump_sets, sensors
from calculations.courses.course import Visit
from calculations.inputs.reading import InvalidDocument, read
from calculations.inputs.subject import Subject
from calculations.units import Quantity
from records import permissions
from records.documents import shown
from records.documents.trending.told import PumpSetTrends, Recorded, SensorTrends, day_of
from records.models import Record
from records.permissions import Actor
from records.services import register
from records.services.kinds import KINDS

MOST = 60
"""Records that are read at once: the first ones of each thing matter, and the newest."""

FIRST = 10
_HEAD_UNIT = ("/pump/curve_points/0/head", "/pump/rated_head", "/site/system_design_head")


@dataclass(frozen=True, slots=True)
class _Read:
    """The records that can be read today, with the visits they tell of."""

    records: tuple[Recorded, ...]
    visits: tuple[Visit, ...]
    left_out: int


def of_pump_set(actor: Actor, identity: UUID) -> tuple[Any, PumpSetTrends]:
    """The pump set, and the trends of what stood at its tag."""
    permissions.require(actor, "records.read")
    row: Any = register.get(actor, KINDS["pump-sets"], identity)
    found = _read(actor, row, Record.objects.filter(pump_set__tag=row.tag))
    courses = pump_sets.courses(found.visits)
    unit = _head_unit(found.visits)
    return row, PumpSetTrends(row.tag, found.records, courses, unit, found.left_out)


def of_sensor(actor: Actor, identity: UUID) -> tuple[Any, SensorTrends]:
    """The sensor, and the trends of what was verified at its tag."""
    permissions.require(actor, "records.read")
    row: Any = register.get(actor, KINDS["sensors"], identity)
    verified = Record.objects.filter(
        values__site=row.site_id,
        values__tag=row.tag,
        values__subject__startswith="/event/sensor_verifications/",
    )
    found = _read(actor, row, Record.objects.filter(row__in=verified.values("row")))
    courses = sensors.courses(found.visits, row.tag)
    return row, SensorTrends(row.tag, found.records, courses, found.left_out)


def _read(actor: Actor, row: Any, rows: QuerySet[Record]) -> _Read:
    """Of `rows` those of the piece's station that stand and that the actor may see."""
    standing = permissions.visible(rows.filter(site=row.site_id, corrections=None), actor)
    listed = list(
        standing.order_by("performed_at", "row").values("row", "id", "number", "performed_at",
                                                        "digest")
    )  # fmt: skip
    kept = listed if len(listed) <= MOST else [*listed[:FIRST], *listed[FIRST - MOST :]]
    zone = shown.zone(row.site.time_zone)
    found = [
        (Recorded(str(each["id"]), each["number"], each["performed_at"],
                  day_of(each["performed_at"], zone)), subject)
        for each, subject in zip(kept, _subjects(kept), strict=True)
        if subject is not None
    ]  # fmt: skip
    visits = tuple(Visit(record.at, subject) for record, subject in found)
    return _Read(tuple(record for record, _ in found), visits, len(listed) - len(found))


def _subjects(rows: Sequence[Mapping[str, Any]]) -> Iterator[Subject | None]:
    """What each record's text says; one query for all of them."""
    texts = Record.objects.filter(row__in=[each["row"] for each in rows])
    found = {row: bytes(text) for row, text in texts.values_list("row", "canonical")}
    for each in rows:
        yield _subject(bytes(each["digest"]), found[each["row"]])


@lru_cache(maxsize=256)
def _subject(digest: bytes, text: bytes) -> Subject | None:
    """The text as the calculations read it; None where today's documents refuse an old one."""
    content = json.loads(text)
    try:
        return read(Subject, {**content["snapshot"], "event": content["event"]})
    except InvalidDocument:
        return None


def _head_unit(visits: Sequence[Visit]) -> str:
    """The unit that heads were entered in last."""
    for visit in reversed(visits):
        case = visit.case()
        for place in _HEAD_UNIT:
            found = case.find(place)
            if isinstance(found, Quantity):
                return found.unit
    return "m"
