"""The pump's curve and speed: affinity laws (HI engineering data, 1.B.6); 260 ft at 1770 rpm."""

import pytest

from calculations.aspects import pumping
from calculations.case import Missing, Waits
from calculations.pump_curves import CurvePoint
from tests.calculations.building import booster, case, changed
from tests.calculations.building_plates import q
from tests.calculations.stations import eighty_seven_hertz, permanent_magnet
from tests.calculations.whole_stations import left

GPM = 231 * 0.0254**3 / 60


@pytest.mark.parametrize(
    ("heads", "rise"),
    [
        ((50, 40, 30), 0.0),
        ((50, 52, 30), 2 / 52),
        ((50, 40, 45), 5 / 50),  # from the lowest before it, over the highest of all
        ((40, 50), 10 / 50),
    ],
)
def test_rise_of_a_curve(heads, rise):
    points = tuple(CurvePoint(flow=0.01 * at, head=head) for at, head in enumerate(heads))
    assert pumping.rise(points) == pytest.approx(rise)


@pytest.mark.parametrize(("top", "ordinary"), [("100", True), ("100.1", False)])
def test_a_curve_that_rises_by_a_tenth_is_still_one(top, ordinary):
    """From 90 m to 100 m are 10 % of 100 m: from memory."""
    rows = [{"flow": q(flow, "m3/h"), "head": q(head, "m")}
            for flow, head in (("0", "90"), ("100", top), ("200", "80"))]  # fmt: skip
    found = case(changed(booster(), {"/pump/curve_points": rows}))
    if ordinary:
        assert pumping.as_entered(found).shut_off_head(speed=29.5) == pytest.approx(90.0)
        return
    with pytest.raises(Waits):
        pumping.as_entered(found)


@pytest.mark.parametrize(
    ("changes", "rpm"),
    [
        ({}, 1775 / 2),
        ({"/pump_set/transmission": "belt", "/pump_set/transmission_ratio": q("1.25", "1")}, 710),
    ],
)
def test_speed_and_frequency_are_each_others_inverse(changes, rpm):
    found = case(changed(booster(), changes))
    assert pumping.speed(found, 30) == pytest.approx(rpm / 60)
    assert pumping.frequency(found, rpm / 60) == pytest.approx(30)


@pytest.mark.parametrize("gpm", [0.0, 300.0, 1000.0, 5000.0])
@pytest.mark.parametrize("hertz", [10.0, 42.0, 60.0, 66.0])
def test_they_are_so_under_every_load(hertz, gpm):
    found = case(booster())
    speed = pumping.speed(found, hertz, gpm * GPM)
    assert pumping.frequency(found, speed, gpm * GPM) == pytest.approx(hertz, rel=1e-5)


@pytest.mark.parametrize(
    ("gpm", "rpm"),
    # Torque at 1770 rpm by 1000 * 165 / 3960 / 0.825 = 50.5 hp, and 45 % of it at no flow.
    # At the end of the curve 42.3 hp at 1770 rpm; without a flow the rated speed.
    [(0.0, 1790.3), (1000.0, 1778.7), (1360.0, 1782.0), (None, 1775.0)],
)
def test_the_slip_follows_the_load(gpm, rpm):
    """1800 rpm at 60 Hz, 25 rpm less at 60 hp; solved apart, by halving."""
    speed = pumping.speed(case(booster()), 60, None if gpm is None else gpm * GPM)
    assert speed * 60 == pytest.approx(rpm, abs=0.1)


def slipping(rpm):
    """The booster with another rated speed of its motor, at which its curve is taken."""
    return case(changed(booster(), {"/motor/ratings/1/speed": q(rpm, "rpm"),
                                    "/pump/rated_speed": q(rpm, "rpm")}))  # fmt: skip


def steeply(begins):
    """A flat curve: 30 gpm more for every rpm from where it begins to flow."""
    return lambda turns: max(30 * (turns * 60 - begins), 0.0) * GPM


def test_speed_and_flow_settle_where_they_agree():
    """60 hp at 1700 rpm, 100 rpm of slip: 22.7 hp at no flow (45 % of 50.5 hp, from memory) and
    38.1 hp at 300 gpm are 0.379 and 0.635 of its torque there. x rpm above 1750 30 x gpm flow,
    29.1 x of the curve: 1750 + x = 1800 - 100 (0.379 + 0.0249 x) ((1750 + x) / 1700)^2, x = 2.67.
    """
    found = pumping.speed_where(slipping("1700"), 60, steeply(1750))
    assert found * 60 == pytest.approx(1752.67, abs=0.1)
    assert pumping.speed_where(slipping("1700"), 0, steeply(1750)) == 0.0


