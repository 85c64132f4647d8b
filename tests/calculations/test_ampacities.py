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


# Whole columns as the tables print them, sizes and currents apart; the module holds pairs.
COLUMNS = [
    (
        CODE_75_DEGC,  # NFPA 70 Table 310.16, copper, 75 degC
        [conductor_area(gauge) for gauge in (14, 12, 10, 8, 6, 4, 3, 2, 1, 0, -1, -2, -3)]
        + [to_si(size, "kcmil") for size in (250, 300, 350, 400, 500, 600, 750)],
        "20 25 35 50 65 85 100 115 130 150 175 200 230 255 285 310 335 380 420 475",
    ),
    (
        OPEN_AIR_90_DEGC,  # IEC 60364-5-52 Table B.52.12, three loaded conductors; from memory
        [1e-6 * size for size in (1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95, 120, 150, 185, 240)]
        + [300e-6],
        "23 32 42 54 75 100 127 158 192 246 298 346 399 456 538 621",
    ),
]


@pytest.mark.parametrize(("table", "areas", "printed"), COLUMNS)
def test_columns_as_printed(table, areas, printed):
    found = [ampacity(area=area, table=table) for area in areas]
    assert found == pytest.approx([float(current) for current in printed.split()], rel=1e-6)
    assert len(table) == len(areas)


@pytest.mark.parametrize(
    ("area", "expected"),
    # The last power law goes on for 5 %: 23 (1.43 / 1.5)^0.6465 and 621 (314 / 300)^0.643.
    [(1.43, 22.30), (314, 639.5)],
)
def test_a_little_outside_the_table(area: float, expected: float) -> None:
    found = ampacity(area=to_si(area, "mm2"), table=OPEN_AIR_90_DEGC)
    assert found == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize("area", [1.4, 1.42, 316, 0.0, float("nan")])
def test_outside_the_table(area: float) -> None:
    with pytest.raises(InvalidInput):
        ampacity(area=to_si(area, "mm2"), table=OPEN_AIR_90_DEGC)
