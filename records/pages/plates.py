"""What stands at a station, with its nameplates as they are printed in records."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from records import natural, permissions
from records.documents import shown
from records.documents.blocks import Block
from records.documents.contents import cautions, nameplates
from records.documents.contents.installed import line
from records.documents.contents.listing import section
from records.documents.contents.source import Source
from records.documents.placing import Part
from records.documents.shown import Shown
from records.models import Site
from records.pages.sheets import Section, sheet
from records.permissions import Actor
from records.services.kinds import KINDS, Kind
from records.services.register import to_plate

# In the order of reading.
_KINDS: Mapping[str, Kind] = {
    "Pump set": KINDS["pump-sets"],
    "Pump": KINDS["pumps"],
    "Motor": KINDS["motors"],
    "Drive": KINDS["drives"],
    "Sensor": KINDS["sensors"],
    "Vessel": KINDS["vessels"],
}
_COLUMNS = ("id", "tag", "in_service_from", "out_of_service_on", "plate")


@dataclass(frozen=True)
class Piece:
    """One piece of equipment; `plate` is what was entered of it."""

    id: str
    kind: str
    tag: str
    serial: str
    since: Any
    until: Any
    plate: Mapping[str, Any]
    printed: Shown

    @property
    def line(self) -> str:
        """What it is, in one line; of a pump set, what is joined in it."""
        if self.kind == "Pump set":
            return _joined(self.plate, self.printed)
        return line(self.kind, self.plate)

    @property
    def sheet(self) -> list[Section]:
        """Its nameplate as it is printed: made when it is asked for, since there may be many."""
        return sheet(_without_title(_plate(self.kind, self.plate, self.printed)), self.tag)


def pieces(actor: Actor, site: Site) -> list[Piece]:
    """Everything that stands or stood at a station, a query for each kind."""
    rows = [(name, row) for name, kind in _KINDS.items() for row in _rows(actor, kind, site)]
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


def cautions_of(site: Site, standing: Iterable[Piece]) -> list[Section]:
    """The cautions of a station and of everything that stands there."""
    printed = Shown(zone=shown.zone(site.time_zone))
    sources = [_source({"site": to_plate(KINDS["sites"], site)}, printed)]
    for piece in standing:
        name = piece.kind.lower().replace(" ", "_")
        found = {"vessels": [piece.plate]} if name == "vessel" else {name: piece.plate}
        sources.append(_source(found, printed))
    return sheet(cautions.cautions(*sources))


def _rows(actor: Actor, kind: Kind, site: Site) -> Iterable[dict[str, Any]]:
    model: Any = kind.model
    rows = permissions.visible(model.objects.filter(site=site), actor)
    found: Iterable[dict[str, Any]] = rows.order_by(*natural.order("tag"), "row").values(*_COLUMNS)
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
        plate=plate,
        printed=printed,
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
    return section(source, kind, part, _KINDS[kind].document, 3)


def _source(snapshot: Mapping[str, Any], printed: Shown) -> Source:
    return Source(Part({"snapshot": snapshot}), Part({}), printed, {})


def _without_title(blocks: list[Block]) -> list[Block]:
    return blocks[1:] if blocks and blocks[0]["kind"] == "heading" else blocks
