"""Pressures measured in service against the set point.

The booster keeps 85 psi at PT-101, 3 ft over the datum as the gauge, plus 3 psi of boost before
sleep: more than 15 % of 88 psi are 13.2 psi; the limit is at 101.2 psi. All by hand.
"""

import pytest

from calculations.judging import finding_document
from calculations.rules.loop_held import SET_POINT_HELD
from tests.calculations.building import (
    booster,
    changed,
    in_metric,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_plates import q

RULE = "loop.set-point-held"
LEFT, POINTS = "/event/settings/as_left", "/event/duty_points"
NORMAL = f"{POINTS}/0"


def ran(pressure: str = "110", frequency: str = "52.0", **more: object):
    """The normal point as run with a valve throttled; no curve that the gauge is compared with."""
    changes = {
        f"{NORMAL}/discharge_pressure": q(pressure, "psi"),
        f"{NORMAL}/frequency": q(frequency, "Hz"),
        **{f"{NORMAL}/{name}": value for name, value in more.items()},
    }
    normal = booster()["event"]["duty_points"][1]
    document = changed(booster(), {POINTS: [normal]})
    return changed(without(document, "/pump/curve_points", f"{NORMAL}/speed"), changes)


ABOVE, AT_MINIMUM = [("review", "above")], [("note", "at_minimum")]


@pytest.mark.parametrize(
    ("pressure", "expected"),
    [("85.0", []), ("100.0", []), ("101.2", []), ("101.3", ABOVE), ("110", ABOVE), ("60", [])],
)
def test_pressure_above_the_set_point(pressure, expected):
    """Half a last digit is granted: 101.3 is at least 101.25."""
    assert verdicts(ran(pressure), RULE) == expected


@pytest.mark.parametrize(
    ("frequency", "expected"),
    [("36", AT_MINIMUM), ("36.5", AT_MINIMUM), ("36.6", ABOVE), ("60", ABOVE)],
)
def test_a_drive_at_its_minimum_cannot_slow_down(frequency, expected):
    assert verdicts(ran(frequency=frequency), RULE) == expected


def test_at_the_minimum_two_causes_are_named():
    (finding,) = of_rule(judged(ran(frequency="36")), RULE)
    told = str(finding_document(finding, "")["sentence"])
    assert told.endswith("slow down further: either nobody drew water, or the suction had risen.")


def test_at_the_minimum_a_suction_that_gives_as_much_explains_it():
    """94 psi at 1 ft are 93 psi at 3 ft, more than 88 psi; 80 psi are not."""
    high = {"/site/suction_pressure_high": q("95", "psi")}
    for suction, expected in (("94", []), ("80", AT_MINIMUM)):
        document = changed(ran(frequency="36", suction_pressure=q(suction, "psi")), high)
        assert verdicts(document, RULE) == expected
    document = changed(ran(frequency="45", suction_pressure=q("94", "psi")), high)
    assert verdicts(document, RULE) == ABOVE  # that could still slow down


@pytest.mark.parametrize(
    "more",
    [
        {"other_pumps_running": 1},
        {"frequency": "48.0"},  # the speed set for hand
        {"purpose": "shut_off"},
    ],
)
def test_what_explains_it(more):
    assert verdicts(ran(**more), RULE) == []


def test_a_point_beside_the_speed_set_for_hand_was_left_to_the_loop():
    """48.0 Hz are set for hand."""
    assert verdicts(ran(frequency="48.1"), RULE) == ABOVE


@pytest.mark.parametrize(
    "changes",
    [
        {f"{LEFT}/set_point_source": "remote"},
        {f"{LEFT}/set_point_datum": "remote"},
        {f"{LEFT}/regulation": "speed_from_external_controller"},
        {"/sensors/0/location": "remote"},
        {"/sensors/0/location": "tank"},
        {f"{LEFT}/set_point_alternatives": [{"set_point": q("100", "psi"), "schedule": "night"}]},
    ],
)
def test_a_set_point_that_is_not_the_one(changes):
    """With 100 psi by night the limit is at 118.5 psi."""
    assert verdicts(changed(ran(), changes), RULE) == []


def test_the_highest_of_several_set_points_counts():
    """115 psi by night and 3 psi of boost, 15 % above: 135.7 psi."""
    nights = [{"set_point": q(value, "psi"), "schedule": name}
              for name, value in (("night", "115"), ("day", "90"))]  # fmt: skip
    assert verdicts(changed(ran("130"), {f"{LEFT}/set_point_alternatives": nights}), RULE) == []


def test_without_a_speed_set_for_hand_no_point_was_run_by_it():
    assert verdicts(without(ran(frequency="48.0"), f"{LEFT}/hand_speed"), RULE) == ABOVE


@pytest.mark.parametrize("pumps", [None, 1])
def test_a_pump_that_stands_alone_has_no_others_to_ask_for(pumps):
    alone = {f"{LEFT}/pumps_in_group": pumps, f"{NORMAL}/other_pumps_running": None}
    assert verdicts(changed(ran(), alone), RULE) == ABOVE


def test_at_the_minimum_without_a_suction_gauge():
    document = without(ran(frequency="36"), f"{NORMAL}/suction_pressure")
    assert verdicts(document, RULE) == AT_MINIMUM


@pytest.mark.parametrize(("suction", "expected"), [("104", AT_MINIMUM), ("106", [])])
def test_the_height_of_the_suction_gauge_counts(suction, expected):
    """At -37 ft, 40 ft below the transmitter: 17.3 psi less there; 88 psi are aimed at."""
    deep = {"suction_pressure": q(suction, "psi"), "suction_gauge_elevation": q("-37", "ft")}
    document = changed(
        ran(frequency="36", **deep), {"/site/suction_pressure_high": q("110", "psi")}
    )
    assert verdicts(document, RULE) == expected


@pytest.mark.parametrize(("pressure", "expected"), [("50.2", []), ("50.4", ABOVE)])
def test_half_a_bar_is_allowed_at_the_least(pressure, expected):
    """15 % of 43 psi are 6.45 psi, 0.5 bar are 7.25 psi: 50.25 psi."""
    low = changed(ran(pressure), {f"{LEFT}/set_point": q("40", "psi"), f"{LEFT}/wake_value": None})
    low = changed(low, {f"{LEFT}/low_discharge_limit": None})
    assert verdicts(without(low, "/site/minimum_service_pressure"), RULE) == expected


def test_a_point_that_lacks_its_frequency_hides_no_other():
    document = changed(ran(), {f"{POINTS}/-": ran()["event"]["duty_points"][0]})
    document = without(document, f"{NORMAL}/frequency")
    (finding,) = of_rule(judged(document), RULE)
    assert finding.subject == f"{POINTS}/1"


def test_an_odd_reading_that_was_accepted_is_judged():
    """Of 85 psi a slip of ten, which the curve tells."""
    document = changed(booster(), {f"{POINTS}/1/discharge_pressure": q("850", "psi")})
    known = judged(document, accepted=[("curve.point", f"{POINTS}/1")])
    assert [each.subject for each in of_rule(known, RULE)] == [f"{POINTS}/1"]


@pytest.mark.parametrize("purpose", ["design", "minimum", "maximum"])
def test_other_points_may_have_been_run_by_hand(purpose):
    assert verdicts(ran(purpose=purpose), RULE) == [("note", "above")]


def test_one_cause_is_told_once_at_the_point_of_service():
    document = changed(
        without(booster(), "/pump/curve_points"), {f"{LEFT}/set_point": q("68", "psi"),
                                                   f"{LEFT}/hand_speed": q("40", "Hz")}
    )  # fmt: skip
    (finding,) = of_rule(judged(document), RULE)
    assert (finding.subject, finding.severity) == (f"{POINTS}/1", "review")


def test_what_is_said():
    """110.35 psi are read at the least, 22.35 more than 88."""
    (finding,) = of_rule(judged(ran("110.4")), RULE)
    said = SET_POINT_HELD.sentence(finding)
    assert said.startswith("At 52.0 Hz the gauge showed 110.4 psi, some 22 psi more than the set")
    assert "slow down to 36 Hz" in said
    (metric,) = of_rule(judged(in_metric(ran())), RULE)
    assert "some 1.5 bar more" in SET_POINT_HELD.sentence(metric)


def test_the_height_of_the_gauge_counts():
    """A gauge 40 ft below the transmitter reads 17.3 psi more than it."""
    assert verdicts(ran("110", discharge_gauge_elevation=q("-37.0", "ft")), RULE) == []


def test_others_that_may_have_run_are_asked_for():
    document = without(changed(ran(), {f"{LEFT}/pumps_in_group": 2}),
                       f"{NORMAL}/other_pumps_running")  # fmt: skip
    (missing,) = lacking(judged(document), RULE)
    assert missing.needs == (f"{NORMAL}/other_pumps_running",)


def test_it_waits_for_the_curve():
    """With its curve the pump's readings themselves are in doubt."""
    document = changed(booster(), {f"{POINTS}/1/discharge_pressure": q("110", "psi")})
    assert verdicts(document, RULE) == []
    assert [each.waits_for for each in lacking(judged(document), RULE)] == ["curve.point"]


def test_it_waits_for_a_suction_that_was_misread():
    """32.1 psi written as 32.1 bar are 433.5 psi more, and the discharge moved along with it."""
    normal = f"{POINTS}/1"
    document = changed(booster(), {
        f"{normal}/suction_pressure": q("32.1", "bar"),
        f"{normal}/discharge_pressure": q("518.5", "psi"),
    })  # fmt: skip
    assert verdicts(document, RULE) == []
    assert [each.waits_for for each in lacking(judged(document), RULE)] == ["suction.reading"]
