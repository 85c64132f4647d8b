"""Everything that a technician takes along to a station, in one document."""

from typing import Any
from uuid import UUID

from django.utils import timezone

from calculations import expecting
from calculations.catalogue import RULES, VERSION
from calculations.expecting import Expectation, Lacking, Point
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.judging import derived_document
from calculations.units import Quantity
from records import natural, permissions
from records.documents.contents import cautions
from records.documents.contents.expected import expected
from records.documents.visit.visit import Known, Visit
from records.errors import Conflict, NotFound
from records.models import Instrument, PumpSet, Sensor, Site, Vessel
from records.permissions import Actor
from records.selectors import bases, catalogue, rule_settings, subjects
from records.selectors.last_read import last_read
from records.selectors.subjects import Snapshot
from records.services.kinds import KINDS
from records.services.register import to_plate

Document = dict[str, Any]


def visit_pack(actor: Actor, identity: UUID) -> Document:
    """The pack of one station; the number of queries does not depend on what stands there."""
    permissions.require(actor, "visits.prepare")
    site = permissions.visible(Site.objects.filter(id=identity), actor).first()
    if site is None:
        raise NotFound()
    changed = rule_settings.changes(rule_settings.in_force(actor, site.client_id))
    plate, sets = to_plate(KINDS["sites"], site), subjects.snapshots(actor, site)
    first = bases.first_records(actor, site)
    vessels = _in_service(actor, Vessel.objects.filter(site=site))
    standing = ({"site": plate, "vessels": vessels}, *(snapshot for snapshot, _ in sets))
    return {
        "catalogue": VERSION,
        "cautions": cautions.concerning(*standing),
        "deference": cautions.DEFERENCE,
        "site": plate,
        "pump_sets": [_pump_set(*each, changed, first) for each in sorted(sets, key=_by_tag)],
        "sensors": _in_service(actor, Sensor.objects.filter(site=site)),
        "vessels": vessels,
        "instruments": _instruments(actor),
        "rules": [catalogue.rule_document(each, catalogue.by_limit(changed)) for each in RULES],
        "limits_changed": changed,
    }


def _by_tag(standing: tuple[Snapshot, Any]) -> tuple[str, str]:
    snapshot, _ = standing
    return natural.place(snapshot["pump_set"]["tag"])


def known_before_a_visit(actor: Actor, identity: UUID) -> tuple[PumpSet, Known]:
    """What a visit sheet of one pump set is made from; it must be in service."""
    permissions.require(actor, "visits.prepare")
    rows = permissions.visible(PumpSet.objects.filter(id=identity), actor)
    row = rows.select_related("site__client", "site__contractor").first()
    if row is None:
        raise NotFound()
    site = row.site
    standing = {each["pump_set"]["id"]: (each, visit)
                for each, visit in subjects.snapshots(actor, site)}  # fmt: skip
    if str(row.id) not in standing:
        raise Conflict("the pump set is out of service: there is nothing to visit")
    snapshot, last = standing[str(row.id)]
    changed = rule_settings.changes(rule_settings.in_force(actor, site.client_id))
    known = Known(
        snapshot=snapshot,
        contractor={"id": str(site.contractor.id), "name": site.contractor.name},
        client={"id": str(site.client.id), "name": site.client.name},
        instruments=_in_service(actor, Instrument.objects.all(), "serial"),
        last_settings=last,
        limits_changed=changed,
        expectation=_expected(snapshot, changed),
        catalogue=VERSION,
        last_read=last_read(actor, row.row, snapshot),
    )
    return row, known


def _in_service(actor: Actor, rows: Any, order: str = "tag") -> list[Document]:
    found = permissions.visible(rows.filter(out_of_service_on=None), actor).order_by(order, "row")
    return [{"id": str(row["id"]), **row["plate"]} for row in found.values("id", "plate")]


def _instruments(actor: Actor) -> list[Document]:
    """Instruments as a snapshot has them: a device signs over what the service judges by."""
    whose = {"organization": str(actor.organization_id)}
    return [whose | each for each in _in_service(actor, Instrument.objects.all(), "serial")]


def _pump_set(
    snapshot: Snapshot, last: Document | None, changed: list[Document], first: Document
) -> Document:
    parts = {part: snapshot.get(part) for part in ("pump_set", "pump", "motor", "drive")}
    expectation = _expected(snapshot, changed)
    known = Known(snapshot, {}, {}, (), last, changed, expectation, VERSION)
    visit = Visit.of(known, timezone.now())
    return {
        **parts,
        "cautions": cautions.concerning(snapshot),
        "sensors": [each["id"] for each in snapshot["sensors"]],
        "neighbours": [each["pump_set"]["id"] for each in snapshot["neighbours"]],
        "last_settings": last,
        "first_record": first.get(snapshot["pump_set"]["id"]),
        "units": dict(visit.units),
        "expected": expectation_document(expectation) | {"beside": _beside(visit)},
    }


def _beside(visit: Visit) -> Document:
    """What each setting is held against: plate, transmitter, or a value that follows."""
    found = expected(visit.source).items()
    return {name: {"value": value, "which": which} for name, (value, which) in found}


def _expected(snapshot: Snapshot, changed: list[Document]) -> Expectation:
    """Values to expect of a pump set, by the limits that apply."""
    return expecting.expect(read(Subject, snapshot), rule_settings.in_si(changed))


def expectation_document(found: Expectation) -> Document:
    """What is expected, as it stands in documents."""
    return {
        "derived": [derived_document(value) for value in found.derived],
        "points": [_point(point) for point in found.points],
        "lacking": [_lacking(each) for each in found.lacking],
    }


def _point(point: Point) -> Document:
    return {
        "frequency": point.frequency.as_document(),
        "flow": _amount(point.flow),
        "shut_off_pressure": _amount(point.shut_off),
        "values": [
            {"id": value.id, **value.shown.as_document(), "formula": value.formula,
             "source": value.source}
            for value in point.values
        ],
    }  # fmt: skip


def _amount(value: Quantity | None) -> Any:
    return None if value is None else value.as_document()


def _lacking(each: Lacking) -> Document:
    return {
        "id": each.id,
        "subject": each.subject,
        "needs": list(each.needs),
        "waits_for": each.waits_for or None,
        "because": each.because or None,
    }
