"""What a transmitter sends, what the drive is scaled to, and what errors are allowed."""

import pytest

from calculations.units import to_si
from tests.calculations.building import booster, changed, derived, judged, without
from tests.calculations.building_event import verification
from tests.calculations.building_plates import q
from tests.calculations.derived.test_pumping_values import known, shown, value
from tests.calculations.whole_stations import (
    LEFT,
    left,
    lift_station,
    shifted_booster,
)


def ranged(upper: str, set_point: str):
    return changed(
        booster(),
        {"/sensors/0/upper_range_value": q(upper, "psi"), "/event/sensor_verifications": None}
        | left(feedback_at_upper_signal=q(upper, "psi"), set_point=q(set_point, "psi")),
    )  # fmt: skip


def test_signal_at_the_set_point():
    """T01b: 60 psi of 0 to 150 psi are 10.4 mA."""
    assert shown("sensor.signal-at-set-point", ranged("150", "60")) == "10.4 mA"


def test_signal_of_a_voltage():
    """T02: 82.5 of 150 psi are 5.5 V of 0 to 10 V."""
    document = changed(
        ranged("150", "82.5"),
        {"/sensors/0/output": "0-10 V"} | left(feedback_signal="0-10 V", input_selector="voltage"),
    )
    assert shown("sensor.signal-at-set-point", document) == "5.5 V"


def test_signals_at_limits_and_quarters():
    """125 psi of 200 psi: 4 + 16 x 0.625 = 14 mA; 79 psi: 10.32 mA."""
    assert shown("sensor.signal-at-high-limit") == "14 mA"
    assert shown("sensor.signal-at-wake") == "10.32 mA"
    quarters = [shown(f"sensor.signal-at-{percent}-percent") for percent in (0, 25, 50, 75, 100)]
    assert quarters == ["4 mA", "8 mA", "12 mA", "16 mA", "20 mA"]


def test_a_level_has_a_signal_where_the_drive_acts_on_its_transmitter_alone():
    """0.35 m over the floor, where 0.1 m are 4 mA and 5.1 m 20 mA: 4.8 mA.

    A controller elsewhere reads another signal; a pressure has none for a level.
    """
    name = "sensor.signal-at-low-cut-off-level"
    assert shown(name, lift_station()) == "4.8 mA"
    elsewhere = changed(lift_station(), left(regulation="speed_from_external_controller"))
    assert name not in known(elsewhere)
    assert name not in known(changed(booster(), left(low_level_cutoff=q("2", "ft"))))


def test_signal_at_a_set_point_of_another_datum():
    """85 psi at the datum are 79.8 psi at the transmitter, 12 ft above: 10.384 mA."""
    found = value("sensor.signal-at-set-point", shifted_booster())
    assert found == pytest.approx(0.010384, abs=2e-6)


def test_signal_where_the_scaling_tells_the_datum():
    """The same; without a scaling nobody knows, and the transmitter's own height counts: 85 psi of
    200 psi are 10.8 mA."""
    unknown = without(shifted_booster(), f"{LEFT}/set_point_datum")
    assert value("sensor.signal-at-set-point", unknown) == pytest.approx(0.010384, abs=2e-6)
    ends = ("feedback_at_lower_signal", "feedback_at_upper_signal")
    unscaled = without(unknown, *(f"{LEFT}/{end}" for end in ends))
    assert "sensor.signal-at-set-point" not in known(unscaled)


def test_scaling_that_cancels_the_tapping_s_height():
    """T06: 6 ft of water at 20 degC are 2.5965 psi."""
    document = changed(
        booster(),
        {"/sensors/0/tapping_elevation": q("6", "ft"), "/event/liquid_temperature": q("20", "degC")}
        | left(set_point_datum="pump_datum"),
    )
    assert value("sensor.scaling-at-lower-signal", document) == pytest.approx(
        to_si(2.5965, "psi"), rel=1e-4
    )
    assert value("sensor.scaling", document) == pytest.approx(to_si(202.5965, "psi"), rel=1e-5)


def test_a_scaling_whose_shift_nobody_knows_is_not_told():
    """Zero height is no reading: 0 to 200 psi would be a number out of nowhere."""
    names = ("sensor.scaling", "sensor.scaling-at-lower-signal")
    for datum in (None, "pump_datum"):
        document = without(
            changed(booster(), left(set_point_datum=datum)), "/sensors/0/tapping_elevation"
        )
        assert not set(names) & known(document)
    at_transmitter = without(booster(), "/sensors/0/tapping_elevation")
    assert shown("sensor.scaling", at_transmitter) == "200 psi"
    assert not set(names) & known(changed(booster(), left(set_point_datum="remote")))


@pytest.mark.parametrize(
    ("scaled", "told"),
    [(q("200", "psi"), "199.96 psi"), (None, "13.787 bar"), (q("100", "%"), "13.787 bar")],
)
def test_scaling_is_told_in_the_unit_that_the_drive_is_scaled_in(scaled, told):
    """13.787 bar of the transmitter are 199.96 psi (6.894757 kPa); the drive's own is what it is
    read beside."""
    ends = {"lower": q("0", "bar"), "upper": q("13.787", "bar")}
    document = changed(
        booster(), {f"/sensors/0/{end}_range_value": value for end, value in ends.items()}
    )
    place = "/event/settings/as_left/feedback_at_{}_signal"
    low, high = place.format("lower"), place.format("upper")
    if scaled is None:
        document = without(document, low, high)
    else:
        document = changed(document, {low: q("0", scaled["unit"]), high: scaled})
    assert shown("sensor.scaling", document) == told


def test_scaling_of_a_pressure_cell_is_told_as_the_level():
    """0 to 490 mbar over -4.9 m: 49000 Pa are 5.0 m of water, shown from the floor at -5.0 m."""
    cell = {
        "/sensors/0/quantity": "pressure", "/sensors/0/tapping_elevation": q("-4.9", "m"),
        "/sensors/0/lower_range_value": q("0", "mbar"),
        "/sensors/0/upper_range_value": q("490", "mbar"),
    }  # fmt: skip
    document = changed(lift_station(), cell)
    assert derived(judged(document), "sensor.scaling").shown.unit == "m"
    # The height of the tapping counts where no other is recorded.
    low = value("sensor.scaling-at-lower-signal", without(document, "/sensors/0/zero_elevation"))
    assert low == pytest.approx(0.1)


def test_loop_resistance():
    """T09: (24 - 10.5) V / 21 mA = 643 ohm."""
    document = changed(booster(), {"/sensors/0/supply_voltage_minimum": q("10.5", "V")})
    assert shown("sensor.loop-resistance-allowed", document) == "642.9 ohm"


def test_allowed_error_of_the_published_example():
    """T05: 0.25 % of 150 psi, reference 0.05 % of 200 psi: 0.3673 psi of 0.375 psi."""
    document = changed(
        ranged("150", "60"),
        {"/sensors/0/tolerance_percent_of_span": q("0.25", "%"),
         "/instruments/0/range_high": q("200", "psi"),
         "/instruments/0/percent_of_range": q("0.05", "%"),
         "/event/sensor_verifications": [
             verification("PT-101", 30, ("4.00", "7.20", "10.40", "13.60", "16.80", "20.00"))]},
    )  # fmt: skip
    assert value("sensor.allowed-error", document) * 150 == pytest.approx(0.3673, abs=1e-4)
