"""What waits for a contradiction, and only that: by number, by point, by sensor."""

import pytest

from tests.calculations.building import (
    booster,
    changed,
    derived,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_plates import q
from tests.calculations.stations import eighty_seven_hertz, well
from tests.calculations.whole_stations import raw_water

LEFT = "/event/settings/as_left"
POINTS = "/event/duty_points"
# 1830 rpm is above the 1800 rpm of four poles at 60 Hz (120 f / p).
ABOVE = changed(booster(), {"/motor/ratings/1/speed": q("1830", "rpm")})


def waiting(judgement, parent):
    return {(each.rule, each.subject) for each in judgement.not_evaluated
            if each.waits_for == parent}  # fmt: skip


# -- heights and depths that do not fit ------------------------------------------------------------

# The booster draws from a main; a tank over it instead, 8 to 12 ft over the pump: 85 psi and 3 ft
# less 8 ft are 191 ft at no flow, 1770 sqrt(191 / 260) = 1517 rpm, 50.8 Hz with slip.
TANK = {
    f"{LEFT}/sleep_frequency": q("51.8", "Hz"),
    f"{LEFT}/low_suction_limit_measured_by": "pressure_switch",  # of another place than the tank
    "/site/suction_kind": "flooded_tank",
    "/site/suction_level_low": q("8", "ft"),
    "/site/suction_level_high": q("12", "ft"),
    "/site/wet_well_floor": q("2", "ft"),
    "/site/suction_pressure_low": None,
    "/site/suction_pressure_high": None,
}
RESTS_ON_LOWEST = {"loop.sleep-order", "loop.sleep-window", "npsh.lowest-suction"}


@pytest.mark.parametrize(
    ("wrong", "waits"),
    [
        ({}, set()),
        # Of two that may be wrong the one further up is named.
        ({"/site/wet_well_floor": q("9", "ft")}, RESTS_ON_LOWEST),
        # Nothing else rests on the overflow, and 7 m are 23 ft.
        ({"/site/overflow_level": q("7", "ft")}, set()),
        ({"/site/suction_level_low": q("8", "m")}, RESTS_ON_LOWEST),  # 26 ft, above the highest
    ],
)
def test_a_height_that_does_not_fit_is_told_once(wrong, waits):
    judgement = judged(changed(booster(), TANK | wrong))
    told = {each.rule for each in judgement.findings if each.severity != "note"}
    assert told == ({"site.order"} if wrong else set())
    assert waits <= {rule for rule, _ in waiting(judgement, "site.order")}


def test_impellers_on_a_floor_that_does_not_fit_are_at_no_known_depth():
    """A river at -6 ft and more; its bed is not at -5 ft."""
    wrong = {"/site/wet_well_floor": q("-5", "ft"), "/site/inlet_invert": None}
    judgement = judged(changed(raw_water(), wrong))
    assert [each.rule for each in judgement.findings if each.severity != "note"] == ["site.order"]


@pytest.mark.parametrize(
    ("wrong", "waits"),
    [
        # 45 m are 148 ft, below the water while it is pumped: in feet it fits.
        ({"/site/static_water_depth": q("45", "m")}, set()),
        # 56 m are 184 ft, below the pump.
        ({"/site/pumping_water_depth": q("56", "m")}, {"npsh.lowest-suction"}),
        # A digit lost: above the water.
        ({"/site/pump_setting_depth": q("20", "ft")}, {"npsh.lowest-suction"}),
    ],
)
def test_a_depth_that_does_not_fit_is_told_once(wrong, waits):
    judgement = judged(changed(well(), wrong))
    told = [each.rule for each in judgement.findings if each.severity != "note"]
    assert told == ["well.levels"]
    assert waits <= {rule for rule, _ in waiting(judgement, "well.levels")}


# -- the plate's speed ----------------------------------------------------------------------------


def test_a_doubtful_plate_speed_leaves_measured_points_alone():
    judgement = judged(ABOVE)
    assert [each.rule for each in judgement.findings if each.severity != "note"] == ["motor.slip"]
    silent = {rule for rule, _ in waiting(judgement, "motor.slip")}
    assert silent.isdisjoint({
        "curve.point", "region.minimum-flow", "npsh.margin", "efficiency.wire-to-water",
        "loop.limits-order", "loop.wake", "sensor.range", "drive.volts-per-hertz",
        "drive.overload-setting", "vessel.precharge",
    })  # fmt: skip
    assert {
        "speed.measured",
        "curve.speed",
        "drive.motor-speed",
        "loop.sleep-order",
        "load.current-expected",
    } <= silent


def test_what_follows_from_a_doubtful_speed_is_no_number():
    with pytest.raises(LookupError):
        derived(judged(ABOVE), "speed.zero-flow-at-lowest-suction")


def test_a_point_whose_speed_was_not_measured_waits_alone():
    document = changed(ABOVE, {f"{POINTS}/1/speed_measured": False})
    (found,) = lacking(judged(document), "curve.point")
    assert (found.subject, found.waits_for) == (f"{POINTS}/1", "motor.slip")


def test_a_bad_point_is_told_beside_a_doubtful_plate():
    document = changed(ABOVE, {f"{POINTS}/0/flow": q("227", "gpm")})
    assert [each.subject for each in of_rule(judged(document), "curve.point")] == [f"{POINTS}/0"]


def test_a_cavitating_pump_is_told_beside_a_doubtful_plate():
    """5 inHg below atmosphere at 1000 gpm: -2.5 psi of suction leave less than the 10 ft needed."""
    points = {f"{POINTS}/0/suction_pressure": q("-10.5", "psi")}
    assert "npsh.margin" in {each.rule for each in judged(changed(ABOVE, points)).findings}


def test_the_wrong_tap_is_told_beside_a_doubtful_speed():
    """230 V at 60 Hz on a 460 V winding: half the flux, and the frequency is not in doubt."""
    document = changed(ABOVE, {f"{LEFT}/motor_voltage": q("230", "V")})
    assert verdicts(document, "drive.volts-per-hertz")[0][0] == "stop"


def test_volts_per_hertz_wait_where_the_frequency_may_be_what_is_wrong():
    """1475 rpm entered with 60 Hz, the drive set to 50 Hz: the plate's frequency was misread."""
    changes = {"/motor/ratings/1/speed": q("1475", "rpm"), f"{LEFT}/motor_frequency": q("50", "Hz")}
    judgement = judged(changed(booster(), changes))
    assert of_rule(judgement, "drive.volts-per-hertz") == []
    assert lacking(judgement, "drive.volts-per-hertz")[0].waits_for == "motor.slip"


def test_a_stretched_motors_power_waits_for_its_frequency():
    """50 Hz entered as 60 Hz stretch to 87 Hz by 1.45 in place of 1.73: 20 % less power."""
    wrong = changed(eighty_seven_hertz(), {"/motor/ratings/0/frequency": q("60", "Hz")})
    judgement = judged(wrong)
    assert [each.rule for each in judgement.findings if each.severity != "note"] == ["motor.slip"]
    assert {"drive.volts-per-hertz", "drive.motor-power"} <= {
        rule for rule, _ in waiting(judgement, "motor.slip")
    }


def test_a_motors_highest_frequency_needs_no_slip():
    """90 Hz is the motor's highest (building_plates); the pump's own limit waits for the plate."""
    judgement = judged(changed(ABOVE, {f"{LEFT}/maximum_frequency": q("95", "Hz")}))
    (found,) = of_rule(judgement, "speed.maximum-speed")
    assert (found.severity, found.variant) == ("stop", "motor")
    at_limit = judged(changed(ABOVE, {f"{LEFT}/maximum_frequency": q("90", "Hz")}))
    assert of_rule(at_limit, "speed.maximum-speed") == []
    assert lacking(at_limit, "speed.maximum-speed")[0].waits_for == "motor.slip"


def test_an_accepted_plate_is_used_as_it_is():
    (parent,) = of_rule(judged(ABOVE), "motor.slip")
    judgement = judged(ABOVE, accepted=[(parent.rule, parent.subject)])
    assert waiting(judgement, "motor.slip") == set()


def test_a_wrong_pole_count_is_waited_for_by_its_own_rule():
    document = changed(booster(), {"/motor/poles": 6})
    judgement = judged(document)
    assert [each.rule for each in judgement.findings if each.severity == "review"] == [
        "motor.poles"
    ]
    assert ("curve.speed", "/pump/rated_speed") in waiting(judgement, "motor.poles")


def test_a_plate_that_nobody_can_judge_is_waited_for_by_none():
    """Without the kind of motor neither rule speaks, so nothing may wait for it."""
    judgement = judged(without(ABOVE, "/motor/kind"))
    assert waiting(judgement, "motor.slip") == waiting(judgement, "motor.poles") == set()


# -- one point ------------------------------------------------------------------------------------


def test_one_doubtful_speed_silences_one_point():
    """1900 rpm at 48.2 Hz, where four poles turn at 1446 rpm: a slip of the pen at point 2."""
    document = changed(booster(), {f"{POINTS}/1/speed": q("1900", "rpm")})
    judgement = judged(document)
    assert [each.subject for each in of_rule(judgement, "speed.measured")] == [f"{POINTS}/1/speed"]
    assert {subject for rule, subject in waiting(judgement, "speed.measured")
            if rule in ("curve.point", "region.operating", "efficiency.wire-to-water")} == {
        f"{POINTS}/1"
    }  # fmt: skip


def test_another_points_error_is_told_beside_it():
    changes = {f"{POINTS}/1/speed": q("1900", "rpm"), f"{POINTS}/0/flow": q("227", "gpm")}
    judgement = judged(changed(booster(), changes))
    assert [each.subject for each in of_rule(judgement, "curve.point")] == [f"{POINTS}/0"]


def test_a_rule_of_points_that_waits_as_a_whole_is_told_at_their_list():
    """25.15 ft where 251.5 ft belong: no point is compared with such a curve."""
    document = changed(booster(), {"/pump/curve_points/1/head": q("25.15", "ft")})
    (found,) = lacking(judged(document), "region.minimum-flow")
    assert (found.subject, found.waits_for) == (POINTS, "curve.shape")


# -- one sensor -----------------------------------------------------------------------------------

WRONG_SELECTOR = changed(booster(), {f"{LEFT}/input_selector": "voltage"})


def test_a_doubtful_loop_silences_its_own_sensor_only():
    judgement = judged(WRONG_SELECTOR)
    assert {each.rule for each in judgement.findings if each.severity == "stop"} == {
        "loop.input-selector"
    }
    verifications = "/event/sensor_verifications"
    assert {s for r, s in waiting(judgement, "loop.input-selector")
            if r == "sensor.chain"} == {f"{verifications}/0"}  # fmt: skip


def test_a_wrong_selector_leaves_settings_and_the_transmitters_own_signal():
    """Only what was read by way of the drive's input waits: its display, the trace."""
    silent = {rule for rule, _ in waiting(judged(WRONG_SELECTOR), "loop.input-selector")}
    assert silent == {"sensor.chain", "protection.trip-value", "loop.set-point-held"} | {
        rule for rule in silent if rule.startswith("trace.")
    }


def test_the_scaling_is_told_beside_a_wrong_selector():
    document = changed(WRONG_SELECTOR, {f"{LEFT}/feedback_at_upper_signal": q("320", "psi")})
    assert verdicts(document, "loop.scaling")[0][0] == "stop"


def test_the_regulating_sensors_error_is_told_by_its_signal_beside_a_wrong_selector():
    """20.40 mA at 200 of 200 psi: 2.5 % of span, tolerance 0.5 %."""
    at = "/event/sensor_verifications/0/as_found"
    changes = {f"{at}/{index}/signal": q("20.40", "mA") for index in (4, 5)}
    found = of_rule(judged(changed(WRONG_SELECTOR, changes)), "sensor.error-as-left")
    assert [each.subject for each in found] == ["/event/sensor_verifications/0"]


def test_read_at_the_drive_alone_it_waits_for_the_selector():
    points = [f"/event/sensor_verifications/0/as_found/{index}/signal" for index in range(10)]
    (found,) = [
        each
        for each in lacking(judged(without(WRONG_SELECTOR, *points)), "sensor.error-as-left")
        if each.subject == "/event/sensor_verifications/0"
    ]
    assert found.waits_for == "loop.input-selector"
    accepted = [("loop.input-selector", f"{LEFT}/input_selector")]
    read = judged(without(WRONG_SELECTOR, *points), accepted=accepted)
    assert lacking(read, "sensor.error-as-left") == []


OTHER_MAINS = {f"{LEFT}/motor_frequency": q("50", "Hz")}


def test_overload_and_speed_are_told_beside_the_other_mains_frequency():
    """90 A for 68.7 A is 131 %; 1690 rpm for 1775 rpm: the plate itself is not in doubt."""
    wrong = {f"{LEFT}/overload_current": q("90", "A"), f"{LEFT}/motor_speed": q("1690", "rpm")}
    document = changed(booster(), OTHER_MAINS | wrong)
    found = {each.rule for each in judged(document).findings if each.severity != "note"}
    assert found == {"drive.volts-per-hertz", "drive.overload-setting", "drive.motor-speed"}


def test_a_speed_of_the_other_mains_is_the_same_cause():
    """1475 rpm at 50 Hz is what the plate of such a motor says there."""
    document = changed(booster(), OTHER_MAINS | {f"{LEFT}/motor_speed": q("1475", "rpm")})
    assert lacking(judged(document), "drive.motor-speed")[0].waits_for == "drive.volts-per-hertz"


@pytest.mark.parametrize(("volts", "waits"), [("230", True), ("241", True), ("243", False)])
def test_a_voltage_near_the_other_rating_may_be_meant_for_it(volts, waits):
    """230 V of the plate's other rating and 5 % are 241.5 V."""
    changes = {f"{LEFT}/motor_voltage": q(volts, "V"), f"{LEFT}/motor_speed": q("1690", "rpm")}
    judgement = judged(changed(booster(), changes))
    assert bool(lacking(judgement, "drive.motor-speed")) is waits
    assert bool(of_rule(judgement, "drive.motor-speed")) is not waits


def test_the_other_rating_of_the_plate_is_waited_for():
    """Linked for 230 V on the plate, set for 460 V: 137 A or 68.7 A, who knows."""
    judgement = judged(changed(booster(), {"/motor/rating_in_use": 0}))
    assert {"drive.overload-setting", "drive.motor-current"} <= {
        rule for rule, _ in waiting(judgement, "drive.volts-per-hertz")
    }


def test_the_suction_sensors_error_is_told_beside_a_doubtful_loop():
    """20.40 mA at 60 of 60 psi, where 20.00 mA are meant: 2.5 % of span, tolerance 0.5 %."""
    signals = ("4.00", "8.10", "12.20", "16.30", "20.40")
    at = "/event/sensor_verifications/1/as_found"
    changes = {}
    for index, signal in enumerate(signals + signals[::-1]):
        changes[f"{at}/{index}/signal"] = q(signal, "mA")
        changes[f"{at}/{index}/indicated"] = None
    found = of_rule(judged(changed(WRONG_SELECTOR, changes)), "sensor.error-as-left")
    assert [each.subject for each in found] == ["/event/sensor_verifications/1"]


def test_what_waits_names_the_list_that_it_looks_at():
    """The pre-charge of vessels waits for a wake value below the service pressure."""
    document = changed(booster(), {f"{LEFT}/wake_value": q("50", "psi")})
    (found,) = lacking(judged(document), "vessel.precharge")
    assert (found.subject, found.waits_for) == ("/event/vessel_checks", "loop.wake")
    (found,) = lacking(judged(changed(booster(), {f"{LEFT}/motor_voltage": q("230", "V")})),
                       "load.current-nameplate")  # fmt: skip
    assert found.subject == POINTS


# -- one limit ------------------------------------------------------------------------------------

NO_SUCTION_SENSOR = without(
    booster(), "/sensors/1", "/pump_set/suction_sensor", "/event/sensor_verifications/1"
)


@pytest.mark.parametrize("document", [booster(), NO_SUCTION_SENSOR])
def test_a_high_limit_beyond_its_sensor_needs_no_suction_sensor(document):
    """205 psi on a sensor of 0 to 200 psi, read by the regulating sensor."""
    high = changed(document, {f"{LEFT}/high_discharge_limit": q("205", "psi")})
    assert ("review", "limit") in verdicts(high, "loop.limit-measurable")


def test_limits_in_order_need_no_suction_sensor():
    assert lacking(judged(NO_SUCTION_SENSOR), "loop.limits-order") == []
    low = changed(NO_SUCTION_SENSOR, {f"{LEFT}/low_discharge_limit": q("85", "psi")})
    assert verdicts(low, "loop.limits-order") == [("review", "low_set_point")]


def test_what_the_suction_limit_lacks_is_named_still():
    (found,) = lacking(judged(NO_SUCTION_SENSOR), "loop.limit-measurable")
    assert "/pump_set/suction_sensor/lower_range_value" in found.needs


def test_a_set_point_above_the_pipework_needs_no_scaling_of_the_high_limit():
    """125 psi in %, of a span that is not known: the stop is told, the rest is missing."""
    document = without(
        booster(),
        f"{LEFT}/feedback_at_lower_signal",
        f"{LEFT}/feedback_at_upper_signal",
        "/sensors/0/upper_range_value",
    )
    changes = {
        f"{LEFT}/high_discharge_limit": q("60", "%"),
        "/site/discharge_pressure_limit": q("80", "psi"),
        f"{LEFT}/sleep_boost": None,
    }
    judgement = judged(changed(document, changes))
    assert [(each.severity, each.variant) for each in of_rule(judgement, "loop.limits-order")] == [
        ("stop", "top_pipework")
    ]


# -- lists without an element ----------------------------------------------------------------------


@pytest.mark.parametrize(
    "name", ["duty_points", "protection_tests", "sensor_verifications", "level_tests"]
)
def test_what_looks_at_an_empty_list_lacks_it_and_waits_for_nothing(name):
    station = changed(booster(), {f"/event/{name}": [], f"{LEFT}/input_selector": "voltage"})
    judgement = judged(station)
    assert "loop.input-selector" in {each.rule for each in judgement.findings}
    absent = [each for each in judgement.not_evaluated if each.subject == f"/event/{name}"]
    assert not [each for each in absent if each.waits_for == "loop.input-selector"]
