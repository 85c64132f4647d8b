"""Starts by the counters, 15 an hour permitted by the plates: with a vessel, and without."""

import pytest

from tests.calculations import stations
from tests.calculations.building import (
    booster,
    changed,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import left, lift_station


@pytest.mark.parametrize(
    ("count", "hours", "expected"),
    [
        (1500, "100", []),  # 15 an hour, as the plates permit
        (1501, "100", [("review", "above_plate")]),
        (300, "10", []),  # a day of tests
        (450, "10", []),  # three times 15 an hour, within a day
        (451, "10", [("review", "above_plate")]),
        (3000, "5", [("review", "above_plate")]),
        (30, "0.1", []),  # tests
        (31, "0.1", [("review", "above_plate")]),
        (3000, "0", []),  # of no time nothing follows
    ],
)
def test_starts_by_the_counters(count, hours, expected):
    counted = {"/event/start_count": count, "/event/hours_run": q(hours, "h")}
    assert verdicts(changed(booster(), counted), "vessel.starts") == expected
    assert lacking(judged(changed(booster(), counted)), "vessel.starts") == []


@pytest.mark.parametrize(
    ("count", "hours", "expected"),
    [
        # Without a word of the plates 15 an hour; 360 in 24 h, 45 an hour in a shorter time.
        (360, "24", []),
        (361, "24", [("note", "unstated")]),
        (400, "23.9", []),
        (1075, "23.9", []),
        (1076, "23.9", [("note", "unstated")]),
    ],
)
def test_starts_where_no_plate_permits_any(count, hours, expected):
    counted = {"/event/start_count": count, "/event/hours_run": q(hours, "h")}
    silent = {"/pump/maximum_starts_per_hour": None, "/motor/maximum_starts_per_hour": None}
    assert verdicts(changed(booster(), counted | silent), "vessel.starts") == expected


def test_numbers_of_the_starts():
    counted = {"/event/start_count": 2000, "/event/hours_run": q("100", "h")}
    (found,) = of_rule(judged(changed(booster(), counted)), "vessel.starts")
    assert (found.parameters["starts"], found.parameters["permitted"]) == ("20", "15")
    assert found.limit == "15 per hour of running"


def test_starts_count_without_a_vessel_and_without_a_loop():
    counted = {"/event/start_count": 3000, "/event/hours_run": q("5", "h")}
    bare = without(changed(stations.well(), counted), "/vessels")
    assert verdicts(bare, "motor.starts") == [("review", "above_plate")]
    assert lacking(judged(bare), "vessel.starts") == []


@pytest.mark.parametrize(
    ("count", "turns", "expected"),
    [
        # A volume for 15 an hour of the clock, a cycle of 240 s at an inflow of half the flow, is
        # emptied in 240 s / 4 = 60 s at no inflow: 60 an hour of running.
        (6000, {}, []),
        (6001, {}, [("review", "above_plate")]),
        # Two that take turns share it: half of that volume, 30 s each, 120 an hour of running.
        (12000, left(pump_arrangement="alternating", pumps_in_group=2), []),
        (12001, left(pump_arrangement="alternating", pumps_in_group=2),
         [("review", "above_plate")]),
    ],
)  # fmt: skip
def test_a_pump_that_levels_start_rests_most_of_the_time(count, turns, expected):
    counted = {"/event/start_count": count, "/event/hours_run": q("100", "h")}
    single = left(pump_arrangement="single", alternation="none")
    document = changed(changed(lift_station(), counted | single | PERMITTED), turns)
    assert verdicts(document, "motor.starts") == expected
    limits = [each.limit for each in of_rule(judged(document), "motor.starts")]
    held = "120 per hour of running" if turns else "60 per hour of running"
    assert limits == [held] * len(expected)


PERMITTED = {"/motor/maximum_starts_per_hour": 15, "/pump/maximum_starts_per_hour": 15}


def test_without_a_plate_limit_many_starts_are_a_note():
    counted = {"/event/start_count": 1600, "/event/hours_run": q("100", "h")}
    document = without(
        changed(booster(), counted),
        "/motor/maximum_starts_per_hour", "/pump/maximum_starts_per_hour",
    )  # fmt: skip
    assert verdicts(document, "vessel.starts") == [("note", "unstated")]


def test_of_a_set_without_counters_and_vessel_nothing_is_asked():
    bare = without(stations.well(), "/vessels", "/event/start_count")
    assert lacking(judged(bare), "motor.starts") == lacking(judged(bare), "vessel.starts") == []


def test_with_a_vessel_the_counters_are_asked_for():
    (missing,) = lacking(judged(without(booster(), "/event/start_count")), "vessel.starts")
    assert missing.needs == ("/event/start_count",)
    assert lacking(judged(booster()), "motor.starts") == []
