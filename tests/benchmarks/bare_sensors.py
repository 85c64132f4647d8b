"""Signals, scaling and verifications of sensors as bare floats."""

from collections.abc import Sequence
from math import exp, log
from typing import Any

Results = dict[tuple[str, str], float]

LEFT = "/event/settings/as_left"


def sensors(n: Any, out: Results) -> None:
    """Signals at settings and at shares of span, scaling, and each verification."""
    low, span = n.range_low, n.range_high - n.range_low
    asked = {
        "set-point": ("set_point", n.set_point), "wake": ("wake_value", n.wake),
        "low-limit": ("low_discharge_limit", n.low_limit),
        "high-limit": ("high_discharge_limit", n.high_limit),
    }  # fmt: skip
    for name, (setting, asked_for) in asked.items():
        out[f"sensor.signal-at-{name}", f"{LEFT}/{setting}"] = (
            4e-3 + 16e-3 * (asked_for - low) / span
        )
    share = (n.low_suction - n.suction_range_low) / (n.suction_range_high - n.suction_range_low)
    out["sensor.signal-at-low-suction-limit", f"{LEFT}/low_suction_limit"] = 4e-3 + 16e-3 * share
    for percent in (0, 25, 50, 75, 100):
        out[f"sensor.signal-at-{percent}-percent", "/sensors/0"] = 4e-3 + 16e-3 * percent / 100
    out["sensor.scaling-at-lower-signal", "/sensors/0"] = low
    out["sensor.scaling", "/sensors/0"] = n.range_high
    shown = n.shown_high - n.shown_low
    errors = [(n.shown_low + x * shown - low - x * span) / span for x in (0.0, 0.5, 1.0)]
    out["loop.scaling", ""] = max(errors, key=abs)
    for each in n.verifications:
        _verification(each, out)


def _verification(v: Any, out: Results) -> None:
    means = [v.low + (signal - 4e-3) / 16e-3 * v.span for signal in v.signals]
    errors = [(read - true) / v.span for read, true in zip(means, v.applied, strict=True)]
    out["sensor.largest-error", v.place] = max(errors, key=abs)
    inputs: dict[float, list[int]] = {}
    for index in sorted(range(len(errors)), key=v.applied.__getitem__):
        inputs.setdefault(v.applied[index], []).append(index)
    gaps = [
        max(
            abs(errors[b] - errors[a])
            for a in group
            if v.rising[a]
            for b in group
            if not v.rising[b]
        )
        for group in inputs.values()
    ]
    out["sensor.hysteresis", v.place] = max(gaps)
    mean = [
        (applied, sum(errors[i] for i in group) / len(group)) for applied, group in inputs.items()
    ]
    (x0, e0), (x1, e1) = mean[0], mean[-1]
    through = (e1 - e0) / (x1 - x0)
    out["sensor.linearity", v.place] = max(abs(e - e0 - through * (x - x0)) for x, e in mean)
    falling = [(x, -e) for x, e in mean]
    slopes = [*_hull(mean), *(-each for each in _hull(falling))]
    out["sensor.linearity", f"{v.place} independent"] = (
        min(_band(mean, each) for each in slopes) / 2
    )
    middle = sorted(errors)[len(errors) // 2]
    out["sensor.outlier", v.place] = max(abs(each - middle) for each in errors)
    uncertainty = v.share_of_range * v.instrument_range / v.span
    ratio = v.tolerance / uncertainty
    multiplier = max(1.04 - exp(0.38 * log(ratio) - 0.54), 0.0)
    out["sensor.reference-uncertainty", v.place] = ratio
    out["sensor.allowed-error", v.place] = v.tolerance - uncertainty * multiplier


def _hull(points: Sequence[tuple[float, float]]) -> list[float]:
    """Slopes of the lower convex hull."""
    hull: list[tuple[float, float]] = []
    for point in points:
        while len(hull) > 1 and _rise(hull[-2], hull[-1]) >= _rise(hull[-1], point):
            hull.pop()
        hull.append(point)
    return [_rise(hull[i], hull[i + 1]) for i in range(len(hull) - 1)]


def _rise(a: tuple[float, float], b: tuple[float, float]) -> float:
    return (b[1] - a[1]) / (b[0] - a[0])


def _band(points: Sequence[tuple[float, float]], along: float) -> float:
    left = [e - along * x for x, e in points]
    return max(left) - min(left)
