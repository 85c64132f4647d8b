"""A pump's curve held against itself: power, efficiency, flow and head, and the rated point."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from math import isclose
from statistics import median

from calculations.case import Case
from calculations.constants import STANDARD_GRAVITY
from calculations.pump_curves import COLD_WATER_DENSITY, CurvePoint, PumpCurve
from calculations.units import Quantity, factor

RULE = "curve.columns"
"""The rule that tells it."""

WEIGHT = COLD_WATER_DENSITY * STANDARD_GRAVITY
EXPLAINS = 0.03
"""How well one cause must explain power against efficiency [1]; common practice, no source."""

EXPLAINS_HEAD = 0.08
"""How well it must explain the rated point [1], which plates round; common practice, no source."""

ORDINARY_FLOW = 0.4
"""Least share of the curve's last flow that is its rated one [1]; common practice, no source."""

FEWEST = 2
"""Points of which a column's unit can be told."""

FEWEST_BESIDE = 3
"""Points that have to agree for one beside them to be odd."""

UNITS: dict[str, dict[str, tuple[str, ...]]] = {
    "head": {"m": ("ft",), "ft": ("m",)},
    "flow": {"gpm": ("m3/h", "L/s"), "m3/h": ("gpm", "L/s"), "L/s": ("m3/h", "gpm")},
    "shaft_power": {"kW": ("hp",), "hp": ("kW",)},
}
"""Units that are taken for each other, by column and by the one that was entered."""

GRAVE = 2.0
"""Times the limits beyond which it is more than rounding or another edition; no source."""

POWERS = ("shaft_power", "row", "too_good")
"""Variants that leave flow and head of the curve as they are."""


@dataclass(frozen=True, slots=True)
class Factors:
    """What a cause does to the values of each column [1]: those meant over those entered."""

    flow: float = 1.0
    head: float = 1.0
    power: float = 1.0

    @property
    def on_balance(self) -> float:
        """What it does to power times efficiency over flow times head [1]."""
        return self.power / (self.flow * self.head)


@dataclass(frozen=True, slots=True)
class Doubt:
    """What contradicts itself, and why: the unit meant, or the number of a point."""

    variant: str
    entered: str = ""
    meant: str = ""
    index: int = 0
    balance: float | None = None
    head_agrees: bool = False
    """Whether the rated point shows flow and head of the curve to be right."""

    @property
    def is_of_rated(self) -> bool:
        """Whether the rated point is doubted, and not the curve."""
        return self.variant.startswith("rated_")


@dataclass(frozen=True, slots=True)
class Columns:
    """What a curve tells of itself, with limits granted [1]."""

    rows: Sequence[CurvePoint]
    curve: PumpCurve
    balances: dict[int, float]
    power_limit: float
    efficiency_limit: float

    @property
    def balance(self) -> float | None:
        """Power times efficiency over that of flow and head, of most points [1]."""
        return median(self.balances.values()) if len(self.balances) >= FEWEST else None

    @property
    def is_grave(self) -> bool:
        """Whether powers and efficiencies contradict each other so far that neither is used."""
        middle = self.balance
        return middle is not None and abs(middle - 1) > GRAVE * self.power_limit

    @property
    def is_even(self) -> bool:
        """Whether all points tell the same of it."""
        middle = self.balance
        return middle is not None and all(
            abs(each / middle - 1) <= EXPLAINS for each in self.balances.values()
        )

    def head(self, flow: float) -> float:
        """Head at the curve's speed [m]; none beyond its end."""
        return self.curve.head(flow=flow, speed=self.curve.speed) or 0.0

    def least_head(self, flow: float, at_most: float) -> float:
        """Head [m] at a flow that may be `at_most`: straight on where the curve ends between."""
        if flow > self.rows[-1].flow:
            return 0.0
        return self.curve.head(flow=at_most, speed=self.curve.speed, extrapolate=True) or 0.0


def doubt(case: Case, rows: Sequence[CurvePoint], curve: PumpCurve) -> Doubt | None:
    """What has one cause that explains it, or one point that stands out; None else."""
    columns = read(case, rows, curve)
    balance, rated = columns.balance, off_rated(case, columns)
    if balance is not None and abs(balance - 1) <= columns.power_limit:
        odd = _odd(columns)
        if odd is not None:
            return Doubt("row", index=odd, balance=columns.balances[odd])
        if not rated:
            return None
    elif balance is None and not rated:
        return _too_good(case, columns)
    if balance is not None and not columns.is_even:
        return None
    found = next((each for each, by in _causes(case) if _explains(case, columns, each, by)), None)
    if found is not None and balance is None and found.variant in ("head", "flow"):
        return replace(found, variant=f"either_{found.variant}")  # nothing tells curve from plate
    return found


def read(case: Case, rows: Sequence[CurvePoint], curve: PumpCurve) -> Columns:
    """The columns of a curve, with those limits."""
    balances = {
        index: row.efficiency * row.shaft_power / (WEIGHT * row.flow * row.head)
        for index, row in enumerate(rows)
        if row.flow and row.efficiency and row.shaft_power
    }
    return Columns(
        rows, curve, balances,
        case.limit("curve.columns.power"), case.limit("curve.columns.efficiency"),
    )  # fmt: skip


