"""What stops a pump whose suction fails: common practice, no source."""

import pytest

from calculations.judging import finding_document
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
from tests.calculations.whole_stations import LEFT, left, lift_station, raw_water

RULE = "protection.dry-run"
UNGUARDED = left(
    dry_run_method="none", low_suction_limit_response="none", low_discharge_limit_response="none"
)


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({}, []),
        (UNGUARDED, ["none"]),
        (UNGUARDED | left(low_suction_limit_response="alarm"), ["alarm"]),
        (UNGUARDED | left(dry_run_method="float", dry_run_response="alarm"), ["alarm"]),
        (UNGUARDED | left(dry_run_method="float", dry_run_response="none"), ["none"]),
        # 50 psi after 60 s: it stops, but late, and not where another pump keeps the header up.
        (UNGUARDED | left(low_discharge_limit_response="stop"), ["late"]),
        (UNGUARDED | left(low_discharge_limit_response="alarm"), ["none"]),
        (UNGUARDED | left(low_discharge_limit_response="stop", low_discharge_limit=None), ["none"]),
        (left(dry_run_method="none"), []),  # low suction stops it
        (left(low_suction_limit_response="none"), []),  # the dry-run protection does
        (left(dry_run_method="underload", low_suction_limit_response="none"), []),
        (UNGUARDED | left(low_level_cutoff=q("3", "ft")), []),
        # The levels of a tank that is filled tell nothing of where the pump draws from.
        (
            UNGUARDED | left(low_level_cutoff=q("3", "ft"), regulated_quantity="level_filling"),
            ["none"],
        ),
        # No flow stops a pump without water where a flow is seen; by its frequency it is not.
        (UNGUARDED | left(no_flow_response="stop"), ["none"]),
        (UNGUARDED | left(no_flow_response="stop", sleep_method="flow"), []),
        (UNGUARDED | left(no_flow_response="stop", sleep_method="no_flow_switch"), []),
        (UNGUARDED | left(no_flow_response="alarm", sleep_method="flow"), ["none"]),
        (UNGUARDED | {"/site/suction_kind": "flooded_tank"}, ["none"]),
        # Started from elsewhere, it may be stopped from there.
        (UNGUARDED | left(regulation="speed_from_external_controller"), []),
        (UNGUARDED | left(regulation="open_loop"), []),
        (UNGUARDED | {"/site/suction_kind": "wet_well"}, []),
    ],
)
def test_dry_run(changes, expected):
    found = verdicts(changed(booster(), changes), RULE)
    assert found == [("review", variant) for variant in expected]


@pytest.mark.parametrize(("delay", "after"), [(q("60", "s"), " after 60 s"), (None, "")])
def test_how_late_low_discharge_pressure_stops_it_is_told(delay, after):
    late = left(low_discharge_limit_response="stop", low_discharge_limit_delay=delay)
    (found,) = of_rule(judged(changed(booster(), UNGUARDED | late)), RULE)
    told = str(finding_document(found, "")["sentence"])
    assert f"only low discharge pressure stops the pump (50 psi{after}; dry-run" in told


def test_wells_and_lift_stations_have_rules_of_their_own():
    for station in (stations.well(), lift_station()):
        assert verdicts(changed(station, UNGUARDED), RULE) == []
        assert lacking(judged(changed(station, UNGUARDED)), RULE) == []


@pytest.mark.parametrize(
    ("gone", "asked"),
    [
        (f"{LEFT}/dry_run_method", f"{LEFT}/dry_run_method"),
        (f"{LEFT}/low_suction_limit_response", f"{LEFT}/low_suction_limit_response"),
        ("/site/suction_kind", "/site/suction_kind"),
    ],
)
def test_it_asks_for_what_is_not_known(gone, asked):
    (missing,) = lacking(judged(without(changed(booster(), UNGUARDED), gone)), RULE)
    assert missing.needs == (asked,)


def test_a_protection_whose_answer_is_not_known_is_not_passed():
    document = without(booster(), f"{LEFT}/dry_run_response")
    (missing,) = lacking(judged(document), RULE)
    assert missing.needs == (f"{LEFT}/dry_run_response",)


def test_the_missing_test_is_not_told_beside_the_missing_setting():
    document = changed(booster(), UNGUARDED)
    tests = [each for each in document["event"]["protection_tests"]
             if each["function"] != "low_suction"]  # fmt: skip
    untested = changed(document, {"/event/protection_tests": tests})
    assert verdicts(untested, "protection.missing") == []
    assert verdicts(changed(untested, left(dry_run_method="float")), "protection.missing") != []


def test_raw_water_draws_nothing():
    assert verdicts(raw_water(), RULE) == []


