"""Which visit the drift of a sensor counts from; common practice, no source."""

import pytest

from calculations.aspects.sensor_history import Leaving, begins_with

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