def off_rated(case: Case, columns: Columns, times: float = 1.0) -> bool:
    """Whether the rated point lies off the curve, `times` the tolerances of both granted.

    A plate may tell of the largest impeller where the curve is that of the one inside.
    """
    flow, head = case.find("/pump/rated_flow"), case.find("/pump/rated_head")
    if flow is None or head is None:
        return False
    by_flow = 1 + times * case.limit("curve.columns.rated-flow")
    by_head = times * case.limit("curve.columns.rated-head")
    least, most = columns.least_head(flow.si, flow.si * by_flow), columns.head(flow.si / by_flow)
    if least * (1 - by_head) <= head.si <= most * (1 + by_head):
        return False
    trim = _trimmed(case)
    if trim is None:
        return True
    fits = columns.head(flow.si * trim) / trim**2
    return not (fits and abs(head.si / fits - 1) <= EXPLAINS_HEAD)


def usable(found: Doubt, rows: Sequence[CurvePoint]) -> list[CurvePoint] | None:
    """The points without what is doubted; None where nothing may rest on the rest."""
    if found.variant == "row":
        return [
            replace(row, efficiency=None, shaft_power=None) if index == found.index else row
            for index, row in enumerate(rows)
        ]
    if found.variant == "shaft_power" or found.head_agrees:
        return [replace(row, shaft_power=None) for row in rows]
    return None


def without_powers(rows: Sequence[CurvePoint]) -> list[CurvePoint]:
    """The points with flow and head alone, where nothing tells power and efficiency apart."""
    return [replace(row, efficiency=None, shaft_power=None) for row in rows]


def _trimmed(case: Case) -> float | None:
    """Impeller inside over the largest [1], where it is smaller."""
    inside = case.find("/pump/impeller_diameter")
    largest = case.find("/pump/impeller_diameter_max")
    if inside is None or largest is None or inside.si >= largest.si:
        return None
    return float(inside.si / largest.si)


def _odd(columns: Columns) -> int | None:
    """The one point whose power and efficiency do not belong together, where all others do."""
    off = [index for index, each in columns.balances.items() if abs(each - 1) > columns.power_limit]
    if len(off) != 1 or len(columns.balances) <= FEWEST_BESIDE:
        return None
    return off[0]


def _too_good(case: Case, columns: Columns) -> Doubt | None:
    """Powers that leave more efficiency than pumps have, the rated point being on the curve."""
    if columns.balances:
        return None
    best = max(
        (WEIGHT * r.flow * r.head / r.shaft_power for r in columns.rows if r.shaft_power),
        default=0.0,
    )
    if best <= columns.efficiency_limit:
        return None
    agrees = None not in (case.find("/pump/rated_flow"), case.find("/pump/rated_head"))
    for entered, meant in _other_units(case, "shaft_power"):
        if best * factor(entered) / factor(meant) <= columns.efficiency_limit:
            return Doubt("too_good", entered, meant, balance=best, head_agrees=agrees)
    return Doubt("too_good_plain", balance=best, head_agrees=agrees)


def _explains(case: Case, columns: Columns, cause: Doubt, by: Factors) -> bool:
    balance = columns.balance
    if balance is None and cause.variant == "shaft_power":
        return False
    # What leaves the balance as it is, is no explanation of it: the rule's own limit is for that.
    room = columns.power_limit if isclose(by.on_balance, 1.0) else EXPLAINS
    if balance is not None and abs(balance * by.on_balance - 1) > room:
        return False
    flow, head = case.find("/pump/rated_flow"), case.find("/pump/rated_head")
    if flow is None or head is None:
        return balance is not None
    meant = by.head * columns.head(flow.si / by.flow)
    if flow.si / by.flow < ORDINARY_FLOW * columns.rows[-1].flow:
        return False  # a curve is flat there, so that much would fit
    return bool(meant) and abs(head.si / meant - 1) <= EXPLAINS_HEAD


def _causes(case: Case) -> Iterator[tuple[Doubt, Factors]]:
    for column, name in (("head", "head"), ("flow", "flow"), ("shaft_power", "power")):
        for entered, meant in _other_units(case, column):
            by = Factors(**{name: factor(meant) / factor(entered)})
            yield Doubt(column, entered, meant), by
    for column in ("head", "flow"):
        rated: Quantity | None = case.find(f"/pump/rated_{column}")
        if rated is None:
            continue
        for meant in UNITS[column].get(rated.unit, ()):
            by = Factors(**{column: factor(rated.unit) / factor(meant)})
            yield Doubt(f"rated_{column}", rated.unit, meant), _of_rated(by)
    stages = case.find("/pump/stages")
    if stages is not None and stages > 1:
        yield Doubt("stages", meant=str(stages)), Factors(head=stages, power=stages)
        yield Doubt("head_of_stage", meant=str(stages)), Factors(head=stages)
    trim = _trimmed(case)
    if trim is not None:
        yield Doubt("impeller"), Factors(flow=trim, head=trim**2, power=trim**3)


def _of_rated(by: Factors) -> Factors:
    """A rated value that is wrong leaves the columns of the curve as they are."""
    return replace(by, power=by.flow * by.head)


def _other_units(case: Case, column: str) -> Iterator[tuple[str, str]]:
    """The unit of a column, where it has one, and those that it is taken for."""
    points = case.find("/pump/curve_points") or ()
    units = {each.unit for point in points if (each := getattr(point, column)) is not None}
    if len(units) == 1:
        entered = units.pop()
        for meant in UNITS[column].get(entered, ()):
            yield entered, meant
