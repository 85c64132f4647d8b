"""Derived values of the motor's load."""

from calculations.aspects import load
from calculations.rule import Value, like

VALUES = (
    Value(
        id="load.highest-expected-current",
        title="Highest motor current to expect",
        formula="I = I_n sqrt(k^2 + (1 - k^2) (T / T_n)^2) at the highest shaft power of the curve "
        "at maximum frequency; k = 0.4, 0 with magnets",
        source="circle diagram, derived; affinity laws, Hydraulic Institute data, Eq. 1.B.6; k "
        "from memory (0.3 to 0.5)",
        unit=like("/rating/current", "A"),
        compute=load.highest_current,
        subject="/settings/maximum_frequency",
    ),
)
