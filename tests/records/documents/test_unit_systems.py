"""Quantities in the other system. Factors: NIST SP 811 (2008), appendix B.8, but where noted."""

import pytest

from calculations.units import KINDS
from records.documents.contents import judged
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
