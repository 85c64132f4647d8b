"""Rules of what is better, or otherwise, than a pump set ever is by itself."""

from collections.abc import Iterator

from calculations import motor_operation
from calculations.aspects import duty, history, likeness, pieces
from calculations.aspects.duty import POINTS
from calculations.aspects.history import LEAST_POINTS, Pair
from calculations.case import Case, Missing, Waits
from calculations.derived.duty import HEAD_UNIT
from calculations.errors import InvalidInput
from calculations.findings import Finding
from calculations.inputs.readings import Vibration
from calculations.rule import Limit, Rule, about, percent, rough_percent, show
from calculations.rules.closeness import Apart, above, signed_percent
from calculations.rules.machine_state import LARGE
from calculations.rules.measured_points import has_points
from calculations.rules.speed_limits import RESTS_ON_CURVE
from calculations.units import Quantity

# -- a pump that mended itself --------------------------------------------------------------------

MENDED_BY = ("start_up", "after_repair", "replacement")


def _risen(case: Case, place: str) -> Iterator[Finding]:
    then = history.sealed(case, case.beside.last)
    if then is None or case.find("/event/replaced"):
        return
    before, now = pieces.of_subject(then.subject), pieces.of_subject(case.subject)
    if pieces.changed("head", before, now):
        return
    limit = case.limit("trend.risen.rise")
    heads = history.heads(case, then)
    if len(heads) < LEAST_POINTS:
        raise Missing(POINTS, because="fewer than two points near those of the last record")
    best = _best(heads, limit)
    if best is not None:
        unit = HEAD_UNIT(case)
        yield RISEN.finding(
            "head", "review", best.now,
            compared={
                "head": show(duty.total_head(case, best.now), unit),
                "flow": case.quantity(f"{best.now}/flow"),
                "before": show(duty.total_head(then, best.before), unit),
            },
            limit=percent(limit), record=history.told(case, then), whose=_whose(case),
            change=signed_percent(best.change), noise=rough_percent(best.noise),
        )  # fmt: skip
    elif not pieces.changed(f"efficiency_drive_{'output' if case.fixed_speed else 'input'}",
                            before, now):  # fmt: skip
        pairs = history.efficiencies(case, then)
        if len(pairs) < LEAST_POINTS:
            raise Missing(POINTS, because="fewer than two points whose power was read both times")
        best = _best(pairs, limit)
        if best is not None:
            yield RISEN.finding(
                "efficiency", "review", best.now,
                compared={"flow": case.quantity(f"{best.now}/flow")}, limit=percent(limit),
                record=history.told(case, then), whose=_whose(case),
                change=signed_percent(best.change), noise=rough_percent(best.noise),
            )  # fmt: skip


def _best(pairs: list[Pair], limit: float) -> Pair | None:
    """The pair that rose most, if two or more certainly rose."""
    risen = [pair for pair in pairs if pair.change > 0 and pair.differs(limit)]
    return max(risen, key=lambda pair: pair.change) if len(risen) >= LEAST_POINTS else None


def _whose(case: Case) -> str:
    """A like pump beside it that the readings would fit."""
    for _, other in likeness.like_neighbours(case):
        pairs = history.heads(case, other)
        if len(pairs) >= LEAST_POINTS and not any(pair.differs(0.0) for pair in pairs):
            return f"These may be readings of {other.find('/pump_set/tag') or 'the like pump'}. "
    return ""


RISEN = Rule(
    id="trend.risen",
    title="Head or efficiency better than at the last record",
    severities=("review",),
    condition="At no two points or more near those of the last record has head, or else overall "
    "efficiency, risen by more than 5 % and the uncertainty of both visits, unless something was "
    "repaired or exchanged.",
    source="affinity laws, HI engineering data, equation 1.B.6; JCGM 100:2008, 5.1.2; limit by "
    "common practice, no source",
    subject=POINTS,
    waits_for=(*RESTS_ON_CURVE, "curve.impeller", "rotation.reversed", "curve.point",
               "efficiency.sum-of-parts"),
    applies=lambda case: case.beside.last is not None
    and has_points(case)
    and not case.is_("/event/kind", *MENDED_BY),
    check=_risen,
    limits={"rise": Limit(5, "%", "since the last record", "lower", "common practice")},
    sentences={
        "head": "{whose}Since {record} the head has changed by {change} at the same speed and flow "
        "(now {head} at {flow}, then {before}; the instruments explain {noise}): a pump does not "
        "mend itself.",
        "efficiency": "{whose}Since {record} the overall efficiency has changed by {change} of "
        "itself at {flow} (the instruments explain {noise}): a pump does not mend itself.",
    },
    remedies=dict.fromkeys(
        ("head", "efficiency"),
        "Make sure whose readings these are, then and now; where something was cleaned or repaired "
        "since, say what.",
    ),
)  # fmt: skip


