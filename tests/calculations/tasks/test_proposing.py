"""Proposals of the staircase, and their arithmetic in words."""

import pytest

from calculations.intervals import IntervalStep
from calculations.tasks.catalogue import BY_ID
from calculations.tasks.proposing import propose

TRANSMITTER = BY_ID["transmitter"]
CLEAN = TRANSMITTER.default_for(frozenset({"sensor.pressure"}))


def of(task, traits=(), **given):
    known = BY_ID[task]
    bounds = known.default_for(frozenset(traits)) or known.otherwise
    wanted = {"months": bounds.months, "ratio": None, "found_outside": False} | given
    return propose(task=known, bounds=bounds, **wanted)


# ILAC-G24, staircase: up to 80 % (from memory) times 1.5, above 100 % halved (common practice).
STEPS = [
    (12, 0.60, IntervalStep.EXTEND, 18),
    (12, 0.80, IntervalStep.EXTEND, 18),
    (12, 0.81, IntervalStep.KEEP, 12),
    (12, 1.00, IntervalStep.KEEP, 12),
    (12, 1.24, IntervalStep.REDUCE, 6),
    (18, 0.10, IntervalStep.EXTEND, 27),
    (27, 0.10, IntervalStep.EXTEND, 36),  # 40.5, bounded
    (36, 0.10, IntervalStep.KEEP, 36),
    (9, 1.24, IntervalStep.REDUCE, 6),  # 4.5, bounded
    (6, 1.24, IntervalStep.KEEP, 6),
    (7, 0.10, IntervalStep.EXTEND, 10),  # 10.5: whole months
]


@pytest.mark.parametrize(("months", "ratio", "step", "after"), STEPS)
def test_steps_within_bounds(months, ratio, step, after):
    found = propose(
        task=TRANSMITTER, bounds=CLEAN, months=months, ratio=ratio, found_outside=ratio > 1
    )
    assert (found.step, found.months) == (step, after)


def test_the_arithmetic_in_words():
    found = of("transmitter", ratio=0.6)
    assert found.arithmetic == (
        "As found the largest error of all points was 60 % of the tolerance. That is at most 80 %:"
        " 12 months × 1.5 = 18 months, in whole months and within 6 to 36 months: 18 months."
    )
    found = of("transmitter", ratio=1.24, found_outside=True)
    assert found.arithmetic.endswith(
        "That is more than 100 %: 12 months × 0.5 = 6 months,"
        " in whole months and within 6 to 36 months: 6 months."
    )


def test_a_safety_function_shortens_and_never_lengthens():
    kept = of("protection.float-backup", {"site.lift_station"}, ratio=0.1)
    assert (kept.step, kept.months) == (IntervalStep.KEEP, 6)
    assert "never lengthens" in kept.arithmetic
    failed = of("protection.float-backup", {"site.lift_station"}, found_outside=True)
    assert (failed.step, failed.months) == (IntervalStep.REDUCE, 3)


def test_passing_without_a_measure_lengthens_nothing():
    kept = of("insulation")
    assert (kept.step, kept.months) == (IntervalStep.KEEP, 12)
    assert "without a measure" in kept.arithmetic


def test_what_the_digits_explain_is_not_outside():
    kept = of("transmitter", ratio=1.01)
    assert (kept.step, kept.months) == (IntervalStep.KEEP, 12)


@pytest.mark.parametrize(("months", "after"), [(2, 2), (60, 60)])
def test_an_interval_that_people_set_outside_the_bounds_is_not_pulled_into_them(months, after):
    found = of("transmitter", months=months, ratio=0.1 if months > 36 else 2.0,
               found_outside=months < 6)  # fmt: skip
    assert (found.step, found.months) == (IntervalStep.KEEP, after)
