"""Table 430.250 of NFPA 70 and the plate beside it."""

import pytest

from calculations import full_load_current as flc
from calculations.errors import InvalidInput
from calculations.motors import MECHANICAL_HORSEPOWER as HP
from tests.calculations.comparing import Near, assert_matches
from tests.calculations.worked_examples import Case, worked


def listed(horsepower: float, voltage: float) -> float:
    return flc.table_full_load_current(power=horsepower * HP, voltage=voltage)


@worked("full_load_current", "1 motor: NEC Table 430.250 full-load current")
def test_example_of_the_table(case: Case) -> None:
    horsepower = case["inputs"]["P_hp"]
    assert_matches(case, I_230V_A=listed(horsepower, 230), I_460V_A=listed(horsepower, 460))


# NFPA 70 (2008) Table 430.250 read column by column, as that page prints it; the module holds rows.
HORSEPOWERS = (
    0.5, 0.75, 1, 1.5, 2, 3, 5, 7.5, 10, 15, 20, 25, 30, 40, 50, 60, 75, 100, 125, 150, 200,
    250, 300, 350, 400, 450, 500,
)  # fmt: skip
COLUMNS = {
    115: (0.5, "4.4 6.4 8.4 12.0 13.6"),
    200: (
        0.5,
        "2.5 3.7 4.8 6.9 7.8 11.0 17.5 25.3 32.2 48.3 62.1 78.2 92 120 150 177 221 285 359 414 552",
    ),
    208: (
        0.5,
        "2.4 3.5 4.6 6.6 7.5 10.6 16.7 24.2 30.8 46.2 59.4 74.8 88 114 143 169 211 273 343 396 528",
    ),
    230: (
        0.5,
        "2.2 3.2 4.2 6.0 6.8 9.6 15.2 22 28 42 54 68 80 104 130 154 192 248 312 360 480",
    ),
    460: (
        0.5,
        "1.1 1.6 2.1 3.0 3.4 4.8 7.6 11 14 21 27 34 40 52 65 77 96 124 156 180 240 "
        "302 361 414 477 515 590",
    ),
    575: (
        0.5,
        "0.9 1.3 1.7 2.4 2.7 3.9 6.1 9 11 17 22 27 32 41 52 62 77 99 125 144 192 "
        "242 289 336 382 412 472",
    ),
    2300: (60, "16 20 26 31 37 49 60 72 83 95 103 118"),
}


@pytest.mark.parametrize("voltage", COLUMNS)
def test_column_as_printed(voltage):
    first, text = COLUMNS[voltage]
    printed = [float(cell) for cell in text.split()]
    start = HORSEPOWERS.index(first)
    with_figure = HORSEPOWERS[start : start + len(printed)]
    assert [listed(horsepower, voltage) for horsepower in with_figure] == printed
    for horsepower in set(HORSEPOWERS) - set(with_figure):
        with pytest.raises(InvalidInput):
            listed(horsepower, voltage)


@pytest.mark.parametrize("horsepower", HORSEPOWERS)
def test_a_size_is_listed_as_itself_and_two_percent_around(horsepower):
    # Half of a percent inside and outside of the allowance for kilowatt plates, which is our own.
    for share in (0.985, 1.0, 1.015):
        assert flc.listed_horsepower(power=share * horsepower * HP) == horsepower
    for share in (0.975, 1.025):
        with pytest.raises(InvalidInput):
            flc.listed_horsepower(power=share * horsepower * HP)


@pytest.mark.parametrize(
    ("horsepower", "voltage", "wrong", "right"),
    [(1.5, 575, 2.1, 2.4), (0.5, 230, 2.1, 2.2), (500, 460, 116, 590), (0.75, 230, 3.1, 3.2)],
)
def test_typing_errors_of_public_copies(horsepower, voltage, wrong, right):
    assert listed(horsepower, voltage) == right != wrong


@pytest.mark.parametrize(
    ("voltage", "column"),
    [
        *((110, 115), (120, 115), (220, 230), (240, 230)),
        *((440, 460), (480, 460), (550, 575), (600, 575)),
    ],
)
def test_system_voltages_may_use_a_column(voltage, column):
    assert listed(2, voltage) == listed(2, column)


@pytest.mark.parametrize(
    "voltage",
    [
        *(400, 415, 380, 690, 4160),
        # Half a volt beside the heading's limits.
        *(109.5, 120.5, 199.5, 200.5, 207.5, 208.5, 219.5, 240.5, 439.5, 480.5, 549.5, 600.5),
        *(2299.5, 2300.5),
    ],
)
def test_other_voltages_have_no_column(voltage):
    with pytest.raises(InvalidInput, match="no column") as raised:
        listed(10, voltage)
    assert raised.value.argument == "voltage"


@pytest.mark.parametrize(("kilowatt", "current"), [(37, 65), (0.75, 2.1), (0.746, 2.1)])
def test_kilowatt_plates_of_listed_sizes(kilowatt, current):
    assert flc.table_full_load_current(power=1000 * kilowatt, voltage=460) == current


def test_a_size_between_rows_is_not_listed():
    with pytest.raises(InvalidInput, match=r"35 hp is not listed") as raised:
        listed(35, 460)
    assert raised.value.argument == "power"


def test_modern_motor_draws_less_than_the_table():
    # 50 hp at 460 V: 57.6 A on the plate, 65 A in the table.
    ratio = flc.nameplate_ratio(nameplate_current=57.6, table_current=listed(50, 460))
    assert Near(ratio, absolute=1e-4) == 0.8862
    band = flc.ordinary_ratio_band(poles=4, immersed=False)
    assert band is not None
    assert band.lowest < ratio < band.highest


@pytest.mark.parametrize(
    ("poles", "immersed", "highest"),
    [(2, False, 1.15), (6, False, 1.15), (8, False, 1.30), (2, True, 1.35), (10, True, 1.35)],
)
def test_bands(poles, immersed, highest):
    # Common practice, from memory: a 5 hp 8-pole motor draws 1.19 times the table.
    band = flc.ordinary_ratio_band(poles=poles, immersed=immersed)
    assert band == flc.RatioBand(0.60, highest)


def test_slow_dry_motors_are_not_judged():
    # NFPA 70 430.6(A): motors below 1200 rpm go by their plate.
    assert flc.ordinary_ratio_band(poles=10, immersed=False) is None
