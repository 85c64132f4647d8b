"""What an event is judged against: the nameplates in service around one pump set."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.db.models import F, Q, Value

from records import permissions
from records.models import Event, Instrument, PumpSet, Sensor, Site, Vessel
from records.permissions import Actor
from records.services.kinds import KINDS
from records.services.register import to_plate
from records.services.times import instant

Snapshot = dict[str, Any]
Visit = dict[str, Any]

SENSOR_ROLES = (
    "regulating_sensor",
    "suction_sensor",
    "flow_meter",
    "level_sensor",
    "discharge_switch",
)
_SENSOR_COLUMNS = tuple(f"{role}_id" for role in SENSOR_ROLES)
_PARTS = ("pump", "motor", "drive")


@dataclass(frozen=True)
class Surroundings:
    """A site, the pump set that is judged there, and the others in service, as rows."""

    site: Site
    own: Mapping[str, Any] | None
    others: list[dict[str, Any]]


def surroundings(actor: Actor, site: Site, pump_set: UUID | None) -> Surroundings:
    """What stands around one pump set; `own` is None where the site has none of that id."""
    sets = _joined(actor, site, pump_set)
    own = next((each for each in sets if each["id"] == pump_set), None)
    return Surroundings(site, own, [each for each in sets if each is not own])


def snapshot(actor: Actor, around: Surroundings, document: Mapping[str, Any]) -> Snapshot:
    """The resources that concern one event, as documents without empty fields."""
    site, own, others = around.site, around.own, around.others
    taken: Snapshot = {"site": to_plate(KINDS["sites"], site)}
    if own is not None:
        taken |= _parts(own)
        taken["neighbours"] = _neighbours(actor, own, others)
    pieces = _pieces(actor, site, instruments_named(document))
    whose = {"organization": str(actor.organization_id)}
    taken["sensors"] = _less_those_of_others(pieces["sensors"], own, others)
    taken["vessels"] = [_plate(row) for row in pieces["vessels"]]
    taken["instruments"] = [whose | _plate(row) for row in pieces["instruments"]]
    return taken


def snapshots(actor: Actor, site: Site) -> list[tuple[Snapshot, Visit | None]]:
    """The same for every pump set in service, in a number of queries that does not depend on them.

    Each has the sensors that concern it, its neighbours, and what its drive was last left with;
    beside it the visit at which that was written down.
    """
    sets = _joined(actor, site, None)
    last = last_visits(actor, [each["row"] for each in sets])
    settings = {row: visit["as_left"] for row, visit in last.items()}
    pieces = _pieces(actor, site)
    vessels = [_plate(row) for row in pieces["vessels"]]
    taken = []
    for own in sets:
        others = [each for each in sets if each is not own]
        parts = {"site": to_plate(KINDS["sites"], site), **_parts(own)}
        around = {"neighbours": _with_settings(_near(own, others), settings), "vessels": vessels}
        mine = {"sensors": _less_those_of_others(pieces["sensors"], own, others)}
        left = settings.get(own["row"])
        known = {"event": {"settings": {"as_left": left}}} if left else {}
        taken.append(({**parts, **around, **mine, **known}, last[own["row"]] if left else None))
    return taken


def _pieces(actor: Actor, site: Site, named: Iterable[str] = ()) -> dict[str, list[Any]]:
    """Sensors and vessels in service at a site, and the instruments that are named: one query."""
    at_site = {"site": site, "out_of_service_on": None}
    ids = [name for name in named if len(name) == 36]
    instruments = Instrument.objects.filter(Q(id__in=ids) | Q(serial__in=sorted(named)))
    rows: dict[str, Any] = {
        "sensors": Sensor.objects.filter(**at_site).annotate(label=F("tag")),
        "vessels": Vessel.objects.filter(**at_site).annotate(label=F("tag")),
        "instruments": instruments.annotate(label=F("serial")),
    }
    first, *others = (
        permissions.visible(found, actor)
        .annotate(piece=Value(piece))
        .values("piece", "label", "row", "id", "plate")
        for piece, found in rows.items()
    )
    found: dict[str, list[Any]] = {piece: [] for piece in rows}
    for row in first.union(*others, all=True).order_by("label", "row"):
        found[row["piece"]].append(row)
    return found


def _plate(row: Mapping[str, Any], part: str = "") -> dict[str, Any]:
    return {"id": str(row[f"{part}id"]), **row[f"{part}plate"]}


def _joined(actor: Actor, site: Site, own: UUID | None) -> list[dict[str, Any]]:
    """Pump sets in service and the one that is judged, with their parts, in one query."""
    wanted = Q(out_of_service_on=None) | Q(id=own)
    rows = permissions.visible(PumpSet.objects.filter(wanted, site=site), actor)
    parts = [f"{part}__{name}" for part in _PARTS for name in ("id", "plate")]
    return list(rows.order_by("tag").values("row", "id", "plate", *parts, *_SENSOR_COLUMNS))


def _parts(row: Mapping[str, Any]) -> Snapshot:
    """A pump set's own plate and those of its parts; no drive is an answer, not a gap."""
    known = {part: _plate(row, f"{part}__") for part in _PARTS if row[f"{part}__id"]}
    return {"pump_set": {"drive": None, **_plate(row)}, **known}


