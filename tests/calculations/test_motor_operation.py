"""Motor away from its rating."""

from math import inf

import pytest

from calculations import motor_operation as operation
from calculations.errors import InvalidInput
from calculations.motors import MECHANICAL_HORSEPOWER as HP
from tests.calculations.comparing import Near, assert_matches
from tests.calculations.worked_examples import Case, worked

ZERO_CELSIUS = 273.15


@worked("motor_operation", "1 motor: V/Hz ratio with wrong base frequency")
def test_example_of_flux(case: Case) -> None:
    given = case["inputs"]
    voltage, rated, base = given["V_rated_V"], given["f_rated_Hz"], given["base_freq_set_Hz"]
    flux = operation.flux_ratio(
        voltage=voltage, frequency=rated, set_voltage=voltage, set_frequency=base
    )
    torque = operation.pull_out_torque_ratio(flux=flux)
    assert_matches(
        case,
        rated_V_per_Hz=Near(
            operation.volts_per_hertz(voltage=voltage, frequency=rated), relative=1e-5
        ),
        set_V_per_Hz=Near(
            operation.volts_per_hertz(voltage=voltage, frequency=base), relative=1e-5
        ),
        flux_pct=Near(100 * flux, relative=1e-5),
        breakdown_torque_pct_approx=Near(100 * torque, relative=1e-5),
    )


@worked("motor_operation", "2 overspeed limit")
def test_example_of_overspeed_limit(case: Case) -> None:
    given = case["inputs"]
    ratio = operation.highest_speed_ratio(
        motor_power=given["motor_hp"] * HP,
        pump_power=given["P_bhp_at_60Hz"] * HP,
        service_factor=given["SF_on_drive"],
    )
    assert_matches(
        case,
        max_speed_ratio=Near(ratio, absolute=1e-5),
        max_Hz=Near(60 * ratio, absolute=0.001),
    )


@worked("motor_operation", "2 overspeed load")
def test_example_of_overspeed_load(case: Case) -> None:
    given = case["inputs"]
    load = operation.load_at_speed_ratio(
        pump_power=given["P_bhp_at_60Hz"], motor_power=50, speed_ratio=given["f_Hz"] / 60
    )
    assert_matches(
        case,
        P_bhp=Near(50 * load, relative=1e-6),
        pct_of_50hp=Near(100 * load, relative=1e-6),
    )


@worked("motor_operation", "2 motor part-load loss (DOE)")
def test_example_of_part_load(case: Case) -> None:
    given = case["inputs"]
    efficiency, load = given["eta_full"], given["load_fraction"]
    loss = operation.part_load_loss(
        rated_power=given["P_rated_hp"] * HP, full_load_efficiency=efficiency, load=load
    )
    at_load = operation.part_load_efficiency(full_load_efficiency=efficiency, load=load)
    assert_matches(
        case,
        y=Near(operation.part_load_loss_factor(load=load), absolute=1e-6),
        loss_hp=Near(loss / HP, relative=1e-5),
        eta_pct=Near(100 * at_load, absolute=1e-4),
    )


@worked("motor_operation", "7 acceleration time")
def test_example_of_acceleration(case: Case) -> None:
    given = case["inputs"]
    time = operation.acceleration_time(
        inertia=given["J_kg_m2"], speed_change=given["n_rpm"] / 60, net_torque=given["T_net_Nm"]
    )
    inertia_us = given["J_kg_m2"] / (0.45359237 * 0.3048**2)
    torque_us = given["T_net_Nm"] / (0.45359237 * 9.80665 * 0.3048)
    assert_matches(
        case,
        t_s=Near(time, relative=1e-5),
        WK2_lbft2=Near(inertia_us, relative=1e-5),
        T_lbft=Near(torque_us, relative=1e-5),
        t_s_US_308=Near(inertia_us * given["n_rpm"] / (308 * torque_us), relative=1e-5),
    )


@worked("motor_operation", "7 torque for a set ramp")
def test_example_of_ramp(case: Case) -> None:
    given = case["inputs"]
    torque = operation.ramp_torque(
        inertia=given["J_kg_m2"], speed_change=given["n_rpm"] / 60, time=given["ramp_s"]
    )
    assert_matches(
        case,
        T_acc_Nm=Near(torque, relative=1e-5),
        pct_rated=Near(100 * torque / given["T_rated_Nm"], relative=1e-4),
    )


@worked("motor_operation", "7 synchronous/limit speed consistency")
def test_example_of_load_at_maximum(case: Case) -> None:
    given = case["inputs"]
    load = operation.load_at_speed_ratio(
        pump_power=given["P_bhp"],
        motor_power=given["motor_hp"],
        speed_ratio=given["max_freq_Hz"] / given["f_base_Hz"],
    )
    assert_matches(case, load_pct_at_max=Near(100 * load, relative=1e-6), ok=load <= 1)


@worked("motor_operation", "5 copper temperature correction")
def test_example_of_copper(case: Case) -> None:
    given = case["inputs"]
    resistance = operation.resistance_at_temperature(
        resistance=given["R_ohm"],
        temperature=given["T1_C"] + ZERO_CELSIUS,
        reference=given["T2_C"] + ZERO_CELSIUS,
    )
    assert_matches(case, R2_ohm=Near(resistance, absolute=1e-5))


