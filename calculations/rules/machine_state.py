"""Rules of the machine as it was looked at and felt: checks, temperatures, vibration."""

from collections.abc import Iterator
from typing import NamedTuple

from calculations.aspects.duty import POINTS
from calculations.case import Case, Missing
from calculations.constants import ICE_POINT
from calculations.findings import Finding, Severity
from calculations.rule import Limit, Rule, about, show
from calculations.rules.closeness import above
from calculations.units import Quantity

CHECKS = "/event/mechanical_checks"

# -- checks -------------------------------------------------------------------------------------


class Defect(NamedTuple):
    """What a check found not in order: its severity, in words, and what to do."""

    severity: Severity
    words: str
    remedy: str


DEFECTS = {
    "guard_fitted": Defect(
        "stop", "The guard over the turning parts is not fitted: they catch hands and clothes.",
        "Isolate and lock off; fit the guard before the machine may start, also by itself.",
    ),
    "coupling_aligned": Defect(
        "review", "The coupling is not aligned: that shakes the set and wears bearings and seal.",
        "Isolate and lock off; align the coupling, with pipes connected, and write down what is "
        "left.",
    ),
    "lubricated": Defect(
        "review", "The bearings were not found lubricated.", "Lubricate as the manual says.",
    ),
    "turned_by_hand": Defect(
        "review", "The shaft does not turn freely by hand: something rubs, or the pump is blocked.",
        "Isolated and locked off, find what rubs before the pump runs; turn it by hand again.",
    ),
    "primed_and_vented": Defect(
        "review", "The pump was not primed and vented: its seal and wear rings run dry.",
        "Prime and vent, then look for a seal that was hurt.",
    ),
    "suction_valve_open": Defect(
        "review", "The suction valve was not open: the pump starves and cavitates.",
        "Open and lock the suction valve; read the duty points again.",
    ),
    "discharge_valve_position": Defect(
        "review", "The discharge valve does not stand where it should.",
        "Set the valve, mark its position; read the duty points again.",
    ),
    "strainer_clean": Defect(
        "review", "The strainer is not clean: it takes pressure at the suction, and more so later.",
        "Isolate, shut the valves, relieve the pressure and drain; clean the strainer, and read "
        "the duty points again.",
    ),
    "packing_or_seal": Defect(
        "review", "Packing or seal is not in order.",
        "Isolate, shut the valves, relieve the pressure; adjust the packing as its manual says, "
        "or replace the seal.",
    ),
    "anchor_bolts": Defect(
        "review", "The anchor bolts are not in order: alignment and vibration rest on them.",
        "Isolate and lock off; tighten the bolts, check grout and alignment.",
    ),
    "cooling_path_clear": Defect(
        "review", "The way of the motor's cooling air or liquid is not clear.",
        "Isolate and lock off, clear it, and look at the motor's temperature under load.",
    ),
}  # fmt: skip


def _checks(case: Case, place: str) -> Iterator[Finding]:
    check = case.require(place)[0]
    if check.result != "not_ok":
        return
    defect = DEFECTS[check.item]
    yield MACHINE_CHECKS.finding(
        f"{check.item}_said" if check.value else check.item, defect.severity, place,
        compared={}, value=str(check.value),
    )  # fmt: skip


MACHINE_CHECKS = Rule(
    id="machine.checks",
    title="What was looked at and found not in order",
    severities=("stop", "review"),
    condition="No mechanical check was answered with not in order; a missing guard stops.",
    source="seen on site; guards: 29 CFR 1910.219",
    each=CHECKS,
    applies=lambda case: bool(case.find(CHECKS)),
    check=_checks,
    sentences={item: defect.words for item, defect in DEFECTS.items()}
    | {f"{item}_said": f"{each.words} Written down: {{value}}." for item, each in DEFECTS.items()},
    remedies={item: defect.remedy for item, defect in DEFECTS.items()}
    | {f"{item}_said": defect.remedy for item, defect in DEFECTS.items()},
)


# -- temperatures -------------------------------------------------------------------------------

CLASS_LIMIT = {"A": 105, "E": 120, "B": 130, "F": 155, "H": 180, "N": 200, "R": 220}
"""Temperature that an insulation of each thermal class bears for long [degC]; IEC 60085, from
memory."""


def _class_limit(case: Case, name: str) -> float | None:
    """Limit of an insulation class of the motor [K]; None where it is not known."""
    found = CLASS_LIMIT.get(str(case.find(f"/motor/{name}")))
    return None if found is None else found + ICE_POINT


def _read(case: Case, name: str) -> bool:
    return any(getattr(point, name) for point in case.find(POINTS) or ())


def _motor_temperature(case: Case, place: str) -> Iterator[Finding]:
    read = case.find(f"{place}/motor_temperature")
    if read is None:
        return
    limit = _class_limit(case, "insulation_class")
    if limit is None:
        raise Missing("/motor/insulation_class")
    usual = _class_limit(case, "temperature_rise_class")
    least = read.at_least
    found: tuple[str, Severity, float, str]
    if above(least, limit):
        found = ("limit", "stop", limit, "insulation_class")
    elif usual is not None and above(least, usual):
        found = ("rise", "review", usual, "temperature_rise_class")
    else:
        return
    variant, severity, exceeded, name = found
    yield MOTOR_TEMPERATURE.finding(
        variant, severity, place,
        compared={"read": read, "limit": show(exceeded, read.unit)},
        limit=f"at most {show(exceeded, read.unit)}", letter=case.word(f"/motor/{name}"),
    )  # fmt: skip


