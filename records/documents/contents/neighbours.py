"""Pump sets on the same header or in the same group: said by how they differ from this one."""

from collections.abc import Mapping
from typing import Any

from pydantic import BaseModel

from calculations.inputs.drive import Drive
from calculations.inputs.motor import Motor
from calculations.inputs.pump import Pump
from calculations.inputs.pump_set import PumpSet
from calculations.inputs.settings import Settings
from records.documents import labels
from records.documents.blocks import Block, heading, pairs, paragraph
from records.documents.contents.duty_points import points_of_neighbour
from records.documents.contents.source import Document, Source, called
from records.documents.placing import IDENTIFIERS, Part
from records.documents.shown import Cell, order

_MODELS: dict[str, type[BaseModel]] = {
    "pump_set": PumpSet,
    "pump": Pump,
    "motor": Motor,
    "drive": Drive,
    "settings": Settings,
}


def neighbours(source: Source) -> list[Block]:
    """A section for every neighbour."""
    own = _own(source)
    return [
        block
        for part in source.snapshot.parts("neighbours")
        for block in _neighbour(source, part, own)
    ]


def _own(source: Source) -> dict[str, Document]:
    """This pump set's plates, and what its drive was left with."""
    plates = {name: source.snapshot.see(name) or {} for name in _MODELS}
    pair = source.event.see("settings") or {}
    return plates | {"settings": pair.get("as_left") or pair.get("as_found") or {}}


def _neighbour(source: Source, part: Part, own: Mapping[str, Document]) -> list[Block]:
    rows: list[tuple[str, Cell]] = []
    for name in _MODELS:
        rows += _different(source, name, part.part(name), own[name])
    measured = points_of_neighbour(source, part)
    if measured:
        measured = [heading(f"Duty points of {called(part.value)}", 3), *measured]
    rows += source.rest(part)
    title = f"Neighbour {called(part.value)}"
    words = f"Where nothing else is said, it is recorded as {called(own['pump_set'])} is."
    return [heading(title, 3), paragraph(words, "small"), pairs(rows), *measured]


def _different(source: Source, name: str, part: Part, own: Document) -> list[tuple[str, Cell]]:
    """What a neighbour's plate says otherwise, and what it does not say."""
    rest = part.rest(order(_MODELS[name]))
    if not rest:
        return []
    rows: list[tuple[str, Any]] = [(n, value) for n, value in rest if own.get(n, ...) != value]
    absent = own.keys() - part.value.keys() - set(IDENTIFIERS)
    rows += [(n, None) for n in order(_MODELS[name]) if n in absent]
    return [(labels.path([name, n]), source.shown.cell(n, value)) for n, value in rows]
