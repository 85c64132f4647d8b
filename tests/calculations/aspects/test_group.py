"""Pumps that work together on one main."""

import pytest

from calculations.aspects import group
from tests.calculations.building import booster, case, changed
from tests.calculations.whole_stations import left


@pytest.mark.parametrize(
    ("arrangement", "in_group", "running", "may_run"),
    [
        ("single", None, None, 1),
        ("duty_standby", 3, None, 1),
        ("lead_lag", 3, None, 3),
        ("lead_lag", 3, 2, 2),
        ("duty_standby", 3, 2, 2),  # what is set counts first
        ("lead_lag", None, None, None),
        (None, None, None, None),
    ],
)
def test_how_many_may_run(arrangement, in_group, running, may_run):
    settings = left(
        pump_arrangement=arrangement, pumps_in_group=in_group, pumps_maximum_running=running
    )
    found = case(changed(booster(), settings))
    assert group.may_run(found) == may_run
    assert group.sharing(found) == (may_run or 1)


def test_a_neighbour_goes_by_its_tag_or_its_number():
    neighbours = [{"pump_set": {"tag": "PS-102"}}, {"pump_set": {}}]
    found = case(changed(booster(), {"/neighbours": neighbours}))
    assert group.name(found, "/neighbours/0") == "PS-102"
    assert group.name(found, "/neighbours/1") == "neighbour 2"
