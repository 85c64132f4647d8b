"""What kind of quantity a loop is computed in, and where that is told."""

import pytest

from calculations.aspects import kinds
from calculations.units import Quantity
from tests.calculations.building import booster, case, changed
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import left

PERCENT, PRESSURE, FLOW = q("50", "%"), q("85", "psi"), q("100", "gpm")


def loop(regulated: str | None, measured: str | None, upper, lower, aim, ranged):
    return case(
        changed(
            booster(),
            {"/sensors/0/quantity": measured, "/sensors/0/upper_range_value": ranged,
             "/sensors/0/lower_range_value": None}
            | left(regulated_quantity=regulated, feedback_at_upper_signal=upper,
                   feedback_at_lower_signal=lower, set_point=aim),
        )
    )  # fmt: skip


@pytest.mark.parametrize(
    ("regulated", "measured", "upper", "lower", "aim", "ranged", "kind"),
    [
        ("flow", "pressure", PRESSURE, PRESSURE, PRESSURE, PRESSURE, "flow"),
        (None, "level", PRESSURE, PRESSURE, PRESSURE, PRESSURE, "length"),
        (None, None, PERCENT, None, FLOW, None, "flow"),
        (None, None, None, None, None, PRESSURE, "pressure"),
        (None, None, FLOW, None, PRESSURE, None, "flow"),
        (None, None, None, None, None, None, None),
        (None, None, PERCENT, PERCENT, PERCENT, None, None),
        # All in %: no unit is known.
        ("flow", None, PERCENT, PERCENT, PERCENT, PERCENT, "ratio"),
        ("flow", None, PERCENT, None, None, PERCENT, "ratio"),
        ("flow", None, None, None, None, PERCENT, "ratio"),
        ("flow", None, FLOW, PERCENT, PERCENT, PERCENT, "flow"),
        ("flow", None, PERCENT, PERCENT, FLOW, PERCENT, "flow"),
    ],
)
def test_of_loop(regulated, measured, upper, lower, aim, ranged, kind):
    assert kinds.of_loop(loop(regulated, measured, upper, lower, aim, ranged)) == kind


@pytest.mark.parametrize(
    ("measured", "top", "kind"),
    [
        ("flow", FLOW, "flow"),
        ("level", PRESSURE, "length"),
        (None, PRESSURE, "pressure"),
        (None, PERCENT, "ratio"),
        ("flow", None, "flow"),
        (None, None, None),
    ],
)
def test_of_a_sensor(measured, top, kind):
    found = loop(None, measured, None, None, None, top)
    assert kinds.of_sensor(found, "/regulating_sensor") == kind
    level = kinds.of_sensor(found, kinds.LEVEL_SENSOR)
    assert level == "length"  # there is none


@pytest.mark.parametrize(
    ("regulated", "measured", "fits"),
    [
        ("discharge_pressure", "pressure", True),
        ("discharge_pressure", "flow", False),
        ("level_emptying", "pressure", True),
        ("flow", "differential_pressure", True),
        ("flow", "pressure", False),
        (None, "flow", True),
        ("flow", None, True),
    ],
)
def test_what_a_sensor_may_be_regulated_on(regulated, measured, fits):
    found = loop(regulated, measured, None, None, None, None)
    assert kinds.sensor_fits(found) is fits


@pytest.mark.parametrize(
    ("kind", "value", "readable"),
    [
        ("pressure", PRESSURE, True),
        ("pressure", PERCENT, True),
        ("length", PRESSURE, True),  # of the column over the transmitter
        ("length", FLOW, False),
        ("flow", PRESSURE, False),
        ("pressure", FLOW, False),
        (None, FLOW, True),
    ],
)
def test_what_a_loop_or_sensor_can_be_read_in(kind, value, readable):
    units = {"psi": "pressure", "%": "ratio", "gpm": "flow"}
    entered = Quantity.of(value["value"], value["unit"], units[value["unit"]])
    assert kinds.readable(kind, entered) is readable
