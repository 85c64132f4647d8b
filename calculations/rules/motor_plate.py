"""Rules of a motor's nameplate against itself: speed, frequency and poles."""

from collections.abc import Iterator

from calculations import motors
from calculations.case import Case, Waits, once
from calculations.errors import CalculationError
from calculations.findings import Finding, Shown
from calculations.rule import Limit, Rule, percent, rpm, show
from calculations.rules.closeness import Apart, above, below, signed_percent
from calculations.rules.scope import has_motor, has_slip, is_synchronous, may_have_slip
from calculations.units import Quantity

SMALL_MOTOR = 750.0  # W; below it slips up to 15 % are ordinary
LARGE_MOTOR = 15e3  # W; from it on 7 % are not
POLE_COUNTS = (2, 4, 6, 8, 10, 12)
MAINS = (50.0, 60.0)

Fits = list[tuple[int, float]]


def largest_slip(case: Case) -> float:
    """Largest ordinary slip at rated load [1]; larger motors slip less, if not made to slip."""
    power = case.find("/rating/power")
    if power is not None and power.si < SMALL_MOTOR:
        return case.limit("motor.slip.small")
    if power is not None and power.si >= LARGE_MOTOR and not _made_to_slip(case):
        return case.limit("motor.slip.from-15-kw")
    return case.limit("motor.slip.large")


def _made_to_slip(case: Case) -> bool:
    return case.is_("/motor/design_letter", "D") or case.is_("/motor/kind", "wound_rotor")


def _fits(case: Case, frequency: float, counts: tuple[int, ...]) -> Fits:
    """Those of `counts` whose slip at `frequency` [Hz] is ordinary, with that slip."""
    speed: Quantity = case.quantity("/rating/speed")
    slips = [(p, motors.slip(speed=speed.si, frequency=frequency, poles=p)) for p in counts]
    rounding = speed.resolution / speed.si
    return [(p, s) for p, s in slips if s > 0 and not above(s, largest_slip(case) + rounding)]


def _stated_poles(case: Case) -> int | None:
    stated = case.find("/motor/poles")
    return int(stated) if stated else None


def _counts(case: Case) -> tuple[int, ...]:
    stated = _stated_poles(case)
    return (stated,) if stated else POLE_COUNTS


def other_mains(frequency: float) -> float:
    """The mains frequency [Hz] that is meant if `frequency` [Hz] is not."""
    return MAINS[1] if abs(frequency - MAINS[0]) < 1 else MAINS[0]


@once
def _read_on_the_plate(case: Case) -> tuple[Quantity, Quantity, Fits, Fits]:
    """Speed, frequency, and what fits them at this and at the other mains frequency."""
    speed, frequency = case.quantity("/rating/speed"), case.quantity("/rating/frequency")
    here = _fits(case, frequency.si, _counts(case))
    elsewhere = _fits(case, other_mains(frequency.si), _counts(case))
    return speed, frequency, here, elsewhere


# -- slip ---------------------------------------------------------------------------------------


def _slip(case: Case, place: str) -> Iterator[Finding]:
    speed, frequency, here, elsewhere = _read_on_the_plate(case)
    if here:
        yield from _small_slip(case, place, here[0][1])
    elif elsewhere:
        yield _other_mains(case, place, elsewhere[0])
    elif not _stated_poles(case):
        yield SLIP.finding(
            "no_poles", "review", place,
            compared={"speed": speed, "frequency": frequency}, limit=_limit(case),
            range=_limit(case),
        )  # fmt: skip
    elif not _fits(case, frequency.si, POLE_COUNTS):
        yield _slip_of_stated_poles(case, place)


def _limit(case: Case) -> str:
    return f"0 to {percent(largest_slip(case))}"


def _small_slip(case: Case, place: str, slip: float) -> Iterator[Finding]:
    if below(slip, case.limit("motor.slip.smallest")):
        speed, frequency = case.quantity("/rating/speed"), case.quantity("/rating/frequency")
        compared = {"speed": speed, "frequency": frequency}
        yield SLIP.finding("small", "note", place, compared=compared, slip=percent(slip))


