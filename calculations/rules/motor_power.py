"""Rules of a motor's nameplate against itself: power, voltage and current."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial
from math import prod, sqrt

from calculations import motors
from calculations.case import Case
from calculations.errors import CalculationError
from calculations.findings import Finding, Severity
from calculations.inputs.motor import Rating
from calculations.rule import Limit, Rule, about, entered, percent
from calculations.rules import mix_ups
from calculations.rules.closeness import Apart, above, below, rounding, signed_percent
from calculations.rules.scope import (
    has_motor,
    is_immersed,
    is_synchronous,
    may_be_immersed,
)
from calculations.units import IN_SI, Quantity

WIDEST_BAND = (0.45, 0.98)
FACTORS = {"low_tap": 2.0, "high_tap": 0.5, "star": sqrt(3), "delta": 1 / sqrt(3)}
SAME_FREQUENCY = 0.5  # Hz
SAME_CURRENT = 0.005  # as digits are copied
LOWEST_RATIO = 0.2  # of efficiency and power factor, as plates are read


def phases(case: Case) -> int:
    """Three unless the plate says one."""
    return 1 if case.find("/motor/phases") == 1 else 3


# -- power balance ------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Balance:
    """What a plate implies for efficiency times power factor, over what it should be."""

    printed: tuple[Quantity, ...]
    implied: float
    lowest: float
    highest: float

    @property
    def rounding(self) -> float:
        """What the last digits of the plate's figures may change [1]."""
        return sum(map(rounding, self.printed))

    @property
    def apart(self) -> Apart:
        """The implied product over the nearest that is expected."""
        nearest = min(max(self.implied, self.lowest), self.highest)
        ratio = self.implied / nearest
        return Apart(ratio, ratio * self.rounding)

    def with_other(self, quantity: Quantity) -> mix_ups.Fit:
        """The same for another value [SI] of one of the plate's figures."""
        if quantity.kind == "power":
            return lambda value: self.scaled(value / quantity.si)
        return lambda value: self.scaled(quantity.si / value)

    def scaled(self, factor: float) -> Apart:
        """The same with the implied product `factor` times as large."""
        implied = self.implied * factor
        nearest = min(max(implied, self.lowest), self.highest)
        return Apart(implied / nearest, self.rounding)


def _balance(case: Case) -> Balance:
    power, voltage, current = case.require("/rating/power", "/rating/voltage", "/rating/current")
    implied = motors.efficiency_times_power_factor(
        power=power.si, voltage=voltage.si, current=current.si, phases=phases(case)
    )
    stated = _stated_product(case)
    lowest, highest = (stated, stated) if stated else _usual_band(case, power.si)
    printed = (power, voltage, current, *_efficiency_and_power_factor(case))
    return Balance(printed, implied, lowest, highest)


def _efficiency_and_power_factor(case: Case) -> tuple[Quantity, ...]:
    """Both as printed, or nothing where the plate lacks one of them."""
    efficiency, power_factor = case.find("/rating/efficiency"), case.find("/rating/power_factor")
    return (efficiency, power_factor) if efficiency and power_factor else ()


def _stated_product(case: Case) -> float | None:
    printed = _efficiency_and_power_factor(case)
    return prod(each.si for each in printed) if printed else None


def _usual_band(case: Case, power: float) -> tuple[float, float]:
    poles = case.known("motor.poles")
    if case.find("/motor/kind") is None or poles is None:
        return WIDEST_BAND
    places = (True, False) if may_be_immersed(case) else (is_immersed(case),)
    band = partial(motors.ordinary_product_band, power=power, poles=int(poles))
    bands = [band(immersed=each, synchronous=is_synchronous(case)) for each in places]
    return min(low for low, _ in bands), max(high for _, high in bands)


def _power_balance(case: Case, place: str) -> Iterator[Finding]:
    balance = _balance(case)
    severity = _severity_of(case, balance)
    if severity is None:
        return
    power, voltage, current = balance.printed[:3]
    variant, read = _explanation(balance)
    stated = _stated_product(case) is not None
    expected = about(balance.lowest)
    yield POWER_BALANCE.finding(
        variant if stated else f"{variant}_band", severity, place,
        compared={
            "power": power,
            "voltage": voltage,
            "current": current,
            "implied": about(balance.implied),
        },
        limit=_limit_of(case, stated),
        expected=expected if stated else f"{expected} to {about(balance.highest)}",
        deviation=signed_percent(balance.apart.deviation), read=read,
    )  # fmt: skip


