"""Answers of a loop whose feedback strays without a step as well.

The answer is that of test_loop_traces: damping 0.5 overshoots 16.3 % of 40 psi, 0.3 37.2 %.
Noise is drawn from a normal distribution with a fixed seed.
"""

from collections.abc import Callable
from random import Random

import pytest

from calculations.recordings import Recording
from tests.calculations.building import changed, derived, judged, lacking, of_rule
from tests.calculations.building_plates import q
from tests.calculations.rules.test_loop_traces import AT, STEPPED, recorded, second_order

LATE = changed(STEPPED, {f"{AT}/step_after": q("10", "s")})


def answered(damping: float, strays: Callable[[float], float]) -> dict[str, Recording]:
    """45 to 85 psi after ten seconds, with what the feedback does besides."""
    answer = second_order(damping)
    return recorded(lambda t: 45 + (40 * answer(t - 10) if t > 10 else 0.0) + strays(t))


def noise(scatter: float) -> Callable[[float], float]:
    """Noise of a scatter [psi]."""
    drawn = Random(9)
    return lambda t: drawn.gauss(0.0, scatter)


@pytest.mark.parametrize("scatter", [0.25, 0.5, 1.0])
def test_noise_makes_a_good_answer_neither_overshoot_nor_restless(scatter: float) -> None:
    """1 psi is 0.5 % of the span of 200 psi; 16.3 % and three times 1 / 40 psi are below 25 %."""
    judgement = judged(LATE, recordings=answered(0.5, noise(scatter)))
    for rule in ("trace.overshoot", "trace.settling", "trace.hunting", "trace.sampling"):
        assert of_rule(judgement, rule) == []


def test_noise_hides_no_overshoot_that_is_larger() -> None:
    judgement = judged(LATE, recordings=answered(0.3, noise(1.0)))
    assert [each.variant for each in of_rule(judgement, "trace.overshoot")] == ["high"]


def test_settling_is_within_the_noise() -> None:
    """Within 2 % of 40 psi after 8.08 s; noise of 0.5 psi leaves those 0.8 psi again and again."""
    judgement = judged(LATE, recordings=answered(0.5, noise(0.5)))
    assert derived(judgement, "trace.settling-time").si < 8.1
    # sqrt(2 ln(2 x 601)) = 3.77 times 0.5 psi, of 40 psi: 4.7 %
    assert derived(judgement, "trace.settling-band").si == pytest.approx(0.047, rel=0.1)


def test_a_step_that_is_small_beside_the_noise_says_nothing() -> None:
    """3.77 times 2 psi are 19 % of 40 psi: overshoot and settling are not measured."""
    judgement = judged(LATE, recordings=answered(0.5, noise(2.0)))
    values = {each.id for each in judgement.derived}
    assert not values & {"trace.overshoot", "trace.settling-time"}
    (missing,) = lacking(judgement, "trace.settling")
    assert "a larger step, or a longer trace, shows more" in missing.because


def test_a_feedback_that_strayed_before_the_step_says_nothing_of_overshoot() -> None:
    """It rose by 12 psi and fell again before the step, and does so after it: a demand's doing."""
    bumps = answered(0.5, lambda t: 12.0 if 3 < t % 20 < 5 else 0.0)
    judgement = judged(LATE, recordings=bumps)
    assert of_rule(judgement, "trace.overshoot") == []
    (missing,) = lacking(judgement, "trace.overshoot")
    assert "strays by 15 % of the step" in missing.because


def test_a_feedback_that_strays_at_the_end_says_nothing_of_overshoot() -> None:
    """By 22 psi at the end, half of that to either side: 27.5 % of 40 psi, more than a quarter."""
    late = answered(0.7, lambda t: 16.0 if 20 < t < 22 else 22.0 if 52 < t < 54 else 0.0)
    judgement = judged(LATE, recordings=late)
    assert of_rule(judgement, "trace.overshoot") == []
    (missing,) = lacking(judgement, "trace.overshoot")
    assert "strays by 27.5 % of the step" in missing.because
