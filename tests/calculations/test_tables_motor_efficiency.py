"""Class efficiencies at 60 Hz: the tables as printed, and how they are read."""

import pytest

from calculations import motor_efficiency as efficiency
from calculations import tables_motor_efficiency as tables
from calculations.errors import InvalidInput
from calculations.motor_efficiency import NominalTable
from calculations.motors import ELECTRIC_HORSEPOWER
from calculations.motors import MECHANICAL_HORSEPOWER as HP
from calculations.tables_motor_efficiency import premium_evidence
from tests.calculations.test_motor_efficiency import at_60_hz

# 10 CFR 431.25 as revised on 1 January 2006, and 42 USC 6313(b)(1): poles 6, 4, 2, first open, then
# enclosed motors, in the order of that print.
OLDER_LEVEL = """
1    80.0 82.5  --  80.0 82.5 75.5
1.5  84.0 84.0 82.5 85.5 84.0 82.5
2    85.5 84.0 84.0 86.5 84.0 84.0
3    86.5 86.5 84.0 87.5 87.5 85.5
5    87.5 87.5 85.5 87.5 87.5 87.5
7.5  88.5 88.5 87.5 89.5 89.5 88.5
10   90.2 89.5 88.5 89.5 89.5 89.5
15   90.2 91.0 89.5 90.2 91.0 90.2
20   91.0 91.0 90.2 90.2 91.0 90.2
25   91.7 91.7 91.0 91.7 92.4 91.0
30   92.4 92.4 91.0 91.7 92.4 91.0
40   93.0 93.0 91.7 93.0 93.0 91.7
50   93.0 93.0 92.4 93.0 93.0 92.4
60   93.6 93.6 93.0 93.6 93.6 93.0
75   93.6 94.1 93.0 93.6 94.1 93.0
100  94.1 94.1 93.0 94.1 94.5 93.6
125  94.1 94.5 93.6 94.1 94.5 94.5
150  94.5 95.0 93.6 95.0 95.0 94.5
200  94.5 95.0 94.5 95.0 95.0 95.0
"""
# 10 CFR 431.25(a) Table 1, the same order.
PREMIUM_LEVEL = """
1    82.5 85.5 77.0 82.5 85.5 77.0
1.5  86.5 86.5 84.0 87.5 86.5 84.0
2    87.5 86.5 85.5 88.5 86.5 85.5
3    88.5 89.5 85.5 89.5 89.5 86.5
5    89.5 89.5 86.5 89.5 89.5 88.5
7.5  90.2 91.0 88.5 91.0 91.7 89.5
10   91.7 91.7 89.5 91.0 91.7 90.2
15   91.7 93.0 90.2 91.7 92.4 91.0
20   92.4 93.0 91.0 91.7 93.0 91.0
25   93.0 93.6 91.7 93.0 93.6 91.7
30   93.6 94.1 91.7 93.0 93.6 91.7
40   94.1 94.1 92.4 94.1 94.1 92.4
50   94.1 94.5 93.0 94.1 94.5 93.0
60   94.5 95.0 93.6 94.5 95.0 93.6
75   94.5 95.0 93.6 94.5 95.4 93.6
100  95.0 95.4 93.6 95.0 95.4 94.1
125  95.0 95.4 94.1 95.0 95.4 95.0
150  95.4 95.8 94.1 95.8 95.8 95.0
200  95.4 95.8 95.0 95.8 96.2 95.4
"""
# Federal Register correction C1-2013-28776, Table I.5: 8 poles, enclosed and open. (A state's
# building code prints 77.5 for 1.5 hp open.)
EIGHT_POLES = """
1 75.5 75.5
1.5 78.5 77.0
2 84.0 86.5
3 85.5 87.5
5 86.5 88.5
7.5 86.5 89.5
10 89.5 90.2
15 89.5 90.2
20 90.2 91.0
25 90.2 91.0
30 91.7 91.7
"""


def rows(text: str) -> list[tuple[float, list[float | None]]]:
    lines = (line.split() for line in text.strip().splitlines())
    return [
        (float(first), [None if cell == "--" else float(cell) for cell in cells])
        for first, *cells in lines
    ]


