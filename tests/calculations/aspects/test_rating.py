"""Ratings as they are run: 22 kW, 230 V, 50 Hz, 1470 rpm, 4 poles in delta, on 400 V.

400 / 230 = 1.7391: 86.96 Hz, 38.26 kW; the 30 rpm of slip stay, 2608.7 - 30 = 2578.7 rpm.
"""

import pytest

from calculations.aspects import rating
from calculations.case import Missing
from tests.calculations.building import booster, case, changed, without
from tests.calculations.building_plates import q
from tests.calculations.stations import LEFT, eighty_seven_hertz


def test_a_stretched_rating():
    run = rating.run_rating(case(eighty_seven_hertz()))
    assert run.stretch == pytest.approx(1.7391, abs=1e-4)
    assert (run.voltage, run.frequency) == pytest.approx((400, 86.957), rel=1e-5)
    assert run.power == pytest.approx(38261, abs=1)
    assert run.speed == pytest.approx(2578.7 / 60, abs=0.01)
    assert run.current == 72.5
    assert run.volts_per_hertz == pytest.approx(4.6)


def test_a_synchronous_motor_has_no_slip_to_keep():
    """1500 rpm at 50 Hz: 1.7391 times as fast."""
    plate = {"/motor/kind": "permanent_magnet", "/motor/ratings/0/speed": q("1500", "rpm")}
    run = rating.run_rating(case(changed(eighty_seven_hertz(), plate)))
    assert run.speed == pytest.approx(2608.7 / 60, abs=0.01)


@pytest.mark.parametrize(
    ("frequency", "supply", "stretch"),
    [
        ("87", "400", 1.7391),
        ("87", "690", 1.74),  # no further than is asked for
        ("120", "690", 2.0),  # nor than twice
        ("60", "400", 1.2),
        ("51", "400", 1.0),  # 2 % are not meant
        ("51.1", "400", 1.022),
        ("87", "234", 1.0),  # 1.7 % more voltage
        ("87", "235", 1.0217),
        (None, "400", 1.7391),
    ],
)
def test_how_far(frequency, supply, stretch):
    document = changed(
        eighty_seven_hertz(),
        {"/site/supply_nominal_voltage": q(supply, "V"),
         f"{LEFT}/motor_frequency": frequency and q(frequency, "Hz")},
    )  # fmt: skip
    assert rating.stretch(case(document)) == pytest.approx(stretch, abs=1e-4)


def test_without_permission_nothing_is_stretched():
    plain = {"/motor/extended_constant_torque": False}
    assert rating.stretch(case(changed(eighty_seven_hertz(), plain))) == 1.0
    run = rating.run_rating(case(booster()))
    assert (run.stretch, run.voltage, run.frequency) == (1.0, 460, 60)
    assert run.speed == pytest.approx(1775 / 60)


def test_without_supply_the_drives_voltage_counts_and_then_none():
    unknown = without(eighty_seven_hertz(), "/site/supply_nominal_voltage")
    lower = changed(unknown, {f"{LEFT}/motor_voltage": q("345", "V")})
    assert rating.stretch(case(lower)) == pytest.approx(1.5)
    with pytest.raises(Missing) as raised:
        rating.stretch(case(without(unknown, f"{LEFT}/motor_voltage")))
    assert raised.value.places == ("/site/supply_nominal_voltage",)


def test_a_range_of_voltages():
    """230 to 240 V."""
    plate = {"/motor/ratings/0/voltage_upper": q("240", "V")}
    run = rating.run_rating(case(changed(eighty_seven_hertz(), plate)))
    assert run.voltage_upper == pytest.approx(240 * 400 / 230)
    assert rating.run_rating(case(booster())).voltage_upper == 460
