"""Values that a technician wants before and after: speeds, pressures, signals, vessels, air."""

import pytest

from calculations.units import to_si
from tests.calculations.building import booster, changed, derived, in_metric, judged, without
from tests.calculations.building_event import verification
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import (
    LEFT,
    booster_in_percent,
    left,
    lift_station,
    raw_water,
    shifted_booster,
)


def value(identity: str, document=None) -> float:
    return derived(judged(document or booster()), identity).si


def shown(identity: str, document=None) -> str:
    return str(derived(judged(document or booster()), identity).shown)


def known(document) -> set[str]:
    return {each.id for each in judged(document).derived}


# -- speeds -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("identity", "hertz"),
    [
        # (85 - 30) 2.309 + 1 = 128.0 ft: 1770 sqrt(128.0 / 260) = 1241.9 rpm, 60 Hz at 1775 rpm.
        ("speed.zero-flow-at-lowest-suction", 41.98),
        ("speed.zero-flow-at-highest-suction", 40.83),  # 121.1 ft
        # 254.1 ft at 250 gpm: 1770 sqrt(128.0 / 254.1) = 1256.2 rpm.
        ("speed.at-minimum-continuous-flow", 42.47),
        ("speed.at-minimum-continuous-flow-at-highest-suction", 41.31),
        # 51.3 hp at 60 Hz and 950 gpm, between two points: 60 (60 / 51.3)^(1/3).
        ("speed.highest-for-motor-power", 63.22),
        # 60 * 1800 / 1775: the pump permits 1800 rpm, the motor 90 Hz.
        ("speed.highest-permitted", 60.85),
        ("speed.lowest-sensible-minimum", 40.83),  # the pump's own 30 Hz are lower
    ],
)
def test_speeds_of_the_booster(identity, hertz):
    assert value(identity) == pytest.approx(hertz, abs=0.05)
    assert shown(identity).endswith(" Hz")
    assert value(identity, in_metric(booster())) == pytest.approx(value(identity), rel=1e-6)


def test_a_motor_of_full_torque_above_its_rated_speed_carries_more():
    """51.4 hp at 60 Hz: 60 (60 / 51.4)^(1/2), the motor's power growing with the frequency."""
    document = changed(booster(), {"/motor/extended_constant_torque": True})
    assert value("speed.highest-for-motor-power", document) == pytest.approx(64.83, abs=0.1)


def test_zero_flow_of_the_published_example():
    """H05: 213 ft at no flow and 1740 rpm, 120 ft to hold: ratio 0.750587, 45.04 Hz."""
    rows = [("0", "213"), ("200", "206"), ("400", "198"), ("800", "160")]
    document = changed(
        raw_water(),
        {"/pump/curve_points": [{"flow": q(f, "gpm"), "head": q(h, "ft")} for f, h in rows],
         "/pump/rated_speed": q("1740", "rpm"), "/motor/ratings/1/speed": q("1740", "rpm"),
         "/motor/ratings/0/speed": q("1740", "rpm"),
         "/site/static_lift_high": q("120", "ft"), "/site/static_lift_low": q("100", "ft")},
    )  # fmt: skip
    assert value("speed.zero-flow-at-lowest-suction", document) == pytest.approx(45.035, abs=0.001)


def test_a_level_or_lift_counts_where_no_pressure_is_kept():
    """1770 sqrt(160 / 260) rpm and 1770 sqrt(150 / 260) rpm, 60 Hz at 1775 rpm."""
    assert value("speed.zero-flow-at-lowest-suction", raw_water()) == pytest.approx(46.94, abs=0.01)
    assert value("speed.zero-flow-at-highest-suction", raw_water()) == pytest.approx(
        45.45, abs=0.01
    )


def test_scaling_in_percent_changes_no_speed():
    identity = "speed.zero-flow-at-lowest-suction"
    assert value(identity, booster_in_percent()) == pytest.approx(value(identity), rel=1e-9)


def test_the_datum_of_the_set_point_counts():
    """85 psi at the pump's datum instead of 3 ft above: 125.0 ft, 41.48 Hz."""
    found = value("speed.zero-flow-at-lowest-suction", shifted_booster())
    assert found == pytest.approx(41.48, abs=0.02)