def _neighbours(
    actor: Actor, own: Mapping[str, Any], others: Iterable[Mapping[str, Any]]
) -> list[Snapshot]:
    """Sets on the same header or in the same group, with what their drives were left with."""
    near = _near(own, others)
    return _with_settings(near, last_settings(actor, [other["row"] for other in near]))


def _near(own: Mapping[str, Any], others: Iterable[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    return [other for other in others if _shares(other["plate"], own["plate"])]


def _with_settings(
    sets: Iterable[Mapping[str, Any]], settings: Mapping[int, Any]
) -> list[Snapshot]:
    return [
        _parts(each) | ({"settings": settings[each["row"]]} if each["row"] in settings else {})
        for each in sets
    ]


def _shares(one: Mapping[str, Any], other: Mapping[str, Any]) -> bool:
    return any(one.get(n) and one.get(n) == other.get(n) for n in ("discharge_header", "group"))


def last_settings(actor: Actor, pump_sets: list[int]) -> dict[int, Any]:
    """What the drive of each pump set was last left with, by the set's inner key."""
    return {row: visit["as_left"] for row, visit in last_visits(actor, pump_sets).items()}


def last_visits(actor: Actor, pump_sets: list[int]) -> dict[int, Visit]:
    """The visit at which each drive's settings as left were last written down."""
    if not pump_sets:
        return {}
    events = (
        permissions.visible(Event.objects.filter(pump_set__in=pump_sets), actor)
        .filter(document__settings__as_left__isnull=False)
        .exclude(state="withdrawn")
        .order_by("pump_set", "-performed_at", "-row")
        .distinct("pump_set")
        .values_list(
            "pump_set", "id", "kind", "state", "performed_at", "document__settings__as_left"
        )
    )
    return {
        row: {"event": str(identity), "kind": kind, "state": state, "performed_at": instant(at),
              "as_left": left}
        for row, identity, kind, state, at, left in events
    }  # fmt: skip


def _less_those_of_others(
    sensors: Iterable[Mapping[str, Any]],
    own: Mapping[str, Any] | None,
    others: Iterable[Mapping[str, Any]],
) -> list[Snapshot]:
    """Sensors at the site, less those that belong to other pump sets only."""
    taken = set()
    if own is not None:
        taken = set().union(*(_sensors_of(other) for other in others)) - _sensors_of(own)
    return [_plate(row) for row in sensors if row["row"] not in taken]


def _sensors_of(row: Mapping[str, Any]) -> set[int]:
    return {row[column] for column in _SENSOR_COLUMNS if row[column] is not None}


def instruments_named(document: Mapping[str, Any]) -> set[str]:
    """Every instrument that a document refers to, by id or serial number."""
    named = set(document.get("instruments") or ())
    for point in document.get("duty_points") or ():
        named |= set(point.get("instruments") or ())
    for verification in document.get("sensor_verifications") or ():
        if verification.get("instrument"):
            named.add(verification["instrument"])
    return named