def _severity_of(case: Case, balance: Balance) -> Severity | None:
    stated = _stated_product(case) is not None
    note = case.limit("motor.power-balance.note") if stated else 0.0
    review = case.limit("motor.power-balance." + ("review" if stated else "band"))
    if balance.apart.beyond(review) or not below(balance.implied * (1 - balance.rounding), 1):
        return "review"
    if not balance.apart.beyond(note):
        return None
    return "review" if _is_confirmed(case, balance) else "note"


def _is_confirmed(case: Case, balance: Balance) -> bool:
    """Whether the drive is set to the current that the plate has with two digits exchanged."""
    current, chosen = balance.printed[2], case.find("/settings/motor_current")
    read = mix_ups.other_digits(current, balance.with_other(current))
    return bool(read and chosen and not above(abs(chosen.si / read.si - 1), SAME_CURRENT))


def is_contradicted(case: Case) -> bool:
    """Whether power, voltage and current of the plate contradict each other."""
    try:
        return _severity_of(case, _balance(case)) == "review"
    except CalculationError:
        return False


def _limit_of(case: Case, stated: bool) -> str:
    if stated:
        note = case.limit("motor.power-balance.note")
        return f"{percent(note)} note, {percent(case.limit('motor.power-balance.review'))} review"
    return f"{percent(case.limit('motor.power-balance.band'))} outside the usual band"


def _explanation(balance: Balance) -> tuple[str, str]:
    """The likeliest slip of the pen: its variant, and what should be read instead."""
    power = balance.printed[0]
    other = mix_ups.other_power_unit(power, balance.with_other(power))
    if other:
        return "unit", str(entered(other))
    factor = mix_ups.nearest_factor(balance.apart, FACTORS)
    if factor and balance.scaled(1 / FACTORS[factor]).near(1, mix_ups.EXPLAINS):
        return factor, ""
    read = _other_digits(balance)
    return ("digits", read) if read else ("plain", "")


def _other_digits(balance: Balance) -> str:
    """The figure of the plate that fits best with its digits swapped or its point moved."""
    found = []
    power, voltage, current, *ratios = balance.printed
    for order, quantity in enumerate((voltage, current, power, *ratios)):
        fit = balance.with_other(quantity)
        read = mix_ups.other_digits(quantity, fit)
        if read and not (read.kind == "ratio" and not LOWEST_RATIO < read.si <= 1):
            words = f"{entered(read)} instead of {entered(quantity)}"
            found.append((round(abs(fit(read.si).deviation), 3), order, words))
    return min(found)[2] if found else ""


_HINTS = {
    "unit": "Probably {read}, not {power}. ",
    "low_tap": "Probably the voltage of one winding connection with the current of the other. ",
    "high_tap": "Probably the voltage of one winding connection with the current of the other. ",
    "star": "Probably the voltage of delta with the current of star. ",
    "delta": "Probably the voltage of star with the current of delta. ",
    "digits": "Probably {read}. ",
    "plain": "",
}
_BODY = (
    "{power} at {voltage} and {current} means efficiency times power factor of {implied}; the "
    "plate's own figures give {expected} ({deviation})."
)
_BODY_OF_BAND = (
    "{power} at {voltage} and {current} means efficiency times power factor of {implied}; motors "
    "of this kind have {expected}."
)

POWER_BALANCE = Rule(
    id="motor.power-balance",
    title="Power against voltage and current of the plate",
    severities=("review", "note"),
    condition="P / (sqrt(3) U I) agrees with efficiency times power factor of the plate to within "
    "6 % (note) and 12 % (review, also where the drive is set to the current with its digits "
    "exchanged); where the plate lacks one of them, it lies in the band that is "
    "usual for the kind of motor. Product of 1 or more is impossible.",
    source="definition of input power; limits and bands: common practice, from memory",
    scope="nameplate",
    subject="/rating",
    needs=("/rating/power", "/rating/voltage", "/rating/current"),
    waits_for=("motor.single-phase-on-drive",),
    applies=has_motor,
    check=_power_balance,
    limits={
        "note": Limit(6, "%", "difference that is worth a note", "lower", "from memory"),
        "review": Limit(12, "%", "difference that needs an answer", "lower", "from memory"),
        "band": Limit(6, "%", "outside the usual band", "lower", "from memory"),
    },
    sentences={name: hint + _BODY for name, hint in _HINTS.items()}
    | {f"{name}_band": hint + _BODY_OF_BAND for name, hint in _HINTS.items()},
    remedies=dict.fromkeys(
        (*_HINTS, *(f"{name}_band" for name in _HINTS)),
        "Read power with its unit, voltage and current from one line of the plate.",
    ),
)


