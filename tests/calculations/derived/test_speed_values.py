"""Speeds at which a pump holds its set point without flow, and what is read there."""

import pytest

from calculations.units import to_si
from tests.calculations.building import booster, changed, derived, in_metric, judged, without
from tests.calculations.building_plates import q
from tests.calculations.derived.test_pumping_values import known, shown, value
from tests.calculations.whole_stations import (
    LEFT,
    booster_in_percent,
    left,
    raw_water,
    shifted_booster,
)

# -- speeds -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("identity", "hertz"),
    [
        # (85 - 30) 2.309 + 1 = 128.0 ft: 1770 sqrt(128.0 / 260) = 1241.9 rpm. At no flow 0.380
        # of rated torque at 1770 rpm (45 % of 50.5 hp; from memory): 4.7 rpm of slip, four poles.
        ("speed.zero-flow-at-lowest-suction", 41.55),
        ("speed.zero-flow-at-highest-suction", 40.41),  # 121.1 ft
        # 254.1 ft at 250 gpm: 1770 sqrt(128.0 / 254.1) = 1256.2 rpm;
        # 0.594 of rated torque at 1770 rpm are 25 * 0.594 * 0.5037 = 7.5 rpm of slip.
        ("speed.at-minimum-continuous-flow", 42.12),
        ("speed.at-minimum-continuous-flow-at-highest-suction", 40.97),
        # 50.85 hp at 1770 rpm and 900 gpm, between two points: 60 hp at 1870.4 rpm, 0.949 of rated
        # torque there; 25 x 0.949 x (63.23 / 60)^2 = 26.3 rpm of slip in a weaker field.
        ("speed.highest-for-motor-power", 63.22),
        # 60 * 1800 / 1775: the pump permits 1800 rpm, the motor 90 Hz.
        ("speed.highest-permitted", 60.85),
        ("speed.lowest-sensible-minimum", 40.41),  # the pump's own 30 Hz are lower
    ],
)
def test_speeds_of_the_booster(identity, hertz):
    assert value(identity) == pytest.approx(hertz, abs=0.05)
    assert shown(identity).endswith(" Hz")
    assert value(identity, in_metric(booster())) == pytest.approx(value(identity), rel=1e-6)


STRETCHED = [
    # Kept to 600 / 460 of 60 Hz: f hp at f Hz. 50.87 (n / 1770)^3 hp are 64.79 hp at 1918.6 rpm,
    # 0.850 (1918.6 / 1770)^2 = 0.999 of rated torque and 25 rpm of slip: 64.79 Hz.
    ("600", "78.2", 64.79),
    # Kept to 62.6 Hz, beyond it 62.6 hp: 1770 (62.6 / 50.87)^(1/3) = 1896.8 rpm, 0.976 of rated
    # torque in a field weaker by 62.6 / 64.1, slip 25 x 0.976 x 1.048 = 25.6 rpm: 64.08 Hz.
    ("480", "62.6", 64.08),
    # No further than the supply's voltage, whatever is set: 60 x 480 / 460 = 62.61 Hz.
    ("480", "78.2", 64.08),
    # The drive is told of nothing above the plate, and weakens the field from 60 Hz on.
    ("480", "60", 63.22),
]


@pytest.mark.parametrize(("supply", "base", "hertz"), STRETCHED)
def test_a_motor_gives_more_above_its_rated_speed_as_far_as_its_torque_is_kept(supply, base, hertz):
    document = changed(
        booster(),
        {"/motor/extended_constant_torque": True, "/site/supply_nominal_voltage": q(supply, "V")}
        | left(motor_frequency=q(base, "Hz")),
    )
    assert value("speed.highest-for-motor-power", document) == pytest.approx(hertz, abs=0.05)


def test_a_motor_too_small_for_its_pump_carries_it_at_full_torque_only_below_its_rated_speed():
    """At 45 f / 60 hp, of 50.85 hp at 1770 rpm: 50.85 x^3 = 0.75 f, x = n / 1770 rpm.

    1.133 of rated torque there: f = 59 x + 25 / 30 x 1.133 x^2. x = 0.9398, f = 55.45 + 0.834.
    """
    document = changed(booster(), {"/motor/ratings/1/power": q("45", "hp")})
    assert value("speed.highest-for-motor-power", document) == pytest.approx(56.28, abs=0.05)


