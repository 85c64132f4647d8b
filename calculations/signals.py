"""Signals between a transmitter and a drive: scaling, state, and what a wrong input shows."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import isfinite
from types import MappingProxyType

from calculations import guards
from calculations.errors import InvalidInput
from calculations.water import pressure_of_head


class SignalQuantity(StrEnum):
    """What carries an analogue signal."""

    CURRENT = "current"
    VOLTAGE = "voltage"


@dataclass(frozen=True, slots=True)
class SignalRange:
    """An analogue signal's lower and upper value [A or V]."""

    quantity: SignalQuantity
    lower: float
    upper: float

    @property
    def unit(self) -> str:
        """The unit that the signal is measured in."""
        return "V" if self.quantity is SignalQuantity.VOLTAGE else "mA"

    @property
    def has_live_zero(self) -> bool:
        """True where a dead signal differs from the lower range value."""
        return self.lower > 0.0


ANALOGUE_SIGNALS: Mapping[str, SignalRange] = MappingProxyType(
    {
        "4-20 mA": SignalRange(SignalQuantity.CURRENT, 0.004, 0.020),
        "0-20 mA": SignalRange(SignalQuantity.CURRENT, 0.0, 0.020),
        "0-10 V": SignalRange(SignalQuantity.VOLTAGE, 0.0, 10.0),
        "2-10 V": SignalRange(SignalQuantity.VOLTAGE, 2.0, 10.0),
        "0-5 V": SignalRange(SignalQuantity.VOLTAGE, 0.0, 5.0),
        "1-5 V": SignalRange(SignalQuantity.VOLTAGE, 1.0, 5.0),
        "0.5-4.5 V": SignalRange(SignalQuantity.VOLTAGE, 0.5, 4.5),
    }
)
"""Ranges of analogue signals [A or V]; IEC60381-1, IEC60381-2, and 0.5 to 4.5 V by practice."""

WITHOUT_RANGE = ("digital", "pulse")
"""Outputs that have no analogue range: a bus carries the value itself, pulses carry volumes."""

HIGHEST_FAULT_CURRENT = 0.021
"""Current that a transmitter must still be able to drive, to report a failure [A]; NE43."""

SOURCE_CURRENT_LIMIT = 0.010
"""Current that a voltage output commonly carries at most [A]; from memory, callers may set it."""


class LoopState(StrEnum):
    """What the current of a live-zero loop says about itself."""

    FAILURE_LOW = "failure low"
    INDETERMINATE_LOW = "indeterminate low"
    UNDER_RANGE = "valid, under-range"
    MEASUREMENT = "measurement"
    OVER_RANGE = "valid, over-range"
    INDETERMINATE_HIGH = "indeterminate high"
    FAILURE_HIGH = "failure high"


@dataclass(frozen=True, slots=True)
class LoopBands:
    """Limits between the states of a 4 to 20 mA loop [A]; the failure limits belong to failure.

    Refused with InvalidInput where they do not rise.
    """

    failure_low: float = 0.0036
    under_range: float = 0.0038
    lower: float = 0.004
    upper: float = 0.020
    over_range: float = 0.0205
    failure_high: float = 0.021

    def __post_init__(self) -> None:
        low = (self.failure_low, self.under_range, self.lower)
        limits = (*low, self.upper, self.over_range, self.failure_high)
        if list(limits) != sorted(limits):
            raise InvalidInput("bands", "expected limits that rise from failure low to high")


NE43_BANDS = LoopBands()
"""Bands of NE43 (secondary text); its 2021 edition adds a margin at the receiver: set your own."""


@dataclass(frozen=True, slots=True)
class LoopBudget:
    """Resistance that a loop may have and has [ohm], and whether that is enough."""

    allowed: float
    total: float

    @property
    def is_enough(self) -> bool:
        """True where the loop can drive its highest current."""
        return self.total <= self.allowed * (1.0 + 1e-9)


class InputSymptom(StrEnum):
    """What an input does with the signal that it gets."""

    READS = "reads a value"
    PEGGED_HIGH = "no path for the current: floats to its top, looks like no demand"
    SOURCE_OVERLOADED = "the input loads the voltage source more than it can carry"


@dataclass(frozen=True, slots=True)
class InputReading:
    """Share of span that an input shows [1], not clipped, and the symptom."""

    fraction: float
    symptom: InputSymptom


def signal_range(*, kind: str) -> SignalRange:
    """Range of an analogue signal.

    kind: one of the keys of ANALOGUE_SIGNALS.
    Returns the range [A or V].
    Raises InvalidInput for digital, pulse, or an unknown kind.
    Source: IEC60381-1, IEC60381-2.
    """
    if kind in ANALOGUE_SIGNALS:
        return ANALOGUE_SIGNALS[kind]
    if kind in WITHOUT_RANGE:
        raise InvalidInput("kind", f"a {kind} output has no analogue range")
    raise InvalidInput("kind", f"expected one of {', '.join(ANALOGUE_SIGNALS)}, got {kind}")


