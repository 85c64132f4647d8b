"""Plate of a motor against itself."""

from math import inf, nan, nextafter, pi, sqrt

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculations import motors
from calculations.errors import InvalidInput
from tests.calculations.comparing import Near, assert_matches
from tests.calculations.worked_examples import Case, worked

HP = motors.MECHANICAL_HORSEPOWER


@worked("motors", "1 motor: synchronous speed")
def test_example_of_synchronous_speed(case: Case) -> None:
    given = case["inputs"]
    speed = motors.synchronous_speed(frequency=given["f_Hz"], poles=given["poles"])
    assert_matches(case, n_sync_rpm=Near(60 * speed, absolute=0.01))


@worked("motors", "1 motor: pole inference + slip")
def test_example_of_poles_and_slip(case: Case) -> None:
    speed, frequency = case["inputs"]["n_nameplate_rpm"] / 60, case["inputs"]["f_Hz"]
    poles = motors.poles_from_speed(speed=speed, frequency=frequency)
    synchronous = motors.synchronous_speed(frequency=frequency, poles=poles)
    slip = motors.slip(speed=speed, frequency=frequency, poles=poles)
    assert_matches(
        case,
        poles=poles,
        n_sync_rpm=Near(60 * synchronous, absolute=0.01),
        slip_pct=Near(100 * slip, absolute=0.001),
    )


@worked("motors", "1 motor: rated current from P,V,eta,pf")
def test_example_of_rated_current(case: Case) -> None:
    given = case["inputs"]
    current = motors.rated_current(
        power=given["P_hp"] * HP,
        voltage=given["V_V"],
        efficiency=given["eta"],
        power_factor=given["pf"],
    )
    taken = motors.input_power(voltage=given["V_V"], current=current, power_factor=given["pf"])
    assert_matches(
        case, I_A=Near(current, absolute=0.001), P_in_kW=Near(taken / 1000, absolute=0.001)
    )


@worked(
    "motors", "1 motor: nameplate pf*eta product back-check", "1 motor: nameplate inconsistency"
)
def test_example_of_the_product_of_efficiency_and_power_factor(case: Case) -> None:
    given = case["inputs"]
    power = given["P_kW"] * 1000 if "P_kW" in given else given["P_hp"] * HP
    product = motors.efficiency_times_power_factor(
        power=power, voltage=given["V_V"], current=given["I_A"]
    )
    assert_matches(case, eta_times_pf=Near(product, absolute=0.0005))


@worked("motors", "1 motor: rated torque")
def test_example_of_torque(case: Case) -> None:
    given = case["inputs"]
    torque = motors.rated_torque(power=given["P_hp"] * HP, speed=given["n_rpm"] / 60)
    pound_foot = torque / (0.45359237 * 9.80665 * 0.3048)
    assert_matches(
        case,
        T_Nm=Near(torque, relative=1e-5),
        T_lbft=Near(pound_foot, relative=1e-5),
        K_lbft_rpm_per_hp=Near(pound_foot * given["n_rpm"] / given["P_hp"], relative=1e-7),
    )


@worked("motors", "1 motor: dual-voltage ratio")
def test_example_of_dual_voltage(case: Case) -> None:
    given = case["inputs"]
    current = motors.current_at_other_voltage(
        current=given["I1_A"], voltage=given["V1_V"], other_voltage=given["V2_V"]
    )
    assert_matches(case, I2_A=Near(current, relative=1e-9))


@worked("motors", "1 motor: hp to kW")
def test_example_of_horsepower(case: Case) -> None:
    assert_matches(
        case,
        mechanical_kW=Near(motors.MECHANICAL_HORSEPOWER / 1000, relative=1e-12),
        electric_hp_kW=motors.ELECTRIC_HORSEPOWER / 1000,
        metric_hp_kW=Near(motors.METRIC_HORSEPOWER / 1000, relative=1e-9),
    )


