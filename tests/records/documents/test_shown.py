"""Values as they are printed."""

from typing import Any
from zoneinfo import ZoneInfo

import pytest

from records.documents.blocks import Column, align, table
from records.documents.shown import Shown, number, quantities, quantity, zone
from tests.calculations.building_plates import q

CHICAGO = Shown(ZoneInfo("America/Chicago"), {"019b76da": "PT-101"})


@pytest.mark.parametrize(
    ("given", "printed"),
    [
        # Daylight saving time began in Chicago on 8 March 2026: UTC-5 after it, UTC-6 before.
        ("2026-03-14T09:30:00-05:00", "2026-03-14\xa009:30 UTC−05:00"),
        ("2026-03-07T09:30:00-06:00", "2026-03-07\xa009:30 UTC−06:00"),
        ("2026-03-14T14:30:07Z", "2026-03-14\xa009:30:07 UTC−05:00"),
        ("2026-03-14T09:30:00.250-05:00", "2026-03-14\xa009:30:00.25 UTC−05:00"),
        ("2026-03-14T15:30:00+01:00",
         "2026-03-14\xa009:30 UTC−05:00 (entered as 2026-03-14T15:30:00+01:00)"),
        ("2026-01-01T00:30:00+00:00",
         "2025-12-31\xa018:30 UTC−06:00 (entered as 2026-01-01T00:30:00+00:00)"),
    ],
)  # fmt: skip
def test_times_are_the_stations_with_offset_and_the_original_kept(given: str, printed: str) -> None:
    assert CHICAGO.words("performed_at", given) == printed


def test_without_a_zone_a_time_keeps_its_own_offset() -> None:
    assert zone("Nowhere/At_All") is None
    assert Shown().words("at", "2026-03-14T09:30:00+05:45") == "2026-03-14\xa009:30 UTC+05:45"


@pytest.mark.parametrize(
    ("name", "value", "printed"),
    [
        ("regulation", "closed_loop_in_drive", "closed loop in drive"),
        ("supply_earthing", "solid_star", "solidly earthed star"),
        ("output_filter", "dv_dt", "dV/dt"),
        ("remarks", "closed_loop_in_drive", "closed_loop_in_drive"),
        ("name", "step_1.csv", "step_1.csv"),
        ("immersed", True, "yes"),
        ("immersed", False, "no"),
        ("regulating_sensor", "019b76da", "PT-101"),
        ("id", "019b76da", "019b76da"),
        ("motor_cable_conductor", "2/0 AWG", "2/0 AWG"),
        ("integral_time", "off", "off"),
        ("drive", None, "–"),
        ("skip_bands", [{"centre": q("41", "Hz"), "width": q("2", "Hz")}],
         "Centre: 41\xa0Hz, Width: 2\xa0Hz"),
        ("anything", [], "–"),
    ],
)  # fmt: skip
def test_words_of_closed_lists_are_printed_as_words_and_texts_as_they_stand(
    name: str, value: Any, printed: str
) -> None:
    assert CHICAGO.words(name, value) == printed


@pytest.mark.parametrize(
    ("value", "unit", "printed"),
    [
        ("7.50", "kW", "7.50\xa0kW"),
        ("-0.20", "bar", "−0.20\xa0bar"),
        ("0.86", "1", "0.86"),
        ("400", "m3/h", "400\xa0m³/h"),
        ("500", "Mohm", "500\xa0MΩ"),
        ("18", "degC", "18\xa0°C"),
        ("1e-3", "ohm", "1e-3\xa0Ω"),
    ],
)
def test_digits_stay_as_entered_and_units_are_printed_as_the_trade_writes_them(
    value: str, unit: str, printed: str
) -> None:
    assert quantity(q(value, unit)) == printed


def test_three_phases_share_their_unit() -> None:
    assert quantities([q("481", "V"), q("479", "V"), q("478", "V")]) == "481 / 479 / 478\xa0V"
    assert quantities([q("481", "V"), q("0.48", "kV")]) == "481\xa0V / 0.48\xa0kV"


def test_decimal_signs_come_under_each_other() -> None:
    cells = [number(digits) for digits in ("1630", "54.9", "2.05")]
    align(cells, left=True)
    figure, point = 0.497, 0.249  # em, from the font
    spaces = [(cell.get("before", 0), cell.get("after", 0)) for cell in cells if cell]
    assert spaces == [
        (0, pytest.approx(2 * figure + point)),
        (pytest.approx(2 * figure), pytest.approx(figure)),
        (pytest.approx(3 * figure), 0),
    ]


def test_a_unit_that_all_have_goes_to_the_head_of_the_column() -> None:
    columns = [Column("Flow", "number")]
    same = table(columns, [[number("5", "L/s")], [number("7", "L/s")]])
    mixed = table(columns, [[number("5", "L/s")], [number("7", "gpm")]])
    assert same["columns"][0]["unit"] == "L/s"
    assert [row["cells"][0]["u"] for row in same["rows"]] == ["", ""]
    assert "unit" not in mixed["columns"][0]
    assert [row["cells"][0]["u"] for row in mixed["rows"]] == ["L/s", "gpm"]