# MG 1 Table 12-10, the series from which every nominal efficiency is taken; from memory.
NOMINAL_SERIES = """
98.8 98.7 98.6 98.5 98.4 98.2 98.0 97.8 97.6 97.4 97.1 96.8 96.5 96.2 95.8 95.4 95.0 94.5 94.1 93.6
93.0 92.4 91.7 91.0 90.2 89.5 88.5 87.5 86.5 85.5 84.0 82.5 81.5 80.0 78.5 77.0 75.5 74.0 72.0 70.0
68.0 66.0 64.0 62.0 59.5 57.5 55.0 52.5 50.5
"""


class TestTables:
    @pytest.mark.parametrize("table", [tables.ENERGY_EFFICIENT, tables.PREMIUM])
    def test_columns_rise_in_steps_of_the_nominal_series(self, table):
        for column in zip(*table.values(), strict=True):
            listed = [cell for cell in column if cell is not None]
            assert set(listed) <= {float(cell) for cell in NOMINAL_SERIES.split()}
            assert listed == sorted(listed)

    @pytest.mark.parametrize(
        ("table", "text"),
        [(tables.ENERGY_EFFICIENT, OLDER_LEVEL), (tables.PREMIUM, PREMIUM_LEVEL)],
        ids=["older", "premium"],
    )
    def test_two_to_six_poles_as_printed(self, table, text):
        for horsepower, printed in rows(text):
            open_2, open_4, open_6, _, enclosed_2, enclosed_4, enclosed_6, _ = table[horsepower]
            ours = [open_6, open_4, open_2, enclosed_6, enclosed_4, enclosed_2]
            assert ours == printed, f"{horsepower} hp"

    def test_eight_poles_as_printed(self):
        for horsepower, (enclosed, open_) in rows(EIGHT_POLES):
            assert at_60_hz(NominalTable.PREMIUM, horsepower, 8, True) == enclosed / 100
            assert at_60_hz(NominalTable.PREMIUM, horsepower, 8, False) == open_ / 100

    def test_older_level_of_eight_poles(self):
        # Energy Policy Act of 1992, section 342(b)(1): open and enclosed motors of 8 poles, 1 to
        # 200 hp, the level that MG 1 Table 12-11 was taken into; from memory.
        open_ = "74.0 75.5 85.5 86.5 87.5 88.5 89.5 89.5 90.2 90.2 91.0 91.0 91.7 92.4 93.6 93.6 "
        open_ += "93.6 93.6 93.6"
        enclosed = "74.0 77.0 82.5 84.0 85.5 85.5 88.5 88.5 89.5 89.5 91.0 91.0 91.7 91.7 93.0 "
        enclosed += "93.0 93.6 93.6 94.1"
        sizes = [size for size in tables.ENERGY_EFFICIENT if size <= 200]
        for column, text in ((3, open_), (7, enclosed)):
            listed = [tables.ENERGY_EFFICIENT[size][column] for size in sizes]
            assert listed == [float(cell) for cell in text.split()]

    def test_eight_poles_from_40_horsepower_and_all_from_250(self):
        # MG 1 Table 12-12, from memory: enclosed/open, then open and enclosed 2, 4, 6, 8 poles.
        pairs = "91.7/91.7 92.4/92.4 92.4/93.0 93.6/94.1 93.6/94.1 94.1/94.1 94.1/94.1 94.5/94.1"
        for horsepower, pair in zip(
            (40, 50, 60, 75, 100, 125, 150, 200), pairs.split(), strict=True
        ):
            enclosed, open_ = map(float, pair.split("/"))
            row = tables.PREMIUM[horsepower]
            assert (row[7], row[3]) == (enclosed, open_), horsepower
        for horsepower in (250, 300, 350, 400, 450, 500):
            assert tables.PREMIUM[horsepower][4:] == (95.8, 96.2, 95.8, 95.0)
        open_two_poles = [tables.PREMIUM[size][0] for size in (250, 300, 350, 400, 450, 500)]
        assert open_two_poles == [95.0, 95.4, 95.4, 95.8, 95.8, 95.8]
        open_four_poles = [tables.PREMIUM[size][1] for size in (250, 400, 450, 500)]
        assert open_four_poles == [95.8, 95.8, 96.2, 96.2]

    def test_premium_never_demands_less_than_the_older_level(self):
        for horsepower, older in tables.ENERGY_EFFICIENT.items():
            newer = tables.PREMIUM[horsepower]
            for before, after in zip(older, newer, strict=True):
                assert before is None or (after is not None and before <= after), horsepower

    def test_older_level_of_50_horsepower(self):
        # MG 1 Table 12-11, enclosed 4 poles: 93.0, where premium has 94.5.
        assert at_60_hz(NominalTable.ENERGY_EFFICIENT, 50, 4, True) == 0.930
        assert at_60_hz(NominalTable.PREMIUM, 50, 4, True) == 0.945

    def test_open_two_pole_motor_of_1_horsepower_has_no_older_figure(self):
        with pytest.raises(InvalidInput, match="no figure is listed"):
            at_60_hz(NominalTable.ENERGY_EFFICIENT, 1, 2, False)

    @pytest.mark.parametrize(
        ("horsepower", "poles", "evidence"),
        [
            (50, 4, "retrieved"),
            (30, 8, "retrieved"),
            (40, 8, "from memory"),
            (250, 4, "from memory"),
        ],
    )
    def test_evidence_is_told(self, horsepower, poles, evidence):
        required = efficiency.nominal_efficiency_60_hz(
            table=NominalTable.PREMIUM, poles=poles, enclosed=True, power=horsepower * HP
        )
        assert (required.evidence, required.rating) == (evidence, f"{horsepower} hp")

    @pytest.mark.parametrize(
        ("horsepower", "poles", "evidence"),
        [(200, 6, "retrieved"), (250, 6, "reproduced"), (10, 8, "reproduced")],
    )
    def test_evidence_of_the_older_level_is_told(self, horsepower, poles, evidence):
        # 10 CFR 431.25 as of 2006 prints 2, 4 and 6 poles up to 200 hp.
        required = efficiency.nominal_efficiency_60_hz(
            table=NominalTable.ENERGY_EFFICIENT, poles=poles, enclosed=True, power=horsepower * HP
        )
        assert required.evidence == evidence


