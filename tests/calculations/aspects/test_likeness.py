"""Which neighbours are pumps of the same kind: within 1 % of 1000 gpm, 165 ft, 1770 rpm."""

import pytest

from calculations.aspects import likeness
from tests.calculations.building import booster, case, changed
from tests.calculations.building_event import duty_points
from tests.calculations.building_plates import motor, pump, pump_set, q


def beside(own=None, **theirs):
    neighbour = {"pump_set": pump_set() | {"tag": "PS-102"}, "pump": pump() | theirs,
                 "motor": motor(), "duty_points": duty_points()}  # fmt: skip
    changes = {"/neighbours": [neighbour]}
    changes |= {f"/pump/{name}": value for name, value in (own or {}).items()}
    return changed(booster(), changes)


def alike(document):
    return [place for place, _ in likeness.like_neighbours(case(document))]


@pytest.mark.parametrize(
    ("own", "theirs", "is_alike"),
    [
        ({}, {}, True),
        ({}, {"rated_flow": q("1009.9", "gpm")}, True),
        ({}, {"rated_flow": q("990.1", "gpm")}, True),
        ({}, {"rated_flow": q("1010.1", "gpm")}, False),
        ({}, {"rated_flow": q("989.9", "gpm")}, False),
        ({}, {"rated_head": q("170", "ft")}, False),
        ({}, {"rated_speed": q("1475", "rpm")}, False),
        ({}, {"stages": 3}, False),
        ({}, {"type": "end_suction"}, False),
        ({}, {"impeller_diameter": q("8", "in")}, False),  # ours is not known
        ({"impeller_diameter": q("8", "in")}, {"impeller_diameter": q("8.02", "in")}, True),
        ({"impeller_diameter": q("8", "in")}, {}, False),
        ({"rated_flow": None}, {"rated_flow": None}, False),
        ({"rated_head": None}, {"rated_head": None}, False),
        ({"rated_speed": None}, {"rated_speed": None}, True),
    ],
)
def test_of_the_same_kind(own, theirs, is_alike):
    assert alike(beside(own, **theirs)) == (["/neighbours/0"] if is_alike else [])


def test_without_points_there_is_nothing_to_compare():
    assert alike(changed(beside(), {"/neighbours/0/duty_points": []})) == []
    assert alike(changed(beside(), {"/neighbours/0/pump": None})) == []
    assert alike(booster()) == []


def test_it_is_read_as_a_pump_set_of_its_own():
    [(_, found)] = likeness.like_neighbours(case(beside(serial="K71-0099")))
    assert found.find("/pump/serial") == "K71-0099"
    assert len(found.find("/event/duty_points")) == 3
    assert found.find("/site/code") == "B-01"
