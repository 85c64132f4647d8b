"""Vessels: pre-charge against the wake pressure of 79 psi, starts by the counters.

Below the wake pressure, not below 60 % (47.4 psi), target 80 to 95 %: from memory.
"""

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
from tests.calculations.whole_stations import booster_in_percent, left, lift_station

CHECK = "/event/vessel_checks/0"


def charged(left_at: str, **more: object):
    return changed(booster(), {f"{CHECK}/pre_charge_as_left": q(left_at, "psi")} | more)


@pytest.mark.parametrize(
    ("charge", "expected"),
    [
        ("69", []),
        ("63.2", []),  # 80 % of 79 psi
        ("63.1", [("note", "below_target")]),
        ("47.4", [("note", "below_target")]),
        ("47.3", [("review", "low")]),
        ("75.0", []),  # 95 % are 75.05 psi
        ("75.2", [("note", "above_target")]),
        ("78.9", [("note", "above_target")]),
        ("79.1", [("review", "high")]),
        ("79", [("note", "above_target")]),  # "79" may be 78.5
    ],
)
def test_precharge(charge, expected):
    assert verdicts(charged(charge), "vessel.precharge") == expected


def test_the_remedy_gives_the_target():
    (finding,) = of_rule(judged(charged("85")), "vessel.precharge")
    assert finding.parameters["target_low"] == "63.2 psi"  # 80 % of 79 psi
    assert finding.parameters["target_high"].startswith("75")  # 95 %, 75.05 psi


def test_as_found_counts_where_nothing_was_changed():
    document = changed(booster(), {f"{CHECK}/pre_charge_as_found": q("90", "psi")})
    assert verdicts(document, "vessel.precharge") == []
    assert verdicts(without(document, f"{CHECK}/pre_charge_as_left"), "vessel.precharge") == [
        ("review", "high")
    ]


def test_measured_against_water_it_says_nothing():
    """It is said so, whatever was read; and not where nothing was read."""
    for psi in ("69", "90"):
        document = charged(psi, **{f"{CHECK}/system_drained": False})
        assert verdicts(document, "vessel.precharge") == [("review", "not_drained")]
    read = (f"{CHECK}/pre_charge_as_left", f"{CHECK}/pre_charge_as_found")
    assert verdicts(without(document, *read), "vessel.precharge") == []
    (missing,) = lacking(judged(without(booster(), f"{CHECK}/system_drained")), "vessel.precharge")
    assert missing.needs == (f"{CHECK}/system_drained",)


@pytest.mark.parametrize(
    "vessel", [{"location": "suction"}, {"kind": "surge_vessel"}, {"kind": "air_over_water"}]
)
def test_other_vessels_have_no_such_precharge(vessel):
    changes = {f"/vessels/0/{name}": value for name, value in vessel.items()}
    assert verdicts(charged("90", **changes), "vessel.precharge") == []


def test_wake_in_percent_or_as_a_difference():
    """39.5 % of 200 psi, and 85 less 6 psi, are 79 psi as well."""
    percent = changed(booster_in_percent(), {f"{CHECK}/pre_charge_as_left": q("79.1", "psi")})
    assert verdicts(percent, "vessel.precharge") == [("review", "high")]
    below = charged("79.1", **left(wake_value=q("6", "psi"), wake_basis="below_set_point"))
    assert verdicts(below, "vessel.precharge") == [("review", "high")]


def test_no_check_is_no_pass():
    (missing,) = lacking(judged(without(booster(), "/event/vessel_checks")), "vessel.precharge")
    assert missing.needs == ("/event/vessel_checks",)


# -- vessel.starts ------------------------------------------------------------------------------


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


def test_starts_count_without_a_vessel_and_without_a_loop():
    counted = {"/event/start_count": 3000, "/event/hours_run": q("5", "h")}
    bare = without(changed(stations.well(), counted), "/vessels")
    assert verdicts(bare, "vessel.starts") == [("review", "above_plate")]


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
    document = changed(lift_station(), counted | single | PERMITTED)
    assert verdicts(changed(document, turns), "vessel.starts") == expected


PERMITTED = {"/motor/maximum_starts_per_hour": 15, "/pump/maximum_starts_per_hour": 15}


def test_without_a_plate_limit_many_starts_are_a_note():
    counted = {"/event/start_count": 1600, "/event/hours_run": q("100", "h")}
    document = without(
        changed(booster(), counted),
        "/motor/maximum_starts_per_hour", "/pump/maximum_starts_per_hour",
    )  # fmt: skip
    assert verdicts(document, "vessel.starts") == [("note", "unstated")]
