"""What stands at a station, with its nameplates as they are printed in records."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from calculations.inputs.drive import Drive as DriveInput
from calculations.inputs.pump_set import PumpSet as PumpSetInput
from calculations.inputs.sensor import Sensor as SensorInput
from calculations.inputs.sensor import Vessel as VesselInput
from records import permissions
from records.documents import shown
from records.documents.blocks import Block
from records.documents.contents import nameplates
from records.documents.contents.installed import line
from records.documents.contents.listing import section
from records.documents.contents.source import Source
from records.documents.placing import Part
from records.documents.shown import Shown
from records.models import Drive, Motor, Pump, PumpSet, Sensor, Site, Vessel
from records.pages.sheets import Section, sheet
from records.permissions import Actor
from records.services.kinds import KINDS
from records.services.register import to_plate

_MODELS: Mapping[str, Any] = {
    "Pump set": PumpSet,
    "Pump": Pump,
    "Motor": Motor,
    "Drive": Drive,
    "Sensor": Sensor,
    "Vessel": Vessel,
}
_COLUMNS = ("id", "tag", "in_service_from", "out_of_service_on", "plate")


@dataclass(frozen=True)
class Piece:
    """One piece of equipment; `sheet` is its nameplate."""

    id: str
    kind: str
    tag: str
    serial: str
    since: Any
    until: Any
    line: str
    sheet: list[Section]


def pieces(actor: Actor, site: Site) -> list[Piece]:
    """Everything that stands or stood at a station, a query for each kind."""
    rows = [(kind, row) for kind, model in _MODELS.items() for row in _rows(actor, model, site)]
    names = {str(row["id"]): row["tag"] for _, row in rows}
    printed = Shown(zone=shown.zone(site.time_zone), names=names | {str(site.id): site.name})
    return [_piece(kind, row, printed) for kind, row in rows]


def of_site(site: Site) -> list[Section]:
    """What the register says of the station itself."""
    plate = to_plate(KINDS["sites"], site)
    printed = Shown(zone=shown.zone(site.time_zone))
    source = _source({"site": plate}, printed)
    known = source.snapshot.part("site")
    for named_above in ("client", "contractor", "code", "name", "kind"):
        known.take(named_above)
    return sheet(_without_title(nameplates.site(source, known)))


def _rows(actor: Actor, model: Any, site: Site) -> Iterable[dict[str, Any]]:
    rows = permissions.visible(model.objects.filter(site=site), actor)
    found: Iterable[dict[str, Any]] = rows.order_by("tag", "row").values(*_COLUMNS)
    return found


def _piece(kind: str, row: Mapping[str, Any], printed: Shown) -> Piece:
    plate = row["plate"]
    return Piece(
        id=str(row["id"]),
        kind=kind,
        tag=row["tag"],
        serial=plate.get("serial") or "",
        since=row["in_service_from"],
        until=row["out_of_service_on"],
        line=_joined(plate, printed) if kind == "Pump set" else line(kind, plate),
        sheet=sheet(_without_title(_plate(kind, plate, printed))),
    )


def _joined(plate: Mapping[str, Any], printed: Shown) -> str:
    parts = [printed.words(name, plate[name]) for name in ("pump", "motor") if plate.get(name)]
    drive = plate.get("drive")
    parts.append(f"drive {printed.words('drive', drive)}" if drive else "at fixed speed")
    return ", ".join(parts)


def _plate(kind: str, plate: Mapping[str, Any], printed: Shown) -> list[Block]:
    source = _source({"piece": plate}, printed)
    part = source.snapshot.part("piece")
    if kind == "Pump":
        return nameplates.pump(source, part)
    if kind == "Motor":
        return nameplates.motor(source, part)
    return section(source, kind, part, _PLATES[kind], 3)


_PLATES: Mapping[str, Any] = {
    "Pump set": PumpSetInput,
    "Drive": DriveInput,
    "Sensor": SensorInput,
    "Vessel": VesselInput,
}


def _source(snapshot: Mapping[str, Any], printed: Shown) -> Source:
    return Source(Part({"snapshot": snapshot}), Part({}), printed, {})


def _without_title(blocks: list[Block]) -> list[Block]:
    return blocks[1:] if blocks and blocks[0]["kind"] == "heading" else blocks
