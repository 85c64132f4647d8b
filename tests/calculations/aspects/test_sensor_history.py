"""Which visit the drift of a sensor counts from; common practice, no source."""

import pytest

from calculations.aspects.sensor_history import Leaving, Sensor, begins_with, leaving
from tests.calculations.building import booster, case, changed
from tests.calculations.building_event import verification

AT = "/event/sensor_verifications/0"

READ = Leaving("/event/sensor_verifications/0", is_read=True, is_adjusted=False)
ADJUSTED = Leaving("/event/sensor_verifications/0", is_read=True, is_adjusted=True)
UNREAD = Leaving("/event/sensor_verifications/0", is_read=False, is_adjusted=True)


@pytest.mark.parametrize(
    ("visits", "expected"),
    [
        ([], None),
        ([None, None], None),
        ([READ], 0),
        ([READ, READ], 0),  # the first that read it
        ([None, READ, None, READ], 1),
        ([READ, ADJUSTED, READ], 1),  # an adjustment ends the drift before
        ([ADJUSTED, READ, ADJUSTED], 2),
        ([UNREAD, READ, READ], 1),  # adjusted and not read: the next reading is the first
    ],
)
def test_where_the_drift_begins(visits, expected):
    assert begins_with(visits) == expected


def touched(adjusted, top):
    """The booster's transmitter as it was found, and left with this signal at the top."""
    found = verification("PT-101", 50, ("4.000", "8.000", "12.000", "16.000", "20.016"))
    left = verification("PT-101", 50, ("4.000", "8.000", "12.000", "16.000", top))
    again = {"adjusted": adjusted, "as_left": left["as_found"]}
    return case(changed(booster(), {AT: found | again}))


@pytest.mark.parametrize(
    ("adjusted", "top", "expected"),
    [
        ("none", "20.016", False),  # the same readings once more: nobody touched it
        ("none", "20.004", True),  # other ones tell of an adjustment that is not said
        (None, "20.016", True),
        ("span", "20.016", True),
    ],
)
def test_what_tells_of_an_adjustment(adjusted, top, expected):
    visit = touched(adjusted, top)
    sensor = Sensor(visit.find("/sensors/0/tag"), visit.find("/sensors/0/serial"))
    left = leaving(visit, sensor)
    assert left is not None
    assert (left.is_read, left.is_adjusted) == (True, expected)