MOTOR_TEMPERATURE = Rule(
    id="machine.motor-temperature",
    title="Temperature of the motor against its insulation",
    severities=("stop", "review"),
    condition="At no duty point is the motor warmer than its insulation class bears (stop), nor "
    "warmer than the class that its temperature rise is kept to (review).",
    source="IEC 60085 (thermal classes), from memory",
    each=POINTS,
    applies=lambda case: _read(case, "motor_temperature"),
    check=_motor_temperature,
    sentences={
        "limit": "The motor was at {read}; insulation of class {letter} bears {limit}.",
        "rise": "The motor was at {read}; with a temperature rise of class {letter} it stays below "
        "{limit}.",
    },
    remedies=dict.fromkeys(
        ("limit", "rise"),
        "Read it again; then look for overload, low speed without cooling, blocked air or a lost "
        "phase before it runs on.",
    ),
)


def _bearing(case: Case, place: str) -> Iterator[Finding]:
    read: list[Quantity] = case.find(f"{place}/bearing_temperatures") or []
    if not read:
        return
    hottest = max(read, key=lambda each: each.si)
    least = hottest.at_least
    review, stop = (
        case.limit(f"machine.bearing-temperature.{name}") for name in ("review", "stop")
    )
    if not above(least, review):
        return
    severity: Severity = "stop" if above(least, stop) else "review"
    exceeded = stop if severity == "stop" else review
    yield BEARING.finding(
        "hot", severity, place,
        compared={"read": hottest, "limit": show(exceeded, hottest.unit)},
        limit=f"{show(review, hottest.unit)} review, {show(stop, hottest.unit)} stop",
    )  # fmt: skip


BEARING = Rule(
    id="machine.bearing-temperature",
    title="Temperature of the bearings",
    severities=("stop", "review"),
    condition="No bearing is warmer than 95 degC (stop above 120 degC, where grease and cages go).",
    source="common practice, from memory",
    each=POINTS,
    applies=lambda case: _read(case, "bearing_temperatures"),
    check=_bearing,
    limits={
        "review": Limit(95, "degC", "needs an answer", "lower", "from memory"),
        "stop": Limit(120, "degC", "must not stay", "lower", "from memory"),
    },
    sentences={"hot": "A bearing was at {read}, above {limit}."},
    remedies={
        "hot": "Read it again; look at lubrication (too much heats as well), alignment, load and "
        "current through the bearing before it runs on.",
    },
)


# -- vibration ----------------------------------------------------------------------------------

LARGE = 200e3
"""Power from which the higher limits hold [W]; ISO 10816-7, from memory."""


def _vibration(case: Case, place: str) -> Iterator[Finding]:
    known = [each for each in case.find(f"{place}/vibration") or () if each.velocity_rms]
    if not known:
        return
    worst = max(known, key=lambda each: each.velocity_rms.si)
    read: Quantity = worst.velocity_rms
    power = case.find("/rating/power")
    size = "large" if power is not None and power.si > LARGE else "small"
    limits = {name: case.limit(f"machine.vibration.{name}-{size}") for name in ("note", "review")}
    limits["stop"] = case.limit("machine.vibration.stop")
    severity = _severity_of(read.at_least, limits)
    if severity is None or (severity != "stop" and case.is_(f"{place}/purpose", "shut_off")):
        return  # at closed valve every pump shakes, for seconds
    yield VIBRATION.finding(
        "shakes", severity, place,
        compared={"read": read, "limit": about(limits[severity], read.unit)},
        limit=", ".join(f"{show(limit, 'mm/s')} {name}" for name, limit in limits.items()),
        where=f" at {worst.location}" if worst.location else "",
    )  # fmt: skip


def _severity_of(value: float, limits: dict[str, float]) -> Severity | None:
    order: tuple[Severity, ...] = ("stop", "review", "note")
    return next((name for name in order if above(value, limits[name])), None)


VIBRATION = Rule(
    id="machine.vibration",
    title="Vibration velocity",
    severities=("stop", "review", "note"),
    condition="Vibration velocity (r.m.s.) at the bearings is at most 5.1 mm/s (note) and 8.5 mm/s "
    "(review), above 200 kW 6.1 and 9.5 mm/s; stop above 18 mm/s. At closed valve only the last "
    "counts.",
    source="ISO 10816-7:2009, category II, zones B/C and C/D, from memory; stop: common practice",
    each=POINTS,
    applies=lambda case: _read(case, "vibration"),
    check=_vibration,
    limits={
        "note-small": Limit(5.1, "mm/s", "to 200 kW", "lower", "from memory"),
        "review-small": Limit(8.5, "mm/s", "to 200 kW", "lower", "from memory"),
        "note-large": Limit(6.1, "mm/s", "above 200 kW", "lower", "from memory"),
        "review-large": Limit(9.5, "mm/s", "above 200 kW", "lower", "from memory"),
        "stop": Limit(18, "mm/s", "any size", "lower", "common practice"),
    },
    sentences={"shakes": "Vibration{where} was {read}, above {limit}."},
    remedies={
        "shakes": "Check the unit; then alignment, bolts, pipe strain, cavitation, and whether it "
        "goes away at another frequency (then skip that band).",
    },
)
