"""Times of ramps, by hand: 15 s up and 20 s down for 60 Hz, 2 s for the 30 Hz next to rest."""

import pytest

from calculations.aspects import ramps
from calculations.case import Missing
from tests.calculations.building import booster, case, changed
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import left

TWO = {
    "first_ramp_time": q("2", "s"), "first_ramp_to_frequency": q("30", "Hz"),
    "last_ramp_time": q("4", "s"), "last_ramp_from_frequency": q("30", "Hz"),
}  # fmt: skip


@pytest.mark.parametrize(
    ("frequency", "more", "up", "down"),
    [
        (60, {}, 15.0, 20.0),
        (36, {}, 9.0, 12.0),
        (60, TWO, 2 + 7.5, 4 + 10.0),
        (36, TWO, 2 + 1.5, 4 + 2.0),
        (15, TWO, 1.0, 2.0),
        (36, TWO | {"first_ramp_to_frequency": q("0", "Hz")}, 9.0, 4 + 2.0),
        # To 50 Hz where that is the highest and the reference, else to the rated 60 Hz.
        (25, {"maximum_frequency": q("50", "Hz")}, 7.5, 10.0),
        (25, {"maximum_frequency": q("50", "Hz"), "ramp_reference": "to_rated_frequency"},
         6.25, 25 / 3),
        (30, {"ramp_reference": None}, 7.5, 10.0),  # both are 60 Hz
    ],
)  # fmt: skip
def test_times(frequency, more, up, down):
    found = case(changed(booster(), left(**more)))
    assert ramps.up_time(found, frequency) == pytest.approx(up)
    assert ramps.down_time(found, frequency) == pytest.approx(down)


@pytest.mark.parametrize("known", ["first_ramp_time", "first_ramp_to_frequency"])
def test_half_of_a_first_ramp_is_not_enough(known):
    found = case(changed(booster(), left(**{known: TWO[known]})))
    with pytest.raises(Missing):
        ramps.up_time(found, 60)
    assert ramps.down_time(found, 60) == pytest.approx(20)


def test_no_range_to_ramp_over():
    none = case(changed(booster(), left(maximum_frequency=q("0", "Hz"))))
    with pytest.raises(Missing) as raised:
        ramps.up_time(none, 30)
    assert raised.value.because == "no range to ramp over"