def fraction_from_signal(*, kind: str, signal: float) -> float:
    """Share of span that a signal stands for.

    kind: one of the keys of ANALOGUE_SIGNALS.
    signal: current or voltage [A or V].
    Returns the share [1]; below 0 and above 1 outside the range.
    Raises InvalidInput for a kind without analogue range or a signal that is not finite.
    Equation: x = (S - S_lower)/(S_upper - S_lower).
    Source: IEC60381-1, IEC60381-2.
    """
    span = ANALOGUE_SIGNALS.get(kind) or signal_range(kind=kind)
    share = (signal - span.lower) / (span.upper - span.lower)
    if not isfinite(share):
        guards.finite(signal=signal)
    return share


def signal_from_fraction(*, kind: str, fraction: float) -> float:
    """Signal that stands for a share of span.

    kind: one of the keys of ANALOGUE_SIGNALS.
    fraction: share of span [1].
    Returns the current or voltage [A or V].
    Raises InvalidInput for a kind without analogue range or a share that is not finite.
    Equation: S = S_lower + x (S_upper - S_lower).
    Source: IEC60381-1, IEC60381-2.
    """
    span = ANALOGUE_SIGNALS.get(kind) or signal_range(kind=kind)
    signal = span.lower + fraction * (span.upper - span.lower)
    if not isfinite(signal):
        guards.finite(fraction=fraction)
    return signal


def value_from_signal(
    *, kind: str, signal: float, lower_range_value: float, upper_range_value: float
) -> float:
    """Measured value that a transmitter's signal stands for.

    kind: one of the keys of ANALOGUE_SIGNALS.
    signal: current or voltage [A or V].
    lower_range_value, upper_range_value: as configured in the transmitter [unit of the value]; the
    lower may lie below zero, or above the upper for a transmitter that acts in reverse.
    Returns the value [same unit].
    Raises InvalidInput for equal range values, a kind without range, or values not finite.
    Equation: PV = LRV + x (URV - LRV).
    Source: IEC60381-1, IEC60381-2.
    """
    sent = ANALOGUE_SIGNALS.get(kind) or signal_range(kind=kind)
    span = upper_range_value - lower_range_value
    value = lower_range_value + (signal - sent.lower) / (sent.upper - sent.lower) * span
    if span == 0.0 or not isfinite(value):
        _span(lower_range_value, upper_range_value)
        guards.finite(signal=signal)
    return value


def signal_from_value(
    *, kind: str, value: float, lower_range_value: float, upper_range_value: float
) -> float:
    """Signal that a transmitter should give for a value.

    kind: one of the keys of ANALOGUE_SIGNALS.
    value: measured [any unit].
    lower_range_value, upper_range_value: as configured in the transmitter [same unit], unequal.
    Returns the current or voltage [A or V].
    Raises InvalidInput for equal range values, a kind without range, or values not finite.
    Equation: S = S_lower + (PV - LRV)/(URV - LRV) (S_upper - S_lower).
    Source: IEC60381-1, IEC60381-2.
    """
    guards.finite(value=value)
    span = _span(lower_range_value, upper_range_value)
    return signal_from_fraction(kind=kind, fraction=(value - lower_range_value) / span)


def flow_from_pulses(*, volume_per_pulse: float, pulse_frequency: float) -> float:
    """Flow that a pulse output stands for.

    volume_per_pulse: of the meter [m3], above zero.
    pulse_frequency: counted [Hz], zero or more.
    Returns the flow [m3/s].
    Raises InvalidInput for a value outside these ranges.
    Equation: Q = V f.
    Source: definition.
    """
    guards.positive(volume_per_pulse=volume_per_pulse)
    guards.not_negative(pulse_frequency=pulse_frequency)
    return volume_per_pulse * pulse_frequency


def pulses_from_flow(*, volume_per_pulse: float, flow: float) -> float:
    """Pulse frequency that a meter should give for a flow.

    volume_per_pulse: of the meter [m3], above zero.
    flow: volume rate [m3/s], zero or more.
    Returns the frequency [Hz].
    Raises InvalidInput for a value outside these ranges.
    Equation: f = Q / V.
    Source: definition.
    """
    guards.positive(volume_per_pulse=volume_per_pulse)
    guards.not_negative(flow=flow)
    return flow / volume_per_pulse


def loop_state(*, current: float, bands: LoopBands = NE43_BANDS) -> LoopState:
    """State of a 4 to 20 mA loop from its current.

    current: in the loop [A].
    bands: limits between the states [A], rising; the caller's own where the receiver has a margin.
    Returns the state; limits belong to the failures, and to the valid side of the valid bands.
    Raises InvalidInput for a current that is not finite.
    Source: NE43 (secondary text).
    """
    if not isfinite(current):
        guards.finite(current=current)
    rounding = 1e-9
    if current <= bands.failure_low + rounding:
        return LoopState.FAILURE_LOW
    if current >= bands.failure_high - rounding:
        return LoopState.FAILURE_HIGH
    if current < bands.under_range - rounding:
        return LoopState.INDETERMINATE_LOW
    if current > bands.over_range + rounding:
        return LoopState.INDETERMINATE_HIGH
    if current < bands.lower - rounding:
        return LoopState.UNDER_RANGE
    return LoopState.OVER_RANGE if current > bands.upper + rounding else LoopState.MEASUREMENT


