"""Rule of the protective earth."""

from collections.abc import Iterator

from calculations import cables
from calculations.case import Case, Missing
from calculations.findings import Finding, Severity, Shown
from calculations.rule import Limit, Rule, about, show
from calculations.rules.closeness import above
from calculations.rules.scope import has_motor, is_new_work
from calculations.units import Quantity

LENGTH, CONDUCTOR = "/drive/motor_cable_length", "/drive/motor_cable_conductor"


def _is_tested(case: Case) -> bool:
    tested = bool(case.find("/event/earth_tests"))
    return tested or (is_new_work(case) and has_motor(case))


def _continuity(case: Case, place: str) -> Iterator[Finding]:
    ends = _ends(case, place)
    if case.find(f"{place}/open_circuit") is True:
        yield CONTINUITY.finding("open", "stop", place, compared={}, ends=ends)
        return
    resistance: Quantity | None = case.find(f"{place}/resistance")
    if resistance is None:
        raise Missing(f"{place}/resistance")
    review, stop, joints = (
        case.limit(f"earth.continuity.{name}") for name in ("review", "stop", "joints")
    )
    if not above(resistance.at_least, review):
        return
    copper = _copper_of_the_cable(case)
    beyond = resistance.at_least - copper * (1 + case.limit("earth.continuity.core"))
    explained = not above(beyond, joints)
    severity: Severity = "note" if explained else "stop" if above(beyond, stop) else "review"
    told = above(copper, joints)
    yield CONTINUITY.finding(
        "cable" if explained else "beyond" if told else "high", severity, place,
        compared={"resistance": resistance} | (_cable(case, copper) if told else {}),
        limit=f"{show(review, 'ohm')} review, {show(stop, 'ohm')} stop", ends=ends,
    )  # fmt: skip


def _copper_of_the_cable(case: Case) -> float:
    """What one conductor of the motor's cable has by itself [ohm]; 0 where that is unknown."""
    length, conductor = case.find(LENGTH), case.find(CONDUCTOR)
    if length is None or conductor is None:
        return 0.0
    area = conductor.si * (case.find("/drive/motor_cable_conductors_in_parallel") or 1)
    per_metre = cables.resistance_per_metre(area=area, temperature=cables.RESISTIVITY_TEMPERATURE)
    return float(length.si * per_metre)


def _cable(case: Case, copper: float) -> dict[str, Quantity | Shown]:
    length, conductor = case.quantity(LENGTH), case.quantity(CONDUCTOR)
    return {"length": length, "conductor": conductor, "copper": about(copper, "ohm")}


def _ends(case: Case, place: str) -> str:
    start, end = case.find(f"{place}/from_point"), case.find(f"{place}/to")
    return f"from {start} to {end}" if start and end else "between the two points"


CONTINUITY = Rule(
    id="earth.continuity",
    title="Continuity of the protective earth",
    severities=("stop", "review", "note"),
    condition="Resistance between two points of the protective earth is at most 0.5 ohm; above 1 "
    "ohm beyond the copper of the motor's cable, or open, it must not stay. What that copper and "
    "0.1 ohm of joints explain is a note.",
    source="acceptance-testing practice: investigate above 0.5 ohm; 1 and 0.1 ohm: common "
    "practice; resistance of copper: IEC 60028, from memory",
    each="/event/earth_tests",
    applies=_is_tested,
    check=_continuity,
    correct_only=True,
    limits={
        "review": Limit(0.5, "ohm", "needs an answer", "lower", "retrieved"),
        "stop": Limit(1, "ohm", "must not stay", "lower", "common practice"),
        "joints": Limit(0.1, "ohm", "beside a cable's copper", "lower", "common practice"),
        "core": Limit(25, "%", "more than copper by its area", "lower", "common practice"),
    },
    sentences={
        "open": "The protective earth {ends} is open.",
        "high": "The protective earth {ends} measures {resistance}.",
        "beyond": "The protective earth {ends} measures {resistance}; of that the motor's cable "
        "({length} of {conductor}) explains {copper}, if the path runs through it.",
        "cable": "The protective earth {ends} measures {resistance}, about what one conductor of "
        "the motor's cable has by itself ({length} of {conductor}: {copper}). That is right for a "
        "path through this cable, and too much for a bond beside it.",
    },
    remedies=dict.fromkeys(
        ("open", "high", "beyond"),
        "Isolate; clean, tighten or replace the connection, then measure again.",
    ),
)
