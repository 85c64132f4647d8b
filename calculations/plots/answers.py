"""A recorded answer of the loop: feedback, set point with its band, output frequency."""

from dataclasses import dataclass
from functools import partial

from calculations.aspects import tracing
from calculations.case import Case
from calculations.plots.lacking import Lacking, Parts, tried
from calculations.plots.thinning import Thinned, thin


@dataclass(frozen=True, slots=True)
class StepPlot:
    """Columns [SI of what is regulated, Hz] over the time of the trace [s].

    `aim` is the set point at the end and `band` how far from it counts as settled [same SI]. The
    step began at `begin`, and took `settling` from there [s]; `overshoot` is a share of it [1].
    What is not known is None, and named in `lacking`.
    """

    feedback: Thinned
    set_point: Thinned | None
    frequency: Thinned | None
    aim: float | None
    band: float | None
    begin: float | None
    settling: float | None
    overshoot: float | None
    lacking: tuple[Lacking, ...]


def step_plot(case: Case, place: str, *, columns: int) -> StepPlot | Lacking:
    """The plot of one step test in so many columns, or what it lacks.

    Equations: as in `step_response.step_metrics`.
    """
    feedback = tried("trace", lambda: thin(tracing.feedback(case, place), columns=columns))
    if isinstance(feedback, Lacking):
        return feedback
    known = Parts()
    metrics = known.of("measures of the step", partial(tracing.metrics, case, place))
    if metrics and known.of("overshoot", partial(tracing.overshoot, case, place)) is None:
        metrics = None
    begin = tracing.step_start(case, place)[1] if metrics else None
    frequency = known.of("output frequency", partial(tracing.frequency, case, place))
    aims = known.of("recorded set point", partial(tracing.aims, case, place))
    return StepPlot(
        feedback=feedback,
        set_point=thin(aims, columns=columns) if aims else None,
        frequency=thin(frequency, columns=columns) if frequency else None,
        aim=known.of("set point", partial(tracing.target, case, place)),
        band=metrics.band if metrics else None,
        begin=begin,
        settling=metrics.settling_time if metrics and begin is not None else None,
        overshoot=metrics.overshoot if metrics else None,
        lacking=tuple(known.lacking),
    )
