"""Affinity laws and the zero-flow speed."""

from math import nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculations import affinity, water
from calculations.errors import InvalidInput
from tests.calculations.comparing import Near, assert_matches
from tests.calculations.us_units import FOOT, GPM, HORSEPOWER, PSI, kelvin
from tests.calculations.worked_examples import Case, worked


@worked("affinity", "affinity: point at another speed")
def test_example_of_point(case: Case) -> None:
    given = case["inputs"]
    point = affinity.scaled_point(
        flow=given["Q_gpm"] * GPM,
        head=given["H_ft"] * FOOT,
        from_speed=given["n1_rpm"] / 60,
        to_speed=given["n2_rpm"] / 60,
    )
    assert_matches(
        case,
        Q2_gpm=Near(point.flow / GPM, absolute=0.001),
        H2_ft=Near(point.head / FOOT, absolute=0.001),
    )


@worked("affinity", "affinity: power")
def test_example_of_power(case: Case) -> None:
    given = case["inputs"]
    power = affinity.scaled_power(
        power=given["P_bhp"] * HORSEPOWER, from_speed=1.0, to_speed=given["speed_ratio"]
    )
    assert_matches(case, P2_bhp=Near(power / HORSEPOWER, relative=1e-6))


@worked("affinity", "affinity: zero-flow speed")
def test_example_of_zero_flow(case: Case) -> None:
    given = case["inputs"]
    speed = affinity.zero_flow_speed(
        speed=given["n_rpm"] / 60,
        shut_off_head=given["H_shutoff_ft"] * FOOT,
        required_head=given["H_required_at_zero_flow_ft"] * FOOT,
    )
    assert_matches(case, **speeds(speed, given["n_rpm"]))


@worked("affinity", "affinity: zero-flow speed from pressures")
def test_example_of_zero_flow_from_pressures(case: Case) -> None:
    given = case["inputs"]
    required = affinity.head_at_zero_flow(
        set_pressure=given["P_set_psig"] * PSI,
        suction_pressure=given["P_suction_psig"] * PSI,
        transmitter_above_gauge=given["dz_transmitter_minus_suction_gauge_ft"] * FOOT,
        density=water.density(temperature=kelvin(given["t_C"])),
    )
    speed = affinity.zero_flow_speed(
        speed=given["n_rpm"] / 60,
        shut_off_head=given["H_shutoff_ft"] * FOOT,
        required_head=required,
    )
    assert_matches(
        case, H_required_ft=Near(required / FOOT, absolute=0.001), **speeds(speed, given["n_rpm"])
    )


def speeds(speed: float, rated_rpm: float) -> dict[str, Near]:
    ratio = 60 * speed / rated_rpm
    return {
        "speed_ratio": Near(ratio, absolute=2e-6),
        "n0_rpm": Near(60 * speed, absolute=0.01),
        "f0_Hz_approx": Near(60 * ratio, absolute=0.0005),
    }


@given(ratio=st.floats(0.3, 1.3), flow=st.floats(0, 1), head=st.floats(0, 300))
def test_scaling_there_and_back(ratio, flow, head):
    there = affinity.scaled_point(flow=flow, head=head, from_speed=25, to_speed=25 * ratio)
    back = affinity.scaled_point(
        flow=there.flow, head=there.head, from_speed=25 * ratio, to_speed=25
    )
    assert (back.flow, back.head) == pytest.approx((flow, head))


def test_66_hz_asks_for_a_third_more_power_and_a_fifth_more_head():
    # HI-DATA: cubes and squares of 1.1.
    assert affinity.scaled_power(power=40, from_speed=60, to_speed=66) == pytest.approx(53.24)
    point = affinity.scaled_point(flow=1, head=100, from_speed=60, to_speed=66)
    assert point.head == pytest.approx(121)


class TestZeroFlow:
    def test_no_head_needs_no_speed(self):
        assert affinity.zero_flow_speed(speed=25, shut_off_head=60, required_head=-5) == 0
        assert affinity.zero_flow_speed(speed=25, shut_off_head=60, required_head=0) == 0

    def test_more_than_shut_off_lies_above_the_rated_speed(self):
        ratio = affinity.zero_flow_speed(speed=1.0, shut_off_head=50, required_head=60.5)
        assert ratio == pytest.approx(1.1)

    def test_lowest_suction_gives_the_highest_speed(self):
        def required(suction):
            return affinity.head_at_zero_flow(
                set_pressure=4.5e5, suction_pressure=suction, transmitter_above_gauge=0, density=998
            )

        assert required(0.5e5) > required(2e5) > 0 > required(5e5)


@pytest.mark.parametrize(
    ("call", "argument"),
    [
        (lambda: affinity.scaled_point(flow=nan, head=1, from_speed=1, to_speed=1), "flow"),
        (lambda: affinity.scaled_point(flow=1, head=1, from_speed=0, to_speed=1), "from_speed"),
        (lambda: affinity.scaled_point(flow=1, head=1, from_speed=1, to_speed=0), "to_speed"),
        (lambda: affinity.scaled_power(power=nan, from_speed=1, to_speed=1), "power"),
        (lambda: affinity.scaled_power(power=1, from_speed=1, to_speed=-1), "to_speed"),
        (
            lambda: affinity.head_at_zero_flow(
                set_pressure=nan, suction_pressure=0, transmitter_above_gauge=0, density=1
            ),
            "set_pressure",
        ),
        (
            lambda: affinity.zero_flow_speed(speed=0, shut_off_head=1, required_head=1),
            "speed",
        ),
        (
            lambda: affinity.zero_flow_speed(speed=1, shut_off_head=0, required_head=1),
            "shut_off_head",
        ),
        (
            lambda: affinity.zero_flow_speed(speed=1, shut_off_head=1, required_head=nan),
            "required_head",
        ),
    ],
)
def test_refusals_name_the_argument(call, argument):
    with pytest.raises(InvalidInput) as raised:
        call()
    assert raised.value.argument == argument
