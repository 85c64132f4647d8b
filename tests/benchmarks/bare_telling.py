"""What plain rules say, and what several of them rest on."""

from math import isclose, pi
from types import SimpleNamespace
from typing import Any

from calculations.findings import Compared, Finding, NotEvaluated, Severity, Shown
from tests.benchmarks.bare_curves import fit, meeting
from tests.benchmarks.bare_events import LEFT, RATING
from tests.benchmarks.bare_formulas import G, _density
from tests.benchmarks.bare_slip import Slip


class Told:
    """Findings, what could not be judged, and what rules in doubt make others wait for."""

    def __init__(self, known: SimpleNamespace) -> None:
        self.known = known
        self.findings: list[Finding] = []
        self.lacking: list[NotEvaluated] = []
        self.doubted: dict[str, str] = {}
        self.made: dict[str, Any] = {}

    def say(
        self,
        rule: str,
        variant: str,
        severity: Severity,
        place: str,
        compared: dict[str, Shown],
        limit: str = "",
        **words: str,
    ) -> None:
        """Keep a finding."""
        words |= {name: str(shown) for name, shown in compared.items()}
        values = tuple(Compared(name, shown) for name, shown in compared.items())
        self.findings.append(Finding(rule, variant, severity, place, words, values, limit))
        if severity != "note":
            self.doubted[rule] = rule

    def lacks(self, rule: str, place: str, *needs: str) -> bool:
        """Whether something that a rule needs is not known; then that is kept."""
        missing = tuple(need for need in needs if need not in self.known.at)
        if missing:
            self.lacking.append(NotEvaluated(rule, place, missing))
        return bool(missing)

    def waits(self, rule: str, place: str, *parents: str) -> bool:
        """Whether a rule that this one rests on is in doubt; then that is kept."""
        for parent in parents:
            if parent in self.doubted:
                self.doubted[rule] = cause = self.doubted[parent]
                self.lacking.append(NotEvaluated(rule, place, (), cause))
                return True
        return False


def above(first: float, limit: float) -> bool:
    """More than a limit, by more than floats lose."""
    return first > limit and not isclose(first, limit, abs_tol=1e-9)


# -- what several rules rest on --------------------------------------------------------------------


def hydraulics(told: Told) -> Any:
    """Curves, density, and the head that is held at no flow, made once."""
    if "hydraulics" in told.made:
        return told.made["hydraulics"]
    at = told.known.at
    rows = [f"/pump/curve_points/{index}" for index in range(at["/pump/curve_points"])]
    flows = [at[f"{row}/flow"] for row in rows]
    density = _density(at["/event/liquid_temperature"])
    heads = fit(flows, [at[f"{row}/head"] for row in rows])
    etas = fit(flows, [at.get(f"{row}/efficiency", 0.0) for row in rows])
    made = SimpleNamespace(
        flows=flows, heads=heads, etas=etas,
        weight=density * G,
        speed=at["/pump/rated_speed"],
        per_speed=at[f"{RATING}/frequency"] / at[f"{RATING}/speed"],
        slip=Slip(_motor(at, flows), heads, etas, density),
    )  # fmt: skip
    told.made["hydraulics"] = made
    return made


def _motor(at: dict[str, Any], flows: list[float]) -> SimpleNamespace:
    """What slip asks for."""
    return SimpleNamespace(
        curve_speed=at["/pump/rated_speed"], curve_flows=flows,
        best_flow=at["/pump/best_efficiency_flow"], poles=at["/motor/poles"],
        frequency=at[f"{RATING}/frequency"], speed=at[f"{RATING}/speed"],
        power=at[f"{RATING}/power"],
    )  # fmt: skip


def flow_at_head(made: Any, frequency: float, head: float) -> float:
    """What flows at a frequency and a head, with the slip that it causes."""

    def at(speed: float) -> float:
        return meeting(made.heads, speed / made.speed, head, 0.0)

    return float(at(made.slip.speed_where(frequency, at)))


def needed_head(told: Told, made: Any, end: str) -> float:
    at = told.known.at
    before = at[f"/site/suction_pressure_{end}"] / made.weight + at["/sensors/1/tapping_elevation"]
    height = at["/sensors/0/tapping_elevation"]
    return float(at[f"{LEFT}/set_point"] / made.weight + height - before)


def total_head(told: Told, made: Any, place: str) -> float:
    at = told.known.at
    flow = at[f"{place}/flow"]
    velocity = [
        (4.0 * flow / (pi * at[f"/pump/bore_{side}"] ** 2)) ** 2 / (2.0 * G)
        for side in ("suction", "discharge")
    ]
    read = at[f"{place}/discharge_pressure"] - at[f"{place}/suction_pressure"]
    height = at[f"{place}/discharge_gauge_elevation"] - at[f"{place}/suction_gauge_elevation"]
    return float(read / made.weight + height + velocity[1] - velocity[0])


def places_of(told: Told, whole: str) -> list[str]:
    return [f"{whole}/{index}" for index in range(told.known.at.get(whole, 0))]


def verified(told: Told, place: str) -> Any:
    """One verification as found, made once."""
    if place in told.made:
        return told.made[place]
    at, half = told.known.at, told.known.half
    sensor = sensor_of(told, place)
    low = at[f"{sensor}/lower_range_value"]
    span = at[f"{sensor}/upper_range_value"] - low
    rows = places_of(told, f"{place}/as_found")
    applied = [at[f"{row}/applied"] for row in rows]
    signals = [at[f"{row}/signal"] for row in rows]
    errors = [
        (low + (signal - 4e-3) / 16e-3 * span - true) / span
        for signal, true in zip(signals, applied, strict=True)
    ]
    roundings = [half[f"{row}/signal"] / 16e-3 * span for row in rows]
    made = told.made[place] = SimpleNamespace(
        sensor=sensor, low=low, span=span, rows=rows, applied=applied, signals=signals,
        errors=errors, roundings=roundings,
        tolerance=at[f"{sensor}/tolerance_percent_of_span"],
    )  # fmt: skip
    made.outside = any(
        abs(error) > (made.tolerance + (rounding + half[f"{row}/applied"]) / span) * (1 + 1e-9)
        for error, rounding, row in zip(errors, roundings, rows, strict=True)
    )
    made.outlier, made.band = _is_one_off(made), None
    if not made.outlier:
        room = 0.05 if made.outside else -0.001
        made.band = next(
            (
                index
                for index, signal in enumerate(signals)
                if not 0.0038 - 1e-9 <= signal <= 0.0205 + 1e-9
                and room <= (applied[index] - low) / span <= 1 - room
            ),
            None,
        )
    return made


def _is_one_off(made: Any) -> bool:
    """Whether a single reading contradicts all others, among which one is of the same input."""
    middle = sorted(made.errors)
    half = len(middle) // 2
    centre = middle[half] if len(middle) % 2 else (middle[half - 1] + middle[half]) / 2
    apart = [abs(error - centre) for error in made.errors]
    far = [index for index, each in enumerate(apart) if each > 2 * made.tolerance]
    if len(far) != 1:
        return False
    if any(each > made.tolerance for index, each in enumerate(apart) if index != far[0]):
        return False
    odd = made.applied[far[0]]
    return any(
        abs(each - odd) < 0.02 * made.span
        for index, each in enumerate(made.applied)
        if index != far[0]
    )


def sensor_of(told: Told, place: str) -> str:
    return f"/sensors/{('PT-101', 'PT-100', 'FT-101').index(told.known.at[f'{place}/sensor'])}"
