"""The current that the drive can give at its place, factor by factor.

Where a drive states no derating of its own, 1 % per 100 m above 1000 m and 1 % per kelvin above
40 degC are taken, and half of its current on a single phase: common practice.
"""

from collections.abc import Callable, Mapping
from math import ceil

from calculations import drives
from calculations.aspects import load
from calculations.case import Case, Missing, once
from calculations.drives import AvailableCurrent
from calculations.units import Quantity

NORMAL = "/drive/rated_current_normal_duty"
HEAVY = "/drive/rated_current_heavy_duty"
SINGLE = "/drive/rated_current_single_phase_supply"
MAXIMUM = "/settings/maximum_frequency"


def is_fed_by_one_phase(case: Case) -> bool:
    """Whether a drive made for three phases is fed by one."""
    return case.find("/site/supply_phases") == 1 and case.is_("/drive/input_phases", "3")


def rated_current(case: Case) -> Quantity:
    """Rated current of the drive for the duty it is set to; normal duty where none is stated."""
    normal, heavy = case.find(NORMAL), case.find(HEAVY)
    found: Quantity | None = normal or heavy
    if case.is_("/settings/duty_class", "heavy"):
        found = case.quantity(HEAVY)
    if found is None:
        raise Missing(NORMAL)
    return found


def require_normal(case: Case) -> None:
    """`Missing` where only the smaller rating, that for heavy duty, is known of a drive.

    What is too little by it may be enough for normal duty.
    """
    if not case.is_("/settings/duty_class", "heavy"):
        case.require(NORMAL)


def require_duty(case: Case, required: float) -> None:
    """`Missing` where the duty is not known and decides whether `required` [A] is reached."""
    heavy = case.find(HEAVY)
    both = heavy is not None and case.find(NORMAL) is not None
    if both and case.find("/settings/duty_class") is None and heavy.si < required:
        raise Missing(case.place("/settings/duty_class"))


# -- factors ------------------------------------------------------------------------------------


def single_phase(case: Case) -> float:
    """Share of the rated current that is left on a single phase [1]."""
    if not is_fed_by_one_phase(case):
        return 1.0
    rated, stated = rated_current(case).si, case.find(SINGLE)
    left = drives.single_phase_rated_current(
        rated_current=rated, stated=stated.si if stated is not None else None
    )
    return min(left / rated, 1.0)


def altitude(case: Case) -> float:
    """Share that is left at the site's elevation [1]."""
    elevation = case.si("/site/elevation")
    return drives.altitude_factor(
        altitude=elevation,
        start=_or(case, "/drive/derating_start_altitude", drives.ALTITUDE_START),
        loss_per_metre=_or(case, "/drive/derating_per_100m", 0.01) / 100,
        limit=max(elevation, drives.ALTITUDE_LIMIT),
    )


def ambient(case: Case) -> float:
    """Share that is left in the air at the drive [1]."""
    temperature = case.si("/drive/ambient_at_drive")
    return drives.ambient_factor(
        temperature=temperature,
        start=_or(case, "/drive/ambient_rated", drives.AMBIENT_START),
        loss_per_kelvin=_or(case, "/drive/derating_per_K", drives.AMBIENT_LOSS_PER_KELVIN),
        limit=max(temperature, drives.AMBIENT_LIMIT),
    )


def carrier(case: Case) -> float:
    """Share that is left at the carrier frequency set [1]."""
    chosen, at_rating = case.require("/settings/carrier_frequency", "/drive/carrier_at_rating")
    if chosen.si <= at_rating.si:
        return 1.0
    return drives.carrier_factor(
        carrier=chosen.si,
        carrier_at_rating=at_rating.si,
        loss_per_hertz=case.si("/drive/carrier_derating_per_khz") / 1000,
    )


def _or(case: Case, pointer: str, otherwise: float) -> float:
    found = case.find(pointer)
    return otherwise if found is None else float(found.si)


FACTORS: Mapping[str, Callable[[Case], float]] = {
    "single_phase": single_phase,
    "altitude": altitude,
    "ambient": ambient,
    "carrier": carrier,
}


# -- what is left -------------------------------------------------------------------------------


def available(case: Case) -> AvailableCurrent:
    """What the drive can give with every factor; `Missing` where one is not known."""
    known = {name: factor(case) for name, factor in FACTORS.items()}
    return drives.available_current(rated_current=rated_current(case).si, factors=known)


@once
def available_as_far_as_known(case: Case) -> tuple[AvailableCurrent, dict[str, Missing]]:
    """What it can give with the factors that are known, and what the others lack."""
    known, lacking = {}, {}
    for name, factor in FACTORS.items():
        try:
            known[name] = factor(case)
        except Missing as missing:
            lacking[name] = missing.with_traceback(None)  # which holds this frame
    rated = rated_current(case).si
    return drives.available_current(rated_current=rated, factors=known), lacking


@once
def highest_load(case: Case, model_share: float) -> float | None:
    """Highest motor current in service [A]: as read, or as expected less the model's share [1].

    At most what the plate allows: a motor that draws more is another finding.
    """
    reading, expected = load.highest_reading(case), case.known("load.highest-expected-current")
    currents = [reading[1].si] if reading else []
    if expected is not None:
        currents.append(expected * (1 - model_share))
    return min(max(currents), load.highest_plate_current(case).si) if currents else None


def carries_expected(case: Case, left: float, model_share: float) -> bool:
    """Whether what is left [A] carries all that was read and, the model's share [1] more, expected.

    False where nothing can be expected.
    """
    expected, reading = case.known("load.highest-expected-current"), load.highest_reading(case)
    if expected is None or (reading is not None and reading[1].si > left):
        return False
    return expected * (1 + model_share) <= left


def frequency_carried(case: Case, left: float, model_share: float) -> float | None:
    """Highest frequency [Hz], by halves, at which the drive carries what is then expected.

    None where nothing can be expected, or not even the minimum frequency is carried.
    """
    if case.known("load.highest-expected-current") is None:
        return None
    lowest, highest = case.find("/settings/minimum_frequency"), case.si(MAXIMUM)
    first = ceil(2 * lowest.si) if lowest is not None else 2
    for half in range(int(2 * highest), first - 1, -1):
        if load.highest_current_at(case, half / 2) * (1 + model_share) <= left:
            return half / 2
    return None
