"""A whole measuring chain, end to end: what the drive shows against what is true."""

from collections.abc import Sequence
from dataclasses import dataclass

from calculations import guards
from calculations.errors import InvalidInput
from calculations.signals import InputReading, InputSymptom, input_reading, signal_from_fraction

DIRECT = ("digital",)
"""Outputs that carry the transmitter's own value, so that the drive's scaling has no part."""


@dataclass(frozen=True, slots=True)
class SensorChain:
    """A transmitter, its input at the drive, and the drive's scaling.

    Values are in one unit: [Pa], [m], [m3/s] or [K]. `feedback_at_lower` and `feedback_at_upper`
    are what the drive shows at the ends of its input's range. `datum_offset` is added to the
    transmitter's own value to get the value at the set point's datum. `burden` is the resistance
    across the input [ohm], None where there is none.
    """

    lower_range_value: float
    upper_range_value: float
    output: str
    selected_input: str
    feedback_at_lower: float
    feedback_at_upper: float
    datum_offset: float = 0.0
    burden: float | None = None


@dataclass(frozen=True, slots=True)
class ChainPoint:
    """One point of a chain: signal [A or V], true and indicated value [their unit], error [1].

    The error is indicated minus true as a share of the transmitter's span. `signal` is None for
    an output without analogue range.
    """

    fraction: float
    signal: float | None
    true: float
    indicated: float
    error: float
    symptom: InputSymptom


def chain_points(
    *, chain: SensorChain, fractions: Sequence[float] = (0.0, 0.5, 1.0)
) -> tuple[ChainPoint, ...]:
    """Indicated against true value of a whole chain.

    chain: transmitter, input and scaling.
    fractions: shares of the transmitter's span to look at [1].
    Returns a point for each: legitimate scalings (an offset for height, a live zero written as a
    negative value at 0 mA) come out right, whatever their labels.
    Valid for linear chains; flow with square-root extraction must have it on one side only.
    Raises InvalidInput for equal range values, unknown kinds, or values that are not finite.
    Equation: true = LRV + x (URV - LRV) + offset; indicated = F_0 + y (F_1 - F_0), y as
    `signals.input_reading`.
    Source: IEC60381-1, IEC60381-2.
    """
    _refuse_unusable(chain)
    return tuple(_chain_point(chain, fraction) for fraction in fractions)


def largest_chain_error(*, chain: SensorChain) -> float:
    """Largest error of a whole chain at 0, 50 and 100 % of the transmitter's span.

    chain: transmitter, input and scaling.
    Returns the magnitude as a share of the transmitter's span [1].
    Raises InvalidInput as `chain_points`.
    Equation: max |indicated - true| / |URV - LRV|.
    Source: definition.
    """
    return max(abs(point.error) for point in chain_points(chain=chain))


def fitting_feedback(*, chain: SensorChain) -> tuple[float, float]:
    """Drive scaling that makes a chain right, with its output and selected input as they are.

    chain: its present feedback values do not matter.
    Returns what the drive should show at the lower and upper end of its input's range.
    Raises InvalidInput as `chain_points`, or where the input does not follow the signal at all.
    Equation: the straight line through the true values at 0 and 100 %, taken to y = 0 and y = 1.
    Source: IEC60381-1, IEC60381-2.
    """
    _refuse_unusable(chain)
    at_lower, at_upper = _reading(chain, 0.0).fraction, _reading(chain, 1.0).fraction
    if at_lower == at_upper:
        raise InvalidInput("selected_input", "the input does not follow the signal")
    slope = (chain.upper_range_value - chain.lower_range_value) / (at_upper - at_lower)
    at_zero = chain.lower_range_value + chain.datum_offset - at_lower * slope
    return at_zero, at_zero + slope


def _chain_point(chain: SensorChain, fraction: float) -> ChainPoint:
    guards.finite(fractions=fraction)
    span = chain.upper_range_value - chain.lower_range_value
    true = chain.lower_range_value + fraction * span + chain.datum_offset
    reading = _reading(chain, fraction)
    analogue = chain.output not in DIRECT
    signal = signal_from_fraction(kind=chain.output, fraction=fraction) if analogue else None
    scale = chain.feedback_at_upper - chain.feedback_at_lower
    scaled = chain.feedback_at_lower + reading.fraction * scale
    indicated = scaled if analogue else true - chain.datum_offset
    error = (indicated - true) / abs(span)
    return ChainPoint(fraction, signal, true, indicated, error, reading.symptom)


def _reading(chain: SensorChain, fraction: float) -> InputReading:
    if chain.output in DIRECT:
        return InputReading(fraction, InputSymptom.READS)
    return input_reading(
        output=chain.output,
        fraction=fraction,
        selected_input=chain.selected_input,
        burden=chain.burden,
    )


def _refuse_unusable(chain: SensorChain) -> None:
    guards.finite(
        lower_range_value=chain.lower_range_value,
        upper_range_value=chain.upper_range_value,
        feedback_at_lower=chain.feedback_at_lower,
        feedback_at_upper=chain.feedback_at_upper,
        datum_offset=chain.datum_offset,
    )
    if chain.lower_range_value == chain.upper_range_value:
        raise InvalidInput("upper_range_value", "expected to differ from the lower range value")
