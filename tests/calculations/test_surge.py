"""Surge estimates."""

from math import inf, nan

import pytest

from calculations import surge
from calculations.errors import InvalidInput
from calculations.surge import Anchorage, LowestPressure
from tests.calculations.comparing import Near, assert_matches
from tests.calculations.us_units import FOOT, PSI
from tests.calculations.worked_examples import Case, worked


@worked("surge", "surge: wave speed, instant stop, reflection")
def test_example_of_instant_stop(case: Case) -> None:
    given = case["inputs"]
    speed = surge.wave_speed(
        bulk_modulus=given["K_Pa"],
        density=given["rho_kg_m3"],
        bore=given["D_m"],
        wall_thickness=given["e_m"],
        elastic_modulus=given["E_Pa"],
    )
    head = surge.joukowsky_head(wave_speed=speed, velocity_change=given["dV_m_s"])
    returned = surge.reflection_time(length=given["L_m"], wave_speed=speed)
    bar = head * given["rho_kg_m3"] * 9.80665 / 1e5
    assert_matches(
        case,
        a_m_s=Near(speed, relative=1e-4),
        dH_m=Near(head, relative=3e-4),
        dp_bar=Near(bar, relative=3e-4),
        **{"2L_over_a_s": Near(returned, relative=3e-4)},
    )


@worked("surge", "surge: slow stop")
def test_example_of_slow_stop(case: Case) -> None:
    given = case["inputs"]
    stop = surge.stop_surge(
        length=given["L_m"],
        wave_speed=given["a_m_s"],
        velocity_change=given["dV_m_s"],
        stop_time=given["ramp_s"],
    )
    assert_matches(
        case,
        **{"2L_over_a_s": Near(stop.reflection_time, relative=1e-4)},
        slow=stop.slow,
        dH_michaud_m=Near(stop.head_rise, relative=1e-3),
    )


@worked("surge", "surge: flow ends within a speed ramp")
def test_example_of_flow_stop(case: Case) -> None:
    given = case["inputs"]
    static, shut_off = given["H_static_ft"] * FOOT, given["H_shutoff_ft"] * FOOT
    time = surge.flow_stop_time(
        ramp_time=given["ramp_s"],
        operating_speed_ratio=1.0,
        static_head=static,
        shut_off_head=shut_off,
    )
    ratio = 1 - time / given["ramp_s"]
    assert_matches(
        case,
        speed_ratio_at_flow_stop=Near(ratio, absolute=1e-5),
        flow_stop_time_s=Near(time, absolute=0.001),
    )


class TestWaveSpeed:
    def test_a_rigid_pipe_has_the_speed_of_sound(self):
        speed = surge.wave_speed(
            bulk_modulus=2.1934e9, density=998.207, bore=0.3, wall_thickness=1, elastic_modulus=1e20
        )
        # IAPWS-95 at 20 degC: 1482.3 m/s.
        assert speed == pytest.approx(1482.3, abs=0.1)

    def test_restraint_makes_it_faster(self):
        def speed(factor):
            return surge.wave_speed(
                bulk_modulus=2.19e9,
                density=998.2,
                bore=0.3,
                wall_thickness=0.0167,
                elastic_modulus=2.8e9,
                anchorage_factor=factor,
            )

        factors = [surge.anchorage_factor(anchorage=kind) for kind in Anchorage]
        assert factors == pytest.approx([1.0, 0.91, 0.85])
        assert speed(factors[0]) < speed(factors[1]) < speed(factors[2])

    def test_poisson_ratio(self):
        factor = surge.anchorage_factor(anchorage=Anchorage.ANCHORED_THROUGHOUT, poisson_ratio=0.45)
        assert factor == pytest.approx(0.7975)
        with pytest.raises(InvalidInput, match="poisson_ratio"):
            surge.anchorage_factor(anchorage=Anchorage.ANCHORED_THROUGHOUT, poisson_ratio=0.51)

    def test_every_material_of_a_pipeline_has_a_modulus(self):
        kinds = {"ductile_iron", "cast_iron", "steel", "pvc", "pe", "grp", "concrete"}
        assert surge.PIPE_ELASTIC_MODULUS.keys() == kinds


