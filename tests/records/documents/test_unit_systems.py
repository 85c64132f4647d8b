"""Quantities in the other system. Factors: NIST SP 811 (2008), appendix B.8, but where noted."""

import pytest

from calculations.units import KINDS
from records.documents import labels
from records.documents.contents import judged, settings
from records.documents.contents.source import Source
from records.documents.record_pdf import Style
from records.documents.shown import NO_BREAK, Shown
from records.documents.unit_systems import habit, instead
from tests.records.documents import sample
from tests.records.documents.reading_back import reader, squeezed, text
from tests.records.documents.sample import printed


def q(unit: str) -> dict[str, str]:
    return {"value": "1", "unit": unit}


@pytest.mark.parametrize(
    ("site", "system"),
    [
        ({"elevation": q("ft"), "supply_frequency": q("Hz")}, "us"),
        ({"elevation": q("ft"), "levels": [q("in"), q("m")]}, "us"),
        ({"elevation": q("ft"), "relief_valve_setting": q("bar")}, "entered"),
        ({"elevation": q("m")}, "entered"),
        ({"supply_frequency": q("Hz"), "name": "psi"}, "entered"),
        (None, "entered"),
    ],
)
def test_the_system_that_a_station_is_written_in(site, system):
    """V, Hz and % belong to both."""
    assert habit(site) == system


@pytest.mark.parametrize(
    ("unit", "units", "told"),
    [
        ("ft", "entered", f"highest{NO_BREAK}13123{NO_BREAK}ft (4000{NO_BREAK}m)"),
        ("m", "entered", f"highest{NO_BREAK}4000{NO_BREAK}m"),
        ("ft", "si", f"highest{NO_BREAK}4000{NO_BREAK}m"),
        ("m", "us", f"highest{NO_BREAK}13123{NO_BREAK}ft (4000{NO_BREAK}m)"),
    ],
)
def test_limits_that_applied_are_told_in_the_stations_units(unit, units, told):
    """0.3048 m to a foot: 13 123 ft."""
    record = {
        "snapshot": {"site": {"elevation": {"value": "5", "unit": unit}}},
        "judgement": {"limits": {"site.elevation.highest": {"value": "4000", "unit": "m"}}},
    }
    _, table = judged.limits(Source.of(record, {}, units))
    assert table["rows"][0]["cells"][1] == {"t": told}


@pytest.mark.parametrize(
    ("entered", "system", "shown"),
    [
        (("100", "psi"), "si", ("689", "kPa")),  # 6.894757 kPa
        (("100.0", "psi"), "si", ("689.5", "kPa")),
        (("8.00", "bar"), "us", ("116", "psi")),  # 1e5 Pa / 6894.757 Pa = 14.5038
        (("1", "ft"), "si", ("0.305", "m")),  # 0.3048 m
        (("1", "in"), "si", ("25.4", "mm")),
        (("48.0", "m"), "us", ("157", "ft")),
        (("1000", "gpm"), "si", ("227.1", "m3/h")),  # 6.309020e-5 m3/s
        (("90", "m3/h"), "us", ("396", "gpm")),
        (("25", "L/s"), "us", ("396", "gpm")),
        (("25.0", "hp"), "si", ("18.6", "kW")),  # 745.6999 W
        (("20", "degC"), "us", ("68.0", "degF")),  # t/degF = 1.8 t/degC + 32
        (("32", "degF"), "si", ("0", "degC")),
        (("-40", "degF"), "si", ("-40.0", "degC")),
        (("10", "K"), "us", ("18.0", "delta_degF")),
        (("100", "lbf.ft"), "si", ("136", "N.m")),  # 1.355818 N.m
        (("2.8", "mm/s"), "us", ("0.110", "in/s")),
        (("0", "m"), "us", ("0", "ft")),
        (("998.2", "kg/m3"), "us", ("62.32", "lb/ft3")),  # 16.01846 kg/m3
        (("1.05", "kg/L"), "us", ("65.5", "lb/ft3")),
        (("62.4", "lb/ft3"), "si", ("1000", "kg/m3")),
    ],
)
def test_it_is_converted_with_the_digits_entered_three_at_least(entered, system, shown):
    value = dict(zip(("value", "unit"), entered, strict=True))
    assert instead(value, system) == dict(zip(("value", "unit"), shown, strict=True))


@pytest.mark.parametrize(
    ("unit", "system"),
    [("bar", "si"), ("L/s", "si"), ("kW", "us"), ("V", "us"), ("rpm", "si"), ("%", "us"),
     ("psi", "us"), ("psi", "entered"), ("AWG", "si")],
)  # fmt: skip
def test_a_unit_of_that_system_or_of_both_stays(unit, system):
    assert instead({"value": "7", "unit": unit}, system) is None


@pytest.mark.parametrize("system", ["si", "us"])
@pytest.mark.parametrize("unit", [unit for units in KINDS.values() for unit in units])
def test_what_was_converted_is_of_that_system(unit, system):
    found = instead({"value": "7", "unit": unit}, system)
    assert found is None or instead(found, system) is None


def test_running_text_keeps_what_was_entered_behind_it():
    us, gap = Shown(units="us"), NO_BREAK
    pressures = [{"value": "1.00", "unit": "bar"}, {"value": "8.00", "unit": "bar"}]
    assert us.words("x", pressures) == f"14.5 / 116{gap}psi (1.00 / 8.00{gap}bar)"
    assert us.words("x", {"value": "400", "unit": "V"}) == f"400{gap}V"