def input_reading(
    *,
    output: str,
    fraction: float,
    selected_input: str,
    burden: float | None = None,
    source_current_limit: float = SOURCE_CURRENT_LIMIT,
) -> InputReading:
    """What an input shows for a transmitter, also where its selector does not fit the output.

    output: of the transmitter, one of the keys of ANALOGUE_SIGNALS.
    fraction: true share of the transmitter's span [1].
    selected_input: what the input expects, one of the keys of ANALOGUE_SIGNALS.
    burden: resistance across the input [ohm], above zero; None where there is none.
    source_current_limit: of a voltage output [A]; from memory, so that callers may set it.
    Returns the share shown [1], not clipped to the input's own range, with the symptom. A current
    that finds no burden before a voltage input is pegged at 1: with a pressure loop it looks like
    no demand, and the pump goes to sleep.
    Raises InvalidInput for a kind without range, or a voltage on a current input without burden.
    Equation: Ohm's law between output and input, then the input's own scaling.
    Source: IEC60381-1, IEC60381-2; Ohm's law.
    """
    sends = signal_range(kind=output)
    expects = signal_range(kind=selected_input)
    if burden is not None:
        guards.positive(burden=burden)
    signal = signal_from_fraction(kind=output, fraction=fraction)
    if sends.quantity is expects.quantity:
        return _reads(selected_input, signal)
    if sends.quantity is SignalQuantity.CURRENT:
        if burden is None:
            return InputReading(1.0, InputSymptom.PEGGED_HIGH)
        return _reads(selected_input, signal * burden)
    if burden is None:
        raise InvalidInput("burden", "expected the resistance of the current input")
    current = signal / burden
    overloaded = sends.upper / burden > source_current_limit
    symptom = InputSymptom.SOURCE_OVERLOADED if overloaded else InputSymptom.READS
    return InputReading(fraction_from_signal(kind=selected_input, signal=current), symptom)


def loop_budget(
    *,
    supply_voltage: float,
    transmitter_minimum_voltage: float,
    input_resistance: float,
    cable_resistance: float = 0.0,
    highest_current: float = HIGHEST_FAULT_CURRENT,
) -> LoopBudget:
    """Resistance that a two-wire loop may have, against what it has.

    supply_voltage: of the loop [V], above the transmitter's minimum.
    transmitter_minimum_voltage: that it needs across itself [V], zero or more.
    input_resistance: of all inputs in the loop together [ohm], zero or more.
    cable_resistance: of both conductors together [ohm], zero or more.
    highest_current: that the loop must still drive [A], above zero.
    Returns allowed and total resistance [ohm].
    Raises InvalidInput for values outside these ranges.
    Equation: R <= (V_s - V_min) / I.
    Source: IEC60381-1; Ohm's law.
    """
    guards.not_negative(
        transmitter_minimum_voltage=transmitter_minimum_voltage,
        input_resistance=input_resistance,
        cable_resistance=cable_resistance,
    )
    guards.positive(highest_current=highest_current, supply_voltage=supply_voltage)
    left = supply_voltage - transmitter_minimum_voltage
    if left <= 0.0:
        raise InvalidInput("supply_voltage", "expected more than the transmitter's minimum")
    return LoopBudget(allowed=left / highest_current, total=input_resistance + cable_resistance)


def mounting_offset(
    *, datum_elevation: float, transmitter_elevation: float, density: float
) -> float:
    """How much a pressure transmitter reads high because of where it is mounted.

    datum_elevation: where the pressure is wanted [m].
    transmitter_elevation: of its diaphragm, over the same zero [m].
    density: of the liquid in the connecting line [kg/m3], above zero; a wet leg has its own.
    Returns the pressure to subtract from the reading [Pa]: positive below the datum.
    Valid for a line that is filled to the transmitter.
    Raises InvalidInput for values outside these ranges.
    Equation: dp = rho g (z_datum - z_transmitter).
    Source: hydrostatics.
    """
    guards.finite(datum_elevation=datum_elevation, transmitter_elevation=transmitter_elevation)
    return pressure_of_head(head=datum_elevation - transmitter_elevation, density=density)


def _reads(selected_input: str, signal: float) -> InputReading:
    fraction = fraction_from_signal(kind=selected_input, signal=signal)
    return InputReading(fraction, InputSymptom.READS)


def _span(lower_range_value: float, upper_range_value: float) -> float:
    span = upper_range_value - lower_range_value
    if not isfinite(span):
        guards.finite(lower_range_value=lower_range_value, upper_range_value=upper_range_value)
    if span == 0.0:
        raise InvalidInput("upper_range_value", "expected to differ from the lower range value")
    return span
