"""Sleep of the booster.

At 85 psi and 30 psi of suction the pump holds (85 - 30) 2.309 + 1 = 128.0 ft at no flow at
1770 sqrt(128.0 / 260) = 1241.9 rpm, and at 33 psi 121.1 ft at 1208 rpm. At no flow it asks for
0.380
of the motor's torque at 1770 rpm (45 % of that at best efficiency, from memory), so that the motor
slips 4.7 rpm of its 25: 41.55 Hz and 40.41 Hz. The drive has a motor model and may compensate that
slip of 0.156 Hz, which leaves as much uncertain.
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


def test_the_limit_that_is_told_is_what_decides():
    """41.55 Hz less 0.156 Hz; the likely value stands in the sentence with what it is off by.

    The most is 0.8333 x 0.604 x (1242 / 1770)^2 x 1.2 = 0.297 Hz, 0.14 Hz more than is likely.
    """
    (finding,) = of_rule(judged(asleep_at("41.3")), ORDER)
    assert finding.limit == "above 41.4 Hz"
    assert "is below 41.55 Hz (0.16 Hz less to 0.14 Hz more), where" in SLEEP_ORDER.sentence(
        finding
    )
    assert verdicts(asleep_at("41.38"), ORDER) == [("review", "unreachable")]
    assert verdicts(asleep_at("41.42"), ORDER) == []


def test_nothing_is_left_uncertain_of_a_motor_that_does_not_slip():
    """1241.9 rpm where 1800 rpm are 60 Hz: 41.40 Hz."""
    kind = {"/motor/kind": "synchronous_reluctance"}
    speeds = {f"/motor/ratings/{each}/speed": q("1800", "rpm") for each in (0, 1)}
    document = changed(asleep_at("41.3", motor_speed=q("1800", "rpm")), kind | speeds)
    (finding,) = of_rule(judged(document), ORDER)
    assert finding.limit == "above 41.4 Hz"
    assert "is below 41.4 Hz, where" in SLEEP_ORDER.sentence(finding)


@pytest.mark.parametrize(
    ("frequency", "expected"),
    [
        ("35.9", []),  # below the minimum of 36 Hz: told by the range alone
        ("36", [("review", "unreachable")]),
        ("41.3", [("review", "unreachable")]),
        ("41.5", []),  # 0.156 Hz are allowed for
        ("42.0", []),
        ("42.8", []),
        # Design flow 1000 gpm: s^2 260 = 128.0 + 95, s = 0.9261 and 17.7 rpm of slip, 55.23 Hz.
        ("55.2", []),
        ("55.6", [("review", "immediate")]),
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
        # 500 gpm of 1000: s^2 260 = 128.0 + 95 / 4, s = 0.7640 and 11.7 rpm of slip, 45.46 Hz.
        ("alternating", "45.4", []),
        ("alternating", "46", [("review", "immediate")]),
        ("duty_standby", "55.3", []),
    ],
)
def test_pumps_that_may_run_share_the_design_flow(arrangement, frequency, expected):
    document = asleep_at(frequency, pump_arrangement=arrangement, pumps_in_group=2)
    assert verdicts(document, ORDER) == expected


def test_the_published_example_never_sleeps():
    """213 ft at no flow and 1740 rpm, 120 ft to hold: 1306 rpm; 38 Hz is never reached (L08, H05).

    Three quarters of the motor's torque at best efficiency, 45 % of that at no flow: 11.4 of 60
    rpm.

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
    assert finding.parameters["zero_flow"] == "43.91 Hz"


@pytest.mark.parametrize(("best", "sensible"), [("1100", "42.6 Hz"), ("1000", "42.2 Hz")])
def test_the_remedy_is_a_hertz_above_zero_flow(best, sensible):
    """Or half a hertz, where a hertz would mean more than half of the best flow: 362 gpm of 712."""
    document = changed(asleep_at("38"), {"/pump/best_efficiency_flow": q(best, "gpm")})
    (finding,) = of_rule(judged(document), ORDER)
    assert finding.parameters["sensible"] == sensible


