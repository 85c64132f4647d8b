"""Derived values of the winding."""

from calculations.rule import Value, fixed
from calculations.rules.winding import TEST, current_unbalance, resistance_unbalance

VALUES = (
    Value(
        id="winding.resistance-unbalance",
        title="Unbalance of the winding resistances",
        formula="u = max |R_i - R| / R",
        source="practice of motor repair shops, from memory",
        unit=fixed("%"),
        compute=resistance_unbalance,
        subject=f"{TEST}/values",
    ),
    Value(
        id="winding.current-unbalance",
        title="Unbalance of the motor's currents",
        formula="u = max |I_i - I| / I",
        source="practice of motor repair shops, from memory",
        unit=fixed("%"),
        compute_each=current_unbalance,
        each="/event/duty_points",
    ),
)