def test_the_document_says_which_units_it_has_and_takes_the_paper():
    """A pressure of the sample in psi, on Letter (ANSI/ASME Y14.1: 8.5 in by 11 in)."""
    record = sample.record()
    record["event"]["duty_points"][0]["discharge_pressure"] = {"value": "8.00", "unit": "bar"}
    pdf = printed(record, Style("us", "letter"))
    box = reader(pdf).pages[0].mediabox
    assert (float(box.width), float(box.height)) == (8.5 * 72, 11 * 72)
    words = squeezed(text(pdf))
    assert "printedinUScustomaryunits" in words
    assert "116" in words
    assert "8.00" in words
    assert "printedin" not in squeezed(text(printed(record)))


@pytest.mark.parametrize(
    ("practice", "size"),
    [("us_nec", (612, 792)), ("iec", (595.28, 841.89)), (None, (595.28, 841.89))],
)
def test_the_paper_is_the_usual_one_of_the_station_unless_a_client_wants_another(practice, size):
    """Letter: ANSI/ASME Y14.1, 8.5 in by 11 in. A4: ISO 216, 210 mm by 297 mm."""
    record = sample.record()
    record["snapshot"]["site"]["electrical_practice"] = practice
    box = reader(printed(record)).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(size, abs=0.1)


@pytest.mark.parametrize(
    ("found", "left", "units", "told"),
    [
        # The unit of what it is held against, whatever the sensor's plate says: 0.0689476 bar.
        (None, ("10", "bar"), "entered", ("10.00", "bar", "145.04{}psi")),
        (("10", "bar"), None, "entered", ("10.00", "bar", "145.04{}psi")),
        (("145", "psi"), ("10", "bar"), "entered", ("10.00", "bar", "145.04{}psi")),
        (None, ("145", "psi"), "entered", ("145.04", "psi", None)),
        # A share of the span is of another kind, and a client's own units come before an entry's.
        (None, ("100", "%"), "entered", ("145.04", "psi", None)),
        (None, ("10", "bar"), "us", ("145.04", "psi", None)),
        (None, ("145", "psi"), "si", ("1000", "kPa", "145.04{}psi")),
    ],
)
def test_a_setting_and_what_it_is_compared_with_stand_in_one_unit(found, left, units, told):
    states = {"as_found": found, "as_left": left}
    record = {
        "event": {
            "settings": {
                state: {"feedback_at_upper_signal": {"value": value[0], "unit": value[1]}}
                for state, value in states.items()
                if value
            }
        },
        "snapshot": {
            "pump_set": {"regulating_sensor": "PT-1"},
            "sensors": [{"tag": "PT-1", "upper_range_value": {"value": "145.04", "unit": "psi"}}],
        },
    }
    table = settings.settings(Source.of(record, {}, units))[-1]
    digits, unit, entered = told
    [row] = [row["cells"] for row in table["rows"] if "cells" in row]
    cell = row[-2]
    assert (cell["n"], cell["u"]) == (digits, unit)
    assert cell.get("entered") == (entered and entered.format(NO_BREAK))


def test_a_plate_is_told_in_the_unit_of_the_setting_that_stands_beside_it():
    """60 hp are 44.74 kW (0.7456999 kW)."""
    beside = Shown().beside(
        "motor_power", {"value": "60", "unit": "hp"}, {"value": "45", "unit": "kW"}
    )
    assert beside == {"n": "44.7", "u": "kW", "entered": f"60{NO_BREAK}hp"}
    assert Shown().beside("motor_connection", "star", "delta") == {"t": "star"}


@pytest.mark.parametrize(
    ("compared", "units", "told"),
    [
        # 145.04 psi are 10.00 bar (0.0689476 bar); what is of another kind stays as it is.
        ([("10", "bar"), ("145.04", "psi")], "entered", ["10 bar", "10.00 bar"]),
        ([("10", "bar"), ("48", "Hz")], "entered", ["10 bar", "48 Hz"]),
        ([("145.04", "psi"), ("10", "bar")], "entered", ["145.04 psi", "145 psi"]),
        ([("10", "bar"), ("145.04", "psi")], "us", ["145 psi", "145.04 psi"]),
        # In a client's own units nothing is lost of what tells two heights over the sea apart.
        ([("1234.56", "ft"), ("1234.76", "ft")], "si", ["376.294 m", "376.355 m"]),
        # Units of one system stay apart: a wall of mm beside a depth of m.
        ([("12", "mm"), ("3.5", "m")], "entered", ["12 mm", "3.5 m"]),
        ([("3.5", "m"), ("10", "ft")], "entered", ["3.5 m", "3.05 m"]),
        ([("20", "degC"), ("68.0", "degF"), ("5", "K")], "entered", ["20 °C", "20.0 °C", "5 K"]),
        ([("0.6", "1"), ("60", "%")], "entered", ["0.6 ", "60 %"]),
    ],
)  # fmt: skip
def test_what_a_finding_compares_stands_in_one_system(compared, units, told):
    cells = Shown(units=units).compared([{"value": v, "unit": u} for v, u in compared])
    assert [f"{cell['n']} {cell['u']}" for cell in cells] == told
    as_entered = [f"{value}{NO_BREAK}{labels.unit(unit)}" for value, unit in compared]
    for cell, entered, shown in zip(cells, as_entered, told, strict=True):
        assert cell.get("entered") == (None if entered == shown.replace(" ", NO_BREAK) else entered)