# -- ratings agree ------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Pair:
    """Two ratings of one frequency: what each takes from the supply, one over the other."""

    place: str
    apart: Apart
    quantities: tuple[Quantity, ...]


def _comparable(case: Case) -> list[tuple[str, Rating]]:
    """Every rating that has voltage, current and frequency, with its place; in use first."""
    in_use = case.place("/rating")
    listed = [(f"/motor/ratings/{i}", r) for i, r in enumerate(case.find("/motor/ratings") or ())]
    found = [(p, r) for p, r in listed if r.voltage and r.current and r.frequency]
    return sorted(found, key=lambda each: each[0] != in_use)


def _pairs(case: Case) -> list[Pair]:
    found = _comparable(case)
    return [
        Pair(place, _of_pair(found[0][1], other), _volts_and_amperes(found[0][1], other))
        for place, other in found[1:]
        if _same_frequency(found[0][1], other)
    ]


def _same_frequency(first: Rating, other: Rating) -> bool:
    if first.frequency is None or other.frequency is None:
        return False
    return abs(first.frequency.si - other.frequency.si) < SAME_FREQUENCY


def _volts_and_amperes(first: Rating, other: Rating) -> tuple[Quantity, ...]:
    named = (first.voltage, first.current, other.voltage, other.current)
    return tuple([each for each in named if each is not None])


def _of_pair(first: Rating, other: Rating) -> Apart:
    """Volts times amperes of the other over the first, allowing for another power."""
    quantities = _volts_and_amperes(first, other)
    voltage, current, other_voltage, other_current = map(IN_SI, quantities)
    ratio = 1 + motors.rating_pair_deviation(
        voltage=voltage, current=current, other_voltage=other_voltage, other_current=other_current
    )
    powers = first.power.si / other.power.si if first.power and other.power else 1.0
    nearest = min(ratio, ratio * powers, key=lambda each: abs(each - 1))
    return Apart(nearest, nearest * sum(rounding(each) for each in quantities))


def has_several_ratings(case: Case) -> bool:
    """Whether the plate has two or more lines of ratings."""
    return len(case.find("/motor/ratings") or ()) > 1


def _ratings_agree(case: Case, place: str) -> Iterator[Finding]:
    limit = case.limit("motor.ratings-agree.difference")
    failing = [pair for pair in _pairs(case) if pair.apart.beyond(limit)]
    if not failing:
        return
    worst = max(failing, key=lambda pair: abs(pair.apart.deviation))
    voltage, current, other_voltage, other_current = worst.quantities
    factor = mix_ups.nearest_factor(worst.apart, FACTORS)
    fit = mix_ups.of(current.si * voltage.si / other_voltage.si)
    read = mix_ups.other_digits(other_current, fit)
    variant = "digits" if read else "factor" if factor else "plain"
    yield RATINGS_AGREE.finding(
        variant, "review", worst.place,
        compared={
            "voltage": voltage,
            "current": current,
            "other_voltage": other_voltage,
            "other_current": other_current,
        },
        limit=percent(limit), deviation=signed_percent(worst.apart.deviation),
        read=entered(read) if read else "", times=about(worst.apart.ratio),
    )  # fmt: skip


_RATINGS = (
    "{other_voltage} with {other_current} does not go with {voltage} and {current}: at the same "
    "frequency volts times amperes should be the same, they differ by {deviation}."
)

RATINGS_AGREE = Rule(
    id="motor.ratings-agree",
    title="Voltages and currents of the plate's ratings agree",
    severities=("review",),
    condition="Two ratings of the same frequency have the same product of voltage and current, to "
    "within 3 % and half of the last digit of each; ratios of 2, 1.73 and any other are ordinary.",
    source="definition: same power, efficiency and power factor",
    scope="nameplate",
    subject="/motor/ratings",
    waits_for=("motor.power-balance",),
    applies=has_several_ratings,
    check=_ratings_agree,
    limits={
        "difference": Limit(3, "%", "products of voltage and current", "lower", "from memory"),
    },
    sentences={
        "digits": "Probably {read} instead of {other_current}. " + _RATINGS,
        "factor": "Probably voltage and current of different connections: they differ {times} "
        "times. " + _RATINGS,
        "plain": _RATINGS,
    },
    remedies=dict.fromkeys(
        ("digits", "factor", "plain"), "Read voltages and currents from the plate again."
    ),
)
