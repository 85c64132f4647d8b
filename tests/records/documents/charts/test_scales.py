"""Axes: round ticks, ranges that show the data, logarithms, days."""

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from records.documents.charts.scales import span


@pytest.mark.parametrize(
    ("values", "words"),
    [
        # Round steps of 1, 2, 2.5 or 5 times a power of ten, as in a school book; no source.
        ((0, 208), ("0", "50", "100", "150", "200")),
        ((-0.5, 0.5), ("−0.4", "−0.2", "0.0", "0.2", "0.4")),
        ((59.5, 63), ("60", "61", "62", "63")),
        ((0.001, 0.012), ("0.0000", "0.0025", "0.0050", "0.0075", "0.0100", "0.0125")),
        ((0, 1e6), ("0", "200000", "400000", "600000", "800000", "1000000")),
    ],
)
def test_ticks_are_round(values, words):
    assert span(values, "linear", 5).words == words


@pytest.mark.parametrize("values", [(0, 208), (59.5, 63), (-0.5, 0.5), (1e-6, 3e-6), (-7, -2)])
def test_everything_lies_inside_and_ticks_as_well(values):
    axis = span(values, "linear", 5)
    assert all(0 <= axis.share(value) <= 1 for value in (*values, *axis.ticks))
    assert len(axis.ticks) >= 2


@pytest.mark.parametrize(
    ("values", "words"), [((45.55, 46.2), ("45.75", "46.00")), ((129, 133), ("130", "132"))]
)
def test_a_low_panel_has_two_ticks_as_well(values, words):
    assert span(values, "linear", 2).words == words


@given(st.lists(st.floats(-1e30, 1e30), max_size=5), st.sampled_from(["linear", "log"]),
       st.booleans())  # fmt: skip
def test_whatever_the_values_there_are_some_ticks_and_nothing_lies_outside(values, scale, whole):
    axis = span(values, scale, 5, whole)
    assert axis.high > axis.low
    shown = [value for value in values if value > 0] if scale == "log" else values
    # A rounding error of a number near 1 is all that may be missing.
    assert all(-1e-9 <= axis.share(value) <= 1 + 1e-9 for value in (*shown, *axis.ticks))
    assert len(axis.ticks) == len(axis.words) < 40
    assert scale == "log" or len(axis.ticks) >= 2


def test_an_axis_begins_at_zero_unless_its_values_are_far_from_it():
    assert span((30, 100), "linear", 5).low == 0
    assert span((59, 63), "linear", 5).low > 50


def test_a_horizontal_axis_ends_with_its_data():
    axis = span((0, 140), "linear", 5, whole=True)
    assert (axis.low, axis.high) == (0, 140)


@pytest.mark.parametrize("values", [(5,), (0,), (5, 5), ()])
def test_a_single_value_or_none_has_an_axis(values):
    axis = span(values, "linear", 5)
    assert axis.high > axis.low
    assert all(0 <= axis.share(value) <= 1 for value in values)


def test_logarithms_within_a_decade_and_over_many():
    assert span((1170, 1830), "log", 3).words == ("1000", "2000")
    axis = span((0.5, 20_000), "log", 3)
    assert axis.words == ("1", "10", "100", "1000", "10000")
    assert axis.share(100) - axis.share(10) == pytest.approx(axis.share(10) - axis.share(1))


def test_days_have_ticks_at_the_first_of_months_or_years():
    def at(year, month, day):
        return datetime(year, month, day, tzinfo=UTC).timestamp()

    months = span((at(2025, 6, 4), at(2026, 6, 24)), "days", 8)
    assert months.words[:2] == ("2025-07", "2025-09")
    assert months.ticks[0] == at(2025, 7, 1)
    years = span((at(2019, 6, 4), at(2026, 6, 24)), "days", 8)
    assert years.words == ("2019", "2020", "2021", "2022", "2023", "2024", "2025", "2026")
    same = span((at(2026, 6, 4), at(2026, 6, 4)), "days", 8)
    assert same.high > same.low
