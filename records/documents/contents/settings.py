"""Settings of the drive: as found and as left, beside what they are held against."""

from collections.abc import Iterator, Mapping
from typing import Any

from calculations.inputs.settings import Settings
from records.documents import labels
from records.documents.blocks import Block, Column, heading, paragraph, table
from records.documents.contents.cautions import SHORT
from records.documents.contents.expected import Expected, expected
from records.documents.contents.source import Source
from records.documents.shown import Cell, is_quantity, order, text
from records.documents.texts import runs

# Where a group begins, in the order of the fields.
_GROUPS = {
    "motor_kind": "Motor data",
    "overload_current": "Protection of the motor",
    "minimum_frequency": "Frequency, ramps, restart",
    "carrier_frequency": "Output",
    "regulation": "Regulation",
    "sleep_method": "Sleep and wake",
    "signal_loss_response": "Loss of signal, limits, dry run",
    "level_reference": "Levels",
    "pump_arrangement": "Several pumps",
    "hand_speed": "In hand and from afar",
}
_OTHER = "Others"

Path = tuple[str | int, ...]


def settings(source: Source) -> list[Block]:
    """The settings with cautions before them; nothing where none were recorded."""
    pair = source.event.part("settings")
    found, left = (dict(_flat((), pair.take(name) or {})) for name in ("as_found", "as_left"))
    if not found and not left:
        return []
    return [
        heading("Settings of the drive"),
        paragraph(SHORT, "small"),
        paragraph(_reading(bool(found), bool(left)), "small"),
        table(_columns(bool(found), bool(left)), list(_rows(source, found, left))),
    ]


def _reading(found: bool, left: bool) -> str:
    if found and left:
        return "What was changed stands in bold; a dash was not recorded."
    return "" if left else "The settings were read and not changed."


def _columns(found: bool, left: bool) -> list[Column]:
    columns = [Column("Setting", fr=1.45)]
    columns += [Column("As found", "quantity", fr=0.8)] if found else []
    columns += [Column("As left", "quantity", fr=0.8)] if left else []
    return [*columns, Column("To compare", "quantity", fr=0.55), Column("which is", fr=0.65)]


def _rows(
    source: Source, found: Mapping[Path, Any], left: Mapping[Path, Any]
) -> Iterator[list[Cell] | str]:
    beside, group = expected(source), ""
    for path in ordered({**found, **left}):
        name = str(path[0])
        if group_of(name) != group:
            group = group_of(name)
            yield group
        cells: list[Cell] = [text(labels.path(path))]
        if found:
            cells.append(_cell(source, path, found))
        if left:
            changed = path in found and found[path] != left.get(path)
            cells.append(_strong(_cell(source, path, left), changed))
        held = beside.get(name) if len(path) == 1 else None
        yield [*cells, *_beside(source, name, held, left.get(path, found.get(path)))]


def ordered(paths: Mapping[Path, Any]) -> list[Path]:
    """Settings in the order of their model, unknown ones last."""
    rank = {name: index for index, name in enumerate(order(Settings))}
    return sorted(paths, key=lambda path: (rank.get(str(path[0]), len(rank)), str(path[0])))


def group_of(name: str) -> str:
    """The heading that a setting stands under."""
    names = order(Settings)
    if name not in names:
        return _OTHER
    before = [each for each in names[: names.index(name) + 1] if each in _GROUPS]
    return _GROUPS[before[-1]] if before else _OTHER


def _cell(source: Source, path: Path, values: Mapping[Path, Any]) -> Cell:
    name = next((step for step in reversed(path) if isinstance(step, str)), "")
    return source.shown.cell(name, values[path]) if path in values else None


def _strong(cell: Cell, changed: bool) -> Cell:
    return {**cell, "strong": True} if cell and changed else cell


def _beside(source: Source, name: str, beside: Expected | None, entered: Any) -> list[Cell]:
    if beside is None:
        return [{"t": ""}, {"t": ""}]
    value, origin = beside
    return [source.shown.beside(name, value, entered), {"t": runs(origin), "light": True}]


def _flat(path: Path, value: Any) -> Iterator[tuple[Path, Any]]:
    """Every single value with its path; elements of lists by number."""
    if isinstance(value, Mapping) and value and not is_quantity(value):
        for name, inner in value.items():
            yield from _flat((*path, name), inner)
    elif isinstance(value, list) and value and isinstance(value[0], Mapping):
        for index, inner in enumerate(value):
            yield from _flat((*path, index), inner)
    elif path:
        yield path, value
