"""Full-load currents that NFPA 70 prescribes for sizing, and how a plate compares with them.

US practice, three-phase induction motors. The table sizes conductors and short-circuit protection;
overload protection goes by the plate. Modern motors draw less than the table.
"""

from bisect import bisect
from dataclasses import dataclass

from calculations import guards, motor_guards
from calculations.errors import InvalidInput
from calculations.motors import MECHANICAL_HORSEPOWER

VOLTAGE_COLUMNS: tuple[tuple[float, float], ...] = (
    (110.0, 120.0),
    (200.0, 200.0),
    (208.0, 208.0),
    (220.0, 240.0),
    (440.0, 480.0),
    (550.0, 600.0),
    (2300.0, 2300.0),
)
"""Voltages that may use each column [V], from and to; NFPA70 Table 430.250, heading."""

TABLE_430_250: dict[float, tuple[float | None, ...]] = {
    0.5: (4.4, 2.5, 2.4, 2.2, 1.1, 0.9, None),
    0.75: (6.4, 3.7, 3.5, 3.2, 1.6, 1.3, None),
    1.0: (8.4, 4.8, 4.6, 4.2, 2.1, 1.7, None),
    1.5: (12.0, 6.9, 6.6, 6.0, 3.0, 2.4, None),
    2.0: (13.6, 7.8, 7.5, 6.8, 3.4, 2.7, None),
    3.0: (None, 11.0, 10.6, 9.6, 4.8, 3.9, None),
    5.0: (None, 17.5, 16.7, 15.2, 7.6, 6.1, None),
    7.5: (None, 25.3, 24.2, 22.0, 11.0, 9.0, None),
    10.0: (None, 32.2, 30.8, 28.0, 14.0, 11.0, None),
    15.0: (None, 48.3, 46.2, 42.0, 21.0, 17.0, None),
    20.0: (None, 62.1, 59.4, 54.0, 27.0, 22.0, None),
    25.0: (None, 78.2, 74.8, 68.0, 34.0, 27.0, None),
    30.0: (None, 92.0, 88.0, 80.0, 40.0, 32.0, None),
    40.0: (None, 120.0, 114.0, 104.0, 52.0, 41.0, None),
    50.0: (None, 150.0, 143.0, 130.0, 65.0, 52.0, None),
    60.0: (None, 177.0, 169.0, 154.0, 77.0, 62.0, 16.0),
    75.0: (None, 221.0, 211.0, 192.0, 96.0, 77.0, 20.0),
    100.0: (None, 285.0, 273.0, 248.0, 124.0, 99.0, 26.0),
    125.0: (None, 359.0, 343.0, 312.0, 156.0, 125.0, 31.0),
    150.0: (None, 414.0, 396.0, 360.0, 180.0, 144.0, 37.0),
    200.0: (None, 552.0, 528.0, 480.0, 240.0, 192.0, 49.0),
    250.0: (None, None, None, None, 302.0, 242.0, 60.0),
    300.0: (None, None, None, None, 361.0, 289.0, 72.0),
    350.0: (None, None, None, None, 414.0, 336.0, 83.0),
    400.0: (None, None, None, None, 477.0, 382.0, 95.0),
    450.0: (None, None, None, None, 515.0, 412.0, 103.0),
    500.0: (None, None, None, None, 590.0, 472.0, 118.0),
}
"""Horsepower: current [A] by column of `VOLTAGE_COLUMNS`; NFPA70 Table 430.250, induction type.
Retrieved from a print of the 2008 edition and two other copies; several public copies have typing
errors, kept out here by the tests."""

SAME_RATING = 0.02
"""Difference [1] within which a power is the listed horsepower: 0.746 kW for 1 hp, 37 kW for 50."""


LISTED = sorted(TABLE_430_250)


@dataclass(frozen=True, slots=True)
class RatioBand:
    """Lowest and highest ordinary ratio [1] of plate current to table current."""

    lowest: float
    highest: float


DRY_BAND = RatioBand(0.60, 1.15)
"""Dry motors of 2 to 6 poles; common practice, from memory."""

EIGHT_POLE_BAND = RatioBand(0.60, 1.30)
"""Dry motors of 8 poles; common practice, from memory."""

IMMERSED_BAND = RatioBand(0.60, 1.35)
"""Motors that run in the liquid; common practice, from memory."""


def listed_horsepower(*, power: float) -> float:
    """Horsepower under which the table lists a motor.

    power: rated shaft power [W], above 0.
    Returns the horsepower [hp of the table].
    Raises InvalidInput for a power that is not within 2 % of a listed one.
    Source: NFPA70 Table 430.250; the allowance is for kilowatt plates, our own.
    """
    guards.positive(power=power)
    horsepower = power / MECHANICAL_HORSEPOWER
    above = bisect(LISTED, horsepower)
    neighbours = LISTED[max(above - 1, 0) : above + 1]
    nearest = min(neighbours, key=lambda listed: abs(listed - horsepower) / listed)
    if abs(nearest - horsepower) > SAME_RATING * nearest:
        raise InvalidInput("power", f"{horsepower:.4g} hp is not listed in Table 430.250")
    return nearest


def table_full_load_current(*, power: float, voltage: float) -> float:
    """Full-load current that the code takes for a three-phase induction motor.

    power: rated shaft power [W], one of the listed horsepowers, 1/2 to 500 hp.
    voltage: rated or system voltage, line to line [V], in a range of `VOLTAGE_COLUMNS`.
    Returns the current [A].
    Raises InvalidInput for a power or voltage that is not listed, or not together.
    Source: NFPA70 Table 430.250.
    """
    guards.positive(voltage=voltage)
    horsepower = listed_horsepower(power=power)
    current = TABLE_430_250[horsepower][_column(voltage)]
    if current is None:
        raise InvalidInput(
            "voltage", f"no current is listed for {horsepower:g} hp at {voltage:g} V"
        )
    return current


def _column(voltage: float) -> int:
    for index, (lowest, highest) in enumerate(VOLTAGE_COLUMNS):
        if lowest <= voltage <= highest:
            return index
    raise InvalidInput("voltage", f"{voltage:g} V belongs to no column of Table 430.250")


def nameplate_ratio(*, nameplate_current: float, table_current: float) -> float:
    """Current on the plate over the current of the table.

    nameplate_current: [A], above 0.
    table_current: from `table_full_load_current` [A], above 0.
    Returns the ratio [1].
    Raises InvalidInput outside these ranges.
    Source: definition.
    """
    guards.positive(nameplate_current=nameplate_current, table_current=table_current)
    return nameplate_current / table_current


def ordinary_ratio_band(
    *,
    poles: int,
    immersed: bool,
    dry_band: RatioBand = DRY_BAND,
    eight_pole_band: RatioBand = EIGHT_POLE_BAND,
    immersed_band: RatioBand = IMMERSED_BAND,
) -> RatioBand | None:
    """Band in which the ratio of plate to table current lies without a question.

    poles: number of poles [1], even, at least 2.
    immersed: whether the motor runs in the liquid.
    dry_band, eight_pole_band, immersed_band: the bands to choose from [1].
    Returns the band, or None where the table says nothing: dry motors of 10 poles or more. A ratio
    outside is worth a remark, never more: the code itself sends motors below 1200 rpm to the plate.
    Raises InvalidInput outside the range.
    Source: common practice, from memory.
    """
    motor_guards.poles(poles)
    if immersed:
        return immersed_band
    if poles > 8:
        return None
    return eight_pole_band if poles == 8 else dry_band
