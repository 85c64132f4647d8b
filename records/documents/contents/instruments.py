"""Test instruments: one row each, with range, accuracy and calibration."""

from calculations.inputs.sensor import Instrument
from records.documents import labels
from records.documents.blocks import Block, Column, heading, table
from records.documents.contents.source import Source, compact
from records.documents.placing import Part
from records.documents.shown import Cell, is_quantity, order, quantity, text

_COLUMNS = (
    Column("Serial", fr=0.8),
    Column("Kind", fr=1.2),
    Column("Range", fr=1.2),
    Column("Accuracy", fr=1.9),
    Column("Calibrated", fr=0.85),
    Column("Due", fr=0.85),
)
_ACCURACY = {
    "percent_of_range": "{} of range",
    "percent_of_reading": "{} of reading",
    "digits": "{} digits",
    "resolution": "resolution {}",
    "uncertainty": "uncertainty {}",
    "coverage_factor": "k = {}",
}


def instruments(source: Source) -> list[Block]:
    """What the readings were taken with."""
    rows = [_row(source, part) for part in source.snapshot.parts("instruments")]
    return [heading("Instruments", 3), table(_COLUMNS, rows)] if rows else []


def _row(source: Source, part: Part) -> list[Cell]:
    words = source.shown.words
    organization = part.take("organization")
    others = organization not in (None, source.record.part("contractor").see("id"))
    kind = [words("kind", part.take("kind"))]
    ends = [_quantity(part.take(name)) for name in ("range_low", "range_high")]
    accuracy = [_accuracy(name, part.take(name)) for name in _ACCURACY if part.see(name)]
    named = ["serial", "calibrated_on", "due_on"]
    serial, calibrated, due = (text(words(name, part.take(name))) for name in named)
    kind += [f"of {words('organization', organization)}"] if others else []
    kind += [f"{labels.label(n)}: {words(n, v)}" for n, v in part.rest(order(Instrument))]
    return [serial, text(compact(kind)), text(compact(ends, " to ")), text(compact(accuracy)),
            calibrated, due]  # fmt: skip


def _accuracy(name: str, value: object) -> str:
    return _ACCURACY[name].format(_quantity(value))


def _quantity(value: object) -> str:
    return quantity(value) if is_quantity(value) else str(value or "")  # type: ignore[arg-type]
