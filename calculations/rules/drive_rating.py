"""Rules of the drive's rating: what is left of its current at its place, and what tips it."""

from collections.abc import Iterator

from calculations import drives
from calculations.aspects import drive_current
from calculations.case import Case, Missing
from calculations.drives import AvailableCurrent
from calculations.findings import Finding, Severity, Shown
from calculations.rule import Limit, Rule, about, entered, show, within
from calculations.rules.closeness import above, below, rounding
from calculations.rules.scope import has_drive
from calculations.units import Quantity

# -- environment --------------------------------------------------------------------------------


def _environment(case: Case, place: str) -> Iterator[Finding]:
    yield from _too_high(case)
    air: Quantity = case.quantity("/drive/ambient_at_drive")
    stated = case.find("/drive/ambient_max")
    limit = stated.si if stated is not None else drives.AMBIENT_LIMIT
    if not above(air.at_least, limit):
        return
    shown = about(limit, air.unit)
    yield ENVIRONMENT.finding(
        "hot", "review", place,
        compared={"air": air, "limit": shown}, limit=str(shown),
        assumed="" if stated is not None else " (common practice, the drive states none)",
    )  # fmt: skip


def _too_high(case: Case) -> Iterator[Finding]:
    elevation, limit = case.find("/site/elevation"), case.find("/drive/altitude_limit")
    if elevation is None or limit is None or not above(elevation.at_least, limit.si):
        return
    yield ENVIRONMENT.finding(
        "high", "review", "/site/elevation", compared={"elevation": elevation, "limit": limit}
    )


ENVIRONMENT = Rule(
    id="drive.environment",
    title="Air and altitude at the drive against its limits",
    severities=("review",),
    condition="The air inside the cabinet is not warmer than the drive's limit (55 degC where it "
    "states none), and the site not higher than the drive allows.",
    source="the drive's plate; 55 degC: common practice",
    subject="/drive/ambient_at_drive",
    needs=("/drive/ambient_at_drive",),
    waits_for=("site.elevation",),
    applies=has_drive,
    check=_environment,
    sentences={
        "hot": "Air at the drive is {air}; its limit is {limit}{assumed}.",
        "high": "The site lies at {elevation}; the drive may be used up to {limit}.",
    },
    remedies={
        "hot": "Cool the cabinet, clean its filters; read the air beside the drive, not outdoors.",
        "high": "Ask the drive's maker for this altitude, or take another drive.",
    },
)


# -- current ------------------------------------------------------------------------------------

OF_THE_PLACE = ("altitude", "ambient")
"""Factors that nobody can set otherwise: where the load fits what they leave, it is no question."""


def _judge(case: Case, place: str, rule: Rule, told: tuple[str, ...]) -> Iterator[Finding]:
    """A finding if the factor that tips the drive is one that this rule tells."""
    left, lacking = drive_current.available_as_far_as_known(case)
    plate: Quantity = case.quantity("/rating/current")
    least = plate.si * (1 - rounding(plate))
    load = drive_current.highest_load(case, case.limit("drive.rated-current.model"))
    required, severity = _shortfall(left.current, least, load)
    if severity is None:
        for name in told:
            if name in lacking:
                raise Missing(*lacking[name].places, because=lacking[name].because)
        drive_current.require_duty(case, least)
        return
    drive_current.require_normal(case)
    tip = left.tipping_factor(required)
    if tip not in told:
        return
    model = case.limit("drive.rated-current.model")
    if tip in OF_THE_PLACE and drive_current.carries_expected(case, left.current, model):
        severity = "note"
    yield _finding(case, place, rule, left, tip or "", severity)


def _shortfall(left: float, plate: float, load: float | None) -> tuple[float, Severity | None]:
    if load is not None and below(left, load):
        return load, "stop"
    return plate, "review" if below(left, plate) else None


def _finding(
    case: Case, place: str, rule: Rule, left: AvailableCurrent, tip: str, severity: Severity
) -> Finding:
    rated, plate = drive_current.rated_current(case), case.quantity("/rating/current")
    load = drive_current.highest_load(case, 0.0)
    factors = " x ".join(str(about(factor)) for factor in left.factors.values() if factor < 1)
    variant = tip + {"stop": "_load", "note": "_fits"}.get(severity, "")
    compared: dict[str, Shown | Quantity] = {
        "available": about(left.current, plate.unit),
        "rated": rated,
        "plate": plate,
        "load": about(load if load is not None else plate.si, plate.unit),
    }
    maximum = case.find(drive_current.MAXIMUM)
    if maximum is not None:
        compared["maximum"] = maximum
    return rule.finding(
        variant, severity, place,
        compared=compared,
        limit="stop below the highest load, review below the plate",
        factors=f" x {factors}" if factors else "", share=about(left.factors.get(tip, 1.0)),
        limited=_limited(case, left.current), cause=_cause(left, tip),
    )  # fmt: skip


WITH = {
    "single_phase": "On a single phase",
    "altitude": "At this altitude",
    "ambient": "In the air of its cabinet",
    "carrier": "At this carrier frequency",
}


def _cause(left: AvailableCurrent, tip: str) -> str:
    """All that takes from the drive's current, in words: what tips it seldom does so alone."""
    known = [(WITH[name], factor) for name, factor in left.factors.items() if factor < 1]
    if len(known) < 2:
        return f"{WITH.get(tip, '')} (factor {about(left.factors.get(tip, 1.0))})"
    said = [f"{within(words)} ({about(factor)})" for words, factor in known]
    return f"Taken together {', '.join(said[:-1])} and {said[-1]}"


