"""A duty point as numbers, and how well they are known. Shares by method: from memory."""

import math

import pytest

from calculations.aspects import duty
from calculations.case import Missing
from calculations.units import Quantity
from tests.calculations.building import booster, case, changed, without
from tests.calculations.building_plates import q
from tests.calculations.stations import well

POINT = "/event/duty_points/0"
GPM = 6.30902e-5


@pytest.mark.parametrize(
    ("method", "share"),
    [
        # Half of the last digit of 1000 gpm is another 0.05 %.
        ("installed_meter", 0.015),  # 1 % of 1500 gpm
        ("strap_on", 0.05), ("drawdown", 0.075), ("volumetric", 0.02), ("none", 0.05),
        (None, 0.05),
    ],
)  # fmt: skip
def test_uncertainty_of_a_flow(method, share):
    found = case(changed(booster(), {f"{POINT}/flow_method": method}))
    assert duty.flow_uncertainty(found, POINT) == pytest.approx(share + 0.0005)


@pytest.mark.parametrize(
    "lacks", ["tolerance_percent_of_span", "lower_range_value", "upper_range_value"]
)
def test_a_meter_of_unknown_range_or_tolerance(lacks):
    found = case(without(booster(), f"/sensors/2/{lacks}"))
    assert duty.flow_uncertainty(found, POINT) == pytest.approx(0.0205)


def test_the_span_of_a_meter_counts():
    """1 % of 300 to 1500 gpm are 12 gpm of 1000."""
    found = case(changed(booster(), {"/sensors/2/lower_range_value": q("300", "gpm")}))
    assert duty.flow_uncertainty(found, POINT) == pytest.approx(0.0125)


def test_uncertainty_of_a_head():
    """31.6 and 85.0 psi, 125.6 ft are 54.4 psi. A calibrator: 0.025 % of 300 psi and 0.05 psi of
    rounding, both times. Without: 1 % of each, and the rounding.
    """
    known = case(booster())
    head = duty.total_head(known, POINT)
    assert head == pytest.approx(125.6 * 0.3048, rel=1e-3)
    assert duty.head_uncertainty(known, POINT, head) == pytest.approx(
        0.125 * 2**0.5 / 54.4, rel=5e-3
    )
    plain = case(without(booster(), f"{POINT}/instruments"))
    by_gauges = (0.366**2 + 0.9**2) ** 0.5 / 54.4
    assert duty.head_uncertainty(plain, POINT, head) == pytest.approx(by_gauges, rel=5e-3)


@pytest.mark.parametrize(("rated", "slip"), [("1775", 0.583 / 54.9), ("1795", 0.005)])
def test_a_speed_by_slip_leaves_more_open(rated, slip):
    """A drive with a motor model may compensate all of it: 0.825 of rated torque at 1086 gpm and
    1770 rpm, 25 * 0.825 (1630 / 1770)^2 = 17.5 rpm, 0.583 Hz. Not less than 0.5 %; heads go with
    the
    square."""
    document = changed(
        without(booster(), f"{POINT}/speed"), {"/motor/ratings/1/speed": q(rated, "rpm")}
    )
    found = case(document)
    by_gauges = 0.125 * 2**0.5 / 54.4
    assert duty.head_uncertainty(found, POINT, 125.6 * 0.3048) == pytest.approx(
        (by_gauges**2 + (2 * slip) ** 2) ** 0.5, rel=5e-3
    )


def test_uncertainty_of_a_power():
    """31.9 kW: the analyser's 1 %, or 2 % where none is named; 0.05 kW of rounding."""
    power = case(booster()).quantity(f"{POINT}/power_drive_input")
    share = duty.power_uncertainty(case(booster()), POINT, power)
    assert share == pytest.approx(0.01 + 0.05 / 31.9)
    plain = case(without(booster(), f"{POINT}/instruments"))
    assert duty.power_uncertainty(plain, POINT, power) == pytest.approx(0.02 + 0.05 / 31.9)


@pytest.mark.parametrize(
    ("changes", "rpm"),
    [
        ({}, 1630),
        # 54.9 Hz are 1647 rpm; 17.5 rpm of slip at 0.825 of rated torque, less with the speed.
        ({f"{POINT}/speed_measured": False}, 1629.5),
        ({f"{POINT}/speed": None}, 1629.5),
        ({f"{POINT}/speed": q("0", "rpm")}, 1629.5),
        # No torque is known of a flow that is not: the rated slip in proportion.
        ({f"{POINT}/speed": None, f"{POINT}/flow": None}, 1775 * 54.9 / 60),
        # At a closed valve 0.380 of rated torque: 8.2 rpm.
        ({f"{POINT}/speed": None, f"{POINT}/flow": None, f"{POINT}/purpose": "shut_off"}, 1638.8),
        ({"/pump_set/transmission": "belt", "/pump_set/transmission_ratio": q("1.25", "1")}, 1304),
    ],
)
def test_speed_of_the_pump(changes, rpm):
    found = case(changed(booster(), changes))
    assert duty.speed(found, POINT) * 60 == pytest.approx(rpm, abs=0.1)


