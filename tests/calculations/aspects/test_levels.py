"""Levels as they are set: which way they go, and their height over the datum, by hand."""

import pytest

from calculations.aspects import levels
from tests.calculations.building import booster, case, changed, without
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import left, lift_station


@pytest.mark.parametrize(
    ("regulated", "suction", "kind", "empties"),
    [
        ("level_emptying", "pressurised_main", "booster", True),
        ("level_filling", "wet_well", "lift_station", False),
        ("flow", "wet_well", "booster", True),
        ("flow", "pressurised_main", "lift_station", True),
        ("flow", "pressurised_main", "reservoir_fill", False),
        ("flow", "pressurised_main", "booster", None),
    ],
)
def test_whether_the_pump_empties(regulated, suction, kind, empties):
    site = {"/site/suction_kind": suction, "/site/kind": kind}
    found = case(changed(booster(), site | left(regulated_quantity=regulated)))
    assert levels.empties(found) is empties


@pytest.mark.parametrize(
    ("regulated", "stop", "are"),
    [("discharge_pressure", None, False), ("discharge_pressure", "2", True),
     ("level_filling", None, True)],
)  # fmt: skip
def test_whether_levels_are_set(regulated, stop, are):
    given = left(regulated_quantity=regulated, stop_level=stop and q(stop, "m"))
    assert levels.are_set(case(changed(booster(), given))) is are


def test_without_settings_none_are():
    assert levels.are_set(case(without(lift_station(), "/event/settings"))) is False


@pytest.mark.parametrize(("reference", "elevation"), [("floor", -6.5 + 1.5), ("site_datum", 1.5)])
def test_elevation(reference, elevation):
    site = {"/site/wet_well_floor": q("-6.5", "m")}
    given = left(stop_level=q("1.5", "m"), level_reference=reference)
    found = case(changed(lift_station(), site | given))
    assert levels.elevation(found, "stop_level") == pytest.approx(elevation)


@pytest.mark.parametrize(
    ("start", "stop", "unit"),
    [(q("4", "ft"), None, "ft"), (q("40", "%"), q("5", "ft"), "ft"), (q("400", "mm"), None, "mm")],
)
def test_the_unit_that_levels_are_read_in(start, stop, unit):
    bare = left(
        low_level_cutoff=None, lag_start_level=None, high_level_alarm=None, start_level=start,
        stop_level=stop,
    )  # fmt: skip
    assert levels.unit(case(changed(lift_station(), bare))) == unit


def test_without_levels_the_unit_is_that_of_the_sensor():
    none = left(low_level_cutoff=None, lag_start_level=None, high_level_alarm=None,
                start_level=None, stop_level=None)  # fmt: skip
    for top, unit in ((q("12", "ft"), "ft"), (q("5", "psi"), "m"), (None, "m")):
        sensor = {"/sensors/0/lower_range_value": None, "/sensors/0/upper_range_value": top}
        assert levels.unit(case(changed(lift_station(), none | sensor))) == unit


# Zero of the transmitter at -4.9 m, floor at -5.0 m, 5 m of range: the drive's 0 to 100 % are
# 0.1 to 5.1 m over the floor, -4.9 to 0.1 m over the datum and 0 to 5 m over its own zero.
PERCENT = left(feedback_at_lower_signal=q("0", "%"), feedback_at_upper_signal=q("100", "%"))
UNSCALED = left(feedback_at_lower_signal=None, feedback_at_upper_signal=None)


@pytest.mark.parametrize("scaling", [{}, PERCENT, UNSCALED])
@pytest.mark.parametrize(
    ("reference", "level"),
    [("floor", 0.1 + 0.3 * 5), ("site_datum", -4.9 + 0.3 * 5), ("transmitter_zero", 0.3 * 5)],
)
def test_a_level_in_percent_counts_from_the_reference_of_levels(scaling, reference, level):
    if not scaling:
        low = {"floor": "0.1", "site_datum": "-4.9", "transmitter_zero": "0"}[reference]
        high = {"floor": "5.1", "site_datum": "0.1", "transmitter_zero": "5"}[reference]
        scaling = left(feedback_at_lower_signal=q(low, "m"), feedback_at_upper_signal=q(high, "m"))
    given = left(stop_level=q("30", "%"), level_reference=reference)
    found = case(changed(lift_station(), scaling | given))
    assert levels.value(found, "stop_level") == pytest.approx(level)
