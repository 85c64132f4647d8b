"""Net positive suction head, from the surface and from a gauge."""

from math import nan

import pytest

from calculations import hydraulics, water
from calculations.errors import InvalidInput
from calculations.hydraulics import Gauge
from tests.calculations.comparing import Near, assert_matches
from tests.calculations.us_units import FOOT, PSI, kelvin, kelvin_from_fahrenheit
from tests.calculations.worked_examples import Case, worked


@worked("hydraulics", "hydraulics: NPSH available from the surface")
def test_example_of_npsh_lift(case: Case) -> None:
    given = case["inputs"]
    temperature = kelvin(given["t_C"])
    atmosphere = water.atmospheric_pressure_absolute(elevation=given["elevation_m"])
    vapour = water.saturation_pressure_absolute(temperature=temperature)
    head = hydraulics.npsh_available_from_surface(
        atmospheric_pressure_absolute=atmosphere,
        surface_pressure=0,
        vapour_pressure_absolute=vapour,
        static_head=-given["static_lift_m"],
        suction_loss=given["suction_loss_m"],
        density=water.density(temperature=temperature),
    )
    assert_matches(
        case,
        p_atm_kPa=Near(atmosphere / 1000, absolute=0.001),
        p_v_kPa=Near(vapour / 1000, relative=1e-4),
        NPSHa_m=Near(head, absolute=0.0005),
        NPSHa_ft=Near(head / FOOT, absolute=0.002),
    )


@worked("hydraulics", "hydraulics: NPSH available, flooded, US units")
def test_example_of_npsh_flooded(case: Case) -> None:
    given = case["inputs"]
    temperature = kelvin_from_fahrenheit(given["t_F"])
    vapour = water.saturation_pressure_absolute(temperature=temperature)
    available = hydraulics.npsh_available_from_surface(
        atmospheric_pressure_absolute=given["p_atm_psia"] * PSI,
        surface_pressure=0,
        vapour_pressure_absolute=vapour,
        static_head=given["static_head_ft"] * FOOT,
        suction_loss=given["suction_loss_ft"] * FOOT,
        density=water.density(temperature=temperature),
    )
    margin = hydraulics.npsh_margin(available=available, required=given["NPSHr_ft"] * FOOT)
    assert_matches(
        case,
        p_v_psia=Near(vapour / PSI, absolute=0.0001),
        NPSHa_ft=Near(available / FOOT, absolute=0.01),
        ratio=Near(margin.ratio, absolute=0.0005),
        margin_ft=Near(margin.difference / FOOT, absolute=0.01),
    )


class TestNpsh:
    def test_gauge_and_surface_agree_without_motion(self):
        # Hydrostatics: a gauge 1 m under the surface reads 9.80665 kPa with 1000 kg/m3.
        common = {
            "atmospheric_pressure_absolute": 101325,
            "vapour_pressure_absolute": 2339,
            "density": 1000,
        }
        surface = hydraulics.npsh_available_from_surface(
            surface_pressure=0, static_head=3, suction_loss=0, **common
        )
        gauge = hydraulics.npsh_available_from_gauge(
            suction=Gauge(pressure=9806.65, elevation=2.0, bore=0.2),
            flow=0.0,
            eye_elevation=0.0,
            **common,
        )
        assert gauge == pytest.approx(surface)

    def test_velocity_head_belongs_to_the_gauge(self):
        given = {
            "atmospheric_pressure_absolute": 101325,
            "vapour_pressure_absolute": 2339,
            "suction": Gauge(pressure=-2e4, elevation=0.5, bore=0.2),
            "eye_elevation": 0.1,
            "density": 998.2,
        }
        still = hydraulics.npsh_available_from_gauge(flow=0.0, **given)
        moving = hydraulics.npsh_available_from_gauge(flow=0.0628318531, **given)
        # 2 m/s in 200 mm: 0.2039 m.
        assert moving - still == pytest.approx(0.20394, abs=1e-4)
        assert still == pytest.approx((101325 - 2e4 - 2339) / (998.2 * 9.80665) + 0.4)

    def test_a_pressurised_surface_counts(self):
        given = {
            "atmospheric_pressure_absolute": 101325,
            "vapour_pressure_absolute": 0,
            "static_head": 0,
            "suction_loss": 0,
            "density": 1000,
        }
        open_tank = hydraulics.npsh_available_from_surface(surface_pressure=0, **given)
        closed = hydraulics.npsh_available_from_surface(surface_pressure=98066.5, **given)
        assert closed - open_tank == pytest.approx(10)

    def test_too_deep_a_lift_is_negative_not_an_error(self):
        head = hydraulics.npsh_available_from_surface(
            atmospheric_pressure_absolute=81500,
            surface_pressure=0,
            vapour_pressure_absolute=4247,
            static_head=-9,
            suction_loss=1,
            density=995.6,
        )
        assert head < 0


@pytest.mark.parametrize(
    ("given", "argument"),
    [
        ({"available": 1, "required": 0}, "required"),
        ({"available": nan, "required": 1}, "available"),
    ],
)
def test_a_margin_refuses(given, argument):
    with pytest.raises(InvalidInput) as raised:
        hydraulics.npsh_margin(**given)
    assert raised.value.argument == argument


GAUGE = Gauge(1e5, 0.0, 0.2)


@pytest.mark.parametrize(
    ("argument", "value"),
    [
        ("atmospheric_pressure_absolute", 0),
        ("vapour_pressure_absolute", -1),
        ("flow", -1),
        ("eye_elevation", nan),
        ("density", 0),
    ],
)
def test_npsh_from_a_gauge_refuses(argument, value):
    good = {
        "atmospheric_pressure_absolute": 101325,
        "suction": GAUGE,
        "flow": 0.1,
        "vapour_pressure_absolute": 2339,
        "eye_elevation": 0.0,
        "density": 998.2,
    }
    with pytest.raises(InvalidInput) as raised:
        hydraulics.npsh_available_from_gauge(**{**good, argument: value})
    assert raised.value.argument == argument


@pytest.mark.parametrize(
    ("argument", "value"),
    [
        ("atmospheric_pressure_absolute", 0),
        ("vapour_pressure_absolute", -1),
        ("suction_loss", -0.1),
        ("static_head", nan),
        ("surface_pressure", nan),
        ("density", 0),
    ],
)
def test_npsh_from_the_surface_refuses(argument, value):
    good = {
        "atmospheric_pressure_absolute": 101325,
        "surface_pressure": 0,
        "vapour_pressure_absolute": 2339,
        "static_head": 1,
        "suction_loss": 0.5,
        "density": 998.2,
    }
    with pytest.raises(InvalidInput) as raised:
        hydraulics.npsh_available_from_surface(**{**good, argument: value})
    assert raised.value.argument == argument
