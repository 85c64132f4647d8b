"""What was installed, in one line for every piece; the full plates are in the annex."""

from collections.abc import Callable, Mapping
from typing import Any

from records.documents import labels
from records.documents.blocks import Block, Column, heading, table
from records.documents.contents.source import Document, Source, compact
from records.documents.shown import DASH, Cell, quantity, text


def installed(source: Source) -> list[Block]:
    """One line for every piece; the full plates are in the annex."""
    snapshot = source.snapshot
    rows = [
        *(_piece(kind, snapshot.see(kind.lower())) for kind in ("Pump", "Motor", "Drive")),
        *(_piece("Sensor", each) for each in snapshot.see("sensors") or []),
        *(_piece("Vessel", each) for each in snapshot.see("vessels") or []),
    ]
    columns = [Column("Piece", mm=18), Column("Tag", mm=22), Column("Serial number", mm=32),
               Column("On the plate", fr=1)]  # fmt: skip
    found = [row for row in rows if row]
    return [heading("Installed"), table(columns, found)] if found else []


def _piece(kind: str, plate: Any) -> list[Cell] | None:
    if not isinstance(plate, Mapping):
        return None
    named = [str(plate.get("tag") or DASH), str(plate.get("serial") or DASH)]
    return [text(kind), *map(text, named), text(line(kind, plate))]


def _of(plate: Document, *names: str) -> str:
    """Values of a plate in one line."""
    found = (plate.get(name) for name in names)
    return compact([_plain(value) for value in found if value is not None])


def _plain(value: Any) -> str:
    return quantity(value) if isinstance(value, Mapping) else labels.word(str(value))


def _pump(plate: Document) -> str:
    duty = compact([_of(plate, "rated_flow"), _of(plate, "rated_head")], " at ")
    return compact([_of(plate, "type"), duty, _of(plate, "rated_speed")])


def rating_in_use(motor: Document) -> Document:
    """The line of the plate that the motor is linked for."""
    ratings = motor.get("ratings") or []
    index = motor.get("rating_in_use", 0 if len(ratings) == 1 else None)
    return ratings[index] if isinstance(index, int) and index < len(ratings) else {}


def _motor(plate: Document) -> str:
    rating = rating_in_use(plate)
    used = _of(rating, "power", "voltage", "current", "frequency", "speed")
    return compact([_of(plate, "kind"), used])


def _drive(plate: Document) -> str:
    currents = {duty: _of(plate, f"rated_current_{duty}_duty") for duty in ("normal", "heavy")}
    current = compact([f"{amps} {duty} duty" for duty, amps in currents.items() if amps])
    volts = compact([_of(plate, "input_voltage_min"), _of(plate, "input_voltage_max")], " to ")
    return compact([_of(plate, "rated_power"), current, f"input {volts}" if volts else "",
                    f"firmware {plate['firmware']}" if plate.get("firmware") else ""])  # fmt: skip


def _sensor(plate: Document) -> str:
    span = compact([_of(plate, "lower_range_value"), _of(plate, "upper_range_value")], " to ")
    return compact([_of(plate, "quantity"), span, _of(plate, "output", "location")])


def _vessel(plate: Document) -> str:
    return _of(plate, "kind", "volume", "location")


_LINES: Mapping[str, Callable[[Document], str]] = {
    "Pump": _pump,
    "Motor": _motor,
    "Drive": _drive,
    "Sensor": _sensor,
    "Vessel": _vessel,
}


def line(kind: str, plate: Document) -> str:
    """The most important of a plate in one line; nothing for what has no plate."""
    return _LINES[kind](plate) if kind in _LINES else ""
