"""What a bladder tank of 130 gal gives while the pump sleeps, by Boyle's law.

69 psi of pre-charge; it stops at 85 + 3 psi and wakes at 79 psi; 14.432 psi of air at 500 ft.
130 x 83.432 (1 / 93.432 - 1 / 102.432) = 10.20 gal.
"""

import pytest

from calculations.aspects import storage
from calculations.case import Missing
from tests.calculations.building import booster, case, changed
from tests.calculations.building_plates import q, vessel
from tests.calculations.whole_stations import left

GALLON = 3.785411784e-3
PSI = 6894.757
GPM = GALLON / 60


def with_vessel(**values):
    return case(changed(booster(), {f"/vessels/0/{name}": each for name, each in values.items()}))


def test_usable_volume():
    found = storage.usable_volume(case(booster()), "/vessels/0")
    assert found / GALLON == pytest.approx(10.20, rel=2e-3)


@pytest.mark.parametrize(
    ("charge", "wake", "in_order"),
    [
        ("78.9", "79", True),
        ("79.1", "79", False),
        ("69", "87.9", True),
        ("69", "88", False),
        ("69", "88.1", False),
    ],
)
def test_pressures_in_their_order(charge, wake, in_order):
    settings = left(wake_value=q(wake, "psi"))
    charged = {"/vessels/0/pre_charge_pressure_design": q(charge, "psi")}
    found = case(changed(booster(), settings | charged))
    if in_order:
        assert storage.usable_volume(found, "/vessels/0") > 0
    else:
        with pytest.raises(Missing) as raised:
            storage.usable_volume(found, "/vessels/0")
        assert raised.value.because == "pre-charge, wake and stop pressure are not in order"


def test_a_wake_value_set_below_the_set_point():
    below = case(changed(booster(), left(wake_basis="below_set_point", wake_value=q("6", "psi"))))
    assert storage.wake_value(below) == pytest.approx(79 * PSI)
    assert storage.wake_value(case(booster())) == pytest.approx(79 * PSI)


@pytest.mark.parametrize(
    ("values", "seconds"),
    [
        ({}, 61.2),  # at 10 gpm
        ({"kind": "diaphragm"}, 61.2),
        ({"kind": "air_over_water"}, None),
        ({"location": "suction"}, None),
        ({"volume": None}, None),
    ],
)
def test_how_long_it_lasts(values, seconds):
    found = storage.lasting(with_vessel(**values), 10 * GPM)
    assert found == (None if seconds is None else pytest.approx(seconds, rel=2e-3))


def test_two_vessels_last_as_long_as_both_and_no_flow_for_ever():
    two = case(changed(booster(), {"/vessels/-": vessel() | {"tag": "V-2", "serial": "T-119"}}))
    assert storage.lasting(two, 10 * GPM) == pytest.approx(122.4, rel=2e-3)
    assert storage.lasting(two, 0.0) is None
    assert storage.lasting(case(changed(booster(), {"/vessels": None})), 10 * GPM) is None
