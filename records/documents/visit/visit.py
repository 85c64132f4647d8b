"""What a visit sheet is made from: one pump set as it is known, and what is expected of it."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from calculations.expecting import Expectation
from calculations.judging import derived_document
from calculations.units import KINDS, Quantity
from records.documents.contents.cautions import may_shut_off
from records.documents.contents.source import Document, Source
from records.documents.shown import Cell, is_quantity, number

_OTHERWISE = {
    "pressure": "bar", "flow": "m3/h", "temperature": "degC", "length": "m", "head": "m",
    "current": "A", "voltage": "V", "velocity": "mm/s", "volume": "L",
}  # fmt: skip
# Where the station's lengths are in feet, instruments of vibration show inches too.
_BESIDE_FEET = {"velocity": "in/s"}


@dataclass(frozen=True, slots=True)
class Known:
    """What the book holds of a pump set before a visit.

    `last_read` has its counters and its insulation with the day and the state of the visit.
    """

    snapshot: Document
    contractor: Document
    client: Document
    instruments: Sequence[Document]
    last_settings: Document | None
    limits_changed: Sequence[Document]
    expectation: Expectation
    catalogue: str
    last_read: Mapping[str, Document] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Visit:
    """The same, ready to be printed."""

    known: Known
    source: Source
    printed_at: datetime
    units: Mapping[str, str]

    @classmethod
    def of(cls, known: Known, printed_at: datetime) -> "Visit":
        """Read what is known for printing."""
        source = Source.of(_as_record(known), {})
        zone = source.shown.zone
        local = printed_at.astimezone(zone) if zone else printed_at
        return cls(known, source, local, _units(known.snapshot))

    @property
    def expectation(self) -> Expectation:
        """What is expected."""
        return self.known.expectation

    def unit(self, kind: str) -> str:
        """The unit that this station is written down in, for a kind of quantity."""
        usual = _OTHERWISE | (_BESIDE_FEET if self.units.get("length") == "ft" else {})
        return self.units.get(kind, usual[kind])

    def plate(self, part: str) -> Document:
        """A piece's plate; empty where there is none."""
        return self.known.snapshot.get(part) or {}

    @property
    def has_drive(self) -> bool:
        """Whether the pump set has a drive, or shares one: an input, an output and a display."""
        pump_set = self.plate("pump_set")
        return bool(pump_set.get("drive") or pump_set.get("drive_shared_with"))

    @property
    def purposes(self) -> tuple[str, ...]:
        """Purposes of duty points; a closed valve only where no caution forbids it."""
        return (*(("shut-off",) if self.may_shut_off else ()), "minimum", "normal", "maximum")

    @property
    def may_shut_off(self) -> bool:
        """Whether the pump may be tested at a closed valve."""
        return may_shut_off(self.known.snapshot)

    def last(self, kind: str) -> tuple[Document, str]:
        """What was last read of a kind, and in words on which day; both empty where nothing was."""
        found = self.known.last_read.get(kind)
        if found is None:
            return {}, ""
        return found, f"On {self.day_of(found)}"

    def day_of(self, visit: Document) -> str:
        """The day of an earlier visit, where the station is, and whether it is a draft."""
        moment, zone = datetime.fromisoformat(str(visit["performed_at"])), self.source.shown.zone
        local = moment.astimezone(zone) if zone else moment
        return f"{local.date()}{', not sealed yet' if visit['state'] == 'draft' else ''}"

    def left(self) -> Document:
        """What the drive was last left with."""
        return ((self.known.snapshot.get("event") or {}).get("settings") or {}).get("as_left") or {}


def _as_record(known: Known) -> dict[str, Any]:
    snapshot = dict(known.snapshot)
    return {
        "event": snapshot.pop("event", {}),
        "snapshot": snapshot | {"instruments": list(known.instruments)},
        "contractor": known.contractor,
        "client": known.client,
        "judgement": {
            "catalogue": known.catalogue,
            "derived": [derived_document(value) for value in known.expectation.derived],
            "limits_changed": list(known.limits_changed),
        },
    }


def _units(snapshot: Document) -> dict[str, str]:
    """The most frequent unit of each kind: the station's own, then those of plates and settings.

    Faults (kA) and signals (mA) are not what clamp and display show.
    """
    found: dict[str, str] = {}
    for written in (snapshot.get("site"), snapshot):
        for unit, _ in Counter(_units_in(written)).most_common():
            if unit in ("kA", "mA"):
                continue
            for kind, units in KINDS.items():
                if unit in units:
                    found.setdefault(kind, unit)
    return found


def _units_in(value: Any) -> Iterator[str]:
    if is_quantity(value):
        yield str(value["unit"])
    elif isinstance(value, Mapping):
        for inner in value.values():
            yield from _units_in(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _units_in(inner)


def cell(value: Quantity | None) -> Cell:
    """The cell of a computed value."""
    return None if value is None else number(value.value, value.unit)
