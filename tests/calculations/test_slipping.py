"""Field, slip and load: slip frequency in proportion to torque at full flux; worked by hand.

Four poles, 1775 rpm at 60 Hz: 25 rpm behind the field are 25 / 30 = 0.8333 Hz at rated torque.
"""

import pytest

from calculations.errors import InvalidInput
from calculations.slipping import Slipping

MOTOR = Slipping(field=0.5, rated=25 / 30, base=60.0)
RATED = (60 / 1775) ** 2  # s2: rated torque at rated speed


def test_at_its_rating_it_turns_at_its_rated_speed():
    assert MOTOR.speed(frequency=60, load=RATED) * 60 == pytest.approx(1775, abs=1e-6)


def test_without_load_it_turns_with_its_field():
    assert MOTOR.speed(frequency=42, load=0.0) * 60 == pytest.approx(1260)


@pytest.mark.parametrize(
    ("frequency", "share", "rpm"),
    [
        # 40 % of the pump's torque at 1775 rpm. 42 Hz: field 1260 rpm, about 25 * 0.4 *
        # (1255 / 1775)^2 = 5.0 rpm behind.
        (42.0, 0.4, 1255.0),
        # 30 Hz: 900 rpm, 25 (893.7 / 1775)^2 = 6.34 rpm behind: twice what proportion has less.
        (30.0, 1.0, 893.66),
        # 66 Hz, flux 60 / 66: 1980 rpm, 25 (1943.7 / 1775)^2 1.21 = 36.3 rpm behind.
        (66.0, 1.0, 1943.7),
    ],
)
def test_slip_follows_the_torque(frequency, share, rpm):
    load = share * RATED
    found = MOTOR.speed(frequency=frequency, load=load) * 60
    weak = max(frequency / 60, 1) ** 2
    assert 30 * frequency - found == pytest.approx(25 * share * (found / 1775) ** 2 * weak)
    assert found == pytest.approx(rpm, abs=0.3)
    assert MOTOR.frequency(speed=found / 60, load=load) == pytest.approx(frequency)


def test_what_a_weakened_field_cannot_carry_stalls():
    assert MOTOR.frequency(speed=100, load=100 * RATED) == pytest.approx(400)


@pytest.mark.parametrize("wrong", [{"load": -1.0}, {"load": float("nan")}])
def test_impossible_loads_are_refused(wrong):
    for of in ({"frequency": 50.0}, {"speed": 20.0}):
        with pytest.raises(InvalidInput, match="load"):
            (MOTOR.speed if "frequency" in of else MOTOR.frequency)(**of, **wrong)
