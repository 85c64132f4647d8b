"""Electrical formulas and tables against the library fluids."""

import pytest

from calculations import motors
from calculations import tables_motor_efficiency as tables
from calculations.motor_efficiency import NominalTable, nominal_efficiency_60_hz
from calculations.motors import MECHANICAL_HORSEPOWER as HP

pytestmark = pytest.mark.oracle
pump = pytest.importorskip("fluids.pump")


def test_mechanical_horsepower():
    assert pytest.approx(pump.hp, rel=1e-14) == HP


@pytest.mark.parametrize("frequency", [50, 60])
@pytest.mark.parametrize("poles", [2, 4, 6, 8, 12])
def test_synchronous_speed(frequency, poles):
    ours = 60 * motors.synchronous_speed(frequency=frequency, poles=poles)
    assert ours == pytest.approx(pump.speed_synchronous(frequency, poles=poles))


@pytest.mark.parametrize("phases", [1, 3])
def test_current(phases):
    ours = motors.rated_current(
        power=37e3, voltage=400, efficiency=0.94, power_factor=0.86, phases=phases
    )
    theirs = pump.current_ideal(P=37e3 / 0.94, V=400, phase=phases, PF=0.86)
    assert ours == pytest.approx(theirs)


CELLS = [
    (table, horsepower, poles, enclosed)
    for table, rows in (
        (NominalTable.PREMIUM, tables.PREMIUM),
        (NominalTable.ENERGY_EFFICIENT, tables.ENERGY_EFFICIENT),
    )
    for horsepower, row in rows.items()
    for index, poles in enumerate(tables.POLE_COLUMNS)
    for enclosed in (False, True)
    if row[index + 4 * enclosed] is not None
    # The library's premium table ends at 200 hp and has no 8 poles.
    and (table is NominalTable.ENERGY_EFFICIENT or (horsepower <= 200 and poles <= 6))
]


def test_number_of_cells():
    premium = [cell for cell in CELLS if cell[0] is NominalTable.PREMIUM]
    assert (len(premium), len(CELLS) - len(premium)) == (114, 183)


@pytest.mark.parametrize(("table", "horsepower", "poles", "enclosed"), CELLS)
def test_every_cell_of_the_tables(table, horsepower, poles, enclosed):
    ours = nominal_efficiency_60_hz(
        table=table, poles=poles, enclosed=enclosed, power=horsepower * HP
    )
    theirs = pump.CSA_motor_efficiency(
        horsepower * pump.hp,
        closed=enclosed,
        poles=poles,
        high_efficiency=table is NominalTable.PREMIUM,
    )
    assert ours.efficiency == pytest.approx(theirs, abs=1e-9)