def test_flow_at_sleep():
    """42.8 Hz, s = 0.7154: (s^2 260 - 128.0) / 95 = 0.0533 and (s^2 260 - 121.1) / 95 = 0.1262.

    231 gpm and 355 gpm of the parabola; the curve through its points is 2 % off near no flow.
    """
    assert value("sleep.flow") == pytest.approx(to_si(231, "gpm"), rel=0.025)
    assert value("sleep.flow-at-highest-suction") == pytest.approx(to_si(355, "gpm"), rel=0.01)
    assert shown("sleep.flow").endswith(" gpm")


def kept_from_a_well(frequency):
    """Static level 40 m, 15 m of draw-down at 45 m3/h, 4.8 bar held 0.6 m over the ground."""
    points = [("0", "140"), ("25", "129.2"), ("45", "105"), ("55", "87.72")]
    curve = [{"flow": q(flow, "m3/h"), "head": q(head, "m")} for flow, head in points]
    changes = {
        "/site/suction_kind": "well", "/site/static_water_depth": q("40", "m"),
        "/site/pumping_water_depth": q("55", "m"),
        "/site/pumping_water_depth_at_flow": q("45", "m3/h"),
        "/pump/curve_points": curve, "/pump/rated_speed": q("1770", "rpm"),
        "/sensors/0/tapping_elevation": q("0.6", "m"), **left(
            set_point=q("4.8", "bar"), sleep_frequency=q(frequency, "Hz"),
            set_point_datum="transmitter",
        ),
    }  # fmt: skip
    document = changed(booster(), changes)
    return without(document, "/site/suction_pressure_low", "/site/suction_pressure_high")


def test_flow_at_sleep_out_of_a_well():
    """It falls with the flow (THEIS-1935): s^2 140 - 0.01728 Q^2 = 89.6 + Q / 3, Q in m3/h.

    4.8 bar are 49.0 m at 15.6 degC, 0.6 m and 40 m of static depth: 89.6 m. Zero flow at 59.83
    sqrt(89.6 / 140) = 47.86 Hz; at 49.7 Hz s^2 = 0.6900, 96.6 m at no flow: Q = 12.7 m3/h. Without
    the draw-down it would be 20.1 m3/h; at the depth of service (104.6 m) nothing.
    """
    document = kept_from_a_well("49.7")
    zero = value("speed.zero-flow-at-lowest-suction", document)
    assert zero == pytest.approx(47.86, abs=0.1)
    for end in ("", "-at-highest-suction"):
        flow = value(f"sleep.flow{end}", document)
        assert flow == pytest.approx(to_si(12.7, "m3/h"), rel=0.1)
    assert value("sleep.flow", kept_from_a_well("47.6")) == 0.0
    unknown = without(document, "/site/pumping_water_depth_at_flow")
    assert "sleep.flow" not in known(unknown)


@pytest.mark.parametrize(
    ("identity", "psi"),
    [
        # 33 psi at 2 ft are 32.57 psi at 3 ft; 113.2 psi at 60 Hz, times (36 / 60)^2 at 36 Hz.
        ("pressure.shut-off-at-minimum-speed", 73.3),
        ("pressure.shut-off-at-rated-speed", 145.8),
        ("pressure.shut-off-at-maximum-speed", 145.8),
    ],
)
def test_what_the_closed_valve_check_reads(identity, psi):
    assert value(identity) == pytest.approx(to_si(psi, "psi"), rel=0.001)


@pytest.mark.parametrize(
    "place", ["/sensors/0/quantity", "/sensors/0/tapping_elevation"], ids=("level", "no height")
)
def test_without_a_pressure_sensor_the_closed_valve_is_told_at_the_datum(place):
    """33 psi at 2 ft are 33.87 psi at the datum (62.4 lb/ft3), and 113.2 psi at 60 Hz."""
    given = {place: "level" if place.endswith("quantity") else None}
    found = value("pressure.shut-off-at-rated-speed", changed(booster(), given))
    assert found == pytest.approx(to_si(147.1, "psi"), rel=0.001)


@pytest.mark.parametrize(
    ("removed", "given", "expected"),
    [
        ((), {}, "psi"),
        (("/site/discharge_pressure_limit",), {}, "psi"),
        (
            ("/site/discharge_pressure_limit",),
            {f"/site/suction_pressure_{end}": q("2.2", "bar") for end in ("low", "high")},
            "psi",  # of the set point
        ),
        (
            ("/site/discharge_pressure_limit", f"{LEFT}/set_point"),
            {f"/site/suction_pressure_{end}": q("2.2", "bar") for end in ("low", "high")},
            "bar",
        ),
        (  # a level transmitter's range says nothing of a discharge
            ("/site/discharge_pressure_limit", f"{LEFT}/set_point"),
            {"/sensors/0/quantity": "level", "/sensors/0/upper_range_value": q("500", "mbar"),
             "/sensors/0/lower_range_value": q("0", "mbar")}
            | {f"/site/suction_pressure_{end}": q("220", "kPa") for end in ("low", "high")},
            "kPa",
        ),
    ],
)  # fmt: skip
def test_the_closed_valve_is_told_in_the_unit_of_the_stations_other_pressures(
    removed, given, expected
):
    judgement = judged(changed(without(booster(), *removed), given))
    for speed in ("minimum", "rated", "maximum"):
        assert derived(judgement, f"pressure.shut-off-at-{speed}-speed").shown.unit == expected


