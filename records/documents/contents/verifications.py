"""Sensors against a reference: what was applied, what came, and the error in % of span."""

from collections.abc import Sequence
from typing import Any

from calculations import signals
from calculations.errors import CalculationError
from calculations.inputs.readings import SensorVerification, VerificationPoint
from calculations.units import to_si
from records.documents import labels
from records.documents.blocks import Block, Column, heading, pairs, paragraph, table
from records.documents.contents import figures
from records.documents.contents.expected import sensor_named
from records.documents.contents.listing import derived_lines
from records.documents.contents.source import Document, Source
from records.documents.placing import Part
from records.documents.shown import Cell, number, order

_STATES = {"as_found": "As found", "as_left": "As left"}
_AS_APPLIED = (
    "Errors are those of the values as they were applied and read: the height of the reference, "
    "and a scale that is shifted for the height of the tapping, are in them."
)


def verifications(source: Source) -> list[Block]:
    """A section for every sensor that was verified."""
    parts = source.event.parts("sensor_verifications")
    blocks = [block for part in parts for block in _verification(source, part)]
    if not blocks:
        return []
    return [heading("Sensor verifications"), paragraph(_AS_APPLIED, "small"), *blocks]


def _verification(source: Source, part: Part) -> list[Block]:
    named = part.see("sensor")
    sensor = sensor_named(source.snapshot.value, named) or {}
    title = f"{source.shown.words('sensor', part.take('sensor'))} {_range(source, sensor)}"
    tables = _points(source, part, sensor)
    rows = source.rest(part, SensorVerification)
    rows += [
        (label, source.shown.cell(name, values[0]))
        for label, name, values in derived_lines(source, [part])
    ]
    if sensor.get("tolerance_percent_of_span"):
        rows.append(
            ("Tolerance, of span", source.shown.cell("", sensor["tolerance_percent_of_span"]))
        )
    return [heading(title, 3), pairs(rows), *tables, *figures.errors(source, part)]


def _range(source: Source, sensor: Document) -> str:
    low, high = sensor.get("lower_range_value"), sensor.get("upper_range_value")
    if not low or not high:
        return ""
    ends = [source.shown.words("", end) for end in (low, high)]
    return f"({ends[0]} to {ends[1]}, {sensor.get('output', '')})"


def _points(source: Source, part: Part, sensor: Document) -> list[Block]:
    """One table of points, as found and as left under each other."""
    states = {state: part.parts(state) for state in _STATES}
    taken = {state: [_taken(point) for point in points] for state, points in states.items()}
    names = _names([values for listed in taken.values() for values in listed])
    if not names:
        return []
    rows: list[list[Cell] | str] = []
    for state, points in taken.items():
        rows += [_STATES[state]] if points and states["as_left"] else []
        rows += [_row(source, names, values, sensor) for values in points]
    return [table([*(_column(name) for name in names), *_ERRORS], rows)]


def _taken(point: Part) -> dict[str, Any]:
    return dict(point.rest(order(VerificationPoint)))


def _names(points: Sequence[Document]) -> list[str]:
    found = {name: None for point in points for name in point}
    known = [name for name in order(VerificationPoint) if name in found]
    return known + [name for name in found if name not in known]


def _column(name: str) -> Column:
    number_like = name in ("applied", "signal", "indicated")
    return Column(labels.label(name), "number" if number_like else "text", fr=1)


_ERRORS = (
    Column("Signal error", "number", fr=1.3),
    Column("Indication error", "number", fr=1.5),
)
PERCENT_OF_SPAN = "% span"


def _row(source: Source, names: Sequence[str], point: Document, sensor: Document) -> list[Cell]:
    cells = [source.shown.cell(name, point.get(name)) for name in names]
    return [
        *cells,
        _percent(signal_error(point, sensor)),
        _percent(indication_error(point, sensor)),
    ]


def _percent(error: float | None) -> Cell:
    if error is None:
        return None
    digits = f"{100 * error:+.2f}"
    return number(digits.replace("+0.00", "0.00").replace("-0.00", "0.00"), PERCENT_OF_SPAN)


def signal_error(point: Document, sensor: Document) -> float | None:
    """Signal against applied value, as a share of span."""
    applied, signal = _fraction(point.get("applied"), sensor), point.get("signal")
    output = sensor.get("output")
    if applied is None or not signal or not output:
        return None
    try:
        shown = signals.fraction_from_signal(
            kind=str(output), signal=to_si(float(signal["value"]), signal["unit"])
        )
    except (CalculationError, ValueError):
        return None
    return shown - applied


def indication_error(point: Document, sensor: Document) -> float | None:
    """Indicated against applied value, as a share of span."""
    applied, indicated = (
        _fraction(point.get("applied"), sensor),
        _fraction(point.get("indicated"), sensor),
    )
    return None if applied is None or indicated is None else indicated - applied


def _fraction(value: Document | None, sensor: Document) -> float | None:
    """A value as a share of the sensor's span; a value in % is one already."""
    low, high = sensor.get("lower_range_value"), sensor.get("upper_range_value")
    if not value or not low or not high:
        return None
    if value["unit"] == "%" and low["unit"] != "%":
        return float(value["value"]) / 100
    try:
        bottom, top, here = (to_si(float(q["value"]), q["unit"]) for q in (low, high, value))
    except (CalculationError, ValueError):
        return None
    return (here - bottom) / (top - bottom) if top != bottom else None