@worked("motors", "1 motor: nameplate speed tolerance")
def test_example_of_speed_band(case: Case) -> None:
    given = case["inputs"]
    lowest, highest = motors.nameplate_speed_band(
        speed=given["n_nameplate_rpm"] / 60, synchronous=given["n_sync_rpm"] / 60
    )
    assert_matches(
        case,
        n_min_rpm=Near(60 * lowest, absolute=0.001),
        n_max_rpm=Near(60 * highest, absolute=0.001),
    )


class TestPoles:
    def test_3540_rpm_at_50_hz_is_above_two_poles(self):
        # floor(60 f / n) is 0 here: the plain formula would divide by zero.
        with pytest.raises(motors.AboveSynchronousSpeed, match="3540 rpm is above") as raised:
            motors.poles_from_speed(speed=3540 / 60, frequency=50)
        assert raised.value.poles == 2
        assert raised.value.code == "above-synchronous-speed"

    @pytest.mark.parametrize(
        ("rpm", "frequency", "poles"), [(1801, 60, 4), (1010, 50, 6), (1505, 50, 4), (902, 60, 8)]
    )
    def test_just_above_a_synchronous_speed_is_not_a_huge_slip(self, rpm, frequency, poles):
        with pytest.raises(motors.AboveSynchronousSpeed) as raised:
            motors.poles_from_speed(speed=rpm / 60, frequency=frequency)
        assert raised.value.poles == poles

    def test_exactly_synchronous_is_not_above(self):
        assert motors.poles_from_speed(speed=60.0, frequency=60) == 2
        assert motors.poles_from_speed(speed=1000 / 60, frequency=50) == 6

    @pytest.mark.parametrize("poles", [2, 4, 6, 14])
    def test_rounding_of_a_conversion_does_not_lift_a_speed_above_synchronous(self, poles):
        speed = nextafter(120 / poles, inf)
        assert motors.poles_from_speed(speed=speed, frequency=60) == poles

    def test_wrong_frequency_shows_as_slip(self):
        # 1475 rpm with 60 Hz typed: 4 poles and 18 % of slip.
        poles = motors.poles_from_speed(speed=1475 / 60, frequency=60)
        slip = motors.slip(speed=1475 / 60, frequency=60, poles=poles)
        assert (poles, round(slip, 4)) == (4, 0.1806)
        assert slip > motors.highest_ordinary_slip(power=30e3)

    def test_candidates_name_the_other_mains_frequency(self):
        # 1450 rpm fits no count at 60 Hz, but 4 poles at 50 Hz.
        assert motors.pole_candidates(speed=1450 / 60, frequency=60) == ()
        assert motors.pole_candidates(speed=1450 / 60, frequency=50) == (4,)

    @pytest.mark.parametrize(("rpm", "at_50", "at_60"), [(720, (8,), (10,)), (590, (10,), (12,))])
    def test_slow_motors_fit_both_frequencies(self, rpm, at_50, at_60):
        # Slip alone cannot tell the frequency of a slow motor.
        assert motors.pole_candidates(speed=rpm / 60, frequency=50) == at_50
        assert motors.pole_candidates(speed=rpm / 60, frequency=60) == at_60

    def test_the_slowest_motor_has_24_poles(self):
        # 120 x 50 / 24 = 250 rpm.
        assert 24 in motors.pole_candidates(speed=243 / 60, frequency=50)
        assert motors.pole_candidates(speed=215 / 60, frequency=50) == ()

    @given(
        poles=st.integers(1, 8).map(lambda pairs: 2 * pairs),
        slip=st.floats(0.002, 0.1),
        frequency=st.sampled_from([50.0, 60.0]),
    )
    def test_an_ordinary_motor_is_read_back(self, poles, slip, frequency):
        speed = (1 - slip) * 2 * frequency / poles
        assert motors.poles_from_speed(speed=speed, frequency=frequency) == poles
        assert motors.slip(speed=speed, frequency=frequency, poles=poles) == pytest.approx(slip)