class TestBetweenRows:
    @pytest.mark.parametrize(
        ("horsepower", "deemed"), [(34.9, 30), (35, 40), (35.1, 40), (12.5, 15), (6.2, 5), (1, 1)]
    )
    def test_midpoint_counts_up(self, horsepower, deemed):
        # 10 CFR 431.25: at or above the midpoint the higher, below it the lower rating.
        found = at_60_hz(NominalTable.PREMIUM, horsepower, 4, True)
        assert found == at_60_hz(NominalTable.PREMIUM, deemed, 4, True)

    def test_kilowatt_plates_count_with_746_watt(self):
        # 10 CFR 431.25: 1 kW is 1/0.746 hp; 26.1 kW is 34.987 hp, just below 35.
        required = efficiency.nominal_efficiency_60_hz(
            table=NominalTable.PREMIUM,
            poles=2,
            enclosed=True,
            power=26.1e3,
            horsepower_in_watts=ELECTRIC_HORSEPOWER,
        )
        assert required.rating == "30 hp"

    @pytest.mark.parametrize(
        ("kilowatt", "rating"), [(0.75, "1 hp"), (37, "50 hp"), (373, "500 hp")]
    )
    def test_standard_kilowatt_equivalents(self, kilowatt, rating):
        required = efficiency.nominal_efficiency_60_hz(
            table=NominalTable.PREMIUM, poles=4, enclosed=True, power=1000 * kilowatt
        )
        assert required.rating == rating

    def test_a_rating_at_the_midpoint_of_listed_ones_counts_up(self):
        # 10 CFR 431.25: "equal to or above the midpoint"; the list's own ends by 2 %.
        listed = (1.0, 2.0, 4.0)
        deemed = {0.985: 1.0, 1.49: 1.0, 1.5: 2.0, 2.99: 2.0, 3.0: 4.0, 4.07: 4.0}
        for rating, row in deemed.items():
            assert efficiency.deemed_rating(rating=rating, listed=listed) == row
        for rating in (0.975, 4.09):
            with pytest.raises(InvalidInput):
                efficiency.deemed_rating(rating=rating, listed=listed)

    @pytest.mark.parametrize("horsepower", [0.75, 600])
    def test_outside_the_table(self, horsepower):
        with pytest.raises(InvalidInput):
            at_60_hz(NominalTable.PREMIUM, horsepower, 4, True)


@pytest.mark.parametrize(
    ("horsepower", "poles", "evidence"),
    [(200, 4, "retrieved"), (250, 4, "from memory"), (30, 8, "retrieved"), (40, 8, "from memory")],
)
def test_how_well_a_premium_efficiency_is_known(horsepower, poles, evidence):
    assert premium_evidence(horsepower, poles) == evidence
