"""Rules of a motor's nameplate against itself."""

from collections.abc import Iterator

from calculations import motors
from calculations.case import Case
from calculations.findings import Finding, Shown
from calculations.rule import Limit, Rule, percent, show

SYNCHRONOUS = ("permanent_magnet", "synchronous_reluctance", "pm_assisted_reluctance")
SMALL_MOTOR = 750.0  # W; below it slips up to 15 % are ordinary
POLE_COUNTS = (2, 4, 6, 8, 10, 12)
MAINS = (50.0, 60.0)


def has_slip(case: Case) -> bool:
    """Whether the motor is of a kind that runs with slip."""
    return case.is_("/motor/kind", "induction", "wound_rotor")


def _largest_slip(case: Case) -> float:
    power = case.find("/rating/power")
    small = power is not None and power.si < SMALL_MOTOR
    return case.limit("motor.slip.small" if small else "motor.slip.large")


def _fits(case: Case, frequency: float) -> list[tuple[int, float]]:
    """Pole counts whose slip at `frequency` [Hz] is ordinary, with that slip."""
    speed = case.si("/rating/speed")
    stated = case.find("/motor/poles")
    counts = (stated,) if stated else POLE_COUNTS
    slips = [(p, motors.slip(speed=speed, frequency=frequency, poles=p)) for p in counts]
    return [(p, s) for p, s in slips if 0 < s <= _largest_slip(case)]


def _other_mains(case: Case) -> float:
    frequency = case.si("/rating/frequency")
    return MAINS[1] if abs(frequency - MAINS[0]) < 1 else MAINS[0]


def _slip(case: Case, place: str) -> Iterator[Finding]:
    speed, frequency = case.quantity("/rating/speed"), case.quantity("/rating/frequency")
    fits = _fits(case, frequency.si)
    compared = {"speed": speed, "frequency": frequency}
    if fits:
        slip = fits[0][1]
        if slip < case.limit("motor.slip.smallest"):
            yield SLIP.finding("small", "note", place, compared=compared, slip=percent(slip))
        return
    other = _other_mains(case)
    elsewhere = _fits(case, other)
    limit = f"0 to {percent(_largest_slip(case))}"
    if elsewhere:
        poles, slip = elsewhere[0]
        compared |= {"other": show(other, "Hz")}
        yield SLIP.finding(
            "other_mains", "review", place,
            compared=compared, limit=limit, poles=poles, slip=percent(slip), range=limit,
        )  # fmt: skip
    elif case.find("/motor/poles"):
        yield _slip_of_stated_poles(case, place, limit)
    else:
        yield SLIP.finding("no_poles", "review", place, compared=compared, limit=limit, range=limit)


def _slip_of_stated_poles(case: Case, place: str, limit: str) -> Finding:
    speed, frequency = case.quantity("/rating/speed"), case.quantity("/rating/frequency")
    poles = int(case.require("/motor/poles")[0])
    synchronous = motors.synchronous_speed(frequency=frequency.si, poles=poles)
    variant = "above_synchronous" if speed.si >= synchronous else "stated_poles"
    slip = motors.slip(speed=speed.si, frequency=frequency.si, poles=poles)
    compared = {
        "speed": speed,
        "frequency": frequency,
        "poles": Shown(str(poles), "1"),
        "synchronous": show(synchronous, "rpm", 5),
    }
    return SLIP.finding(
        variant, "review", place, compared=compared, limit=limit, slip=percent(slip), range=limit
    )


SLIP = Rule(
    id="motor.slip",
    title="Rated speed against frequency and pole count",
    severities=("review", "note"),
    condition="Slip at rated load lies between 0 and 10 % (15 % below 0.75 kW) for the pole count "
    "of the plate, or for some pole count where the plate states none.",
    source="definition of slip; usual range of rated slip: common practice, from memory",
    scope="nameplate",
    subject="/rating",
    needs=("/rating/speed", "/rating/frequency"),
    applies=has_slip,
    check=_slip,
    limits={
        "large": Limit(10, "%", "largest slip from 0.75 kW", "lower", "from memory"),
        "small": Limit(15, "%", "largest slip below 0.75 kW", "lower", "from memory"),
        "smallest": Limit(0.2, "%", "smallest slip that is ordinary", "higher", "from memory"),
    },
    sentences={
        "other_mains": "Rated speed {speed} does not fit {frequency}: no slip in the range "
        "{range}; it fits a {poles}-pole motor at {other} (slip {slip}).",
        "no_poles": "Rated speed {speed} does not fit {frequency}: no pole count gives a slip in "
        "the range {range}.",
        "stated_poles": "Rated speed {speed} does not fit {poles} poles at {frequency}: "
        "synchronous speed is {synchronous}, the slip would be {slip} (usual: {range}).",
        "above_synchronous": "Rated speed {speed} is not below the synchronous speed "
        "{synchronous} of {poles} poles at {frequency}: an induction motor runs slower than that.",
        "small": "Slip of {slip} at {speed} and {frequency} is unusually small for an induction "
        "motor: read the rated speed, not the no-load speed.",
    },
    remedies={
        "other_mains": "Read rated frequency and rated speed from the same line of the plate.",
        "no_poles": "Read speed and frequency from the plate again.",
        "stated_poles": "Read speed, frequency and poles from the plate again.",
        "above_synchronous": "Enter the rated (full-load) speed, not the synchronous speed.",
    },
)
