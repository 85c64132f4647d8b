"""What an event is judged against: the nameplates in service around one pump set."""

from collections.abc import Iterable, Mapping
from typing import Any

from django.db.models import Q

from records import permissions
from records.models import Event, Instrument, PumpSet, Sensor, Site, Vessel
from records.permissions import Actor
from records.services.kinds import KINDS
from records.services.register import to_document

Snapshot = dict[str, Any]

SENSOR_ROLES = (
    "regulating_sensor",
    "suction_sensor",
    "flow_meter",
    "level_sensor",
    "discharge_switch",
)
_PARTS = ("pump", "motor", "drive")


def snapshot(
    actor: Actor, site: Site, pump_set: PumpSet | None, document: Mapping[str, Any]
) -> Snapshot:
    """The resources that concern one event, as documents without empty fields."""
    sensors = list(_in_service(actor, Sensor.objects, site))
    sets = _joined(actor, site, sensors)
    own = next((each for each in sets if pump_set and each.row == pump_set.row), pump_set)
    others = [each for each in sets if own is None or each.row != own.row]
    taken: Snapshot = {"site": _plate("sites", site)}
    if own is not None:
        taken["pump_set"] = _plate("pump-sets", own) | _drive_or_none(own)
        taken |= _parts(own)
        taken["neighbours"] = _neighbours(actor, own, others)
    taken["sensors"] = _sensors(sensors, own, others)
    vessels = _in_service(actor, Vessel.objects, site)
    taken["vessels"] = [_plate("vessels", _at(site, vessel)) for vessel in vessels]
    taken["instruments"] = _instruments(actor, document)
    return taken


def _at(site: Site, row: Any) -> Any:
    """Tell a row its site, which is known: no query for it."""
    row.site = site
    return row


def _joined(actor: Actor, site: Site, sensors: list[Sensor]) -> list[PumpSet]:
    """Pump sets in service, with their parts and sensors, in one query."""
    by_row = {sensor.row: _at(site, sensor) for sensor in sensors}
    sets = list(_in_service(actor, PumpSet.objects, site).select_related(*_PARTS))
    for each in sets:
        for part in _PARTS:
            if getattr(each, part) is not None:
                _at(site, getattr(each, part))
        for role in SENSOR_ROLES:
            found = by_row.get(getattr(each, f"{role}_id"))
            if found is not None:
                setattr(each, role, found)
        _at(site, each)
    return sets


def _plate(kind: str, row: Any) -> dict[str, Any]:
    document = to_document(KINDS[kind], row)
    return {name: value for name, value in document.items() if value is not None}


def _drive_or_none(pump_set: PumpSet) -> dict[str, Any]:
    """No drive is an answer (fixed speed), not a gap."""
    return {"drive": str(pump_set.drive.id) if pump_set.drive else None}


def _parts(pump_set: PumpSet) -> dict[str, Any]:
    return {
        part: _plate(f"{part}s", getattr(pump_set, part))
        for part in _PARTS
        if getattr(pump_set, part) is not None
    }


def _in_service(actor: Actor, manager: Any, site: Site) -> Any:
    rows = permissions.visible(manager.filter(site=site, out_of_service_on=None), actor)
    return rows.order_by("tag")


def _neighbours(actor: Actor, pump_set: PumpSet, others: Iterable[PumpSet]) -> list[Snapshot]:
    """Sets on the same header or in the same group, with what their drives were left with."""
    near = [
        other
        for other in others
        if (other.discharge_header and other.discharge_header == pump_set.discharge_header)
        or (other.group and other.group == pump_set.group)
    ]
    settings = last_settings(actor, [other.row for other in near])
    return [
        {"pump_set": _plate("pump-sets", other) | _drive_or_none(other)}
        | _parts(other)
        | ({"settings": settings[other.row]} if other.row in settings else {})
        for other in near
    ]


def last_settings(actor: Actor, pump_sets: list[int]) -> dict[int, Any]:
    """What the drive of each pump set was last left with, by the set's inner key."""
    if not pump_sets:
        return {}
    events = (
        permissions.visible(Event.objects.filter(pump_set__in=pump_sets), actor)
        .filter(document__settings__as_left__isnull=False)
        .order_by("pump_set", "-performed_at", "-row")
        .distinct("pump_set")
        .values_list("pump_set", "document__settings__as_left")
    )
    return dict(events)


def _sensors(
    sensors: list[Sensor], own: PumpSet | None, others: Iterable[PumpSet]
) -> list[Snapshot]:
    """Sensors at the site, less those that belong to other pump sets only."""
    taken = set()
    if own is not None:
        taken = set().union(*(_sensors_of(other) for other in others)) - _sensors_of(own)
    return [_plate("sensors", sensor) for sensor in sensors if sensor.row not in taken]


def _sensors_of(pump_set: PumpSet) -> set[int]:
    return {key for role in SENSOR_ROLES if (key := getattr(pump_set, f"{role}_id")) is not None}


def _instruments(actor: Actor, document: Mapping[str, Any]) -> list[Snapshot]:
    named = sorted(instruments_named(document))
    if not named:
        return []
    ids = [name for name in named if len(name) == 36]
    rows = permissions.visible(Instrument.objects.all(), actor)
    found = rows.filter(Q(id__in=ids) | Q(serial__in=named)).order_by("row")
    return [_plate("instruments", row) for row in found]


def instruments_named(document: Mapping[str, Any]) -> set[str]:
    """Every instrument that a document refers to, by id or serial number."""
    named = set(document.get("instruments") or ())
    for point in document.get("duty_points") or ():
        named |= set(point.get("instruments") or ())
    for verification in document.get("sensor_verifications") or ():
        if verification.get("instrument"):
            named.add(verification["instrument"])
    return named