@pytest.mark.parametrize(("rpm", "one_round"), [("1773", True), ("1772", False)])
def test_of_a_motor_that_slips_little_one_round_tells_it(rpm, one_round):
    """27 of 1800 rpm are 1.5 %; no source. Nothing flows where the round begins."""
    found = slipping(rpm)
    told = pumping.speed_where(found, 60, steeply(1783))
    assert (told == pumping.speed(found, 60, 0.0)) is one_round


@pytest.mark.parametrize("kind", ["multistage_vertical", "axial_or_mixed_flow"])
@pytest.mark.parametrize("begins", [1000, 1720, 1740, 1760, 1790])
def test_a_speed_that_settled_leads_to_itself(kind, begins):
    found = changed(booster(), {"/motor/ratings/1/speed": q("1700", "rpm"),
                                "/pump/rated_speed": q("1700", "rpm"),
                                "/pump/type": kind})  # fmt: skip
    told = pumping.speed_where(case(found), 60, steeply(begins))
    again = pumping.speed(case(found), 60, steeply(begins)(told))
    assert again == pytest.approx(told, rel=2e-4)


def test_a_gear_leaves_the_motor_less_torque():
    """A curve at 1327.5 rpm is one at 1770 rpm of the motor: at no flow 0.380 of its torque, and at
    30 Hz 25 * 0.380 (897.6 / 1770)^2 = 2.4 rpm behind 900 rpm; over 1.3333 at the pump."""
    belt = {"/pump_set/transmission": "belt", "/pump_set/transmission_ratio": q("1.333333", "1"),
            "/pump/rated_speed": q("1327.5", "rpm")}  # fmt: skip
    found = pumping.speed(case(changed(booster(), belt)), 30, 0.0)
    assert found * 60 == pytest.approx(897.56 / 1.333333, abs=0.05)


def test_a_motor_without_slip_turns_with_its_field():
    magnets = case(permanent_magnet())
    for flow in (None, 0.0, 0.1):
        assert pumping.speed(magnets, 60, flow) == pytest.approx(pumping.speed(magnets, 120) / 2)
        assert pumping.frequency_uncertainty(magnets, 20.0, flow) == 0


@pytest.mark.parametrize(
    ("mode", "less", "more"),
    [
        # 1241.9 rpm at no flow: 25 (1241.9 / 1770)^2 = 12.31 rpm at rated torque, 0.4103 Hz. Likely
        # 0.380 of it; most 0.604 and 20 % more slip than rated: 0.297 less 0.156.
        # Least 0.30 / 0.45 x 0.9 of 0.156, and 20 % less slip: 0.075.
        ("volts_per_hertz_linear", 0.081, 0.1415),
        # Flux down to 1241.9 / 1800 of the full one: 0.297 / 0.690^2 = 0.625 less 0.156.
        ("volts_per_hertz_quadratic", 0.081, 0.469),
        # The slip may be compensated: 0.156 less nothing.
        ("vector", 0.156, 0.1415),
    ],
)
def test_what_a_frequency_is_uncertain_by(mode, less, more):
    found = case(changed(booster(), left(control_mode=mode)))
    off = pumping.frequency_off(found, 1241.9 / 60, 0.0)
    assert off == pytest.approx((less, more), abs=2e-3)
    assert pumping.frequency_uncertainty(found, 1241.9 / 60, 0.0) == max(off)


def test_a_small_motor_may_slip_30_percent_more():
    """IEC 60034-1, below 1 kW; from memory."""
    linear = left(control_mode="volts_per_hertz_linear")
    small = case(changed(booster(), linear | {"/motor/ratings/1/power": q("1.2", "hp")}))
    large = case(changed(booster(), linear | {"/motor/ratings/1/power": q("1.4", "hp")}))
    for found, tolerance in ((small, 1.3), (large, 1.2)):
        likely = pumping.frequency(found, 2.0, 0.0) - 4
        most = likely * 0.65 / 0.45 * 1.1 * tolerance
        off = pumping.frequency_uncertainty(found, 2.0, 0.0)
        assert off == pytest.approx(most - likely, rel=1e-6)


