"""Motor cables."""

import pytest

from calculations import cables
from calculations.errors import InvalidInput

SQUARE_MILLIMETRE = 1e-6


def test_thousand_circular_mils():
    # Definition: 1 kcmil is 0.5067 mm2.
    assert pytest.approx(0.5067, abs=5e-5) == 1000 * cables.CIRCULAR_MIL / SQUARE_MILLIMETRE


def test_copper_at_20_degrees():
    # IEC 60028: 1/58 ohm.mm2/m, the annealed copper standard.
    resistance = cables.resistance_per_metre(area=SQUARE_MILLIMETRE, temperature=293.15)
    assert resistance == pytest.approx(1 / 58, rel=1e-4)


def test_warm_copper():
    # 20 to 75 degC: (234.5 + 75) / (234.5 + 20) = 1.2161.
    cold = cables.resistance_per_metre(area=1e-5, temperature=293.15)
    warm = cables.resistance_per_metre(area=1e-5)
    assert warm / cold == pytest.approx(1.2161, abs=5e-5)


def test_aluminium_has_61_percent_of_the_conductivity():
    copper, aluminium = (
        cables.resistance_per_metre(area=1e-5, temperature=293.15, metal=metal)
        for metal in (cables.COPPER, cables.ALUMINIUM)
    )
    assert copper / aluminium == pytest.approx(0.61, abs=5e-4)


def test_voltage_drop_by_hand():
    # sqrt(3) x 57.6 A x 100 m x (1.58e-3 x 0.86 + 0.08e-3 x 0.510) ohm/m = 13.96 V.
    drop = cables.voltage_drop(current=57.6, length=100, resistance=1.58e-3, power_factor=0.86)
    assert drop == pytest.approx(13.964, abs=0.005)


@pytest.mark.parametrize(
    ("argument", "call"),
    [
        ("area", lambda: cables.resistance_per_metre(area=0)),
        ("temperature", lambda: cables.resistance_per_metre(area=1, temperature=75)),
        (
            "power_factor",
            lambda: cables.voltage_drop(current=1, length=1, resistance=1, power_factor=86),
        ),
    ],
)
def test_bad_input_is_named(argument, call):
    with pytest.raises(InvalidInput) as raised:
        call()
    assert raised.value.argument == argument