def test_a_contradictory_curve_gives_no_speed():
    document = changed(booster(), {"/pump/curve_points/1/head": q("25.15", "ft")})
    assert "speed.zero-flow-at-lowest-suction" not in known(document)


# -- signals ------------------------------------------------------------------------------------


def ranged(upper: str, set_point: str):
    return changed(
        booster(),
        {"/sensors/0/upper_range_value": q(upper, "psi"), "/event/sensor_verifications": None}
        | left(feedback_at_upper_signal=q(upper, "psi"), set_point=q(set_point, "psi")),
    )  # fmt: skip


def test_signal_at_the_set_point():
    """T01b: 60 psi of 0 to 150 psi are 10.4 mA."""
    assert shown("sensor.signal-at-set-point", ranged("150", "60")) == "10.4 mA"


def test_signal_of_a_voltage():
    """T02: 82.5 of 150 psi are 5.5 V of 0 to 10 V."""
    document = changed(
        ranged("150", "82.5"),
        {"/sensors/0/output": "0-10 V"} | left(feedback_signal="0-10 V", input_selector="voltage"),
    )
    assert shown("sensor.signal-at-set-point", document) == "5.5 V"


def test_signals_at_limits_and_quarters():
    """125 psi of 200 psi: 4 + 16 x 0.625 = 14 mA; 79 psi: 10.32 mA."""
    assert shown("sensor.signal-at-high-limit") == "14 mA"
    assert shown("sensor.signal-at-wake") == "10.32 mA"
    quarters = [shown(f"sensor.signal-at-{percent}-percent") for percent in (0, 25, 50, 75, 100)]
    assert quarters == ["4 mA", "8 mA", "12 mA", "16 mA", "20 mA"]


def test_signal_at_a_set_point_of_another_datum():
    """85 psi at the datum are 79.8 psi at the transmitter, 12 ft above: 10.384 mA."""
    found = value("sensor.signal-at-set-point", shifted_booster())
    assert found == pytest.approx(0.010384, abs=2e-6)


def test_signal_where_the_scaling_tells_the_datum():
    """The same; without a scaling nobody knows, and the transmitter's own height counts: 85 psi of
    200 psi are 10.8 mA."""
    unknown = without(shifted_booster(), f"{LEFT}/set_point_datum")
    assert value("sensor.signal-at-set-point", unknown) == pytest.approx(0.010384, abs=2e-6)
    ends = ("feedback_at_lower_signal", "feedback_at_upper_signal")
    unscaled = without(unknown, *(f"{LEFT}/{end}" for end in ends))
    assert "sensor.signal-at-set-point" not in known(unscaled)


def test_scaling_that_cancels_the_tapping_s_height():
    """T06: 6 ft of water at 20 degC are 2.5965 psi."""
    document = changed(
        booster(),
        {"/sensors/0/tapping_elevation": q("6", "ft"), "/event/liquid_temperature": q("20", "degC")}
        | left(set_point_datum="pump_datum"),
    )
    assert value("sensor.scaling-at-lower-signal", document) == pytest.approx(
        to_si(2.5965, "psi"), rel=1e-4
    )
    assert value("sensor.scaling", document) == pytest.approx(to_si(202.5965, "psi"), rel=1e-5)


def test_a_scaling_whose_shift_nobody_knows_is_not_told():
    """Zero height is no reading: 0 to 200 psi would be a number out of nowhere."""
    names = ("sensor.scaling", "sensor.scaling-at-lower-signal")
    for datum in (None, "pump_datum"):
        document = without(
            changed(booster(), left(set_point_datum=datum)), "/sensors/0/tapping_elevation"
        )
        assert not set(names) & known(document)
    at_transmitter = without(booster(), "/sensors/0/tapping_elevation")
    assert shown("sensor.scaling", at_transmitter) == "200 psi"
    assert not set(names) & known(changed(booster(), left(set_point_datum="remote")))


