"""What an event is judged against: the nameplates in service around one pump set."""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any, NamedTuple
from uuid import UUID

from django.db import connection, models
from django.db.models import Exists, OuterRef, Q
from django.db.models.fields.json import KT
from django.db.models.functions import Cast

from calculations.offline import instruments_named
from records import permissions
from records.ids import is_id
from records.json_text import document_of
from records.models import Event, Record, Site, SiteSummary
from records.permissions import Actor
from records.services.kinds import KINDS, SENSOR_ROLES
from records.services.register import to_plate
from records.services.times import instant

Snapshot = dict[str, Any]
Visit = dict[str, Any]

_HYDRAULICS = (
    "purpose", "frequency", "speed", "speed_measured", "flow", "flow_method", "suction_pressure",
    "suction_gauge_elevation", "discharge_pressure", "discharge_gauge_elevation", "suction_level",
    "suction_level_depth", "bore_suction", "bore_discharge", "other_pumps_running",
)  # fmt: skip
_SENSOR_COLUMNS = ", ".join(f"joined.{role}_id" for role in SENSOR_ROLES)

# Everything that stands around one pump set in one statement: it is asked for at every post.
_AROUND = """
WITH here AS (
    SELECT row, id, contractor_id, client_id, plate, register_revision FROM records_site
     WHERE id = %(site)s AND {party} = %(organization)s
)
SELECT 'site' AS piece, '' AS label, here.row, here.id, here.plate, jsonb_build_object(
           'contractor', here.contractor_id, 'client', here.client_id,
           'last_number', summary.last_number, 'revision', here.register_revision,
           'limits_set', EXISTS (
               SELECT FROM records_rulesetting setting
                WHERE setting.{party} = %(organization)s
                  AND setting.client_id = here.client_id AND setting.ended_at IS NULL))
  FROM here JOIN records_sitesummary summary ON summary.site_id = here.row
UNION ALL
SELECT 'pump_set', joined.tag, joined.row, joined.id, joined.plate, jsonb_build_object(
           'pump', jsonb_build_object('id', pump.id) || pump.plate,
           'motor', jsonb_build_object('id', motor.id) || motor.plate,
           'drive', jsonb_build_object('id', drive.id) || drive.plate,
           'sensors', array_remove(ARRAY[{sensors}], NULL))
  FROM here JOIN records_pumpset joined ON joined.site_id = here.row
  JOIN records_pump pump ON pump.row = joined.pump_id
  JOIN records_motor motor ON motor.row = joined.motor_id
  LEFT JOIN records_drive drive ON drive.row = joined.drive_id
 WHERE joined.{party} = %(organization)s
   AND (joined.out_of_service_on IS NULL OR joined.id = %(pump_set)s)
UNION ALL
SELECT 'sensor', sensor.tag, sensor.row, sensor.id, sensor.plate, NULL
  FROM here JOIN records_sensor sensor ON sensor.site_id = here.row
 WHERE sensor.{party} = %(organization)s AND sensor.out_of_service_on IS NULL
UNION ALL
SELECT 'vessel', vessel.tag, vessel.row, vessel.id, vessel.plate, NULL
  FROM here JOIN records_vessel vessel ON vessel.site_id = here.row
 WHERE vessel.{party} = %(organization)s AND vessel.out_of_service_on IS NULL
UNION ALL
SELECT 'instrument', serial, row, id, plate, jsonb_build_object('revision', revision)
  FROM records_instrument
 WHERE {party} = %(organization)s AND (id = ANY(%(ids)s) OR serial = ANY(%(serials)s))
 ORDER BY label, row
"""

_HOLD_INSTRUMENTS = """
SELECT FROM records_instrument
 WHERE {party} = %(organization)s AND (id = ANY(%(ids)s) OR serial = ANY(%(serials)s))
 ORDER BY row FOR SHARE
"""


class Standing(NamedTuple):
    """A row of the register as it stands there; `beside` is what its document does not hold."""

    row: int
    id: UUID
    plate: Snapshot
    beside: Snapshot

    @property
    def document(self) -> Snapshot:
        """What was entered, with the id."""
        return {"id": str(self.id), **self.plate}


