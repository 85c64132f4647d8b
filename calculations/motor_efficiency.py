"""Efficiency that a motor's class demands: by formula at 50 Hz, by table at 60 Hz.

Efficiencies are ratios [1], powers shaft powers [W]. Class values are nominal: one motor on test
may lie lower by its tolerance, a plate may not.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum
from itertools import pairwise
from math import log10

from calculations import guards
from calculations import tables_motor_efficiency as tables
from calculations.errors import InvalidInput
from calculations.evidence import Evidence
from calculations.motors import MECHANICAL_HORSEPOWER

SAME_RATING = 0.02
"""Power outside the end of a range by less than this [1] counts as the end: 1 hp is 0.75 kW in the
standard's own list of equivalents, 200 kW is 270 hp."""

SMALL_RANGE = (120.0, 550.0)
"""Powers of the first set of coefficients [W]; UKSI-2021-745 Sch. 16 Table 27."""

RANGE = (750.0, 200e3)
"""Powers of the second set of coefficients [W]; UKSI-2021-745 Sch. 16 Table 28."""

HIGHEST_POWER = 1000e3
"""Power up to which the values of 200 kW hold on [W]; EU-2019-1781, from memory."""


class EfficiencyClass(StrEnum):
    """Classes whose 50 Hz values are known here."""

    IE2 = "ie2"
    IE3 = "ie3"
    IE4 = "ie4"


class NominalTable(StrEnum):
    """The two levels of nominal efficiency at 60 Hz in the United States."""

    ENERGY_EFFICIENT = "epact"
    PREMIUM = "premium"


@dataclass(frozen=True, slots=True)
class RequiredEfficiency:
    """An efficiency [1] that a class demands, where it stands and how well it is known."""

    efficiency: float
    rating: str
    source: str
    evidence: Evidence

    @property
    def printed(self) -> float:
        """The efficiency [1] as the tables print it: percent to one decimal."""
        percent = Decimal(repr(round(self.efficiency * 100, 9)))
        return float(percent.quantize(Decimal("0.1"), ROUND_HALF_UP) / 100)


def minimum_efficiency_50_hz(
    *, efficiency_class: EfficiencyClass, poles: int, power: float
) -> RequiredEfficiency:
    """Least nominal efficiency of a class at 50 Hz.

    efficiency_class: IE2, IE3 or IE4.
    poles: 2, 4, 6 or 8 [1].
    power: rated shaft power [W], 120 to 550 W or 750 W to 1 MW; between the two none is stated.
    Returns the efficiency, unrounded; `printed` is that of the tables.
    Raises InvalidInput outside these ranges.
    Equation: A x^3 + B x^2 + C x + D in percent, x = log10(P / 1 kW); above 200 kW as at 200 kW.
    Source: UKSI-2021-745 Sch. 16 Tables 27, 28 = EU-2019-1781 Annex I = IEC60034-30-1.
    """
    guards.positive(power=power)
    if poles not in tables.POLE_COLUMNS:
        raise InvalidInput("poles", f"expected 2, 4, 6 or 8, got {poles}")
    if RANGE[1] * (1 + SAME_RATING) < power:
        return _above_the_formula(efficiency_class, poles, power)
    coefficients, rating = _coefficients(efficiency_class, poles, power)
    return RequiredEfficiency(
        efficiency=_formula(coefficients, rating),
        rating=f"{rating / 1000:g} kW",
        source="UKSI-2021-745 Sch. 16 para. 5, Tables 27 and 28",
        evidence="retrieved",
    )


def _coefficients(
    efficiency_class: EfficiencyClass, poles: int, power: float
) -> tuple[tables.Coefficients, float]:
    """The set that a power belongs to, and the power held inside the set's range."""
    sets = ((SMALL_RANGE, tables.SMALL_COEFFICIENTS), (RANGE, tables.COEFFICIENTS))
    for (lowest, highest), found in sets:
        if lowest * (1 - SAME_RATING) <= power <= highest * (1 + SAME_RATING):
            return found[efficiency_class][poles], min(max(power, lowest), highest)
    raise InvalidInput(
        "power",
        f"expected 0.12 to 0.55 kW or 0.75 to 1000 kW, where a formula is stated, got "
        f"{power / 1000:g} kW",
    )


