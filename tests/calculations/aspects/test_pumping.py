"""The pump's curve and speed: affinity laws (HI engineering data, 1.B.6); 260 ft at 1770 rpm."""

import pytest

from calculations.aspects import pumping
from calculations.case import Missing
from calculations.pump_curves import CurvePoint
from tests.calculations.building import booster, case, changed
from tests.calculations.building_plates import q
from tests.calculations.stations import eighty_seven_hertz
from tests.calculations.whole_stations import left


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


@pytest.mark.parametrize("kind", ["belt", "gear"])
def test_a_ratio_is_asked_for_where_there_is_one(kind):
    found = case(changed(booster(), {"/pump_set/transmission": kind}))
    with pytest.raises(Missing) as raised:
        pumping.transmission(found)
    assert raised.value.places == ("/pump_set/transmission_ratio",)


@pytest.mark.parametrize(
    ("frequency", "feet"),
    # 1775 rpm at 60 Hz: 260 (1775 / 1770)^2 = 261.5 ft, a quarter of it at half the frequency.
    [(60, 261.47), (30, 65.37), (0, 0.0), (-1, 0.0), (0.5, 261.47 / 14400)],
)
def test_pressure_at_no_flow(frequency, feet):
    found = case(changed(booster(), {"/event/liquid_temperature": q("4", "degC")}))
    expected = feet * 0.3048 * 999.97 * 9.80665
    assert pumping.shut_off_pressure(found, frequency) == pytest.approx(expected, rel=1e-4)


def test_frequency_at_which_nothing_flows():
    """65.37 ft are held at 30 Hz."""
    found = pumping.zero_flow_frequency(case(booster()), 65.37 * 0.3048)
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
