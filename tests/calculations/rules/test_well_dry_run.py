"""Dry-run level of a well: static water at 45 ft, pumping 56 ft, pump at 150 ft; 140 ft of cable.

The transducer hangs at 140 ft and reads 150 ft, so that 20 ft over it are a depth of 120 ft.
"""

import pytest

from calculations.judging import finding_document
from tests.calculations.building import changed, judged, lacking, of_rule, verdicts, without
from tests.calculations.building_plates import q
from tests.calculations.stations import LEFT, well

RULE = "well.dry-run-level"


def dry_run_at(threshold: str, zero: str = "-140", unit: str = "ft"):
    sensor = {
        "tag": "LT-4", "quantity": "level", "reference": "gauge", "output": "4-20 mA",
        "lower_range_value": q("0", "ft"), "upper_range_value": q("150", "ft"),
        "location": "well", "zero_elevation": q(zero, "ft"),
    }  # fmt: skip
    return changed(well(), {
        "/sensors/-": sensor, "/pump_set/level_sensor": "LT-4", f"{LEFT}/dry_run_method": "level",
        f"{LEFT}/dry_run_threshold": q(threshold, unit),
        f"{LEFT}/level_reference": "transmitter_zero",
    })  # fmt: skip


@pytest.mark.parametrize(
    ("threshold", "zero", "expected"),
    [
        ("20", "-140", []),
        ("83", "-140", []),
        ("84", "-140", [("review", "always_trips")]),  # at 56 ft
        ("94", "-140", [("review", "always_trips")]),
        ("95", "-140", [("stop", "never_starts")]),  # at 45 ft
        ("0", "-140", []),
        ("-1", "-140", [("review", "unread")]),
        ("0", "-160", [("review", "below_pump")]),
        ("10", "-160", [("review", "below_pump")]),
        ("11", "-160", []),
        ("1", "-45", [("review", "transducer")]),
    ],
)
def test_dry_run_level_against_the_water(threshold, zero, expected):
    assert verdicts(dry_run_at(threshold, zero), RULE) == expected


def test_what_stands_beside_the_level_has_its_own_name():
    """The pump hangs at 150 ft."""
    (finding,) = of_rule(judged(dry_run_at("0", "-160")), RULE)
    assert ("pump", "150") in {(each.name, each.shown.value) for each in finding.compared}
    assert "not above the pump at 150 ft" in finding_document(finding, "")["sentence"]


@pytest.mark.parametrize(
    ("unknown", "threshold", "expected"),
    [
        ("pumping", "94", []),
        ("pumping", "95", [("stop", "never_starts")]),
        ("static", "83", []),
        ("static", "95", [("review", "always_trips")]),
    ],
)
def test_one_depth_of_water_is_enough(unknown, threshold, expected):
    document = without(dry_run_at(threshold), f"/site/{unknown}_water_depth")
    assert verdicts(document, RULE) == expected
    assert lacking(judged(document), RULE) == []


def test_what_is_told_counts_downwards():
    """95 ft over a transducer that hangs at 140 ft: a depth of 45 ft."""
    (finding,) = of_rule(judged(dry_run_at("95")), RULE)
    told = {"depth": "45 ft", "water": "45 ft", "transducer": "140 ft", "threshold": "95 ft"}
    assert told.items() <= finding.parameters.items()


def test_in_percent_of_the_transducers_range():
    """60 % of 150 ft are 90 ft, a depth of 50 ft."""
    assert verdicts(dry_run_at("60", unit="%"), RULE) == [("review", "always_trips")]
    assert verdicts(dry_run_at("20", unit="%"), RULE) == []


def test_without_any_depth_of_water_nothing_is_judged():
    depths = ("/site/static_water_depth", "/site/pumping_water_depth")
    (missing,) = lacking(judged(without(dry_run_at("20"), *depths)), RULE)
    assert missing.needs == depths


def test_other_ways_are_not_judged_by_the_water():
    assert verdicts(well(), RULE) == []
    assert lacking(judged(well()), RULE) == []


def test_it_waits_where_heights_count_from_the_sea():
    """The transducer's height is one of those that do."""
    sea = changed(dry_run_at("20", "460"), {
        "/site/elevation": q("600", "ft"), "/sensors/0/tapping_elevation": q("602", "ft"),
    })  # fmt: skip
    assert [each.rule for each in of_rule(judged(sea), "site.datum")] == ["site.datum"]
    assert of_rule(judged(sea), RULE) == []
    assert {each.waits_for for each in lacking(judged(sea), RULE)} == {"site.datum"}


@pytest.mark.parametrize(
    ("threshold", "expected"),
    [("83", []), ("84", [("review", "always_trips")]), ("95", [("stop", "never_starts")])],
)
def test_a_level_relay_across_the_line(threshold, expected):
    document = dry_run_at(threshold)
    left = {name: document["event"]["settings"]["as_left"][name]
            for name in ("dry_run_method", "dry_run_threshold", "level_reference")}  # fmt: skip
    across = changed(without(document, "/drive"), {"/pump_set/drive": None, LEFT: left})
    assert verdicts(across, RULE) == expected


@pytest.mark.parametrize(
    ("least", "expected"),
    [
        # 20 ft over the transducer at 140 ft: the pump stops at -120 ft
        (q("-130", "ft"), []),
        (q("-120", "ft"), []),
        (q("-119.1", "ft"), []),  # 0.9 ft are less than 0.3 m
        (q("-119", "ft"), [("review", "uncovered")]),
        (q("-100", "ft"), [("review", "uncovered")]),
        # No water stands there while it pumps: told where it is entered.
        (q("-50", "ft"), []),
        (q("100", "ft"), []),
        (None, []),
    ],
)
def test_the_pump_stops_before_its_motor_is_bare(least, expected):
    document = changed(dry_run_at("20"), {"/motor/minimum_liquid_level": least})
    assert verdicts(document, RULE) == expected