def test_zero_flow_of_the_published_example():
    """H05: 213 ft at no flow and 1740 rpm, 120 ft to hold: ratio 0.750587, 1306.0 rpm.

    45 % of three quarters of the motor's torque: 60 * 0.3375 * 0.5634 = 11.4 rpm of slip.
    """
    rows = [("0", "213"), ("200", "206"), ("400", "198"), ("800", "160")]
    document = changed(
        raw_water(),
        {"/pump/curve_points": [{"flow": q(f, "gpm"), "head": q(h, "ft")} for f, h in rows],
         "/pump/rated_speed": q("1740", "rpm"), "/motor/ratings/1/speed": q("1740", "rpm"),
         "/motor/ratings/0/speed": q("1740", "rpm"),
         "/site/static_lift_high": q("120", "ft"), "/site/static_lift_low": q("100", "ft")},
    )  # fmt: skip
    assert value("speed.zero-flow-at-lowest-suction", document) == pytest.approx(43.914, abs=0.001)


def test_a_level_or_lift_counts_where_no_pressure_is_kept():
    """1388.5 and 1344.4 rpm by the root of the head, 5.8 and 5.5 rpm of slip at no flow."""
    assert value("speed.zero-flow-at-lowest-suction", raw_water()) == pytest.approx(46.48, abs=0.01)
    assert value("speed.zero-flow-at-highest-suction", raw_water()) == pytest.approx(
        45.00, abs=0.01
    )


def test_scaling_in_percent_changes_no_speed():
    identity = "speed.zero-flow-at-lowest-suction"
    assert value(identity, booster_in_percent()) == pytest.approx(value(identity), rel=1e-9)


def test_the_datum_of_the_set_point_counts():
    """85 psi at the pump's datum instead of 3 ft above: 125.0 ft, 41.06 Hz."""
    found = value("speed.zero-flow-at-lowest-suction", shifted_booster())
    assert found == pytest.approx(41.06, abs=0.02)


def test_flow_at_sleep():
    """42.5 Hz, s = 0.7203 less what the load slips: s^2 260 - 128.0 = 95 q^2, else 121.1.

    233 gpm and 353 gpm of the parabola, 8.3 and 9.3 rpm of slip; the curve through its points is 2
    % off near no flow.
    """
    assert value("sleep.flow") == pytest.approx(to_si(233, "gpm"), rel=0.025)
    assert value("sleep.flow-at-highest-suction") == pytest.approx(to_si(353, "gpm"), rel=0.01)
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

    4.8 bar are 49.0 m at 15.6 degC, 0.6 m and 40 m of static depth: 89.6 m. Zero flow at 1770
    sqrt(89.6 / 140) = 1416 rpm and 5.4 rpm of slip, 47.38 Hz; at 49.7 Hz 8 rpm of slip, s^2 =
    0.7019, 98.3 m at no flow: Q = 14.7 m3/h. Without the draw-down it would be 22.4 m3/h; at the
    depth of service (104.6 m) nothing.
    """
    document = kept_from_a_well("49.7")
    zero = value("speed.zero-flow-at-lowest-suction", document)
    assert zero == pytest.approx(47.38, abs=0.05)
    for end in ("", "-at-highest-suction"):
        flow = value(f"sleep.flow{end}", document)
        assert flow == pytest.approx(to_si(14.7, "m3/h"), rel=0.05)
    assert value("sleep.flow", kept_from_a_well("47.2")) == 0.0
    unknown = without(document, "/site/pumping_water_depth_at_flow")
    assert "sleep.flow" not in known(unknown)


@pytest.mark.parametrize(
    ("identity", "psi"),
    [
        # 33 psi at 2 ft are 32.57 psi at 3 ft; 266.0 ft or 115.2 psi at 60 Hz and no flow
        # (1790.3 rpm), 96.2 ft or 41.6 psi at 36 Hz (1076.5 rpm).
        ("pressure.shut-off-at-minimum-speed", 74.2),
        ("pressure.shut-off-at-rated-speed", 147.7),
        ("pressure.shut-off-at-maximum-speed", 147.7),
    ],
)
def test_what_the_closed_valve_check_reads(identity, psi):
    assert value(identity) == pytest.approx(to_si(psi, "psi"), rel=0.001)


@pytest.mark.parametrize(
    "place", ["/sensors/0/quantity", "/sensors/0/tapping_elevation"], ids=("level", "no height")
)
def test_without_a_pressure_sensor_the_closed_valve_is_told_at_the_datum(place):
    """33 psi at 2 ft are 33.87 psi at the datum (62.4 lb/ft3), and 115.2 psi at 60 Hz."""
    given = {place: "level" if place.endswith("quantity") else None}
    found = value("pressure.shut-off-at-rated-speed", changed(booster(), given))
    assert found == pytest.approx(to_si(149.03, "psi"), rel=0.001)


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
