"""The workbook that an office fills in: a sheet a kind, headings in words with their unit.

Made of the declarations that rows are checked by, so that it never says anything else.
"""

import io
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from typing import Any

import xlsxwriter

from records.document_style import Units
from records.documents import labels
from records.documents.columns import Column, choices, expected
from records.documents.tables import TITLES, columns_of

NAME = "stations-and-equipment.xlsx"
EXPLAINED = "What the columns mean"
MARK = "EXAMPLE – this row is skipped"
# What most plates have room for; further points and ratings have the same headings, counted on.
_ROOM: Mapping[str, int] = {"ratings": 2, "curve_points": 6, "system_curve_points": 3}
_WIDE = 14
_MADE = datetime(2026, 1, 1, tzinfo=UTC)  # the same bytes from the same declarations
_LONGEST_LIST = 255
_ROWS_WITH_CHOICES = 2000

# Invented: one booster station with one pump set.
EXAMPLES: Mapping[str, Mapping[str, str]] = {
    "sites": {
        "client": "Name of the client", "code": "B-07", "name": "Example booster",
        "kind": "booster", "time_zone": "Europe/Dublin", "electrical_practice": "IEC",
        "supply_nominal_voltage": "400", "supply_frequency": "50", "supply_phases": "3",
        "liquid_kind": "potable", "suction_kind": "pressurised main",
    },
    "pumps": {
        "site": "B-07", "tag": "P-1", "serial": "EX-1001", "type": "multistage vertical",
        "rated_speed": "2900", "rated_flow": "45", "rated_head": "60",
    },
    "motors": {
        "site": "B-07", "tag": "M-1", "serial": "EX-2001", "kind": "induction", "phases": "3",
        "poles": "2", "ratings.0.voltage": "400", "ratings.0.connection": "delta",
        "ratings.0.frequency": "50", "ratings.0.power": "11", "ratings.0.current": "20.5",
        "ratings.0.speed": "2935", "ratings.0.power_factor": "0.88",
        "ratings.0.efficiency": "91.2", "rating_in_use": "1", "immersed": "no",
    },
    "drives": {
        "site": "B-07", "tag": "D-1", "serial": "EX-3001", "firmware": "1.04",
        "input_phases": "3", "input_voltage_min": "380", "input_voltage_max": "480",
        "rated_current_normal_duty": "24", "motor_cable_conductor": "6",
    },
    "sensors": {
        "site": "B-07", "tag": "PT-1", "serial": "EX-4001", "quantity": "pressure",
        "reference": "gauge", "lower_range_value": "0 bar", "upper_range_value": "10 bar",
        "output": "4-20 mA", "tolerance_percent_of_span": "0.5", "location": "discharge",
    },
    "vessels": {
        "site": "B-07", "tag": "V-1", "kind": "bladder", "location": "discharge header",
        "volume": "200", "maximum_pressure": "16", "pre_charge_pressure_design": "3.5",
    },
    "pump-sets": {
        "site": "B-07", "tag": "PS-1", "pump": "P-1", "motor": "M-1", "drive": "D-1",
        "regulating_sensor": "PT-1", "bypass": "none", "transmission": "direct",
        "in_service_from": "2026-03-14",
    },
}  # fmt: skip
# The same station with plates of the other practice: 15 hp at 460 V and 60 Hz.
_US_EXAMPLES: Mapping[str, Mapping[str, str]] = {
    "sites": {
        "time_zone": "America/Denver", "electrical_practice": "US (NEC)",
        "supply_nominal_voltage": "480", "supply_frequency": "60",
    },
    "pumps": {"rated_speed": "3500", "rated_flow": "200", "rated_head": "195"},
    "motors": {
        "ratings.0.voltage": "460", "ratings.0.frequency": "60", "ratings.0.power": "15",
        "ratings.0.current": "17.5", "ratings.0.speed": "3525", "ratings.0.efficiency": "90.2",
    },
    "drives": {
        "input_voltage_max": "500", "rated_current_normal_duty": "21",
        "motor_cable_conductor": "10",
    },
    "sensors": {"lower_range_value": "0 psi", "upper_range_value": "150 psi"},
    "vessels": {"volume": "50", "maximum_pressure": "230", "pre_charge_pressure_design": "50"},
    "pump-sets": {},
}  # fmt: skip


def example(kind: str, units: Units) -> dict[str, str]:
    """The line that shows how a sheet is filled in, in the units of its headings."""
    return {**EXAMPLES[kind], **(_US_EXAMPLES[kind] if units == "us" else {})}


def heading(column: Column, units: Units) -> str:
    """Words and unit of a column; the unit stands in the cell where it depends on the piece."""
    unit = column.usual_unit(units) if column.shape == "quantity" else ""
    return f"{column.label} ({unit})" if unit and unit != "1" else column.label