def _other_mains(case: Case, place: str, fit: tuple[int, float]) -> Finding:
    speed, frequency = case.quantity("/rating/speed"), case.quantity("/rating/frequency")
    other = show(other_mains(frequency.si), "Hz")
    limit = _limit(case)
    return SLIP.finding(
        "other_mains", "review", place,
        compared={"speed": speed, "frequency": frequency, "other": other},
        limit=limit, poles=fit[0], slip=percent(fit[1]), range=limit,
    )  # fmt: skip


def _slip_of_stated_poles(case: Case, place: str) -> Finding:
    speed, frequency = case.quantity("/rating/speed"), case.quantity("/rating/frequency")
    poles = int(case.require("/motor/poles")[0])
    synchronous = motors.synchronous_speed(frequency=frequency.si, poles=poles)
    slip = motors.slip(speed=speed.si, frequency=frequency.si, poles=poles)
    return SLIP.finding(
        "above_synchronous" if speed.si >= synchronous else "stated_poles", "review", place,
        compared={
            "speed": speed,
            "frequency": frequency,
            "poles": Shown(str(poles), "1"),
            "synchronous": rpm(synchronous),
        },
        limit=_limit(case), slip=percent(slip), range=_limit(case),
    )  # fmt: skip


SLIP = Rule(
    id="motor.slip",
    title="Rated speed against frequency and pole count",
    severities=("review", "note"),
    condition="Slip at rated load lies between 0 and 10 % (15 % below 0.75 kW, 7 % from 15 kW if "
    "the motor is not made to slip: design D, slip rings) for the pole count of the plate, or for "
    "some pole count where the plate states none.",
    source="definition of slip; usual range of rated slip: common practice, from memory",
    scope="nameplate",
    subject="/rating",
    needs=("/motor/kind", "/rating/speed", "/rating/frequency"),
    applies=may_have_slip,
    check=_slip,
    limits={
        "large": Limit(10, "%", "largest slip from 0.75 kW", "lower", "from memory"),
        "from-15-kw": Limit(7, "%", "largest slip from 15 kW", "lower", "from memory"),
        "small": Limit(15, "%", "largest slip below 0.75 kW", "lower", "from memory"),
        "smallest": Limit(0.2, "%", "smallest slip that is ordinary", "higher", "from memory"),
    },
    sentences={
        "other_mains": "Rated speed {speed} does not fit {frequency}: no slip in the range "
        "{range}; it fits a motor of {poles} poles at {other} (slip {slip}).",
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


# -- poles --------------------------------------------------------------------------------------


def _poles(case: Case, place: str) -> Iterator[Finding]:
    if is_synchronous(case):
        yield from _poles_of_synchronous(case, place)
    elif has_slip(case) and _stated_poles(case):
        yield from _poles_against_speed(case, place)
    elif has_slip(case):
        yield from _two_readings(case, place)


def _poles_against_speed(case: Case, place: str) -> Iterator[Finding]:
    """The speed fits the frequency, but another pole count: slip says the rest."""
    speed, frequency, here, elsewhere = _read_on_the_plate(case)
    others = [] if here or elsewhere else _fits(case, frequency.si, POLE_COUNTS)
    if not others:
        return
    fitting, slip = others[0]
    stated = Shown(str(_stated_poles(case)), "1")
    yield POLES.finding(
        "other_count", "review", place,
        compared={"speed": speed, "frequency": frequency, "poles": stated},
        limit=_limit(case), fitting=fitting, slip=percent(slip),
    )  # fmt: skip


def _two_readings(case: Case, place: str) -> Iterator[Finding]:
    """Slow motors fit both mains frequencies, each with another pole count."""
    speed, frequency, here, elsewhere = _read_on_the_plate(case)
    if not (here and elsewhere):
        return
    (poles, slip), (other_poles, other_slip) = here[0], elsewhere[0]
    other = show(other_mains(frequency.si), "Hz")
    yield POLES.finding(
        "both", "note", place,
        compared={"speed": speed, "frequency": frequency, "other": other},
        poles=poles, slip=percent(slip), other_poles=other_poles, other_slip=percent(other_slip),
    )  # fmt: skip


def _poles_of_synchronous(case: Case, place: str) -> Iterator[Finding]:
    speed, frequency = case.quantity("/rating/speed"), case.quantity("/rating/frequency")
    poles = int(case.require("/motor/poles")[0])
    synchronous = motors.synchronous_speed(frequency=frequency.si, poles=poles)
    found = Apart(speed.si / synchronous, speed.resolution / synchronous)
    if not found.beyond(case.limit("motor.poles.synchronous")):
        return
    true_frequency = speed.si * poles / 2
    fitting = 2 * round(frequency.si / speed.si)
    agrees = fitting >= 2 and not above(abs(speed.si * fitting / 2 / frequency.si - 1), 0.005)
    yield POLES.finding(
        "other_synchronous" if agrees else "synchronous", "review", place,
        compared={
            "speed": speed,
            "frequency": frequency,
            "poles": Shown(str(poles), "1"),
            "synchronous": rpm(synchronous),
        },
        limit=percent(case.limit("motor.poles.synchronous")),
        deviation=signed_percent(found.deviation),
        fitting=fitting, true_frequency=show(true_frequency, "Hz"),
    )  # fmt: skip


@once
def contradiction(case: Case) -> str:
    """The rule by which speed, frequency and pole count of the plate contradict each other."""
    if case.find("/motor/kind") is None:
        return ""  # neither rule is judged
    try:
        slip = _slip(case, "/rating") if may_have_slip(case) else ()
        found = [*slip, *_poles(case, "/rating")]
    except CalculationError:
        return ""
    return next((each.rule for each in found if each.severity != "note"), "")


@once
def doubt(case: Case) -> str:
    """The contradiction of the plate that nobody accepted as it is."""
    found = contradiction(case)
    return "" if found in case.accepted else found


def require_consistent(case: Case) -> None:
    """Raise `Waits` where what follows from the plate's speed is in doubt."""
    if found := doubt(case):
        raise Waits(found)


POLES = Rule(
    id="motor.poles",
    title="Pole count against speed and frequency",
    severities=("review", "note"),
    condition="The pole count of the plate is one with which its speed fits its frequency; a "
    "synchronous motor runs at 120 f / p to within 0.5 %.",
    source="definition of synchronous speed; usual range of rated slip: common practice, from "
    "memory",
    scope="nameplate",
    subject="/rating",
    needs=("/motor/kind", "/rating/speed", "/rating/frequency"),
    waits_for=("motor.slip",),
    applies=has_motor,
    check=_poles,
    limits={
        "synchronous": Limit(0.5, "%", "speed of a synchronous motor", "lower", "common practice"),
    },
    sentences={
        "other_count": "Rated speed {speed} at {frequency} is that of a motor of {fitting} poles "
        "(slip {slip}); the plate is entered with {poles} poles.",
        "both": "Rated speed {speed} fits {poles} poles at {frequency} (slip {slip}) as well as "
        "{other_poles} poles at {other} (slip {other_slip}): enter the pole count of the plate.",
        "synchronous": "{poles} poles at {frequency} turn at {synchronous}, the plate has {speed} "
        "({deviation}): for this speed the frequency would be {true_frequency}.",
        "other_synchronous": "{speed} at {frequency} is the speed of {fitting} poles; the plate is "
        "entered with {poles} poles, which would turn at {synchronous}.",
    },
    remedies={
        "other_count": "Read the pole count again, or count {fitting} poles.",
        "synchronous": "Read speed, frequency and poles from the plate again; the rated frequency "
        "of such a motor need not be that of the mains.",
        "other_synchronous": "Read the pole count again.",
    },
)