def test_slip_above_synchronous_speed_is_negative():
    assert motors.slip(speed=1818 / 60, frequency=60, poles=4) == pytest.approx(-0.01)


@pytest.mark.parametrize(("power", "limit"), [(370, 0.15), (750, 0.15), (751, 0.10), (30e3, 0.10)])
def test_small_motors_may_slip_more(power, limit):
    # Common practice, from memory.
    assert motors.highest_ordinary_slip(power=power) == limit


def test_torque_times_angular_speed_is_power():
    assert motors.rated_torque(power=37e3, speed=24.6) * 2 * pi * 24.6 == pytest.approx(37e3)


def test_single_phase_has_no_root_of_three():
    # Definition: 230 V, 10 A, unity power factor.
    power = motors.input_power(voltage=230, current=10, power_factor=1, phases=1)
    assert power == pytest.approx(2300)


class TestRatingPairs:
    @pytest.mark.parametrize("ratio", [2.0, sqrt(3), 400 / 230])
    def test_any_true_pair_agrees(self, ratio):
        deviation = motors.rating_pair_deviation(
            voltage=230, current=58, other_voltage=230 * ratio, other_current=58 / ratio
        )
        assert deviation == pytest.approx(0)

    def test_rounded_currents_of_a_small_motor(self):
        # 230 V 1.3 A and 400 V 0.7 A: 6 % apart by rounding alone.
        deviation = motors.rating_pair_deviation(
            voltage=230, current=1.3, other_voltage=400, other_current=0.7
        )
        assert deviation == pytest.approx(-0.0635, abs=1e-4)


class TestTolerances:
    def test_wider_speed_band_of_small_motors(self):
        # IEC 60034-1 below 1 kW, from memory: 30 % of 60 rpm.
        band = motors.nameplate_speed_band(
            speed=29, synchronous=30, slip_tolerance=motors.SLIP_TOLERANCE_SMALL
        )
        assert band == (pytest.approx(28.7), pytest.approx(29.3))


@pytest.mark.parametrize(
    ("kind", "band"),
    [
        ({"power": 37e3, "poles": 4}, (0.68, 0.90)),
        ({"power": 4e3, "poles": 4}, (0.68, 0.90)),
        ({"power": 3999, "poles": 4}, (0.45, 0.86)),
        ({"power": 37e3, "poles": 6}, (0.45, 0.86)),
        ({"power": 37e3, "poles": 2, "immersed": True}, (0.50, 0.82)),
        ({"power": 37e3, "poles": 6, "synchronous": True}, (0.80, 0.98)),
    ],
)
def test_ordinary_product_band(kind, band):
    # Common practice, from memory.
    assert motors.ordinary_product_band(**kind) == band


@pytest.mark.parametrize(
    ("argument", "call"),
    [
        ("frequency", lambda: motors.synchronous_speed(frequency=0, poles=4)),
        ("poles", lambda: motors.synchronous_speed(frequency=60, poles=3)),
        ("poles", lambda: motors.synchronous_speed(frequency=60, poles=0)),
        ("speed", lambda: motors.slip(speed=nan, frequency=60, poles=4)),
        ("speed", lambda: motors.nameplate_speed_band(speed=30, synchronous=30)),
        ("phases", lambda: motors.input_power(voltage=1, current=1, power_factor=1, phases=2)),
        ("power_factor", lambda: motors.input_power(voltage=1, current=1, power_factor=86)),
        (
            "efficiency",
            lambda: motors.rated_current(power=1, voltage=1, efficiency=94.5, power_factor=1),
        ),
        (
            "current",
            lambda: motors.efficiency_times_power_factor(power=1, voltage=1, current=0),
        ),
    ],
)
def test_bad_input_is_named(argument, call):
    with pytest.raises(InvalidInput) as raised:
        call()
    assert raised.value.argument == argument


def test_figures_from_memory_can_be_replaced():
    assert motors.highest_ordinary_slip(power=500, small=0.12) == 0.12