def listed(kind: str) -> tuple[Column, ...]:
    """The columns that a sheet has room for, those first that a row cannot be without."""
    room = [each for each in columns_of(kind) if _has_room(each)]
    first = [each for each in room if _is_needed(kind, each)]
    return (*first, *(each for each in room if each not in first))


def _has_room(column: Column) -> bool:
    most = _ROOM.get(str(column.path[0]))
    return most is None or int(column.path[1]) < most


def _is_needed(kind: str, column: Column) -> bool:
    return column.is_required or column.name in EXAMPLES[kind]


def template(units: Units = "si") -> bytes:
    """The bytes of the workbook, in units of one of the two systems."""
    file = io.BytesIO()
    book = xlsxwriter.Workbook(file, {"in_memory": True})
    book.set_properties({"title": "Stations and equipment", "created": _MADE})
    looks = _looks(book)
    for kind, title in TITLES.items():
        _sheet(book.add_worksheet(title), kind, units, looks)
    _explained(book.add_worksheet(EXPLAINED), units, looks)
    book.close()
    return file.getvalue()


def _looks(book: Any) -> dict[str, Any]:
    head = {"text_wrap": True, "valign": "bottom"}
    return {
        "needed": book.add_format({**head, "bold": True, "bottom": 2}),
        "head": book.add_format({**head, "bottom": 1}),
        "example": book.add_format({"italic": True, "font_color": "#666666"}),
        "day": book.add_format({"num_format": "yyyy-mm-dd"}),
        "text": book.add_format({"text_wrap": True, "valign": "top"}),
    }


def _sheet(page: Any, kind: str, units: Units, looks: Mapping[str, Any]) -> None:
    columns = listed(kind)
    page.freeze_panes(1, 3)
    page.set_column(0, len(columns), _WIDE)
    page.set_column(0, 0, 30)
    page.write_string(0, 0, "Remark (not read)", looks["head"])
    page.write_string(1, 0, MARK, looks["example"])
    shown = example(kind, units)
    for index, column in enumerate(columns, 1):
        look = looks["needed" if column.is_required else "head"]
        page.write_string(0, index, heading(column, units), look)
        _example(page, index, shown.get(column.name, ""), looks["example"])
        if column.shape == "day":
            page.set_column(index, index, _WIDE, looks["day"])
        _offer(page, index, column)


def _example(page: Any, index: int, value: str, look: Any) -> None:
    if not value:
        return
    if value.replace(".", "", 1).isdecimal():
        page.write_number(1, index, float(value), look)
    else:
        page.write_string(1, index, value, look)


def _offer(page: Any, index: int, column: Column) -> None:
    """The words of a closed list to choose from, where they are few enough."""
    words = [words for _, words in choices(column)]
    if column.shape == "yes or no":
        words = ["yes", "no"]
    if words and len(",".join(words)) <= _LONGEST_LIST and not any("," in each for each in words):
        offered = {"validate": "list", "source": words, "ignore_blank": True,
                   "error_type": "warning"}  # fmt: skip
        page.data_validation(1, index, _ROWS_WITH_CHOICES, index, offered)


def _explained(page: Any, units: Units, looks: Mapping[str, Any]) -> None:
    page.freeze_panes(1, 0)
    widths = (12, 34, 16, 60, 40, 44)
    for index, width in enumerate(widths):
        page.set_column(index, index, width)
    heads = ("Table", "Heading", "Unit there", "Expected", "When it is needed", "About it")
    for index, head in enumerate(heads):
        page.write_string(0, index, head, looks["needed"])
    lines = [(kind, column) for kind in TITLES for column in listed(kind)]
    for row, (kind, column) in enumerate(lines, 1):
        for index, text in enumerate(_line(kind, column, units)):
            page.write_string(row, index, text, looks["text"])


def _line(kind: str, column: Column, units: Units) -> Sequence[str]:
    unit = column.usual_unit(units) if column.shape == "quantity" else ""
    beside = "in the cell, behind the number" if column.units and not unit else labels.unit(unit)
    return (TITLES[kind], heading(column, units), beside, _expected(column), _needed(column),
            column.about)  # fmt: skip


def _expected(column: Column) -> str:
    if column.name == "client":
        return "the client's name, as it stands in the book"
    if column.name == "site":
        return "the station's code"
    return expected(column)


def _needed(column: Column) -> str:
    if column.is_required:
        return "always: a row without it is refused"
    if column.needed is None:
        return ""
    condition = f", when: {column.needed.condition}" if column.needed.condition else ""
    return f"before a start-up is sealed{condition}"