def closed(psi):
    """A reading at a closed valve and 45 Hz, both gauges 2 ft above the datum."""
    return {"purpose": "shut_off", "flow": q("0", "gpm"), "frequency": q("45", "Hz"),
            "suction_pressure": q("30", "psi"), "discharge_pressure": q(psi, "psi"),
            "suction_gauge_elevation": q("2", "ft"), "discharge_gauge_elevation": q("2", "ft"),
            "instruments": ["I-1"]}  # fmt: skip


def test_what_was_read_at_the_closed_valve_decides():
    """45 Hz hold 150.0 ft by the curve, 65 psi or 150.1 ft as read; 61.8 psi are 142.7 ft, 4.9 %
    less, and 128.0 ft take 1.025 times the speed: 42.60 Hz."""
    document = changed(asleep_at("41.9"), {"/event/duty_points/-": closed("95")})
    assert verdicts(document, ORDER) == []
    worn = changed(asleep_at("41.9"), {"/event/duty_points/-": closed("91.8")})
    (finding,) = of_rule(judged(worn), ORDER)
    assert float(finding.parameters["zero_flow"].split()[0]) == pytest.approx(42.6, abs=0.03)
    assert "at the lowest suction, by what was read at the closed valve:" in (
        SLEEP_ORDER.sentence(finding)
    )


def test_a_motor_that_slips_much_is_not_told_that_it_never_sleeps():
    """1690 rpm at full load, as small motors have.

    By the slip of full load 1241.9 rpm would take 44.1 Hz; at no flow it slips 0.362 * 0.4923 of
    110 rpm, 20 rpm: 42.05 Hz.
    """
    slow = {"/motor/ratings/1/speed": q("1690", "rpm"), "/motor/ratings/0/speed": q("1690", "rpm")}
    judgement = judged(changed(asleep_at("42.5", motor_speed=q("1690", "rpm")), slow))
    assert of_rule(judgement, ORDER) == lacking(judgement, ORDER) == []
    zero_flow = derived(judgement, "speed.zero-flow-at-lowest-suction").si
    assert zero_flow == pytest.approx(42.05, abs=0.02)


@pytest.mark.parametrize(
    ("boost", "limited", "expected"),
    [
        # 60 Hz hold 144.8 psi at the lowest suction, 146.0 psi without any slip: a boost of 61 psi.
        ("60.5", False, []),
        ("62", False, [("review", "boost")]),
        ("62", True, []),  # it ends by time
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
        ("41.3", []),  # never reached: told by the order
        ("41.5", [("review", "narrow")]),  # as good as 41.55 Hz
        ("41.8", [("review", "narrow")]),  # 0.25 Hz above it, and 0.16 Hz are uncertain
        ("42.0", []),  # it may be 0.6 Hz
        # At 33 psi: s^2 260 - 121.1 = 95 q^2, and 50 % of 1000 s: q = 0.5 s at s = 0.7160,
        # that is 42.56 Hz with 9.4 rpm of slip, and 0.15 Hz more to be certain.
        ("42.6", []),
        ("42.9", [("note", "much_flow")]),
        # At 30 psi: s^2 260 - 128 = 95 q^2, and 70 % of 1000 s: q = 0.7 s at s^2 = 0.5997, that
        # is 46.10 Hz, and as much more.
        ("46.1", [("note", "much_flow")]),
        ("46.5", [("review", "busy")]),
    ],
)
def test_window(frequency, expected):
    assert verdicts(asleep_at(frequency), WINDOW) == expected