class Edition(NamedTuple):
    """Which state was read: of the site with all that stands there, of records, of instruments."""

    of_site: int
    of_records: int
    """The number of the last one that was sealed at the site."""
    of_instruments: dict[int, int]
    """Revisions by row."""


@dataclass(frozen=True)
class Surroundings:
    """A site, the pump set that is judged there, the others in service, and what else is there.

    `limits_set` says whether limits of rules are set for the site's client.
    """

    edition: Edition
    site: Site
    own: Standing | None
    others: list[Standing]
    sensors: list[Standing]
    vessels: list[Standing]
    instruments: list[Standing]
    limits_set: bool


def surroundings(
    actor: Actor, site: UUID, pump_set: UUID | None, document: Mapping[str, Any]
) -> Surroundings | None:
    """What stands around one pump set, with the instruments that an event's document names.

    None where there is no such site here; `own` is None where it has no pump set of that id.
    """
    found = _standing(actor, site, pump_set, instruments_named(document))
    if not found["site"]:
        return None
    [here] = found["site"]
    own = next((each for each in found["pump_set"] if each.id == pump_set), None)
    return Surroundings(
        edition=_edition(here, found["instrument"]),
        site=_site(here),
        own=own,
        others=[each for each in found["pump_set"] if each is not own],
        sensors=found["sensor"],
        vessels=found["vessel"],
        instruments=found["instrument"],
        limits_set=here.beside["limits_set"],
    )


def _edition(here: Standing, instruments: Iterable[Standing]) -> Edition:
    return Edition(
        here.beside["revision"],
        here.beside["last_number"],
        {each.row: each.beside["revision"] for each in instruments},
    )


def _standing(
    actor: Actor, site: UUID, pump_set: UUID | None, named: Iterable[str]
) -> dict[str, list[Standing]]:
    given = {
        "organization": actor.organization_id,
        "site": site,
        "pump_set": pump_set,
        **_instruments(named),
    }
    text = _AROUND.format(party=permissions.party(actor), sensors=_SENSOR_COLUMNS)
    found: dict[str, list[Standing]] = defaultdict(list)
    with connection.cursor() as cursor:
        cursor.execute(text, given)
        for piece, _, row, identity, plate, beside in cursor:
            documents = document_of(plate), document_of(beside or "{}")
            found[piece].append(Standing(row, identity, *documents))
    return found


def hold_instruments(actor: Actor, named: Iterable[str]) -> None:
    """Let nobody change instruments, named by id or serial number, until the transaction ends."""
    text = _HOLD_INSTRUMENTS.format(party=permissions.party(actor))
    with connection.cursor() as cursor:
        cursor.execute(text, {"organization": actor.organization_id, **_instruments(named)})


def _instruments(named: Iterable[str]) -> dict[str, Any]:
    return {"ids": [UUID(name) for name in named if is_id(name)], "serials": list(named)}


def _site(here: Standing) -> Site:
    """The site's row and its summary, as far as they were read."""
    told = here.beside
    parties = {"contractor_id": UUID(told["contractor"]), "client_id": UUID(told["client"])}
    site: Site = _as_read(Site, row=here.row, id=here.id, plate=here.plate, **parties)
    site.sitesummary = _as_read(SiteSummary, site_id=here.row, last_number=told["last_number"])
    return site


def _as_read(model: type[models.Model], **values: Any) -> Any:
    names = [field.attname for field in model._meta.concrete_fields if field.attname in values]
    return model.from_db("default", names, [values[name] for name in names])


def snapshot(actor: Actor, around: Surroundings) -> Snapshot:
    """The resources that concern one event, as documents without empty fields."""
    near = _near(around)
    whose = {"organization": str(actor.organization_id)}
    return {
        **_snapshot(around, near, last_visits(actor, [other.row for other in near])),
        "instruments": [whose | each.document for each in around.instruments],
    }


def snapshots(actor: Actor, site: Site) -> list[tuple[Snapshot, Visit | None]]:
    """The same for every pump set in service, in a number of queries that does not depend on them.

    Each has the sensors that concern it, its neighbours, and what its drive was last left with;
    beside it the visit at which that was written down.
    """
    whole = surroundings(actor, site.id, None, {})
    if whole is None:
        return []
    sets = whole.others
    last = last_visits(actor, [each.row for each in sets])
    return [
        _known_of(replace(whole, own=own, others=[each for each in sets if each is not own]), last)
        for own in sets
    ]


