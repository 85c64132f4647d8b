"""Settings and values to expect, beside blanks for what is found, left and measured."""

from collections.abc import Iterator
from typing import Any

from calculations.catalogue import VALUES
from calculations.findings import Derived
from calculations.inputs.settings import Settings
from records.documents import labels
from records.documents.blocks import Block, Column, heading, paragraph, table
from records.documents.contents.cautions import SHORT
from records.documents.contents.expected import Expected, expected
from records.documents.contents.settings import group_of
from records.documents.contents.source import compact
from records.documents.shown import Cell, is_quantity, number, order, quantity, text
from records.documents.texts import runs
from records.documents.visit.forms import blank, form
from records.documents.visit.visit import Visit, cell

TITLES = {value.id: labels.with_units(value.title) for value in VALUES}
# What can be read on the day; the rest is for reference, or told with the sensor's own points.
READ_ON_SITE = {value.id for value in VALUES if value.read_on_site}
# A drive that regulates usually has these too, and one that keeps a pressure the second ones.
USUAL = {"input_selector", "proportional_gain", "integral_time", "sleep_frequency", "sleep_delay",
         "wake_value", "wake_basis"}  # fmt: skip
ON_PRESSURE = {"low_suction_limit", "low_suction_limit_response", "high_discharge_limit",
               "high_discharge_limit_response"}  # fmt: skip


def settings(visit: Visit) -> list[Block]:
    """What a start-up writes down, what was last left, and what it is held against."""
    if not visit.has_drive:
        return []
    columns = [
        Column("Setting", fr=1.3), Column("Expected", "quantity", fr=0.75),
        Column("which is", fr=0.62), Column("Last left", "quantity", fr=0.75),
        Column("As found", fr=0.72), Column("As left", fr=0.72),
    ]  # fmt: skip
    return [
        heading("Settings of the drive"),
        paragraph(SHORT, "small"),
        paragraph("Write down what is found before anything is changed. An empty box under as "
                  "left means: as found.", "small"),
        form(columns, list(_rows(visit))),
    ]  # fmt: skip


def _rows(visit: Visit) -> Iterator[list[Cell] | str]:
    beside, left, group = expected(visit.source), visit.left(), ""
    for name in _names(visit, beside):
        if group_of(name) != group:
            group = group_of(name)
            yield group
        yield _row(visit, name, beside.get(name), left.get(name))


def _names(visit: Visit, beside: dict[str, Expected]) -> list[str]:
    """Settings that a start-up needs, that were set before, or that something is known of."""
    known = {*visit.expectation.settings, *visit.left(), *beside}
    if "set_point" in known:
        known |= USUAL if _on_level(visit) else USUAL | ON_PRESSURE
    return [name for name in order(Settings) if name in known]


def _on_level(visit: Visit) -> bool:
    return visit.plate("site").get("kind") == "lift_station"


def _row(visit: Visit, name: str, beside: Expected | None, left: Any) -> list[Cell]:
    value, origin = beside or (None, "")
    hint = next((unit_of(each) for each in (left, value) if unit_of(each)), "")
    return [
        text(labels.label(name)),
        visit.source.shown.beside(name, value, left) or {"t": ""},
        {"t": runs(origin), "light": True},
        visit.source.shown.cell(name, left) or {"t": ""},
        blank(hint),
        blank(hint),
    ]


def unit_of(value: Any) -> str:
    """The unit of a quantity; nothing for whatever else."""
    return str(value["unit"]) if is_quantity(value) else ""


# -- values -------------------------------------------------------------------------------------


def values(visit: Visit) -> list[Block]:
    """Values that can be read on the day, with room for what was read."""
    found = [value for value in visit.expectation.derived if value.id in READ_ON_SITE]
    if not found:
        return []
    columns = [Column("Value", fr=2.4), Column("Expected", "quantity", fr=0.8),
               Column("Measured", fr=0.8), Column("Instrument", fr=0.8)]  # fmt: skip
    rows = [
        [_name(visit, value), number(value.shown.value, value.shown.unit),
         blank(value.shown.unit), blank()]
        for value in found
    ]  # fmt: skip
    return [heading("Values to expect"), form(columns, rows)]


