"""Points at which a sensor is checked: what is applied there, and the signal to expect."""

from dataclasses import dataclass
from typing import Literal

from calculations.findings import digits
from calculations.inputs.sensor import Sensor
from calculations.signals import ANALOGUE_SIGNALS, signal_from_fraction
from calculations.units import Quantity, from_si

Way = Literal["up", "down"]
SHARES: tuple[tuple[int, Way], ...] = (
    (0, "up"), (25, "up"), (50, "up"), (75, "up"), (100, "up"), (50, "down"), (0, "down"),
)  # fmt: skip
"""Share of the span [%] and the way it is come to; common practice, no source."""

SIGNIFICANT = 5


@dataclass(frozen=True, slots=True)
class CheckPoint:
    """One point; None where the range is not known, or the output is no analogue signal."""

    share: int
    way: Way
    applied: Quantity | None
    signal: Quantity | None


def check_points(sensor: Sensor) -> tuple[CheckPoint, ...]:
    """The points of a sensor, in the unit of its upper range value.

    x = LRV + s (URV - LRV) and S = S_low + s (S_high - S_low), s the share of span;
    IEC 60381-1 and 60381-2.
    """
    return tuple(
        CheckPoint(share, way, _applied(sensor, share / 100), _signal(sensor, share / 100))
        for share, way in SHARES
    )


def signal_unit(output: str | None) -> str:
    """The unit that an analogue output is measured in, mA or V; nothing for another output."""
    found = ANALOGUE_SIGNALS.get(output or "")
    return "" if found is None else found.unit


def _applied(sensor: Sensor, share: float) -> Quantity | None:
    low, high = sensor.lower_range_value, sensor.upper_range_value
    if low is None or high is None:
        return None
    value = from_si(low.si + share * (high.si - low.si), high.unit)
    return Quantity.of(digits(value, SIGNIFICANT), high.unit, high.kind)


def _signal(sensor: Sensor, share: float) -> Quantity | None:
    unit = signal_unit(sensor.output)
    if sensor.output is None or not unit:
        return None
    found = signal_from_fraction(kind=sensor.output, fraction=share)
    return Quantity.of(digits(from_si(found, unit), SIGNIFICANT), unit, "current", "voltage")