class TestStop:
    GIVEN = {"length": 2400, "wave_speed": 1200, "velocity_change": 1.5}

    def test_up_to_the_reflection_time_the_stop_counts_as_instant(self):
        instant = surge.stop_surge(**self.GIVEN, stop_time=0)
        at_return = surge.stop_surge(**self.GIVEN, stop_time=4.0)
        assert instant.head_rise == at_return.head_rise == instant.instant_head_rise
        assert (instant.slow, at_return.slow) == (False, False)
        assert surge.stop_surge(**self.GIVEN, stop_time=8.0).head_rise == pytest.approx(
            instant.head_rise / 2
        )

    def test_the_common_shortcut_is_an_upper_bound(self):
        # "0.07 V L / t" in psi, ft/s and ft is 2.6 times the straight-line value.
        velocity, length, time = 5.0, 8000.0, 30.0
        shortcut = 0.07 * velocity * length / time
        stop = surge.stop_surge(
            length=length * FOOT,
            wave_speed=1200,
            velocity_change=velocity * FOOT,
            stop_time=time,
        )
        psi = stop.head_rise * 998.2 * 9.80665 / PSI
        assert shortcut / psi == pytest.approx(2.6, abs=0.05)

    def test_shortest_stop_gives_back_the_allowed_rise(self):
        time = surge.shortest_stop_time(**self.GIVEN, allowed_rise=30)
        assert surge.stop_surge(**self.GIVEN, stop_time=time).head_rise == pytest.approx(30)
        assert surge.shortest_stop_time(**self.GIVEN, allowed_rise=184) == 0.0


class TestFlowStop:
    GIVEN = {"ramp_time": 20.0, "static_head": 45, "shut_off_head": 100}

    def test_a_ramp_from_a_lower_speed_ends_the_flow_sooner(self):
        # sqrt(0.45) = 0.67082: 20 (0.9 - 0.67082) = 4.584 s.
        time = surge.flow_stop_time(**self.GIVEN, operating_speed_ratio=0.9)
        assert time == pytest.approx(4.584, abs=0.001)

    def test_nothing_flows_below_the_zero_flow_speed(self):
        assert surge.flow_stop_time(**self.GIVEN, operating_speed_ratio=0.6) == 0.0

    def test_without_static_head_the_whole_ramp_counts(self):
        given = {**self.GIVEN, "static_head": -3}
        assert surge.flow_stop_time(**given, operating_speed_ratio=1.0) == 20.0


class TestPowerFailure:
    def test_no_ramp_and_no_inertia_is_the_instant_stop(self):
        drop = surge.power_failure_head_drop(length=2400, wave_speed=1200, velocity=1.5)
        assert drop == surge.joukowsky_head(wave_speed=1200, velocity_change=1.5)

    def test_inertia_gives_time(self):
        # J w^2/P = 2 x (2 pi 25)^2/37000 = 1.3338 s; s/sqrt(Hs/H0) - 1 = 1/0.67082 - 1.
        time = surge.run_down_flow_stop_time(
            inertia=2.0,
            speed=25.0,
            shaft_power=37e3,
            speed_ratio=1.0,
            static_head=45,
            shut_off_head=100,
        )
        assert time == pytest.approx(1.3338 * (1 / 0.67082 - 1), rel=1e-3)

    def test_without_static_head_no_time_is_made_up(self):
        given = {"inertia": 2.0, "speed": 25.0, "shaft_power": 37e3, "speed_ratio": 1.0}
        assert surge.run_down_flow_stop_time(**given, static_head=0, shut_off_head=100) is None

    def test_already_without_flow(self):
        given = {"inertia": 2.0, "speed": 25.0, "shaft_power": 37e3, "speed_ratio": 0.6}
        assert surge.run_down_flow_stop_time(**given, static_head=45, shut_off_head=100) == 0