def test_a_pump_at_rest_has_no_speed():
    rest = {f"{POINT}/speed": None, f"{POINT}/frequency": q("0", "Hz")}
    with pytest.raises(Missing) as raised:
        duty.speed(case(changed(booster(), rest)), POINT)
    assert raised.value.because == "the pump stands still"


@pytest.mark.parametrize(
    ("others", "method", "known"),
    [(0, "installed_meter", True), (1, "installed_meter", False), (1, "strap_on", True),
     (None, "installed_meter", True)],
)  # fmt: skip
def test_flow_of_this_pump_alone(others, method, known):
    changes = {f"{POINT}/other_pumps_running": others, f"{POINT}/flow_method": method}
    found = case(changed(booster(), changes))
    if known:
        assert duty.flow(found, POINT) == pytest.approx(1000 * GPM, rel=1e-5)
    else:
        with pytest.raises(Missing):
            duty.flow(found, POINT)


def test_the_surface_that_a_pump_draws_from():
    """A level counts up from the datum, a depth down from it."""
    level = changed(well(), {f"{POINT}/suction_level": q("-20", "m")})
    assert duty.water_level(case(level), POINT) == -20
    depth = {f"{POINT}/suction_level_depth": q("20", "m")}
    assert duty.water_level(case(changed(well(), depth)), POINT) == -20


def test_friction_of_a_rising_pipe():
    """150 ft of 6.065 in at 1000 gpm with C = 130: 10.67 x 45.72 x 0.06309^1.852 / (130^1.852 x
    0.15405^4.871) = 3.22 m (Hazen-Williams).
    """
    through = case(changed(well(), {f"{POINT}/flow": q("1000", "gpm")}))
    short = {
        f"{POINT}/flow": q("1000", "gpm"), "/site/pump_setting_depth": q("0.001", "ft"),
        "/site/static_water_depth": None, "/site/pumping_water_depth": None,  # both deeper
    }  # fmt: skip
    without_pipe = case(changed(well(), short))
    more = duty.total_head(through, POINT) - duty.total_head(without_pipe, POINT)
    assert more == pytest.approx(3.22, rel=0.01)


@pytest.mark.parametrize("head", [0.0, -0.5])
def test_no_head_is_known_to_no_share_of_it(head):
    assert duty.head_uncertainty(case(booster()), POINT, head) == math.inf


UNSTATED = {"serial": "I-7", "kind": "power_analyser"}


@pytest.mark.parametrize(
    ("named", "read", "share"),
    [
        # 1 % of the reading and half of the last digit: 0.05 of 31.9 kW.
        (["I-1", "I-3"], "31.9", 0.01 + 0.05 / 31.9),
        (["I-99", "I-3"], "31.9", 0.01 + 0.05 / 31.9),
        (["I-7", "I-3"], "31.9", 0.01 + 0.05 / 31.9),  # of the first no accuracy is stated
        # 2 % where nothing is known: no source.
        (["I-7", "I-1"], "31.9", 0.02 + 0.05 / 31.9),
        (None, "31.9", 0.02 + 0.05 / 31.9),
        (["I-3"], "0.0", 0.02),
    ],
)
def test_which_instrument_a_power_is_as_good_as(named, read, share):
    changes = {f"{POINT}/instruments": named, f"{POINT}/power_drive_input": q(read, "kW"),
               "/instruments/-": UNSTATED}  # fmt: skip
    found = case(changed(booster(), changes))
    power = found.quantity(f"{POINT}/power_drive_input")
    assert duty.power_uncertainty(found, POINT, power) == pytest.approx(share)


@pytest.mark.parametrize(("flow", "share"), [("0", None), ("100", 0.1), ("-1", None)])
def test_a_meter_is_as_good_as_its_span_allows_at_a_flow_above_zero(flow, share):
    """1 % of 0 to 1000 gpm are 10 gpm: a tenth of 100 gpm."""
    meter = {"lower_range_value": q("0", "gpm"), "upper_range_value": q("1000", "gpm"),
             "tolerance_percent_of_span": q("1", "%")}  # fmt: skip
    changes = {f"/sensors/2/{name}": value for name, value in meter.items()}
    found = case(changed(booster(), changes | {f"{POINT}/flow_method": "installed_meter"}))
    read = Quantity.of(flow, "gpm", "flow")
    assert duty.flow_accuracy(found, POINT, read) == (share and pytest.approx(share))
