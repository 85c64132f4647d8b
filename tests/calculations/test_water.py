"""Water and the air above it."""

from math import inf, nan

import pytest

from calculations import water
from calculations.errors import InvalidInput
from tests.calculations.comparing import Near, assert_matches
from tests.calculations.us_units import FOOT, GRAVITY, PSI, kelvin
from tests.calculations.worked_examples import Case, worked


@worked("water", "water: head for each unit of pressure")
def test_example_of_head_per_pressure(case: Case) -> None:
    temperature = kelvin(case["inputs"]["t_C"])
    head = water.head_per_pressure(temperature=temperature)
    feet = head * PSI / FOOT
    assert_matches(
        case,
        rho_kg_m3=Near(water.density(temperature=temperature), absolute=0.004),
        ft_per_psi=Near(feet, absolute=0.0005),
        m_per_bar=Near(head * 1e5, absolute=0.0005),
        **{"error_of_2.31_pct": Near(100 * (2.31 / feet - 1), absolute=0.002)},
    )


@worked("water", "water: properties")
def test_example_of_properties(case: Case) -> None:
    temperature = kelvin(case["inputs"]["t_C"])
    pressure = water.saturation_pressure_absolute(temperature=temperature)
    density = water.density(temperature=temperature)
    head = water.head_of_pressure(pressure=pressure, density=density)
    assert_matches(
        case,
        p_v_kPa=Near(pressure / 1000, relative=1e-4),
        rho_kg_m3=Near(density, absolute=0.012),
        vapour_head_m=Near(head, absolute=1e-4),
    )


@worked("water", "water: sound speed")
def test_example_of_sound_speed(case: Case) -> None:
    temperature = kelvin(case["inputs"]["t_C"])
    assert_matches(
        case,
        a_m_s=Near(water.sound_speed(temperature=temperature), absolute=0.1),
        K_GPa=Near(water.bulk_modulus(temperature=temperature) / 1e9, absolute=0.0005),
    )


@worked("water", "water: atmosphere")
def test_example_of_atmosphere(case: Case) -> None:
    pressure = water.atmospheric_pressure_absolute(elevation=case["inputs"]["geometric_altitude_m"])
    assert_matches(case, p_kPa=Near(pressure / 1000, absolute=0.001))


@pytest.mark.parametrize(
    ("kelvins", "pascals"), [(300, 3536.58941), (500, 2.63889776e6), (600, 12.3443146e6)]
)
def test_saturation_pressure_of_the_release(kelvins, pascals):
    # IF97, table 35: values for checking a program.
    ours = water.saturation_pressure_absolute(temperature=kelvins)
    assert ours == pytest.approx(pascals, rel=1e-8)


def test_steam_is_not_taken_for_water():
    # At 100 degC and one atmosphere a property library gives steam, 0.6 kg/m3; KELL1975 does not.
    assert water.density(temperature=kelvin(100)) == pytest.approx(958.4, abs=0.1)


def test_sea_level_is_the_standard_atmosphere():
    assert water.atmospheric_pressure_absolute(elevation=0) == 101325.0


def test_air_is_denser_below_sea_level():
    # ISO2533-1975, table at -500 m: 107.478 kPa.
    assert water.atmospheric_pressure_absolute(elevation=-500) == pytest.approx(107478, abs=5)


@pytest.mark.parametrize(
    ("function", "argument", "lowest", "highest"),
    [
        (water.saturation_pressure_absolute, "temperature", 273.15, 647.096),
        (water.density, "temperature", 273.15, 373.15),
        (water.sound_speed, "temperature", 273.15, 373.15),
        (water.bulk_modulus, "temperature", 273.15, 373.15),
        (water.head_per_pressure, "temperature", 273.15, 373.15),
        (water.atmospheric_pressure_absolute, "elevation", -2000, 11000),
    ],
)
def test_range_of_validity(function, argument, lowest, highest):
    assert function(**{argument: lowest}) > 0
    assert function(**{argument: highest}) > 0
    for outside in (lowest - 0.01, highest + 0.01, nan, inf):
        with pytest.raises(InvalidInput) as raised:
            function(**{argument: outside})
        assert raised.value.argument == argument


def test_head_and_pressure_are_inverse():
    # Definition: 10 m of 1000 kg/m3 is 98.0665 kPa.
    assert water.pressure_of_head(head=10, density=1000) == pytest.approx(98066.5)
    assert water.head_of_pressure(pressure=-98066.5, density=1000) == pytest.approx(-10)
    assert water.head_per_pressure(temperature=kelvin(20)) * 998.207 * GRAVITY == pytest.approx(
        1, rel=1e-5
    )


@pytest.mark.parametrize(
    ("given", "argument"),
    [
        ({"head": nan, "density": 1000}, "head"),
        ({"head": 1, "density": 0}, "density"),
        ({"head": 1, "density": -1000}, "density"),
    ],
)
def test_pressure_of_head_refuses(given, argument):
    with pytest.raises(InvalidInput) as raised:
        water.pressure_of_head(**given)
    assert raised.value.argument == argument


@pytest.mark.parametrize(
    ("given", "argument"),
    [({"pressure": inf, "density": 1000}, "pressure"), ({"pressure": 1, "density": 0}, "density")],
)
def test_head_of_pressure_refuses(given, argument):
    with pytest.raises(InvalidInput) as raised:
        water.head_of_pressure(**given)
    assert raised.value.argument == argument