@pytest.mark.parametrize(
    ("frequency", "expected"),
    [
        ("41.96", [("review", "narrow")]),  # at most 0.408 + 0.081 Hz above
        ("41.98", [("note", "perhaps_narrow")]),  # it may be 0.509 Hz above, or 0.04 Hz below
        ("42.01", [("note", "perhaps_narrow")]),  # 0.458 Hz above, and 0.469 Hz are uncertain
        ("42.03", []),  # 0.478 Hz: above in any case
    ],
)
def test_what_slip_alone_decides_is_noted(frequency, expected):
    """A flux that falls with the square of the speed may ask for 0.469 Hz more than 41.55 Hz.

    And for 0.081 Hz less: 30 % of the torque at best efficiency, 10 % less than the curve has, and
    a fifth less slip: 0.8333 x 0.228 x 0.4924 x 0.8 = 0.075 Hz.

    Rated slip 0.8333 Hz. At most 65 % of the torque at best efficiency is asked for at no flow,
    1.1 x 0.844 of the rated, and the slip may be 20 % more than on the plate:
    0.8333 x 0.604 x (1242 / 1770)^2 x 1.2 / (41.4 / 60)^2 = 0.625 Hz, where 0.156 Hz are likely.
    """
    document = asleep_at(frequency, control_mode="volts_per_hertz_quadratic")
    assert verdicts(document, WINDOW) == expected


def test_what_slip_decides_is_better_seen_at_the_closed_valve():
    document = asleep_at("42", control_mode="volts_per_hertz_quadratic")
    (finding,) = of_rule(judged(document), WINDOW)
    told = {each.name: float(each.shown.value) for each in finding.compared}
    assert (told["zero_flow"], told["uncertain"]) == (
        pytest.approx(41.55, abs=0.01), pytest.approx(0.469, abs=0.002),
    )  # fmt: skip
    remedy = SLEEP_WINDOW.remedy(finding)
    assert "no longer than the pump's manual allows" in remedy


def test_the_remedy_of_a_narrow_window_is_twice_what_is_wanted():
    """0.5 Hz are wanted: 1 Hz above 41.55 Hz."""
    best = {"/pump/best_efficiency_flow": q("1100", "gpm")}
    (finding,) = of_rule(judged(changed(asleep_at("41.7"), best)), WINDOW)
    assert finding.parameters["sensible"] == "42.6 Hz"


@pytest.mark.parametrize(
    ("highest", "frequency", "expected"),
    [
        # H = 95 + 260 s^2 of friction: s^2 260 - H = 95 q^2, all of 1000 s gpm at s^2 165 = H.
        # 60 psi at 2 ft: H = 85 x 2.309 + 3 - (60 x 2.309 + 2) = 58.7 ft, s = 0.5965, 35.6 Hz:
        # any sleep above 41.55 Hz lies beyond. 45 psi: H = 93.4 ft, s = 0.7523, 44.78 Hz.
        ("45", "42.9", [("note", "much_flow")]),
        ("45", "44.8", [("note", "much_flow")]),
        ("45", "45.2", [("review", "beyond")]),
        ("60", "42.9", [("review", "beyond")]),
    ],
)
def test_asleep_above_the_best_flow(highest, frequency, expected):
    """At the lowest suction 45.3 Hz give less than the 70 % that 46.10 Hz would."""
    site = {"/site/suction_pressure_high": q(highest, "psi")}
    document = changed(asleep_at(frequency), site)
    assert verdicts(document, WINDOW) == expected
    assert verdicts(in_metric(document), WINDOW) == expected


@pytest.mark.parametrize(
    ("highest", "proposed"),
    [
        # 33 psi: 362 gpm at 42.6 Hz would be more than half of the best flow, 315 gpm are not.
        ("33", "42.2 Hz"),
        # All of 1000 s gpm at s^2 165 = H, as below. 45 psi leave a hertz of room.
        ("45", "42.6 Hz"),
        # 49 psi: H = 36 x 2.309 + 1 = 84.1 ft, 42.48 Hz: half a hertz is left, rounded up.
        ("49", "42.1 Hz"),
        # 50 psi: H = 81.8 ft, 41.89 Hz, and 60 psi as below: nothing between is left.
        ("50", None),
        ("60", None),
    ],
)
@pytest.mark.parametrize("frequency", ["38", "41.7", "56", "59"])
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
    noted = [("note", "much_flow")] if highest != "33" else []  # whatever frequency were set
    assert verdicts(again, WINDOW) == noted