def _name(visit: Visit, value: Derived) -> Cell:
    """The value's name and, where there are several pieces of a kind, whose it is."""
    words = TITLES.get(value.id) or labels.dotted(value.id)
    several = value.subject.rsplit("/", 1)[-1].isdigit() and value.id.startswith("vessel.")
    note = {"note": runs(visit.source.place(value.subject))} if several else {}
    if value.id.startswith("pressure.shut-off"):
        over = visit.expectation.overloads(value.si)
        note = {"note": runs(f"{_where_read(visit)}{f'; {_stays_open(over)}' if over else ''}")}
    return {**(text(words) or {}), **note}


def points(visit: Visit) -> list[Block]:
    """What to expect at several frequencies, a line to write in under each."""
    found = visit.expectation.points
    if not found:
        return []
    closed, amount = visit.may_shut_off, 3 if visit.has_drive else 1
    read = (("current", "Motor current"), ("output-voltage", "Output voltage"),
            ("input-current", "Input current"))[:amount]  # fmt: skip
    columns = [Column("", mm=17), Column("Frequency", "number", fr=1),
               Column("Flow", "number", fr=1), Column("Head", "number", fr=1),
               *([Column("Valve closed", "number", fr=1.1)] if closed else []),
               *(Column(words, "number", fr=1.1) for _, words in read)]  # fmt: skip
    rows: list[list[Cell]] = []
    for point in found:
        shown = {value.id: number(value.shown.value, value.shown.unit) for value in point.values}
        rows.append([
            text("expected"), cell(point.frequency), cell(point.flow),
            shown.get("duty.curve-head"), *([cell(point.shut_off)] if closed else []),
            *(shown.get(f"duty.expected-{name}") for name, _ in read),
        ])  # fmt: skip
        rows.append([text("read"), *(blank() for _ in columns[1:])])
    words = "This pump alone on the system at the highest lift."
    if closed:
        words += (f" Valve closed: pressure {_where_read(visit)}, at the highest suction; seconds "
                  "only.")  # fmt: skip
    title = "At the drive's frequencies" if visit.has_drive else "At the supply's frequency"
    blocks = [heading(title), paragraph(words, "small")]
    return [*blocks, *_kept_open(visit), form(columns, rows)]


def _kept_open(visit: Visit) -> Iterator[Block]:
    """From which frequency on no valve may be closed, whatever pressure is told for it."""
    for point in visit.expectation.points:
        over = visit.expectation.overloads(point.shut_off.si) if point.shut_off else ""
        if over:
            at = quantity({"value": point.frequency.value, "unit": point.frequency.unit})
            yield paragraph(f"At {at} and above {_stays_open(over)}.")
            return


def _stays_open(over: str) -> str:
    return f"never close the valve: the pressure would be more than is permitted for {over}"


def _where_read(visit: Visit) -> str:
    """The height that pressures at a closed valve are told at."""
    at_sensor = visit.expectation.at_sensor
    return "at the regulating sensor" if at_sensor else "at the height of the station's datum"


def lacking(visit: Visit) -> list[Block]:
    """Values that could not be computed, and what to bring home for them."""
    found = visit.expectation.lacking
    if not found:
        return []
    columns = [Column("Value", fr=1), Column("Needs", fr=1.6)]
    rows = [[text(TITLES.get(each.id) or labels.dotted(each.id)), text(_needs(visit, each))]
            for each in found]  # fmt: skip
    return [
        heading("What is missing"),
        paragraph("With these the values beside them can be computed too.", "small"),
        table(columns, rows, small=True),
    ]


def _needs(visit: Visit, each: Any) -> str:
    waits = f"waits for {each.waits_for} to be put right" if each.waits_for else ""
    needs = "; ".join(visit.source.place(place) for place in each.needs)
    return compact([needs, waits, each.because], "; ")