def _limited(case: Case, left: float) -> str:
    """To what the maximum frequency would have to be limited, in words."""
    expected = case.known("load.highest-expected-current")
    if expected is None:
        return "limit the maximum frequency to what the drive carries"
    model = case.limit("drive.rated-current.model")
    carried = drive_current.frequency_carried(case, left, model)
    unit = case.quantity("/rating/current").unit
    drawn = (
        f"{about(expected, unit)} is expected at {entered(case.quantity(drive_current.MAXIMUM))}"
    )
    if carried is None:
        return f"lighten the load ({drawn}, and no lower frequency above the minimum is carried)"
    return f"limit the maximum frequency to {show(carried, 'Hz')} ({drawn})"


_LEFT = "{available} (rated {rated}{factors})"
_PLATE = ", the motor's plate has {plate}."
_LOAD = ", less than the {load} that the motor draws at most."
_FITS = (
    ", the motor's plate has {plate}. At {maximum} {load} is the highest current expected by curve "
    "and plate: that the drive gives."
)


def _sentences(said: dict[str, str]) -> dict[str, str]:
    plain = {name: words + _LEFT + _PLATE for name, words in said.items()}
    return plain | {f"{name}_load": words + _LEFT + _LOAD for name, words in said.items()}


_DERATED = "{cause} the drive gives "
_PLACE = dict.fromkeys(("altitude", "ambient"), _DERATED)
_CURRENT = _sentences({"rated": "The drive is too small for this motor: it gives ", **_PLACE})
_WITHIN = {f"{name}_fits": words + _LEFT + _FITS for name, words in _PLACE.items()}


def _rated_current(case: Case, place: str) -> Iterator[Finding]:
    return _judge(case, place, RATED_CURRENT, ("rated", "altitude", "ambient"))


RATED_CURRENT = Rule(
    id="drive.rated-current",
    title="Drive's current at its place against motor and load",
    severities=("stop", "review", "note"),
    condition="The drive's rated current for its duty, times the factors of altitude, air "
    "temperature, single-phase supply and carrier frequency, reaches the plate's current (review) "
    "and the highest load (stop). Factors multiply; all that are known are named. "
    "A note where altitude or air tips it and all that is expected at the maximum frequency, the "
    "model's doubt included, and all that was read still fits.",
    source="the drive's plate; where it states none, 1 % per 100 m above 1000 m and 1 % per K "
    "above 40 degC: common practice, three drive manuals",
    subject="/drive/rated_current_normal_duty",
    needs=("/rating/current",),
    waits_for=(
        "site.elevation",
        "motor.power-balance",
        "drive.volts-per-hertz",
        "drive.environment",
    ),
    applies=has_drive,
    check=_rated_current,
    limits={"model": Limit(5, "%", "doubt of the expected load", "lower", "from memory")},
    sentences=_CURRENT | _WITHIN,
    remedies={
        **dict.fromkeys(_CURRENT, "Take a larger drive, or {limited}."),
        "rated": "Take a larger drive; where this one is meant to be smaller, set its current "
        "limit to {available} at most and say in the answer why that is enough.",
        **dict.fromkeys(
            _WITHIN,
            "Set the drive's current limit to {available} at most; look again before the maximum "
            "frequency is raised.",
        ),
    },
)


def _on_one_phase(case: Case) -> bool:
    return has_drive(case) and drive_current.is_fed_by_one_phase(case)


_ONE_PHASE = _sentences({"single_phase": _DERATED})


def _single_phase_input(case: Case, place: str) -> Iterator[Finding]:
    return _judge(case, place, SINGLE_PHASE_INPUT, ("single_phase",))


SINGLE_PHASE_INPUT = Rule(
    id="drive.single-phase-input",
    title="Three-phase drive on a single-phase supply",
    severities=("stop", "review"),
    condition="What a three-phase drive gives on one phase (its own rating, else half of its "
    "current) reaches the plate's current (review) and the highest load (stop).",
    source="the drive's plate; half: common practice, several application texts",
    subject="/drive/rated_current_single_phase_supply",
    needs=("/rating/current",),
    waits_for=("motor.power-balance", "drive.volts-per-hertz"),
    applies=_on_one_phase,
    check=_single_phase_input,
    sentences=_ONE_PHASE,
    remedies=dict.fromkeys(
        _ONE_PHASE,
        "Enter the drive's own rating for a single phase, limit the load, or take a larger drive.",
    ),
)


_CARRIER = _sentences({"carrier": _DERATED})


def _carrier_derating(case: Case, place: str) -> Iterator[Finding]:
    return _judge(case, place, CARRIER_DERATING, ("carrier",))


CARRIER_DERATING = Rule(
    id="drive.carrier-derating",
    title="Carrier frequency above that of the drive's rating",
    severities=("stop", "review"),
    condition="What the drive gives at the carrier frequency set, by its manual, reaches the "
    "plate's current (review) and the highest load (stop).",
    source="the drive's manual; there is no general figure",
    subject="/settings/carrier_frequency",
    needs=("/settings/carrier_frequency", "/drive/carrier_at_rating", "/rating/current"),
    waits_for=("motor.power-balance", "drive.volts-per-hertz", "drive.environment"),
    applies=has_drive,
    check=_carrier_derating,
    sentences=_CARRIER,
    remedies=dict.fromkeys(_CARRIER, "Lower the carrier frequency to that of the rating."),
)