def _known_of(around: Surroundings, last: Mapping[int, Visit]) -> tuple[Snapshot, Visit | None]:
    taken = _snapshot(around, _near(around), {row: _unmeasured(each) for row, each in last.items()})
    visit = last.get(around.own.row) if around.own else None
    if visit is None or not visit["as_left"]:
        return taken, None
    return {**taken, "event": {"settings": {"as_left": visit["as_left"]}}}, visit


def _unmeasured(visit: Visit) -> Visit:
    return {name: value for name, value in visit.items() if name != "duty_points"}


def _snapshot(
    around: Surroundings, near: Iterable[Standing], last: Mapping[int, Visit]
) -> Snapshot:
    """A site with one pump set, its neighbours as their drives were left and measured."""
    taken: Snapshot = {"site": to_plate(KINDS["sites"], around.site)}
    if around.own is not None:
        taken |= _parts(around.own)
        taken["neighbours"] = [_parts(each) | _left(last.get(each.row)) for each in near]
    taken["sensors"] = _less_those_of_others(around)
    taken["vessels"] = [each.document for each in around.vessels]
    return taken


def _left(visit: Visit | None) -> Snapshot:
    if visit is None:
        return {}
    points = visit.get("duty_points")
    return {"settings": visit["as_left"]} | ({"duty_points": points} if points else {})


def _parts(own: Standing) -> Snapshot:
    """A pump set's own plate and those of its parts; no drive is an answer, not a gap."""
    parts = {name: own.beside[name] for name in ("pump", "motor", "drive") if own.beside[name]}
    return {"pump_set": {"drive": None, **own.document}, **parts}


def _near(around: Surroundings) -> list[Standing]:
    """Sets on the same header or in the same group."""
    own = around.own
    return [other for other in around.others if own and _shares(other.plate, own.plate)]


def _shares(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    return any(one.get(n) and one.get(n) == other.get(n) for n in ("discharge_header", "group"))


def last_visits(actor: Actor, pump_sets: list[int]) -> dict[int, Visit]:
    """The visit at which each drive's settings as left were last written down.

    Of a record that was corrected the one that stands in its place, whatever day either says, and
    no draft that would have corrected it as well: it cannot be sealed as it is.
    """
    if not pump_sets:
        return {}
    corrected = Record.objects.filter(corrections__isnull=False)
    too_late = Q(state="draft") & Exists(corrected.filter(id=OuterRef("would_correct")))
    events = (
        permissions.visible(Event.objects.filter(pump_set__in=pump_sets), actor)
        .filter(document__settings__as_left__isnull=False)
        .annotate(would_correct=Cast(KT("document__corrects"), models.UUIDField()))
        .filter(~Exists(corrected.filter(event=OuterRef("row"))), ~too_late)
        .exclude(state="withdrawn")
        .order_by("pump_set", "-performed_at", "-row")
        .distinct("pump_set")
        .values_list(
            "pump_set",
            "id",
            "kind",
            "state",
            "performed_at",
            "document__settings__as_left",
            "document__duty_points",
        )
    )
    return {
        row: {"event": str(identity), "kind": kind, "state": state, "performed_at": instant(at),
              "as_left": left, "duty_points": [_hydraulics(each) for each in points or ()]}
        for row, identity, kind, state, at, left, points in events
    }  # fmt: skip


def _hydraulics(point: Mapping[str, Any]) -> dict[str, Any]:
    """What of a point says where a pump stands on its curve."""
    return {name: point[name] for name in _HYDRAULICS if name in point}


def _less_those_of_others(around: Surroundings) -> list[Snapshot]:
    """Sensors at the site, less those that belong to other pump sets only."""
    taken: set[int] = set()
    if around.own is not None:
        taken.update(*(other.beside["sensors"] for other in around.others))
        taken.difference_update(around.own.beside["sensors"])
    return [each.document for each in around.sensors if each.row not in taken]