# -- the winding ----------------------------------------------------------------------------------

TEST = "/event/motor_tests/winding_resistance"
TEMPERATURE = f"{TEST}/winding_temperature"
REFERENCE_TEMPERATURE = 293.15  # K
TEMPERATURE_UNCERTAINTY = 0.008
"""2 K of a winding's temperature, as a share of its resistance [1]; common practice."""

LINKS = (3.0, 1 / 3, 4.0, 0.25)
"""What star for delta, or the other voltage's links, make of a resistance between terminals [1]."""


def _mean(case: Case) -> tuple[float, float]:
    """Mean resistance at 20 degC [ohm], and what its digits leave open [1]."""
    values: list[Quantity] = case.require(f"{TEST}/values")[0]
    mean = sum(each.si for each in values) / len(values)
    if mean <= 0:
        raise Missing(f"{TEST}/values", because="expected more than 0")
    digit = case.find(f"{TEST}/resolution")
    digits = [each.resolution for each in values]
    open_ = max(*digits, digit.si if digit is not None else 0.0)
    at_20 = motor_operation.resistance_at_temperature(
        resistance=mean, temperature=case.si(TEMPERATURE), reference=REFERENCE_TEMPERATURE
    )
    return at_20, open_ / mean


def _winding(case: Case, place: str) -> Iterator[Finding]:
    then = history.base(case, "winding")
    if then.find(f"{TEST}/values") is None:
        raise Missing(f"{TEST}/values", because=f"not measured at {history.told(case, then)}")
    for name in ("at", "method"):
        if case.find(f"{TEST}/{name}") != then.find(f"{TEST}/{name}"):
            raise Missing(f"{TEST}/{name}", because="not measured as at the first visit")
    (now, open_now), (before, open_then) = _mean(case), _mean(then)
    apart = Apart(now / before)
    limit = case.limit("trend.winding-resistance.change")
    if not above(abs(apart.deviation), limit + open_now + open_then + TEMPERATURE_UNCERTAINTY):
        return
    links = any(apart.near(factor, limit) for factor in LINKS)
    unit = case.find(f"{TEST}/values")[0].unit
    yield WINDING.finding(
        "links" if links else "changed", "review", place,
        compared={"now": show(now, unit), "before": show(before, unit)}, limit=percent(limit),
        change=signed_percent(apart.deviation), record=history.told(case, then),
    )  # fmt: skip


WINDING = Rule(
    id="trend.winding-resistance",
    title="Resistance of the winding against the first visit",
    severities=("review",),
    condition="The mean of the resistances between the terminals, brought to 20 degC and measured "
    "in the same way at the same place, is what it was at the first visit of this motor to within "
    "5 %, the digits and 2 K.",
    source="IEC 60034-1 (copper); limit: common practice, no source",
    subject=TEST,
    waits_for=("winding.resistance-level", "winding.resistance-unbalance"),
    applies=lambda case: case.earlier is not None and case.find(f"{TEST}/values") is not None,
    check=_winding,
    limits={"change": Limit(5, "%", "at one temperature", "lower", "common practice")},
    sentences={
        "changed": "At 20 degC the winding has {now} and had {before} by {record} ({change}): "
        "another motor, another winding, or joints that have gone bad.",
        "links": "At 20 degC the winding has {now} and had {before} by {record} ({change}): that "
        "is what other links in the terminal box make of it.",
    },
    remedies={
        "changed": "Isolate, prove dead, clean the terminals and measure again; where the motor "
        "was rewound, enter the day with it, where it was exchanged, the other with its plate.",
        "links": "Isolate, prove dead, look at the links, and at the voltage that they are for.",
    },
)


