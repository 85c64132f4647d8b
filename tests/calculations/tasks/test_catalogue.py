"""The catalogue of verification tasks: defaults by common practice, and what they hold together."""

from typing import get_args

import pytest

from calculations.inputs.readings import ProtectionFunction
from calculations.tasks.catalogue import BY_ID, PROTECTIONS, TASKS
from calculations.tasks.task import PIECES, Interval

# Months by default, common practice; draw-down three to four times a year by a state agency's
# guide to calibrating lift stations.
DEFAULTS = [
    ("transmitter", {"sensor.pressure"}, 12, 6, 36),
    ("transmitter", {"sensor.pressure", "liquid.sewage"}, 12, 6, 36),
    ("transmitter", {"sensor.level", "liquid.potable"}, 12, 6, 36),
    ("transmitter", {"sensor.level", "liquid.sewage"}, 6, 3, 12),
    ("transmitter", {"sensor.level", "liquid.sludge"}, 6, 3, 12),
    ("flow-meter", {"sensor.flow"}, 24, 12, 36),
    ("insulation", set(), 12, 3, 24),
    ("insulation", {"motor.immersed"}, 6, 3, 12),
    ("overload", {"set.with_drive"}, 24, 1, 24),
    ("settings-audit", set(), 24, 6, 48),
    ("pump-performance", set(), 36, 12, 60),
    ("pump-performance", {"motor.large"}, 12, 6, 24),
    ("draw-down", {"site.lift_station"}, 4, 1, 12),
    ("vibration", set(), 12, 3, 24),
    ("earth-continuity", set(), 24, 6, 36),
    ("pre-charge", set(), 12, 3, 24),
    ("protection.power-loss-restart", {"site.other"}, 12, 1, 12),
    ("protection.loss-of-feedback", {"set.regulated"}, 12, 1, 12),
    ("protection.low-suction", {"site.booster"}, 12, 1, 12),
    ("protection.high-pressure", {"site.booster"}, 12, 1, 12),
    ("protection.high-pressure", {"site.well"}, 12, 1, 12),
    ("protection.dry-run", {"site.well"}, 12, 1, 12),
    ("protection.float-backup", {"site.lift_station"}, 6, 1, 6),
    ("protection.high-level", {"site.lift_station"}, 6, 1, 6),
    ("protection.lag-takeover", {"set.grouped"}, 12, 1, 12),
    ("protection.seal-leak", {"site.lift_station", "motor.leak_sensor"}, 12, 1, 12),
]


@pytest.mark.parametrize(("task", "traits", "months", "shortest", "longest"), DEFAULTS)
def test_defaults(task, traits, months, shortest, longest):
    found = BY_ID[task].default_for(frozenset(traits))
    assert (found.months, found.shortest, found.longest) == (months, shortest, longest)


@pytest.mark.parametrize(
    ("task", "traits"),
    [
        ("flow-meter", {"sensor.pressure"}),
        ("transmitter", {"sensor.flow"}),
        ("vibration", {"pump.submersible"}),
        ("draw-down", {"site.booster"}),
        ("protection.dry-run", {"site.booster"}),
        ("protection.emergency-stop", {"site.booster"}),
        ("protection.seal-leak", {"site.lift_station"}),
        ("first-follow-up", {"site.booster"}),
    ],
)
def test_what_a_piece_does_not_need_of_itself(task, traits):
    assert BY_ID[task].default_for(frozenset(traits)) is None


def test_every_protection_that_is_recorded_is_proven_again():
    proven = [function for task in TASKS for function in task.functions]
    assert sorted(proven) == sorted(get_args(ProtectionFunction))


def test_intervals_of_safety_tasks_never_lengthen():
    safety = [task for task in TASKS if task.safety]
    assert {task.id for task in TASKS if task.functions} == {task.id for task in safety}
    assert all(each.longest == each.months for task in safety for each in task.defaults)


def test_ids_are_the_tasks_own():
    assert len(BY_ID) == len(TASKS)
    assert {task.of for task in TASKS} <= set(PIECES)
    assert all(task.counted and task.source for task in TASKS)


@pytest.mark.parametrize("bounds", [(0, 12), (13, 24), (3, 11), (3, 121)])
def test_bounds_out_of_order_are_no_interval(bounds):
    with pytest.raises(ValueError, match="not in order"):
        Interval(12, shortest=bounds[0], longest=bounds[1])


# Where no default fits, the task belongs to a piece only once it was performed there.
OTHERWISE = [
    ("transmitter", 24, 12, 36),
    ("overload", 24, 1, 24),
    ("draw-down", 4, 1, 12),
    ("vibration", 12, 3, 24),
    ("first-follow-up", 3, 3, 3),
]


@pytest.mark.parametrize(("task", "months", "shortest", "longest"), OTHERWISE)
def test_intervals_once_performed(task, months, shortest, longest):
    found = BY_ID[task].otherwise
    assert (found.months, found.shortest, found.longest) == (months, shortest, longest)


def test_every_protection_once_performed_is_proven_each_year():
    for task in PROTECTIONS:
        found = task.otherwise
        assert (found.months, found.shortest, found.longest) == (12, 1, 12), task.id


def test_once_means_ten_years_and_never_moves():
    (rotation,) = (task for task in TASKS if task.once)
    (found,) = rotation.intervals
    assert (rotation.id, found.months, found.shortest, found.longest) == ("rotation", 120, 120, 120)


def test_what_another_drive_or_its_firmware_makes_due():
    """What the drive does; not what a switch, a valve or the hand does without it."""
    without_drive = {"bypass", "emergency-stop", "local-isolator", "reverse-rotation"}
    expected = {task.id for task in PROTECTIONS} - {f"protection.{e}" for e in without_drive}
    assert {task.id for task in TASKS if task.rests_on_drive} == {"overload", *expected}
    assert {task.id for task in TASKS if task.with_firmware} == {"settings-audit"}
    of_winding = {"insulation", "rotation", "protection.motor-overtemperature"}
    assert {task.id for task in TASKS if task.with_winding} == of_winding
    assert {task.id for task in TASKS if task.follows} == {"first-follow-up"}


def test_what_has_no_tolerance_was_not_left_inside_of_one():
    """An emergency stop acts or it does not; only what is measured has a tolerance."""
    with_tolerance = {task.id for task in TASKS if "tolerance" in task.good}
    assert with_tolerance == {"transmitter", "flow-meter", "pre-charge", "first-follow-up"}
    assert BY_ID["protection.emergency-stop"].good == "Provoked, and it acted"