class TestLowestPressure:
    GIVEN = {
        "density": 1000,
        "atmospheric_pressure_absolute": 101325,
        "vapour_pressure_absolute": 2339,
    }

    def test_the_head_that_is_left(self):
        lowest = surge.lowest_pressure(
            steady_grade_elevation=60, elevation=20, head_drop=35, **self.GIVEN
        )
        assert lowest == LowestPressure(pytest.approx(5 * 9806.65), False)

    def test_the_column_separates_at_the_vapour_pressure(self):
        lowest = surge.lowest_pressure(
            steady_grade_elevation=60, elevation=40, head_drop=60, **self.GIVEN
        )
        assert lowest == LowestPressure(2339 - 101325, True)

    def test_just_at_the_vapour_pressure_it_separates(self):
        # 0 m of head left, and liquid that boils at the pressure of the air.
        lowest = surge.lowest_pressure(
            steady_grade_elevation=60,
            elevation=40,
            head_drop=20,
            density=1000,
            atmospheric_pressure_absolute=101325,
            vapour_pressure_absolute=101325,
        )
        assert lowest == LowestPressure(0.0, True)


@pytest.mark.parametrize(
    ("call", "argument"),
    [
        (lambda: surge.joukowsky_head(wave_speed=0, velocity_change=1), "wave_speed"),
        (lambda: surge.joukowsky_head(wave_speed=1, velocity_change=-1), "velocity_change"),
        (lambda: surge.reflection_time(length=0, wave_speed=1), "length"),
        (
            lambda: surge.stop_surge(length=1, wave_speed=1, velocity_change=1, stop_time=-1),
            "stop_time",
        ),
        (
            lambda: surge.shortest_stop_time(
                length=1, wave_speed=1, velocity_change=1, allowed_rise=0
            ),
            "allowed_rise",
        ),
        (
            lambda: surge.flow_stop_time(
                ramp_time=-1, operating_speed_ratio=1, static_head=1, shut_off_head=1
            ),
            "ramp_time",
        ),
        (
            lambda: surge.flow_stop_time(
                ramp_time=1, operating_speed_ratio=0, static_head=1, shut_off_head=1
            ),
            "operating_speed_ratio",
        ),
        (
            lambda: surge.flow_stop_time(
                ramp_time=1, operating_speed_ratio=1, static_head=inf, shut_off_head=1
            ),
            "static_head",
        ),
        (
            lambda: surge.flow_stop_time(
                ramp_time=1, operating_speed_ratio=1, static_head=1, shut_off_head=0
            ),
            "shut_off_head",
        ),
        (
            lambda: surge.run_down_flow_stop_time(
                inertia=-1, speed=1, shaft_power=1, speed_ratio=1, static_head=1, shut_off_head=2
            ),
            "inertia",
        ),
        (
            lambda: surge.run_down_flow_stop_time(
                inertia=1, speed=1, shaft_power=0, speed_ratio=1, static_head=1, shut_off_head=2
            ),
            "shaft_power",
        ),
    ],
)
def test_refusals_name_the_argument(call, argument):
    with pytest.raises(InvalidInput) as raised:
        call()
    assert raised.value.argument == argument


@pytest.mark.parametrize(
    "argument",
    ["bulk_modulus", "density", "bore", "wall_thickness", "elastic_modulus", "anchorage_factor"],
)
def test_wave_speed_refuses(argument):
    good = {
        "bulk_modulus": 2.19e9,
        "density": 998.2,
        "bore": 0.3,
        "wall_thickness": 0.01,
        "elastic_modulus": 2e11,
        "anchorage_factor": 1.0,
    }
    with pytest.raises(InvalidInput) as raised:
        surge.wave_speed(**{**good, argument: 0})
    assert raised.value.argument == argument


@pytest.mark.parametrize(
    ("argument", "value"),
    [
        ("steady_grade_elevation", nan),
        ("elevation", nan),
        ("head_drop", -1),
        ("density", 0),
        ("atmospheric_pressure_absolute", 0),
        ("vapour_pressure_absolute", -1),
    ],
)
def test_lowest_pressure_refuses(argument, value):
    good = {
        "steady_grade_elevation": 60,
        "elevation": 20,
        "head_drop": 10,
        **TestLowestPressure.GIVEN,
    }
    with pytest.raises(InvalidInput) as raised:
        surge.lowest_pressure(**{**good, argument: value})
    assert raised.value.argument == argument
