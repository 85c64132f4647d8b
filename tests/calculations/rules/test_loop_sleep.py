"""Sleep of the booster.

At 85 psi and 30 psi of suction the pump holds (85 - 30) 2.309 + 1 = 128.0 ft at no flow at
1770 sqrt(128.0 / 260) = 1241.9 rpm = 41.98 Hz; at 33 psi 121.1 ft at 40.83 Hz.
"""

import pytest

from calculations.rules.loop_sleep import SLEEP_ORDER, SLEEP_WINDOW
from tests.calculations.building import (
    booster,
    changed,
    derived,
    in_metric,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import LEFT, left

RANGE, ORDER = "loop.sleep-range", "loop.sleep-order"
WINDOW = "loop.sleep-window"


def asleep_at(frequency: str, **more: object):
    return changed(booster(), left(sleep_frequency=q(frequency, "Hz"), **more))


# -- loop.sleep-range ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("frequency", "expected"),
    [
        ("35.9", [("review", "below_minimum")]),  # minimum frequency 36 Hz
        ("36", []),
        ("59.9", []),
        ("60", [("review", "at_maximum")]),
    ],
)
def test_range(frequency, expected):
    assert verdicts(asleep_at(frequency), RANGE) == expected


def test_three_frequencies_need_neither_scaling_nor_set_point():
    wrong = changed(
        asleep_at("35.9"), left(feedback_at_upper_signal=q("300", "psi"), set_point=q("20", "psi"))
    )
    assert verdicts(wrong, RANGE) == [("review", "below_minimum")]


# -- loop.sleep-order ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("frequency", "expected"),
    [
        ("35.9", []),  # below the minimum of 36 Hz: told by the range alone
        ("36", [("review", "unreachable")]),
        ("41.9", [("review", "unreachable")]),
        ("42.0", []),
        ("42.8", []),
        # Design flow 1000 gpm: s^2 260 = 128.0 + 95, s = 0.9261, 55.41 Hz.
        ("55.3", []),
        ("55.5", [("review", "immediate")]),
        ("60", []),
    ],
)
def test_order(frequency, expected):
    document = asleep_at(frequency)
    assert verdicts(document, ORDER) == expected
    assert verdicts(in_metric(document), ORDER) == expected


@pytest.mark.parametrize(
    ("arrangement", "frequency", "expected"),
    [
        # 500 gpm of 1000: s^2 260 = 128.0 + 95 / 4, s = 0.7640, 45.71 Hz.
        ("alternating", "45.5", []),
        ("alternating", "46", [("review", "immediate")]),
        ("duty_standby", "55.3", []),
    ],
)
def test_pumps_that_may_run_share_the_design_flow(arrangement, frequency, expected):
    document = asleep_at(frequency, pump_arrangement=arrangement, pumps_in_group=2)
    assert verdicts(document, ORDER) == expected


def test_the_published_example_never_sleeps():
    """213 ft at no flow and 1740 rpm, 120 ft to hold: 45.04 Hz; 38 Hz is never reached (L08, H05).

    120 ft are 55 psi less 7 ft here: (85 - 30) 2.309 + z - 2 = 120 ft puts the tapping at -5.0 ft.
    """
    rows = [("0", "213"), ("200", "206"), ("400", "198"), ("800", "160"), ("1000", "130")]
    curve = [{"flow": q(flow, "gpm"), "head": q(head, "ft")} for flow, head in rows]
    document = changed(
        asleep_at("38"),
        {"/pump/curve_points": curve, "/pump/rated_speed": q("1740", "rpm"),
         "/motor/ratings/1/speed": q("1740", "rpm"), "/motor/ratings/0/speed": q("1740", "rpm"),
         "/sensors/0/tapping_elevation": q("-4.99", "ft")},
    )  # fmt: skip
    (finding,) = of_rule(judged(document), ORDER)
    assert finding.variant == "unreachable"
    assert finding.parameters["zero_flow"] == "45.04 Hz"


def test_the_remedy_is_a_hertz_above_zero_flow():
    (finding,) = of_rule(judged(asleep_at("38")), ORDER)
    assert finding.parameters["sensible"] == "43 Hz"