@pytest.mark.parametrize(
    ("high", "unit", "told"), [("1379", "kPa", "1379 kPa"), ("200", "psi", "200 psi")]
)
def test_scaling_is_told_in_the_unit_of_the_range(high, unit, told):
    """The drive is set in psi; what it is scaled to stands on the transmitter."""
    ends = {"lower": q("0", unit), "upper": q(high, unit)}
    document = changed(
        booster(), {f"/sensors/0/{end}_range_value": value for end, value in ends.items()}
    )
    assert shown("sensor.scaling", document) == told


def test_scaling_of_a_pressure_cell_is_told_as_the_level():
    """0 to 490 mbar over -4.9 m: 49000 Pa are 5.0 m of water, shown from the floor at -5.0 m."""
    cell = {
        "/sensors/0/quantity": "pressure", "/sensors/0/tapping_elevation": q("-4.9", "m"),
        "/sensors/0/lower_range_value": q("0", "mbar"),
        "/sensors/0/upper_range_value": q("490", "mbar"),
    }  # fmt: skip
    document = changed(lift_station(), cell)
    assert derived(judged(document), "sensor.scaling").shown.unit == "m"
    # The height of the tapping counts where no other is recorded.
    low = value("sensor.scaling-at-lower-signal", without(document, "/sensors/0/zero_elevation"))
    assert low == pytest.approx(0.1)


def test_loop_resistance():
    """T09: (24 - 10.5) V / 21 mA = 643 ohm."""
    document = changed(booster(), {"/sensors/0/supply_voltage_minimum": q("10.5", "V")})
    assert shown("sensor.loop-resistance-allowed", document) == "642.9 ohm"


def test_allowed_error_of_the_published_example():
    """T05: 0.25 % of 150 psi, reference 0.05 % of 200 psi: 0.3673 psi of 0.375 psi."""
    document = changed(
        ranged("150", "60"),
        {"/sensors/0/tolerance_percent_of_span": q("0.25", "%"),
         "/instruments/0/range_high": q("200", "psi"),
         "/instruments/0/percent_of_range": q("0.05", "%"),
         "/event/sensor_verifications": [
             verification("PT-101", 30, ("4.00", "7.20", "10.40", "13.60", "16.80", "20.00"))]},
    )  # fmt: skip
    assert value("sensor.allowed-error", document) * 150 == pytest.approx(0.3673, abs=1e-4)


# -- heads ----------------------------------------------------------------------------------------

LEVEL = "/event/duty_points/0/suction_level"


def from_a_level(**site: object):
    """1000 gpm drawn from -2 m: 85 psi at 20 degC (998.2 kg/m3) 59.87 m, 3 ft, 3.385 m/s."""
    document = changed(
        booster(),
        {"/site/suction_kind": "suction_lift", "/site/suction_level_low": q("-3", "m"),
         "/site/suction_level_high": q("-1", "m"), "/event/liquid_temperature": q("20", "degC"),
         LEVEL: q("-2", "m")} | site,
    )  # fmt: skip
    point = "/event/duty_points/0"
    return without(document, f"{point}/suction_pressure", f"{point}/suction_gauge_elevation")


def test_total_head_from_a_level_counts_the_suction_loss():
    """59.869 + 0.914 + 2 + 0.584 + 0.6 = 63.967 m; ISO 9906:2012, 3.2."""
    lossy = {"/site/suction_loss": q("0.6", "m"), "/site/suction_loss_at_flow": q("1000", "gpm")}
    found = value("duty.total-head", from_a_level(**lossy))
    assert found == pytest.approx(63.967, abs=0.005)


def test_total_head_from_a_level_without_a_known_loss():
    found = value("duty.total-head", without(from_a_level(), "/site/suction_loss"))
    assert found == pytest.approx(63.367, abs=0.005)


def test_a_pump_in_the_liquid_has_no_suction_loss():
    hanging = {"/pump/type": "vertical_turbine", "/site/suction_loss": q("5", "m")}
    found = value("duty.total-head", from_a_level(**hanging))
    assert found == pytest.approx(63.367, abs=0.005)


# -- vessel, air, system --------------------------------------------------------------------------


def test_vessel():
    """Air at 500 ft 14.43 psi: 130 gal x 83.43 (1 / 93.43 - 1 / 102.43) = 10.2 gal.

    At a leak of 1 % of 1000 gpm that lasts 61 s. Target 87.5 % of 79 psi.
    """
    assert shown("vessel.usable-volume") == "10.2 gal"
    assert value("vessel.wake-interval") == pytest.approx(61.2, abs=0.3)
    assert shown("vessel.pre-charge-target") == "69.1 psi"


