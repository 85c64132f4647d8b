"""Derived values of the insulation test."""

from calculations import insulation
from calculations.aspects import insulation_test as test
from calculations.aspects.insulation_test import TEST
from calculations.case import Case
from calculations.rule import Value, fixed


def _polarization_index(case: Case) -> float:
    ten, one = case.require(f"{TEST}/resistance_10_min", f"{TEST}/resistance_1_min")
    return insulation.polarization_index(ten_minutes=ten.si, one_minute=one.si)


def _absorption_ratio(case: Case) -> float:
    one, half = case.require(f"{TEST}/resistance_1_min", f"{TEST}/resistance_30_s")
    return insulation.dielectric_absorption_ratio(one_minute=one.si, thirty_seconds=half.si)


VALUES = (
    Value(
        id="insulation.at-40-degrees",
        title="Insulation resistance at 40 degC",
        formula="R40 = R exp(-1245 (1 / (t + 273) - 1 / 313)) up to 40 degC, with 4230 above; "
        "before 1970 R 0.5^((40 - t) / 10)",
        source="IEEE 43-2013 6.3, coefficients from memory",
        unit=fixed("Mohm"),
        compute=test.resistance_at_40_degrees,
        subject=f"{TEST}/resistance_1_min",
    ),
    Value(
        id="insulation.minimum-today",
        title="Least reading at today's winding temperature",
        formula="R = R40min / K_T",
        source="IEEE 43-2013 6.3, table 3, from memory; immersed motors: common practice",
        unit=fixed("Mohm"),
        compute=test.minimum_today,
        subject=f"{TEST}/winding_temperature",
    ),
    Value(
        id="insulation.polarization-index",
        title="Polarization index",
        formula="R10 / R1",
        source="IEEE 43-2013 5.4",
        unit=fixed("1"),
        compute=_polarization_index,
        subject=f"{TEST}/resistance_10_min",
    ),
    Value(
        id="insulation.absorption-ratio",
        title="Dielectric absorption ratio (no limit is published)",
        formula="R60 / R30",
        source="definition",
        unit=fixed("1"),
        compute=_absorption_ratio,
        subject=f"{TEST}/resistance_30_s",
    ),
)