def test_no_sleep_frequency_below_the_minimum_is_proposed():
    """44 Hz are above 41.55 + 1 Hz, and below 44.78 Hz of 45 psi (see below)."""
    document = changed(
        asleep_at("46.5", minimum_frequency=q("44", "Hz")),
        {"/site/suction_pressure_high": q("45", "psi")},
    )
    judgement = judged(document)
    (finding,) = of_rule(judgement, WINDOW)
    assert finding.parameters["sensible"] == "44 Hz"
    assert derived(judgement, "sleep.sensible-frequency").si == 44


def test_a_minimum_far_above_zero_flow_is_not_said_to_be_just_above_it():
    """41.55 Hz at no flow: at 50 Hz much flows."""
    document = asleep_at("51", minimum_frequency=q("50", "Hz"))
    (finding,) = of_rule(judged(document), WINDOW)
    remedy = SLEEP_WINDOW.remedy(finding)
    assert "At the lowest that makes sense, 50 Hz, the pump would still deliver too" in remedy
    capped = changed(document, left(maximum_frequency=q("42", "Hz"), minimum_frequency=None,
                                    sleep_frequency=q("40", "Hz")))  # fmt: skip
    (finding,) = of_rule(judged(changed(capped, left(minimum_frequency=q("36", "Hz")))), ORDER)
    assert "makes sense, 42.1 Hz, is not below the maximum frequency" in SLEEP_ORDER.remedy(finding)


@pytest.mark.parametrize(
    "way", [{"/site/minimum_flow_path": "recirculation"}, left(no_flow_response="stop")]
)
def test_a_narrow_window_matters_only_where_nothing_else_ends_pumping(way):
    assert verdicts(changed(asleep_at("41.7"), way), WINDOW) == []


def test_it_is_said_how_long_the_vessels_last():
    """83.4 psi (1 / 93.4 - 1 / 102.4) = 0.0785 of the volume, absolute; Boyle's law.

    Charged to 69 psi, stop at 88, wake at 79 psi; at 44.9 Hz and 33 psi flow 532 gpm or 8.87 gal/s,
    so that 1000 gal give it for 8.8 s.
    """
    document = changed(asleep_at("44.9"), {"/vessels/0/volume": q("1000", "gal")})
    (finding,) = of_rule(judged(document), WINDOW)
    assert finding.parameters["lasts"] == "; the vessels give that for 8.8 s"


@pytest.mark.parametrize(
    ("highest", "proposed"),
    # The minimum flow is kept at 42.16 Hz; half a hertz above 41.55 Hz is 42.1 Hz.
    [("42.7", "42.2 Hz"), ("42.2", "42.1 Hz"), ("42.1", None)],
)
def test_what_is_proposed_is_below_the_maximum(highest, proposed):
    (found,) = of_rule(judged(asleep_at("41.7", maximum_frequency=q(highest, "Hz"))), WINDOW)
    better = f"Set the sleep frequency to about {proposed}."
    assert (found.parameters["better"] == better) is (proposed is not None)


def test_a_sleep_below_zero_flow_is_not_narrow_where_it_was_accepted():
    """41.55 Hz at no flow: 41.3 Hz are not half a hertz above it, but below."""
    accepted = [(ORDER, f"{LEFT}/sleep_frequency")]
    assert verdicts(asleep_at("41.3"), ORDER) == [("review", "unreachable")]
    found = of_rule(judged(asleep_at("41.3"), accepted=accepted), WINDOW)
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


@pytest.mark.parametrize("rule", ["loop.sleep-order", "loop.sleep-window"])
def test_sleep_waits_for_a_temperature_in_the_other_unit(rule):
    """67 degC for 67 degF: of water 979.5 and 998.2 kg/m3, 2 % of every head."""
    document = changed(booster(), {"/event/liquid_temperature": q("67", "degC")})
    assert [each.waits_for for each in lacking(judged(document), rule)] == [
        "site.liquid-temperature"
    ]
