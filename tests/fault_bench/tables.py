"""Ratings, efficiencies, power factors and slips that ordinary motors have.

Efficiencies: 50 Hz by the formula of UK SI 2021/745 Schedule 16 Tables 27 and 28 (= EU 2019/1781);
60 Hz by 10 CFR 431.25 Table 1 (= NEMA MG 1 Table 12-12, enclosed). Preferred ratings: IEC 60072-1
and NEMA MG 1 10.32.4. Power factor, slip and no-load current by size: common practice, from memory
(they reproduce the 57 to 65 A of a 50 hp, 460 V motor in NFPA 70 Table 430.250 and catalogues).
"""

from bisect import bisect_right
from math import log, log10

KILOWATTS = (
    0.55, 0.75, 1.1, 1.5, 2.2, 3, 4, 5.5, 7.5, 11, 15, 18.5, 22, 30, 37, 45, 55, 75, 90, 110, 132,
    160, 200, 250, 315, 355, 400, 450, 500,
)  # fmt: skip
HORSEPOWERS = (
    0.75, 1, 1.5, 2, 3, 5, 7.5, 10, 15, 20, 25, 30, 40, 50, 60, 75, 100, 125, 150, 200, 250, 300,
    350, 400, 450, 500, 600,
)  # fmt: skip

FORMULA = {
    ("ie2", 2): (0.2972, -3.3454, 13.0651, 79.077), ("ie2", 4): (0.0278, -1.9247, 10.4395, 80.9761),
    ("ie2", 6): (0.0148, -2.4978, 13.247, 77.5603), ("ie2", 8): (2.1311, -12.029, 26.719, 69.735),
    ("ie3", 2): (0.3569, -3.3076, 11.6108, 82.2503), ("ie3", 4): (0.0773, -1.8951, 9.2984, 83.7025),
    ("ie3", 6): (0.1252, -2.613, 11.9963, 80.4769), ("ie3", 8): (0.7189, -5.1678, 15.705, 77.074),
    ("ie4", 2): (0.34, -3.0479, 10.293, 84.8208), ("ie4", 4): (0.2412, -2.3608, 8.446, 86.8321),
    ("ie4", 6): (0.3598, -3.2107, 10.7933, 84.107), ("ie4", 8): (0.6556, -4.7229, 13.977, 80.247),
}  # fmt: skip

PREMIUM_HP = (1, 1.5, 2, 3, 5, 7.5, 10, 15, 20, 25, 30, 40, 50, 60, 75, 100, 125, 150, 200)
PREMIUM = {
    2: (77.0, 84.0, 85.5, 86.5, 88.5, 89.5, 90.2, 91.0, 91.0, 91.7, 91.7, 92.4, 93.0, 93.6, 93.6,
        94.1, 95.0, 95.0, 95.4),
    4: (85.5, 86.5, 86.5, 89.5, 89.5, 91.7, 91.7, 92.4, 93.0, 93.6, 93.6, 94.1, 94.5, 95.0, 95.4,
        95.4, 95.4, 95.8, 96.2),
    6: (82.5, 87.5, 88.5, 89.5, 89.5, 91.0, 91.0, 91.7, 91.7, 93.0, 93.0, 94.1, 94.1, 94.5, 94.5,
        95.0, 95.0, 95.8, 95.8),
}  # fmt: skip
PREMIUM_ABOVE = {2: 95.8, 4: 96.2, 6: 95.8}
NOMINAL = (
    68.0, 70.0, 72.0, 74.0, 75.5, 77.0, 78.5, 80.0, 81.5, 82.5, 84.0, 85.5, 86.5, 87.5, 88.5, 89.5,
    90.2, 91.0, 91.7, 92.4, 93.0, 93.6, 94.1, 94.5, 95.0, 95.4, 95.8, 96.2, 96.5, 96.8,
)  # fmt: skip
"""Nominal efficiencies that US plates print; NEMA MG 1 Table 12-10, from memory."""


def by_formula(claimed: str, poles: int, kilowatts: float) -> float:
    """Lowest efficiency of a class at 50 Hz [%], unrounded; that of 200 kW above it."""
    if (claimed, poles) == ("ie4", 6) and kilowatts >= 250:
        return 96.5 if kilowatts < 315 else 96.6  # steps of IEC 60034-30-1, from memory
    a, b, c, d = FORMULA[claimed, poles]
    x = log10(min(max(kilowatts, 0.75), 200.0))
    return a * x**3 + b * x**2 + c * x + d


def premium(poles: int, horsepower: float) -> float:
    """Nominal efficiency of a premium motor at 60 Hz [%]; listed ratings, 2 to 6 poles."""
    if horsepower > PREMIUM_HP[-1]:
        return PREMIUM_ABOVE[poles]
    return PREMIUM[poles][PREMIUM_HP.index(horsepower)]


def nominal_step(percent: float, steps: int = 0) -> float:
    """The nominal efficiency at or below a value, so many steps on."""
    index = bisect_right(NOMINAL, percent + 1e-9) - 1
    return NOMINAL[min(max(index + steps, 0), len(NOMINAL) - 1)]


def power_factor(kilowatts: float, poles: int) -> float:
    """At rated load [1]."""
    by_poles = {2: 0.05, 4: 0.0, 6: -0.05, 8: -0.09, 10: -0.12, 12: -0.14}[poles]
    return min(0.735 + 0.03 * log(kilowatts), 0.885) + by_poles * (1.0 if kilowatts < 75 else 0.7)


def slip(kilowatts: float, poles: int) -> float:
    """At rated load [1]."""
    by_poles = 1.0 if poles < 8 else 1.25
    return max(0.045 * kilowatts**-0.36, 0.005) * by_poles


def immersed_slip(kilowatts: float) -> float:
    """Of a motor in a well casing [1]."""
    return 0.065 * kilowatts**-0.13


def immersed_efficiency(kilowatts: float) -> float:
    """Of a motor in a well casing [%]."""
    return min(68.0 + 4.0 * log(1 + kilowatts), 87.0)


def no_load_share(kilowatts: float, poles: int) -> float:
    """No-load over rated current [1]; small motors and many poles have much of it."""
    by_poles = {2: -0.05, 4: 0.0, 6: 0.04, 8: 0.08, 10: 0.1, 12: 0.1}[poles]
    return min(max(0.50 - 0.035 * log(kilowatts + 1), 0.27) + by_poles, 0.58)