@pytest.mark.parametrize(
    ("changes", "expected"),
    [  # The lowest ordinary suction of the booster is 30 psi; nothing is left to stop earlier.
        ({}, []),
        (left(dry_run_threshold=q("29.9", "psi")), []),
        (left(dry_run_threshold=q("30.0", "psi")), ["early_pressure"]),
        (left(dry_run_threshold=q("206.8", "kPa")), []),  # 29.99 psi
        (left(dry_run_threshold=q("206.9", "kPa")), ["early_pressure"]),  # 30.01 psi
        (left(dry_run_threshold=q("45", "psi"), dry_run_response="alarm"), []),
        (left(dry_run_threshold=q("45", "psi"), dry_run_method="underload"), []),
        # The limit of low suction tells it already.
        (left(dry_run_threshold=q("45", "psi"), low_suction_limit=q("45", "psi")), []),
    ],
)
def test_dry_run_by_pressure_leaves_ordinary_suction_alone(changes, expected):
    base = left(
        dry_run_method="suction_pressure", dry_run_response="stop",
        dry_run_threshold=q("10", "psi"),
    ) | {"/site/suction_pressure_low": q("30", "psi")}  # fmt: skip
    found = verdicts(changed(booster(), base | changes), RULE)
    assert found == [("review", variant) for variant in expected]


@pytest.mark.parametrize(
    ("changes", "expected"),
    [  # The tank's lowest ordinary level is 2.00 m over the site datum.
        (left(dry_run_threshold=q("1.99", "m")), []),
        (left(dry_run_threshold=q("2.00", "m")), ["early_level"]),
        # Counted from a transmitter that reads zero at 1.50 m: 0.49 m are 1.99 m, 0.50 m are 2 m.
        (left(dry_run_threshold=q("0.49", "m"), level_reference="transmitter_zero"), []),
        (left(dry_run_threshold=q("0.50", "m"), level_reference="transmitter_zero"),
         ["early_level"]),
    ],
)  # fmt: skip
def test_dry_run_by_level_leaves_ordinary_levels_alone(changes, expected):
    level = {
        "tag": "LT-9", "quantity": "level", "output": "4-20 mA",
        "lower_range_value": q("0", "m"), "upper_range_value": q("5", "m"),
        "zero_elevation": q("1.5", "m"),
    }  # fmt: skip
    document = booster()
    document["sensors"].append(level)
    base = left(dry_run_method="level", dry_run_response="stop", level_reference="site_datum") | {
        "/site/suction_kind": "flooded_tank",
        "/site/suction_level_low": q("2.00", "m"),
        "/pump_set/level_sensor": "LT-9",
    }
    found = verdicts(changed(document, base | changes), RULE)
    assert found == [("review", variant) for variant in expected]


def filled_or_emptied(regulated: str):
    """A level of 1 m by a transmitter whose zero lies 40 m over the pump; it draws from 2 m."""
    document = booster()
    document["sensors"].append({
        "tag": "LT-9", "quantity": "level", "output": "4-20 mA", "zero_elevation": q("40", "m"),
        "lower_range_value": q("0", "m"), "upper_range_value": q("5", "m"),
    })  # fmt: skip
    changes = left(
        regulated_quantity=regulated, dry_run_method="level", dry_run_response="stop",
        dry_run_threshold=q("1", "m"), level_reference="transmitter_zero",
    ) | {
        "/site/suction_kind": "flooded_tank", "/site/suction_level_low": q("2", "m"),
        "/pump_set/level_sensor": "LT-9", "/pump_set/regulating_sensor": "LT-9",
    }  # fmt: skip
    return changed(document, changes)


@pytest.mark.parametrize(
    ("regulated", "expected"), [("level_filling", []), ("level_emptying", ["early_level"])]
)
def test_levels_of_a_tank_that_is_filled_are_none_of_the_suction(regulated, expected):
    """41 m is not below 2 m, but the transmitter of a tank uphill tells nothing of the suction."""
    found = verdicts(filled_or_emptied(regulated), RULE)
    assert found == [("review", variant) for variant in expected]


def test_a_suction_that_does_not_fit_its_row_is_told_alone():
    """35 psi as the lowest, 20 psi as the highest: 36 psi may be right or wrong."""
    settings = left(
        dry_run_method="suction_pressure", dry_run_response="stop",
        dry_run_threshold=q("36", "psi"), low_suction_limit=q("10", "psi"),
    ) | {"/site/suction_pressure_high": q("20", "psi")}  # fmt: skip
    for lowest, waits in (("35", ["site.order"]), ("15", [])):
        document = changed(booster(), settings | {"/site/suction_pressure_low": q(lowest, "psi")})
        assert [each.waits_for for each in lacking(judged(document), RULE)] == waits
        assert (verdicts(document, RULE) == []) is bool(waits)


def test_a_level_that_counts_from_nowhere_is_not_judged():
    base = left(
        dry_run_method="level", dry_run_response="stop", dry_run_threshold=q("3", "m"),
        level_reference=None,
    ) | {"/site/suction_kind": "flooded_tank", "/site/suction_level_low": q("2", "m")}  # fmt: skip
    (found,) = lacking(judged(changed(booster(), base)), RULE)
    assert found.needs == ("/event/settings/as_left/level_reference",)
