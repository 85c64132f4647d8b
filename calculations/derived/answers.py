"""Derived values of the loop's recorded answers."""

from collections.abc import Callable

from calculations.aspects import loop, tracing
from calculations.aspects.tracing import TESTS
from calculations.case import Case, Missing, Waits
from calculations.rule import Value, fixed
from calculations.rules.trace_feedback import FEEDBACK, has_answers

CONTROL_TEXTS = "definition as in control texts"


def _in_span(compute: Callable[[Case, str], float]) -> Callable[[Case, str], float]:
    """The same, but nothing of a feedback in another unit than its heading."""

    def computed(case: Case, place: str) -> float:
        if tracing.is_outside(case, place):
            raise Waits(FEEDBACK.id)
        return compute(case, place)

    return computed


def _band(case: Case, place: str) -> float:
    found = tracing.metrics(case, place)
    return found.band / abs(found.final_value - found.start_value)


def _period(case: Case, place: str) -> float:
    found = tracing.swings(case, place).period
    if found is None:
        raise Missing(f"{place}/trace", because="no steady swing")
    return found


def _steady_share(case: Case, place: str) -> float:
    return tracing.steady_error(case, place) / tracing.span(case)


VALUES = (
    Value(
        id="trace.overshoot",
        title="Overshoot after a step of the set point, of the step",
        formula="(peak - set point) / (set point - start)",
        source=CONTROL_TEXTS,
        unit=fixed("%"),
        compute_each=tracing.overshoot,
        each=TESTS,
        applies=has_answers,
    ),
    Value(
        id="trace.settling-time",
        title="Time until the feedback stays in the settling band",
        formula="last time outside the band, from the step on: as the set point moves, else "
        "as the test says",
        source=CONTROL_TEXTS,
        unit=fixed("s"),
        compute_each=tracing.settling_time,
        each=TESTS,
        applies=has_answers,
    ),
    Value(
        id="trace.settling-band",
        title="Band to either side of the set point in which the feedback counts as settled, of "
        "the step",
        formula="2 % of the step or 0.3 % of span, whichever is more",
        source="2 %: control texts; 0.3 % for noise: common practice, no source",
        unit=fixed("%"),
        compute_each=_band,
        each=TESTS,
        applies=has_answers,
        significant=3,
    ),
    Value(
        id="trace.steady-error",
        title="Set point minus mean feedback at the end, of span",
        formula="(SP - mean(PV)) / span",
        source="definition",
        unit=fixed("%"),
        compute_each=_in_span(_steady_share),
        each=TESTS,
        applies=lambda case: has_answers(case) and loop.is_known_closed(case),
    ),
    Value(
        id="trace.period",
        title="Period of the feedback's swing",
        formula="mean time between turning points, twice",
        source="common practice, no source",
        unit=fixed("s"),
        compute_each=_in_span(_period),
        each=TESTS,
        applies=has_answers,
    ),
)