def test_vessel_in_the_wrong_order_gives_no_volume():
    document = changed(booster(), {"/vessels/0/pre_charge_pressure_design": q("80", "psi")})
    assert "vessel.usable-volume" not in known(document)


def test_air_and_vapour():
    """ISO 2533: 99.508 kPa at 500 ft, 14.43 psi; IF97: 0.2562 psi at 60 degF, 0.430 psi at 75."""
    assert shown("npsh.atmospheric-pressure") == "14.43 psi"
    elsewhere = judged(changed(booster(), {"/site/elevation": q("152.4", "m")}))
    assert str(derived(elsewhere, "npsh.atmospheric-pressure").shown) == "99.51 kPa"
    assert value("npsh.vapour-pressure") == pytest.approx(to_si(0.2562, "psi"), rel=0.002)
    warmest = derived(judged(booster()), "npsh.vapour-pressure-at-highest-temperature")
    assert warmest.subject == "/site/liquid_temperature_max"
    assert warmest.si == pytest.approx(to_si(0.430, "psi"), rel=0.002)


def test_vapour_pressure_of_the_day_needs_the_day_s_temperature():
    assert "npsh.vapour-pressure" not in known(without(booster(), "/event/liquid_temperature"))


def test_flows_on_the_system():
    """Lowest lift at 49 Hz 372 gpm in 8 in: 2.37 ft/s; highest lift, k = 40 / 700^2: 285 gpm.

    (174.4 - 160) / (0.95 + 0.8163) 10^-4 = 285^2, with the parabola that the curve's points follow.
    """
    flow = value("system.flow-at-minimum-speed", raw_water())
    assert flow == pytest.approx(to_si(285, "gpm"), rel=0.02)
    velocity = value("main.velocity-at-minimum-speed", raw_water())
    assert velocity == pytest.approx(to_si(2.37, "ft/s"), rel=0.01)


def test_run_out_at_the_lowest_lift():
    """60 Hz: s^2 260 = 261.5 ft; the pipes are the same, only the lift is less.

    (261.5 - 160) / (0.95 + 0.8163) 10^-4 = 758^2; (261.5 - 150) / (0.95 + 0.8163) 10^-4 = 794^2.
    """
    highest = value("system.flow-at-maximum-speed", raw_water())
    assert highest == pytest.approx(to_si(758, "gpm"), rel=0.005)
    lowest = value("system.flow-at-maximum-speed-at-lowest-lift", raw_water())
    assert lowest == pytest.approx(to_si(794, "gpm"), rel=0.005)


@pytest.mark.parametrize("frequency", ["40", "0"])
def test_below_the_lift_nothing_flows(frequency):
    """At 40 Hz the pump holds 260 ft (1183 / 1770)^2 = 116 ft, less than the lift of 150 ft."""
    slow = changed(raw_water(), left(minimum_frequency=q(frequency, "Hz")))
    assert value("system.flow-at-minimum-speed", slow) == 0.0


def test_run_out_needs_the_lowest_lift():
    document = without(raw_water(), "/site/static_lift_low")
    assert "system.flow-at-maximum-speed" in known(document)
    assert "system.flow-at-maximum-speed-at-lowest-lift" not in known(document)


def test_values_keep_silent_where_something_is_missing():
    document = without(booster(), f"{LEFT}/set_point")
    assert "speed.zero-flow-at-lowest-suction" not in known(document)
    assert "sensor.signal-at-set-point" not in known(document)
    assert "sensor.signal-at-50-percent" in known(document)


def test_a_liquid_of_unknown_temperature_is_taken_at_15_degrees() -> None:
    """Where neither day nor site tells: the head is that of water as dense as at 15 degC."""
    told = ("/event/liquid_temperature", "/site/liquid_temperature_min",
            "/site/liquid_temperature_max")  # fmt: skip
    unknown = without(booster(), *told)
    at_15, at_16 = (
        changed(unknown, {"/event/liquid_temperature": q(degrees, "degC")})
        for degrees in ("15", "16")
    )
    head, expected, warmer = (
        derived(judged(each), "duty.total-head", "/event/duty_points/0").si
        for each in (unknown, at_15, at_16)
    )
    assert head == pytest.approx(expected, rel=1e-9)
    assert warmer > expected * (1 + 1e-4)  # 999.10 against 998.94 kg/m3