@pytest.mark.parametrize("kind", ["belt", "gear"])
def test_a_ratio_is_asked_for_where_there_is_one(kind):
    found = case(changed(booster(), {"/pump_set/transmission": kind}))
    with pytest.raises(Missing) as raised:
        pumping.transmission(found)
    assert raised.value.places == ("/pump_set/transmission_ratio",)


@pytest.mark.parametrize(
    ("frequency", "feet"),
    # 1790.3 rpm at 60 Hz and no flow: 260 (1790.3 / 1770)^2 = 266.0 ft; 897.6 rpm at 30 Hz, 14.999
    # rpm at 0.5 Hz.
    [(60, 265.99), (30, 66.86), (0, 0.0), (-1, 0.0), (0.5, 0.018671)],
)
def test_pressure_at_no_flow(frequency, feet):
    found = case(changed(booster(), {"/event/liquid_temperature": q("4", "degC")}))
    expected = feet * 0.3048 * 999.97 * 9.80665
    assert pumping.shut_off_pressure(found, frequency) == pytest.approx(expected, rel=1e-4)


def test_a_screw_slips_in_proportion_whatever_flows():
    """Its torque hardly hangs on speed and flow: 1775 rpm at 60 Hz are 887.5 rpm at 30 Hz."""
    screw = case(changed(booster(), {"/pump/type": "progressive_cavity"}))
    for flow in (None, 0.0, 0.02):
        assert pumping.speed(screw, 30.0, flow) * 60 == pytest.approx(887.5)
        assert pumping.frequency(screw, 887.5 / 60, flow) == pytest.approx(30.0)


def test_frequency_at_which_nothing_flows():
    """66.86 ft are held at 897.6 rpm, 30 Hz."""
    found = pumping.zero_flow_frequency(case(booster()), 66.86 * 0.3048)
    assert found == pytest.approx(30, abs=0.01)


@pytest.mark.parametrize(
    ("rated", "highest", "agree"),
    [
        # 1775 rpm; 5 % (common practice) are 1690.5 to 1868.4; at 50 Hz 1479 rpm, 1409 to 1557.
        ("1695", "60", True),
        ("1680", "60", False),
        ("1860", "60", True),
        ("1880", "60", False),
        ("1480", "50", True),
        ("1770", "50", True),
        ("1600", "50", False),
        ("1600", None, False),
        ("1770", None, True),
    ],
)
def test_speed_of_the_curve(rated, highest, agree):
    document = changed(
        booster(),
        {"/pump/rated_speed": q(rated, "rpm")}
        | left(maximum_frequency=highest and q(highest, "Hz")),
    )
    assert pumping.speeds_agree(case(document)) is agree


def test_the_curve_of_a_stretched_motor_may_be_that_of_its_plate_or_as_it_runs():
    """1470 rpm by the plate, 2579 rpm at 87 Hz; 2000 rpm is neither."""
    for rated, agree in (("2580", True), ("1470", True), ("2000", False)):
        document = changed(eighty_seven_hertz(), {"/pump/rated_speed": q(rated, "rpm")})
        assert pumping.speeds_agree(case(document)) is agree


def test_a_stretched_motor_runs_by_the_voltage_that_the_drive_is_set_to_where_no_supply_is_known():
    """400 V as above; with neither nobody knows how far it is stretched."""
    document = changed(eighty_seven_hertz(), {"/site/supply_nominal_voltage": None})
    assert pumping.speeds_agree(case(document)) is True
    assert pumping.speeds_agree(case(changed(document, left(motor_voltage=None)))) is None


@pytest.mark.parametrize(
    "place", ["/pump/rated_speed", "/motor/ratings/1/speed", "/motor/ratings/1/frequency"]
)
def test_nothing_is_said_of_speeds_that_are_not_known(place):
    assert pumping.speeds_agree(case(changed(booster(), {place: None}))) is None


def test_a_stretched_motor_slips_less():
    """30 rpm at 86.957 Hz as at 50 Hz: 2608.7 - 30 rpm."""
    stretched = case(eighty_seven_hertz())
    assert pumping.speed(stretched, 86.957) == pytest.approx(2578.7 / 60, abs=0.01)
    assert pumping.frequency(stretched, 2578.7 / 60) == pytest.approx(86.957, abs=0.01)
