"""Current that conductors carry."""

import pytest

from calculations.ampacities import CODE_75_DEGC, OPEN_AIR_90_DEGC, ampacity
from calculations.errors import InvalidInput
from calculations.units import conductor_area, to_si


@pytest.mark.parametrize(
    ("area", "expected"),
    [
        # NFPA 70 Table 310.16, copper, 75 degC
        (conductor_area(14), 20),
        (conductor_area(6), 65),
        (conductor_area(-3), 230),
        (to_si(250, "kcmil"), 255),
        (to_si(750, "kcmil"), 475),
        # 5 AWG is not listed: between 65 A of 13.30 mm2 and 85 A of 21.15 mm2, 74.3 at their mean
        (conductor_area(5), 74.3),
    ],
)
def test_by_the_code(area: float, expected: float) -> None:
    assert ampacity(area=area, table=CODE_75_DEGC) == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize(
    ("area", "expected"),
    [(1.5, 23), (10, 75), (16, 100), (95, 298), (300, 621)],  # IEC 60364-5-52, from memory
)
def test_in_open_air(area: float, expected: float) -> None:
    found = ampacity(area=to_si(area, "mm2"), table=OPEN_AIR_90_DEGC)
    assert found == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("area", [1.4, 316, 0.0, float("nan")])
def test_outside_the_table(area: float) -> None:
    with pytest.raises(InvalidInput):
        ampacity(area=to_si(area, "mm2"), table=OPEN_AIR_90_DEGC)
