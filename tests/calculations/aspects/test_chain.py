"""From the transmitter to the drive's input: what carries the signal, and what it meets."""

import pytest

from calculations.aspects import chain, loop
from tests.calculations.building import booster, case, changed
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import left


@pytest.mark.parametrize(
    ("signal", "carried", "live"),
    [
        ("4-20 mA", "current", True),
        ("0-20 mA", "current", False),
        ("0-10 V", "voltage", False),
        ("2-10 V", "voltage", True),
        ("digital", "digital", True),
        ("pulse", "pulse", False),
    ],
)
def test_what_carries_a_signal(signal, carried, live):
    # IEC 60381-1 and 60381-2: a live zero tells a dead wire from the lower end.
    assert (chain.carries(signal), chain.has_live_zero(signal)) == (carried, live)


@pytest.mark.parametrize(
    ("selector", "expected", "sent", "fits"),
    [
        ("current", "4-20 mA", "4-20 mA", True),
        ("voltage", "4-20 mA", "4-20 mA", False),
        ("voltage", "0-10 V", "4-20 mA", True),  # what the input is set to read counts first
        ("voltage", None, "4-20 mA", False),
        ("current", None, "4-20 mA", True),
        ("voltage", None, None, True),
        (None, "4-20 mA", "4-20 mA", True),
        ("not_selectable", "4-20 mA", "4-20 mA", True),
        ("voltage", "4-20 mA", "pulse", True),  # nothing is scaled
    ],
)
def test_whether_the_input_is_selected_for_the_signal(selector, expected, sent, fits):
    settings = left(input_selector=selector, feedback_signal=expected)
    found = case(changed(booster(), settings | {"/sensors/0/output": sent}))
    assert chain.selector_fits(found) is fits


@pytest.mark.parametrize(
    ("load", "ohms"), [("250", 250.0), ("0.5", 0.5), ("0", None), (None, None)]
)
def test_resistance_that_a_current_meets(load, ohms):
    found = case(changed(booster(), {"/sensors/0/loop_load": load and q(load, "ohm")}))
    assert chain.burden(found) == ohms


@pytest.mark.parametrize(
    ("sent", "expected", "load", "connected"),
    [
        ("4-20 mA", "0-20 mA", None, True),
        ("4-20 mA", "2-10 V", "500", True),
        ("4-20 mA", "2-10 V", None, False),
        ("0-10 V", "4-20 mA", "500", True),
        ("digital", "4-20 mA", "500", False),
        ("digital", "digital", None, True),
    ],
)
def test_whether_the_signal_reaches_the_input(sent, expected, load, connected):
    changes = left(feedback_signal=expected) | {
        "/sensors/0/output": sent, "/sensors/0/loop_load": load and q(load, "ohm")
    }  # fmt: skip
    assert chain.is_connected(case(changed(booster(), changes))) is connected


@pytest.mark.parametrize(
    ("low", "high", "error"),
    # Over 0 to 200 psi at the transmitter's own height, at the worst of 0, 50 and 100 %.
    [("0", "200", 0.0), ("0", "210", 0.05), ("-4", "200", -0.02), ("6", "190", -0.05)],
)
def test_the_worst_of_three_points(low, high, error):
    settings = left(feedback_at_lower_signal=q(low, "psi"), feedback_at_upper_signal=q(high, "psi"))
    worst = chain.worst(chain.points(case(changed(booster(), settings))))
    assert worst.error == pytest.approx(error, abs=1e-6)


def test_where_the_set_points_datum_has_no_height_the_input_fits_the_range_as_it_is():
    found = case(changed(booster(), left(set_point_datum="header")))
    assert loop.datum_offsets(found) is None
    fitting = chain.fitting_ends(found)
    # 200 psi, NIST SP 811, B.8: 6894.757 Pa each
    assert (fitting.low, fitting.high) == pytest.approx((0.0, 200 * 6894.757), abs=0.5)


@pytest.mark.parametrize(
    ("tolerance", "share"), [(None, 0.01), ("0.5", 0.01), ("1", 0.01), ("1.5", 0.015)]
)
def test_what_a_chain_may_be_off_by_is_one_percent_or_the_sensors_tolerance(tolerance, share):
    known = {"/sensors/0/tolerance_percent_of_span": tolerance and q(tolerance, "%")}
    assert chain.granted(case(changed(booster(), known))) == pytest.approx(share)
