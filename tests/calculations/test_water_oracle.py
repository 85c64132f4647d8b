"""Water and atmosphere against CoolProp (IAPWS-95) and fluids (standard atmosphere)."""

import pytest

from calculations import hydraulics, surge, water
from tests.calculations.us_units import kelvin

pytestmark = pytest.mark.oracle

TEMPERATURES = [1, 4, 7, 10, 13, 15.6, 20, 23, 25, 30, 37, 40, 45, 50, 55, 60, 70, 80, 90, 95]


@pytest.mark.parametrize("celsius", TEMPERATURES)
class TestAgainstIapws95:
    def test_saturation_pressure(self, celsius):
        properties = pytest.importorskip("CoolProp.CoolProp").PropsSI
        theirs = properties("P", "T", kelvin(celsius), "Q", 0, "Water")
        ours = water.saturation_pressure_absolute(temperature=kelvin(celsius))
        assert ours == pytest.approx(theirs, rel=1e-4)

    def test_density(self, celsius):
        properties = pytest.importorskip("CoolProp.CoolProp").PropsSI
        theirs = properties("D", "T", kelvin(celsius), "P", 101325, "Water")
        limit = 0.004 if celsius <= 60 else 0.014
        assert water.density(temperature=kelvin(celsius)) == pytest.approx(theirs, abs=limit)

    def test_sound_speed(self, celsius):
        properties = pytest.importorskip("CoolProp.CoolProp").PropsSI
        theirs = properties("A", "T", kelvin(celsius), "P", 101325, "Water")
        assert water.sound_speed(temperature=kelvin(celsius)) == pytest.approx(theirs, abs=0.06)


@pytest.mark.parametrize("elevation", [-400, 0, 150, 500, 1000, 1609.344, 2240, 3000, 4000, 6000])
def test_standard_atmosphere(elevation):
    atmosphere = pytest.importorskip("fluids.atmosphere").ATMOSPHERE_1976
    theirs = atmosphere(elevation).P
    ours = water.atmospheric_pressure_absolute(elevation=elevation)
    assert ours == pytest.approx(theirs, abs=0.5)


@pytest.mark.parametrize(
    ("rpm", "flow", "head"), [(1740, 0.1136, 41.1), (2950, 0.02, 60), (590, 1.4, 9)]
)
def test_specific_speed(rpm, flow, head):
    pump = pytest.importorskip("fluids.pump")
    theirs = pump.specific_speed(Q=flow, H=head, n=rpm)
    ours = hydraulics.specific_speed(speed=rpm / 60, flow=flow, head=head)
    assert ours == pytest.approx(theirs, rel=1e-9)


def test_a_rigid_main_carries_sound():
    properties = pytest.importorskip("CoolProp.CoolProp").PropsSI
    theirs = properties("A", "T", kelvin(12), "P", 101325, "Water")
    ours = surge.wave_speed(
        bulk_modulus=water.bulk_modulus(temperature=kelvin(12)),
        density=water.density(temperature=kelvin(12)),
        bore=0.2,
        wall_thickness=0.01,
        elastic_modulus=1e18,
    )
    assert ours == pytest.approx(theirs, abs=0.05)
