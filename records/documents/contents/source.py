"""What a document is made from: a record, its seal, and how their values are printed."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from pydantic import BaseModel

from calculations.findings import SEVERITIES
from calculations.inputs.reading import pointer
from records.document_style import Units
from records.documents import labels, shown
from records.documents.charts.beside import NOTHING, Beside, Plotted
from records.documents.placing import Part
from records.documents.shown import Cell, Shown
from records.documents.unit_systems import habit

Document = Mapping[str, Any]
MISSING = "record.missing"
PLACES_BY_TAG = ("sensors", "vessels", "instruments", "neighbours")


@dataclass(frozen=True, slots=True)
class Source:
    """One record to be printed, with what has been placed of it."""

    record: Part
    seal: Part
    shown: Shown
    places: Mapping[str, str]
    plotted: Plotted = field(default_factory=lambda: Plotted({}, NOTHING))

    @classmethod
    def of(
        cls, record: Document, seal: Document, units: Units = "entered", beside: Beside = NOTHING
    ) -> "Source":
        """Read a record and its seal for printing in a system of units.

        `beside` is what its figures need as well.
        """
        snapshot = record.get("snapshot") or {}
        site = snapshot.get("site") or {}
        zone = shown.zone(site.get("time_zone"))
        printed = Shown(zone=zone, names=_names(record), units=units)
        places, plotted = _places(record), Plotted(record, beside)
        return cls(Part(record), Part(seal), printed, places, plotted)

    @property
    def event(self) -> Part:
        """The event's document."""
        return self.record.part("event")

    @property
    def snapshot(self) -> Part:
        """The nameplates that the event was judged against."""
        return self.record.part("snapshot")

    @property
    def judgement(self) -> Part:
        """What the catalogue said."""
        return self.record.part("judgement")

    @property
    def for_limits(self) -> Shown:
        """How the catalogue's own values are printed: nobody entered them.

        In the system of the station's own, where the document keeps to what was entered.
        """
        if self.shown.units != "entered":
            return self.shown
        return replace(self.shown, units=habit(self.snapshot.see("site")))

    def place(self, at: str) -> str:
        """A place in what was judged, in words."""
        return labels.place(at, self.places)

    def cells(self, named: Iterable[tuple[str, Any]]) -> list[tuple[str, Cell]]:
        """Labels with cells, ready for a block of pairs; objects are taken apart."""
        return [
            (labels.path(path), self.shown.cell(path[-1], value))
            for name, given in named
            for path, value in _flat((name,), given)
        ]

    def rest(self, part: Part, model: type[BaseModel] | None = None) -> list[tuple[str, Cell]]:
        """Everything of a part that has no place yet, as labels with cells."""
        return self.cells(part.rest(shown.order(model) if model else ()))

    def derived(self, subject: str) -> list[Document]:
        """The derived values of one subject."""
        listed = self.judgement.see("derived") or []
        return [each for each in listed if each.get("subject") == subject]

    def derived_value(self, identity: str) -> Document | None:
        """The first derived value of this id."""
        listed = self.judgement.see("derived") or []
        return next((each for each in listed if each.get("id") == identity), None)


def _flat(path: tuple[str, ...], value: Any) -> Iterator[tuple[tuple[str, ...], Any]]:
    """Leaves of nested objects; lists stay whole."""
    if isinstance(value, Mapping) and value and not shown.is_quantity(value):
        for name, inner in value.items():
            yield from _flat((*path, name), inner)
    else:
        yield path, value


def _names(record: Document) -> dict[str, str]:
    """What people call the pieces that documents name by id."""
    snapshot = record.get("snapshot") or {}
    listed = [snapshot.get(name) for name in ("pump_set", "pump", "motor", "drive")]
    listed += [piece for name in PLACES_BY_TAG for piece in snapshot.get(name) or ()]
    listed += [part for near in snapshot.get("neighbours") or () for part in near.values()]
    listed += list((record.get("event") or {}).get("traces") or ())
    pieces = [piece for piece in listed if isinstance(piece, Mapping) and piece.get("id")]
    names = {piece["id"]: name for piece in pieces if (name := called(piece))}
    site = snapshot.get("site") or {}
    if site.get("id") and site.get("name"):
        names[site["id"]] = site["name"]
    parties = [record.get("contractor") or {}, record.get("client") or {}]
    return names | {p["id"]: p["name"] for p in parties if p.get("id") and p.get("name")}


def called(piece: Document) -> str:
    """A piece's tag, or its serial number, or its name."""
    inner = piece.get("pump_set")
    if isinstance(inner, Mapping):
        return called(inner)
    return str(piece.get("tag") or piece.get("serial") or piece.get("name") or "")


def _places(record: Document) -> dict[str, str]:
    """What the elements of lists are called: by tag, by purpose, by the number on paper."""
    snapshot, event = record.get("snapshot") or {}, record.get("event") or {}
    places = {
        root + pointer(name, index): called(piece)
        for root in ("", "/snapshot")
        for name in PLACES_BY_TAG
        for index, piece in enumerate(snapshot.get(name) or ())
    }
    for index, point in enumerate(event.get("duty_points") or ()):
        purpose = labels.word(str(point.get("purpose") or ""))
        name = f"{index + 1} ({purpose})" if purpose else str(index + 1)
        places[pointer("event", "duty_points", index)] = name
    findings = (record.get("judgement") or {}).get("findings") or ()
    order = sorted(range(len(findings)), key=lambda index: seriousness(findings[index]))
    places |= {pointer("judgement", "findings", at): str(i + 1) for i, at in enumerate(order)}
    return {place: name for place, name in places.items() if name}


def is_missing(finding: Document) -> bool:
    """Whether a finding only says what the record does not hold."""
    return finding.get("rule") == MISSING


def seriousness(finding: Document) -> tuple[bool, int]:
    """Rank of a finding among others: stops first, and last what the record does not hold."""
    severity = finding.get("severity")
    rank = SEVERITIES.index(severity) if severity in SEVERITIES else len(SEVERITIES)
    return is_missing(finding), rank


def compact(words: Sequence[str], between: str = ", ") -> str:
    """The words that are there, joined."""
    return between.join(word for word in words if word)
