"""Derived values of the supply as measured."""

from calculations import supply
from calculations.case import Case
from calculations.rule import Value, fixed
from calculations.rules.incoming_supply import (
    VOLTAGES,
    has_three_phases,
    is_measured,
    line_voltages,
    mean_voltage,
    unbalance,
)


def _negative_sequence(case: Case) -> float:
    return supply.negative_sequence_unbalance(line_voltages=[v.si for v in line_voltages(case)])


VALUES = (
    Value(
        id="supply.mean-voltage",
        title="Mean of the line-to-line voltages",
        formula="U = sum(U_i) / n",
        source="definition",
        unit=fixed("V"),
        compute=mean_voltage,
        subject=VOLTAGES,
        applies=is_measured,
    ),
    Value(
        id="supply.unbalance",
        title="Voltage unbalance (NEMA)",
        formula="u = max |U_i - U| / U",
        source="NEMA MG 1-2011 12.45, 14.36",
        unit=fixed("%"),
        compute=unbalance,
        subject=VOLTAGES,
        applies=has_three_phases,
    ),
    Value(
        id="supply.negative-sequence-unbalance",
        title="Voltage unbalance (IEC)",
        formula="b = sum U^4 / (sum U^2)^2, sqrt((1 - sqrt(3 - 6 b)) / (1 + sqrt(3 - 6 b)))",
        source="IEC 61000-4-30, from memory",
        unit=fixed("%"),
        compute=_negative_sequence,
        subject=VOLTAGES,
        applies=has_three_phases,
    ),
)