def _formula(coefficients: tables.Coefficients, power: float) -> float:
    a, b, c, d = coefficients
    x = log10(power / 1000)
    return (a * x**3 + b * x**2 + c * x + d) / 100


def _above_the_formula(
    efficiency_class: EfficiencyClass, poles: int, power: float
) -> RequiredEfficiency:
    if power > HIGHEST_POWER * (1 + SAME_RATING):
        raise InvalidInput("power", f"expected at most 1000 kW, got {power / 1000:g} kW")
    percent = 100 * _formula(tables.COEFFICIENTS[efficiency_class][poles], RANGE[1])
    steps = tables.LARGE_STEPS.get((efficiency_class, poles), ())
    percent = next((step for start, step in steps if power >= start), percent)
    return RequiredEfficiency(
        efficiency=percent / 100,
        rating="above 200 kW",
        source="EU-2019-1781 Annex I, value of 200 kW and above",
        evidence="from memory",
    )


def deemed_rating(*, rating: float, listed: Iterable[float]) -> float:
    """Listed rating that a motor between two of them is deemed to have at 60 Hz.

    rating: on the plate [any unit], from about the lowest to about the highest listed.
    listed: ratings of a table [same unit], above 0.
    Returns the listed rating: the higher one from the midpoint on, the lower one below it.
    Raises InvalidInput outside the list by more than 2 %.
    Source: 10CFR431.25 and UKSI-2021-745 Sch. 16 para. 5(a), (b). 50 Hz uses the formula instead.
    """
    ordered = sorted(listed)
    guards.within(
        lowest=ordered[0] * (1 - SAME_RATING),
        highest=ordered[-1] * (1 + SAME_RATING),
        unit="",
        rating=rating,
    )
    for lower, higher in pairwise(ordered):
        if rating < (lower + higher) / 2 * (1 - 1e-9):
            return lower
    return ordered[-1]


def nominal_efficiency_60_hz(
    *,
    table: NominalTable,
    poles: int,
    enclosed: bool,
    power: float,
    horsepower_in_watts: float = MECHANICAL_HORSEPOWER,
) -> RequiredEfficiency:
    """Nominal full-load efficiency of a level at 60 Hz.

    table: PREMIUM (MG 1 Table 12-12) or ENERGY_EFFICIENT (12-11, the older level).
    poles: 2, 4, 6 or 8 [1].
    enclosed: whether the motor is enclosed, else open.
    power: rated shaft power [W], 1 to 500 hp.
    horsepower_in_watts: [W], above 0; for a plate in kilowatts the regulation counts with 746 W.
    Returns the efficiency of the listed rating that the motor is deemed to have.
    Raises InvalidInput outside these ranges and where the level lists no figure.
    Source: MG1-2011 Tables 12-11, 12-12 = 10CFR431.25 Table 1 (2/4/6 poles, 1 to 200 hp).
    """
    guards.positive(power=power, horsepower_in_watts=horsepower_in_watts)
    rows = tables.PREMIUM if table is NominalTable.PREMIUM else tables.ENERGY_EFFICIENT
    # Three decimals, as the regulation converts kilowatts to horsepower.
    horsepower = deemed_rating(rating=round(power / horsepower_in_watts, 3), listed=rows)
    percent = rows[horsepower][_column(poles, enclosed)]
    if percent is None:
        raise InvalidInput("power", f"no figure is listed for {horsepower:g} hp, {poles} poles")
    return RequiredEfficiency(
        efficiency=round(percent / 100, 3),
        rating=f"{horsepower:g} hp",
        source=_SOURCES[table],
        evidence=_EVIDENCE[table](horsepower, poles),
    )


_SOURCES = {
    NominalTable.PREMIUM: "MG1-2011 Table 12-12, 10CFR431.25",
    NominalTable.ENERGY_EFFICIENT: "MG1-2011 Table 12-11, 10CFR431.25",
}
_EVIDENCE = {
    NominalTable.PREMIUM: tables.premium_evidence,
    NominalTable.ENERGY_EFFICIENT: tables.energy_efficient_evidence,
}


def _column(poles: int, enclosed: bool) -> int:
    if poles not in tables.POLE_COLUMNS:
        raise InvalidInput("poles", f"expected 2, 4, 6 or 8, got {poles}")
    half = len(tables.POLE_COLUMNS) if enclosed else 0
    return half + tables.POLE_COLUMNS.index(poles)
