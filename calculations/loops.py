"""Closed loops: what has to be in which order, and which way the speed has to go."""

import math
from dataclasses import dataclass
from enum import StrEnum

from calculations import guards
from calculations.errors import InvalidInput


class LoopAction(StrEnum):
    """Which way the speed must go; "direct" and "reverse" are used in opposite senses."""

    SPEED_RISES_WHEN_FEEDBACK_FALLS = "speed rises when the feedback falls"
    SPEED_RISES_WHEN_FEEDBACK_RISES = "speed rises when the feedback rises"


REQUIRED_ACTIONS = {
    "discharge_pressure": LoopAction.SPEED_RISES_WHEN_FEEDBACK_FALLS,
    "differential_pressure": LoopAction.SPEED_RISES_WHEN_FEEDBACK_FALLS,
    "flow": LoopAction.SPEED_RISES_WHEN_FEEDBACK_FALLS,
    "level_filling": LoopAction.SPEED_RISES_WHEN_FEEDBACK_FALLS,
    "level_emptying": LoopAction.SPEED_RISES_WHEN_FEEDBACK_RISES,
    "suction_pressure": LoopAction.SPEED_RISES_WHEN_FEEDBACK_RISES,
}
"""Action that each regulated quantity needs, derived from what the pump does to it; temperature
is left out, because it depends on whether the flow heats or cools."""


@dataclass(frozen=True, slots=True)
class SleepOrder:
    """Whether sleep and wake thresholds fit together, each condition on its own.

    `reachable`: the loop can settle at the sleep frequency while it holds the set point.
    `minimum_allows`: the minimum frequency does not keep the output above the sleep frequency.
    `wakes_beyond_set_point`: the wake value lies on the side where demand shows.
    """

    reachable: bool
    minimum_allows: bool
    wakes_beyond_set_point: bool

    @property
    def is_consistent(self) -> bool:
        """True where all conditions hold."""
        return self.reachable and self.minimum_allows and self.wakes_beyond_set_point


def position_in_span(*, value: float, lower_range_value: float, upper_range_value: float) -> float:
    """Where a value lies in a span.

    value: [any unit].
    lower_range_value, upper_range_value: ends of the span [same unit], unequal.
    Returns the share of span [1]: 0 and 1 at its ends, outside them beyond.
    Raises InvalidInput for equal ends or values that are not finite.
    Equation: (v - LRV)/(URV - LRV).
    Source: definition.
    """
    guards.finite(
        value=value,
        lower_range_value=lower_range_value,
        upper_range_value=upper_range_value,
    )
    if lower_range_value == upper_range_value:
        raise InvalidInput("upper_range_value", "expected to differ from the lower range value")
    return (value - lower_range_value) / (upper_range_value - lower_range_value)


def sleep_order(
    *,
    sleep_frequency: float,
    zero_flow_frequency: float,
    minimum_frequency: float,
    set_point: float,
    wake_value: float,
    demand_lowers_feedback: bool = True,
) -> SleepOrder:
    """Whether a pump can fall asleep while it holds its set point, and wake again.

    sleep_frequency: below which it goes to sleep [Hz], above zero.
    zero_flow_frequency: at which the flow ends at the set point [Hz], zero or more.
    minimum_frequency: of the output [Hz], zero or more.
    set_point, wake_value: of the regulated quantity [one unit].
    demand_lowers_feedback: True for pressure, flow and filling; False where a wet well is emptied.
    Returns each condition on its own.
    Valid for sleep by frequency.
    Raises InvalidInput for values outside these ranges.
    Equation: f_sleep > f_0, f_min <= f_sleep, wake below (above) the set point.
    Source: derived from the affinity laws at zero flow; no standard governs it.
    """
    guards.positive(sleep_frequency=sleep_frequency)
    guards.not_negative(
        zero_flow_frequency=zero_flow_frequency, minimum_frequency=minimum_frequency
    )
    guards.finite(set_point=set_point, wake_value=wake_value)
    beyond = wake_value < set_point if demand_lowers_feedback else wake_value > set_point
    return SleepOrder(
        reachable=sleep_frequency > zero_flow_frequency,
        minimum_allows=minimum_frequency <= sleep_frequency,
        wakes_beyond_set_point=beyond,
    )


def drives_towards_set_point(
    *, action: LoopAction, set_point: float, feedback: float, output_change: float
) -> bool | None:
    """Whether an observed change of the output was the right way.

    action: that the regulated quantity needs.
    set_point, feedback: when the change began [one unit].
    output_change: of frequency or speed [Hz or 1/s].
    Returns True or False; None where feedback and set point agree or the output did not change.
    Raises InvalidInput for values that are not finite.
    Equation: sign of the change against sign of (set point - feedback).
    Source: derived; test by signs, not by labels.
    """
    guards.finite(set_point=set_point, feedback=feedback, output_change=output_change)
    error = set_point - feedback
    if error == 0.0 or output_change == 0.0:
        return None
    right_way = error if action is LoopAction.SPEED_RISES_WHEN_FEEDBACK_FALLS else -error
    return right_way * output_change > 0.0


def ultimate_gain(*, relay_half_amplitude: float, oscillation_amplitude: float) -> float:
    """Gain at which a loop would just sustain the oscillation that a relay forced on it.

    relay_half_amplitude: half of the output's swing [any unit], above zero.
    oscillation_amplitude: half of the feedback's swing [any unit], above zero.
    Returns the gain [unit of the output per unit of the feedback].
    Valid for an oscillation near a sine.
    Raises InvalidInput for a value not above zero.
    Equation: K_u = 4 d / (pi a).
    Source: ASTROM-HAGGLUND-1984 (from memory; describing function of a relay, derived).
    """
    guards.positive(
        relay_half_amplitude=relay_half_amplitude, oscillation_amplitude=oscillation_amplitude
    )
    return 4.0 * relay_half_amplitude / (math.pi * oscillation_amplitude)


def damping_from_decay_ratio(*, decay_ratio: float) -> float:
    """Damping of a second-order response from how fast its swings die out.

    decay_ratio: a swing over the one a cycle before [1], between 0 and 1.
    Returns the damping ratio [1].
    Raises InvalidInput for a ratio outside that range.
    Equation: DR = exp(-2 pi z / sqrt(1 - z^2)), solved for z.
    Source: OGATA-2010, 5-3.
    """
    guards.within(decay_ratio=decay_ratio, lowest=0.0, highest=1.0, unit="")
    guards.positive(decay_ratio=decay_ratio)
    decrement = -math.log(decay_ratio)
    return decrement / math.hypot(2.0 * math.pi, decrement)


def overshoot_from_damping(*, damping_ratio: float) -> float:
    """First overshoot of a second-order response.

    damping_ratio: [1], zero or more; 1 and more do not overshoot.
    Returns the overshoot as a share of the step [1].
    Raises InvalidInput for a negative damping ratio.
    Equation: OS = exp(-pi z / sqrt(1 - z^2)); its square is the decay ratio.
    Source: OGATA-2010, 5-3.
    """
    guards.not_negative(damping_ratio=damping_ratio)
    if damping_ratio >= 1.0:
        return 0.0
    return math.exp(-math.pi * damping_ratio / math.sqrt(1.0 - damping_ratio**2))