class TestCurrentByTorque:
    def test_at_70_percent_speed_current_is_not_the_cube(self):
        # Torque falls with the square, so 0.60 of rated current remain, not 0.7^3 = 0.34.
        current = operation.current_at_torque(rated_current=100, torque_ratio=0.7**2)
        assert current == pytest.approx(60.1, abs=0.1)

    def test_ends(self):
        # By construction of the circle diagram: rated at rated torque, magnetizing at none.
        assert operation.current_at_torque(rated_current=57.6, torque_ratio=1) == pytest.approx(
            57.6
        )
        no_load = operation.current_at_torque(
            rated_current=57.6, torque_ratio=0, magnetizing_share=0.3
        )
        assert no_load == pytest.approx(0.3 * 57.6)


class TestPartLoadWithDrive:
    @pytest.mark.parametrize(
        ("horsepower", "at_full_load"),
        [
            (5, 1.5610),
            (5.01, 1.7405),
            (20, 1.7405),
            (20.5, 1.7502),
            (50, 1.7502),
            (50.5, 2.2557),
            (60, 2.2557),
        ],
    )
    def test_sum_of_the_coefficients_of_each_size(self, horsepower, at_full_load):
        # 10 CFR 431 subpart Y App. A: at x = 1 the factor is a + b + c.
        factor = operation.part_load_loss_factor_with_drive(load=1, rated_power=horsepower * HP)
        assert factor == pytest.approx(at_full_load, abs=1e-9)

    def test_half_load_of_50_horsepower(self):
        # -1.5122 / 4 + 3.0777 / 2 + 0.1847, by hand.
        factor = operation.part_load_loss_factor_with_drive(load=0.5, rated_power=50 * HP)
        assert factor == pytest.approx(1.3455, abs=1e-9)


def test_400_volt_50_hertz_and_480_volt_60_hertz_are_the_same_flux():
    flux = operation.flux_ratio(voltage=400, frequency=50, set_voltage=480, set_frequency=60)
    assert flux == pytest.approx(1)


@pytest.mark.parametrize(("frequency", "voltage"), [(0, 0), (30, 230), (60, 460), (66, 460)])
def test_output_voltage_stays_above_base_frequency(frequency, voltage):
    found = operation.output_voltage(frequency=frequency, rated_voltage=460, rated_frequency=60)
    assert found == pytest.approx(voltage)


def test_87_hertz_operation():
    # Definition: 400 / 230 x 50 Hz; 4 poles at 1450 rpm keep their 50 rpm of slip.
    rating = operation.extended_rating(
        voltage=230, frequency=50, power=4000, speed=1450 / 60, poles=4, supply=400
    )
    assert rating.frequency == pytest.approx(86.957, abs=0.001)
    assert rating.power == pytest.approx(4000 * 400 / 230)
    assert 60 * rating.speed == pytest.approx(2558.7, abs=0.1)


def test_no_more_voltage_is_no_stretch():
    rating = operation.extended_rating(
        voltage=400, frequency=50, power=4000, speed=1450 / 60, poles=4, supply=400
    )
    assert (rating.frequency, rating.power) == (50, 4000)
    assert 60 * rating.speed == pytest.approx(1450)


def test_a_motor_of_eight_times_the_power_turns_the_pump_twice_as_fast():
    # Affinity rule for power: the cube of the speed; a service factor adds to it.
    assert operation.highest_speed_ratio(motor_power=8, pump_power=1) == pytest.approx(2)
    ratio = operation.highest_speed_ratio(motor_power=1, pump_power=1, service_factor=1.331)
    assert ratio == pytest.approx(1.1)


def test_ambient_lost_with_altitude_is_one_percent_of_the_rise_each_100_m():
    # Rises of IEC 60034-1 [K], from memory; 100 K for class F by common practice.
    rises = {"A": 60, "E": 75, "B": 80, "F": 100, "H": 125}
    lost = {name: 1e4 * loss for name, loss in operation.AMBIENT_LOSS_BY_CLASS.items()}
    assert lost == pytest.approx(rises)


@pytest.mark.parametrize(("altitude", "celsius"), [(0, 40), (1000, 40), (1800, 32), (2500, 25)])
def test_allowed_ambient_of_a_motor(altitude, celsius):
    # Common practice, from memory: 1 K for each 100 m; 1800 m leave 32 degC.
    found = operation.allowed_ambient(altitude=altitude)
    assert found - ZERO_CELSIUS == pytest.approx(celsius)


@pytest.mark.parametrize(
    ("argument", "call"),
    [
        ("load", lambda: operation.part_load_loss_factor(load=1.01)),
        ("load", lambda: operation.part_load_efficiency(full_load_efficiency=0.9, load=0)),
        (
            "torque_ratio",
            lambda: operation.current_at_torque(rated_current=1, torque_ratio=-0.1),
        ),
        (
            "net_torque",
            lambda: operation.acceleration_time(inertia=1, speed_change=1, net_torque=0),
        ),
        ("time", lambda: operation.ramp_torque(inertia=1, speed_change=1, time=inf)),
        (
            "supply",
            lambda: operation.extended_rating(
                voltage=400, frequency=50, power=1, speed=1, poles=4, supply=230
            ),
        ),
        (
            "temperature",
            lambda: operation.resistance_at_temperature(
                resistance=1, temperature=20, reference=293.15
            ),
        ),
        (
            "reference",
            lambda: operation.resistance_at_temperature(
                resistance=1, temperature=293.15, reference=38
            ),
        ),
        ("altitude", lambda: operation.allowed_ambient(altitude=5000)),
    ],
)
def test_bad_input_is_named(argument, call):
    with pytest.raises(InvalidInput) as raised:
        call()
    assert raised.value.argument == argument