@pytest.mark.parametrize(
    ("boost", "limited", "expected"),
    [
        # 60 Hz hold 142.8 psi at the lowest suction: a boost of 57.8 psi.
        ("57", False, []),
        ("59", False, [("review", "boost")]),
        ("59", True, []),  # it ends by time
    ],
)
def test_boost_before_sleep(boost, limited, expected):
    document = changed(booster(), left(sleep_boost=q(boost, "psi"), high_discharge_limit=None))
    document = without(document, "/site/relief_valve_setting")
    if not limited:
        document = without(document, f"{LEFT}/sleep_boost_time_limit")
    assert verdicts(document, ORDER) == expected


def test_other_ways_to_sleep_are_not_judged_by_frequency():
    assert verdicts(asleep_at("38", sleep_method="flow"), ORDER) == []
    assert lacking(judged(asleep_at("38", sleep_method="none")), ORDER) == []


def test_order_names_what_it_lacks():
    (missing,) = lacking(judged(without(booster(), f"{LEFT}/sleep_method")), ORDER)
    assert missing.needs == (f"{LEFT}/sleep_method",)


# -- loop.sleep-window --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("frequency", "expected"),
    [
        ("42.4", [("review", "narrow")]),  # 0.42 Hz above 41.98 Hz
        ("42.5", []),  # 0.52 Hz
        # At 33 psi: s^2 260 - 121.1 = 95 q^2, and 50 % of 1000 s: q = 0.5 s at s = 0.7160,
        # that is 42.84 Hz.
        ("42.8", []),
        ("42.9", [("note", "much_flow")]),
        # At 30 psi: s^2 260 - 128 = 95 q^2, and 70 % of 1000 s: q = 0.7 s at s^2 = 0.5997, that
        # is 46.33 Hz.
        ("46.2", [("note", "much_flow")]),
        ("46.4", [("review", "busy")]),
    ],
)
def test_window(frequency, expected):
    assert verdicts(asleep_at(frequency), WINDOW) == expected


def test_the_remedy_of_a_narrow_window_is_twice_what_is_wanted():
    """0.5 Hz are wanted: 1 Hz above 41.98 Hz."""
    (finding,) = of_rule(judged(asleep_at("42.4")), WINDOW)
    assert finding.parameters["sensible"] == "43 Hz"


@pytest.mark.parametrize(
    ("highest", "frequency", "expected"),
    [
        # H = 95 + 260 s^2 of friction: s^2 260 - H = 95 q^2, all of 1000 s gpm at s^2 165 = H.
        # 60 psi at 2 ft: H = 85 x 2.309 + 3 - (60 x 2.309 + 2) = 58.7 ft, s = 0.5965, 35.69 Hz:
        # any sleep above 41.98 Hz lies beyond. 45 psi: H = 93.4 ft, s = 0.7523, 45.01 Hz.
        ("45", "42.9", [("note", "much_flow")]),
        ("45", "44.8", [("note", "much_flow")]),
        ("45", "45.2", [("review", "beyond")]),
        ("60", "42.9", [("review", "beyond")]),
    ],
)
def test_asleep_above_the_best_flow(highest, frequency, expected):
    """At the lowest suction 45.3 Hz give less than the 70 % that 46.33 Hz would."""
    site = {"/site/suction_pressure_high": q(highest, "psi")}
    document = changed(asleep_at(frequency), site)
    assert verdicts(document, WINDOW) == expected
    assert verdicts(in_metric(document), WINDOW) == expected


@pytest.mark.parametrize(
    ("highest", "proposed"),
    [
        # All of 1000 s gpm at s^2 165 = H, as below. 33 psi and 45 psi leave a hertz of room.
        ("33", "43 Hz"),
        ("45", "43 Hz"),
        # 49 psi: H = 36 x 2.309 + 1 = 84.1 ft, 42.72 Hz: half a hertz is left, rounded up.
        ("49", "42.5 Hz"),
        # 50 psi: H = 81.8 ft, 42.13 Hz, and 60 psi as below: nothing between is left.
        ("50", None),
        ("60", None),
    ],
)
@pytest.mark.parametrize("frequency", ["38", "42.1", "55.5", "59"])
def test_what_the_remedy_proposes_is_accepted(highest, proposed, frequency):
    site = {"/site/suction_pressure_high": q(highest, "psi")}
    found = [*of_rule(judged(changed(asleep_at(frequency), site)), ORDER),
             *of_rule(judged(changed(asleep_at(frequency), site)), WINDOW)]  # fmt: skip
    (finding,) = found
    remedy = {ORDER: SLEEP_ORDER, WINDOW: SLEEP_WINDOW}[finding.rule].remedy(finding)
    told = [each.shown.value for each in judged(changed(asleep_at(frequency), site)).derived
            if each.id == "sleep.sensible-frequency"]  # fmt: skip
    if proposed is None:
        assert remedy.startswith("Let flow or power put the pump to sleep")
        assert told == []
        return
    assert [f"{float(value):g} Hz" for value in told] == [proposed]
    assert remedy == f"Set the sleep frequency to about {proposed}."
    again = changed(asleep_at(proposed.removesuffix(" Hz")), site)
    assert verdicts(again, ORDER) == []
    assert "review" not in {severity for severity, _ in verdicts(again, WINDOW)}