# -- vibration ------------------------------------------------------------------------------------

SAME_FREQUENCY, SAME_SPEED, SAME_FLOW = 0.5, 0.01, 0.2
"""How near frequencies [Hz] and, as shares, speeds and flows are that are one; no source."""


def _vibration(case: Case, place: str) -> Iterator[Finding]:
    then = history.base(case, "vibration")
    rise = case.limit("trend.vibration.share") * _boundary(case)
    read = [
        (now.at_least - before.si, at, now, before, where)
        for at, point in _shaken(case)
        for other_at, other in _shaken(then)
        if _is_alike(case, at, then, other_at)
        for now, before, where in _pairs(point, other)
    ]
    if not read:
        raise Missing(POINTS, because="no vibration read at the same place, speed and flow")
    more, at, now, before, where = max(read, key=lambda each: each[0])
    if above(more, rise):
        yield VIBRATION.finding(
            "more", "review", at,
            compared={"now": now, "before": before},
            limit=f"{about(rise, 'mm/s')} more", record=history.told(case, then),
            where=f" at {where}" if where else "",
        )  # fmt: skip


def _shaken(case: Case) -> list[tuple[str, list[Vibration]]]:
    """Duty points whose vibration was measured, with it; a closed valve is no duty."""
    return [
        (place, point.vibration)
        for place, point in zip(case.elements(POINTS), case.find(POINTS) or (), strict=True)
        if point.vibration and point.purpose != "shut_off"
    ]


def _boundary(case: Case) -> float:
    """Zone boundary B/C for the motor's size [m/s]."""
    power = case.find("/rating/power")
    size = "large" if power is not None and power.si > LARGE else "small"
    return case.limit(f"machine.vibration.note-{size}")


def _is_alike(case: Case, now: str, then: Case, before: str) -> bool:
    """Whether two points were certainly run at one speed and flow: both decide how it shakes."""
    flows = [each.find(f"{at}/flow") for each, at in ((case, now), (then, before))]
    if None in flows or abs(flows[0].si - flows[1].si) > SAME_FLOW * max(each.si for each in flows):
        return False
    read = [each.find(duty.at_frequency(each, at)) for each, at in ((case, now), (then, before))]
    if None not in read:
        return bool(abs(read[0].si - read[1].si) <= SAME_FREQUENCY)
    speeds = [_speed(case, now), _speed(then, before)]
    if speeds[0] is None or speeds[1] is None:
        return False
    return abs(speeds[0] - speeds[1]) <= SAME_SPEED * speeds[1]


def _speed(case: Case, place: str) -> float | None:
    try:
        return duty.speed(case, place)
    except (Missing, Waits, InvalidInput):
        return None


def _pairs(
    now: list[Vibration], before: list[Vibration]
) -> Iterator[tuple[Quantity, Quantity, str | None]]:
    """Velocities of both visits at one place in one direction, and the place."""
    for one in now:
        for other in before:
            same = (one.location, one.direction) == (other.location, other.direction)
            if same and one.velocity_rms and other.velocity_rms:
                yield one.velocity_rms, other.velocity_rms, one.location


def _measured(case: Case) -> bool:
    return any(point.vibration for point in case.find(POINTS) or ())


VIBRATION = Rule(
    id="trend.vibration",
    title="Vibration against the first visit",
    severities=("review",),
    condition="At the same place, direction, speed and flow the vibration velocity is not more "
    "than at the first visit by more than 25 % of the limit between zones B and C.",
    source="ISO 20816-1:2016, 6.3 (change of magnitude: 25 % of the upper limit of zone B), from "
    "memory",
    subject=POINTS,
    waits_for=("machine.vibration",),
    applies=lambda case: case.earlier is not None and _measured(case) and _measured(case.earlier),
    check=_vibration,
    limits={"share": Limit(25, "%", "of the limit between zones B and C", "lower", "from memory")},
    sentences={
        "more": "Vibration{where} was {now}, and {before} by {record} at the same speed and flow.",
    },
    remedies={
        "more": "Find out why before it goes on: bearings, alignment, bolts, what sits in the "
        "impeller.",
    },
)
