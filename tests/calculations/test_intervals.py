"""Intervals of verification."""

from math import nan

import pytest

from calculations import intervals
from calculations.errors import InvalidInput
from calculations.intervals import IntervalStep
from tests.calculations.comparing import Near, assert_matches
from tests.calculations.worked_examples import Case, worked


@worked("intervals", "interval: staircase")
def test_example_of_staircase(case: Case) -> None:
    given = case["inputs"]
    below = given.get("extend_if_below_pct_of_MPE", 80) / 100
    found = intervals.staircase(
        interval=given["interval_months"],
        as_found_errors=[given["as_found_error_pct"]],
        allowed_error=given["MPE_pct"],
        shortest=6,
        longest=36,
        extend_below=below,
    )
    assert_matches(
        case, ratio_pct=Near(100 * found.ratio, absolute=1e-9), decision=found.step.value
    )


@worked("intervals", "interval: drift")
def test_example_of_drift(case: Case) -> None:
    given = case["inputs"]
    rate = intervals.drift_rate(
        as_left_before=given["as_left_prev_pct"],
        as_found=given["as_found_pct"],
        elapsed=given["months"],
    )
    months = intervals.time_to_limit(error=0.0, rate=rate, allowed_error=given["MPE_pct"])
    assert_matches(
        case,
        drift_pct_per_year=Near(12 * rate, absolute=1e-9),
        months_to_MPE_from_zero_as_left=Near(months, absolute=1e-9),
    )


def staircase(*errors, **changed):
    given = {"interval": 12, "allowed_error": 0.25, "shortest": 6, "longest": 36, **changed}
    return intervals.staircase(as_found_errors=errors, **given)


class TestStaircase:
    @pytest.mark.parametrize(
        ("error", "step", "interval"),
        [
            (0.0, IntervalStep.EXTEND, 18),
            (0.2, IntervalStep.EXTEND, 18),
            (0.21, IntervalStep.KEEP, 12),
            (0.25, IntervalStep.KEEP, 12),
            (0.26, IntervalStep.REDUCE, 6),
            (-0.26, IntervalStep.REDUCE, 6),
        ],
    )
    def test_steps(self, error, step, interval):
        # 80 % from memory; factors by common practice, no source.
        found = staircase(error)
        assert (found.step, found.interval) == (step, interval)

    def test_all_points_count(self):
        assert staircase(0.01, -0.3, 0.02).step is IntervalStep.REDUCE
        assert staircase(0.01, -0.3, 0.02).ratio == pytest.approx(1.2)

    def test_bounds_hold(self):
        assert staircase(0.0, interval=30).interval == 36
        assert staircase(0.3, interval=8).interval == 6

    def test_history_never_lengthens_a_safety_function(self):
        assert staircase(0.0, may_extend=False) == intervals.NextInterval(IntervalStep.KEEP, 12, 0)
        assert staircase(0.3, may_extend=False).step is IntervalStep.REDUCE

    @pytest.mark.parametrize(
        ("changed", "argument"),
        [
            ({"interval": 0}, "interval"),
            ({"allowed_error": 0}, "allowed_error"),
            ({"shortest": 0}, "shortest"),
            ({"longest": 5}, "longest"),
            ({"extend_below": 1.1}, "extend_below"),
            ({"extension": 0.9}, "extension"),
            ({"reduction": 1.1}, "reduction"),
        ],
    )
    def test_refusals(self, changed, argument):
        with pytest.raises(InvalidInput) as raised:
            staircase(0.1, **changed)
        assert raised.value.argument == argument

    def test_points_are_needed(self):
        with pytest.raises(InvalidInput, match="as_found_errors: expected at least one"):
            staircase()
        with pytest.raises(InvalidInput, match="as_found_errors: expected a finite"):
            staircase(nan)


class TestDrift:
    def test_downwards(self):
        rate = intervals.drift_rate(as_left_before=0.05, as_found=-0.1, elapsed=10)
        assert rate == pytest.approx(-0.015)
        left = intervals.time_to_limit(error=0.05, rate=rate, allowed_error=0.25)
        assert left == pytest.approx(20)

    def test_no_drift_never_gets_there(self):
        assert intervals.time_to_limit(error=0.1, rate=0.0, allowed_error=0.25) is None

    @pytest.mark.parametrize("error", [0.25, -0.3])
    def test_already_there(self, error):
        assert intervals.time_to_limit(error=error, rate=0.01, allowed_error=0.25) == 0

    @pytest.mark.parametrize(
        ("call", "argument"),
        [
            (
                lambda: intervals.drift_rate(as_left_before=0, as_found=1, elapsed=0),
                "elapsed",
            ),
            (
                lambda: intervals.drift_rate(as_left_before=nan, as_found=1, elapsed=1),
                "as_left_before",
            ),
            (
                lambda: intervals.time_to_limit(error=0, rate=nan, allowed_error=1),
                "rate",
            ),
            (
                lambda: intervals.time_to_limit(error=0, rate=1, allowed_error=0),
                "allowed_error",
            ),
        ],
    )
    def test_refusals(self, call, argument):
        with pytest.raises(InvalidInput) as raised:
            call()
        assert raised.value.argument == argument