def test_no_sleep_frequency_below_the_minimum_is_proposed():
    """44 Hz are above 41.98 + 1 Hz, and below 45.01 Hz of 45 psi (see below)."""
    document = changed(
        asleep_at("46.5", minimum_frequency=q("44", "Hz")),
        {"/site/suction_pressure_high": q("45", "psi")},
    )
    judgement = judged(document)
    (finding,) = of_rule(judgement, WINDOW)
    assert finding.parameters["sensible"] == "44 Hz"
    assert derived(judgement, "sleep.sensible-frequency").si == 44


def test_a_minimum_far_above_zero_flow_is_not_said_to_be_just_above_it():
    """41.98 Hz at no flow: at 50 Hz much flows."""
    document = asleep_at("51", minimum_frequency=q("50", "Hz"))
    (finding,) = of_rule(judged(document), WINDOW)
    remedy = SLEEP_WINDOW.remedy(finding)
    assert "The lowest that makes sense, 50 Hz, is the maximum or more, or the pump" in remedy


@pytest.mark.parametrize(
    "way", [{"/site/minimum_flow_path": "recirculation"}, left(no_flow_response="stop")]
)
def test_a_narrow_window_matters_only_where_nothing_else_ends_pumping(way):
    assert verdicts(changed(asleep_at("42.2"), way), WINDOW) == []


def test_it_is_said_how_long_the_vessels_last():
    """83.4 psi (1 / 93.4 - 1 / 102.4) = 0.0785 of the volume, absolute; Boyle's law.

    Charged to 69 psi, stop at 88, wake at 79 psi; at 44.9 Hz and 33 psi flow 516 gpm or 8.6 gal/s,
    so that 1000 gal give it for 9.1 s.
    """
    document = changed(asleep_at("44.9"), {"/vessels/0/volume": q("1000", "gal")})
    (finding,) = of_rule(judged(document), WINDOW)
    assert finding.parameters["lasts"] == "; the vessels give that for 9.1 s"


@pytest.mark.parametrize(
    ("highest", "proposed"),
    # A hertz above 41.98 Hz is 43.0 Hz, half a hertz 42.5 Hz: neither is below the maximum.
    [("43.1", "43 Hz"), ("43", "42.5 Hz"), ("42.6", "42.5 Hz"), ("42.5", None)],
)
def test_what_is_proposed_is_below_the_maximum(highest, proposed):
    (found,) = of_rule(judged(asleep_at("42.2", maximum_frequency=q(highest, "Hz"))), WINDOW)
    better = f"Set the sleep frequency to about {proposed}."
    assert (found.parameters["better"] == better) is (proposed is not None)


def test_a_sleep_below_zero_flow_is_not_narrow_where_it_was_accepted():
    """41.98 Hz at no flow: 41.5 Hz are not half a hertz above it, but below."""
    accepted = [(ORDER, f"{LEFT}/sleep_frequency")]
    assert verdicts(asleep_at("41.5"), ORDER) == [("review", "unreachable")]
    found = of_rule(judged(asleep_at("41.5"), accepted=accepted), WINDOW)
    assert [each.variant for each in found] == []


def test_the_best_flow_is_that_of_the_plate_at_the_speed_of_sleep():
    """45.2 Hz of 59.83 Hz (1770 rpm): 0.755 of 1200 gpm; without it 0.755 of the curve's 1000."""
    site = {"/site/suction_pressure_high": q("45", "psi")}
    for document, best in (
        (changed(asleep_at("45.2"), site | {"/pump/best_efficiency_flow": q("1200", "gpm")}), 906),
        (without(changed(asleep_at("45.2"), site), "/pump/best_efficiency_flow"), 755),
    ):
        (found,) = of_rule(judged(document), WINDOW)
        told = {each.name: each.shown for each in found.compared}["best"]
        assert (float(told.value), told.unit) == (pytest.approx(best, rel=0.01), "gpm")
