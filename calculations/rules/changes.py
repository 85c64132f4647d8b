"""Rules of what changed since the first visit: head, efficiency, insulation, sensors."""

from collections.abc import Iterator

from calculations import intervals
from calculations.aspects import assumed, duty, history, load, sensor_history, verifying
from calculations.aspects.duty import POINTS
from calculations.aspects.history import LEAST_POINTS, YEAR, Pair
from calculations.aspects.verifying import VERIFICATIONS
from calculations.case import Case, Missing
from calculations.derived.duty import HEAD_UNIT, wire_to_water
from calculations.findings import Finding, Shown
from calculations.rule import Limit, Rule, about, percent, rough_percent, roughly, show
from calculations.rules import efficiencies
from calculations.rules.closeness import above, below, signed_percent
from calculations.rules.measured_points import has_points
from calculations.rules.sensor_readings import has_verifications, name
from calculations.rules.speed_limits import RESTS_ON_CURVE
from calculations.rules.suction_absolute import require_gauge
from calculations.units import Quantity

SPEED_UNIT = "rpm"
SAME_SPAN = 1e-6
"""Share by which two spans differ that are one, entered in other units [1]."""
RESISTANCE = "/event/motor_tests/insulation/resistance_1_min"


def _has_history(case: Case) -> bool:
    return case.earlier is not None and case.event is not None


# -- head and efficiency --------------------------------------------------------------------------


def _fallen(pairs: list[Pair], limit: float) -> Pair | None:
    """The pair that fell most, if two or more certainly fell; `Missing` below two pairs."""
    if len(pairs) < LEAST_POINTS:
        raise Missing(POINTS, because="fewer than two points near those of the first visit")
    falling = [pair for pair in pairs if pair.falls(limit)]
    if len(falling) < LEAST_POINTS:
        return None
    return min(falling, key=lambda pair: pair.change)


def _noise(case: Case, then: Case, found: Pair, *, power: bool = False) -> str:
    """What the instruments of both visits explain, and what was taken for those not recorded."""
    taken = assumed.accuracies(case, found.now, power=power)
    return rough_percent(found.noise) + (
        taken or assumed.accuracies(then, found.before, power=power)
    )


def _then(case: Case, then: Case, pair: Pair) -> str:
    """Flow and speed of the earlier point, in the units of today's."""
    flow = show(duty.flow(then, pair.before), case.quantity(f"{pair.now}/flow").unit)
    return f"at {flow} and {show(duty.speed(then, pair.before), SPEED_UNIT)}"


def _head(case: Case, place: str) -> Iterator[Finding]:
    limit, then = case.limit("trend.head.fall"), history.base(case, "head")
    worst = _fallen(history.heads(case), limit)
    if worst is None:
        return
    require_gauge(case, worst.now)
    unit = HEAD_UNIT(case)
    now, before = duty.total_head(case, worst.now), duty.total_head(then, worst.before)
    yield HEAD.finding(
        "fallen", "review", worst.now,
        compared={
            "flow": case.quantity(f"{worst.now}/flow"),
            "head": show(now, unit),
            "speed": show(duty.speed(case, worst.now), SPEED_UNIT),
            "before": show(before, unit),
        },
        limit=percent(limit), change=signed_percent(worst.change),
        record=history.told(case, then), then=_then(case, then, worst),
        noise=_noise(case, then, worst),
    )  # fmt: skip


HEAD = Rule(
    id="trend.head",
    title="Head against the first visit",
    severities=("review",),
    condition="At two points or more near those of the first record, head brought to the same "
    "speed has not fallen by more than 5 % and the uncertainty of both visits. Where it has, that "
    "is told in place of the curve, unless a unit that was mistaken explains the point. Since a "
    "pump was exchanged or its impeller trimmed the first record after that is compared with.",
    source="affinity laws, HI engineering data, equation 1.B.6; JCGM 100:2008, 5.1.2; limit from "
    "memory",
    subject=POINTS,
    waits_for=(*RESTS_ON_CURVE, "rotation.reversed", "curve.point"),
    applies=lambda case: _has_history(case) and has_points(case),
    check=_head,
    limits={"fall": Limit(5, "%", "since the first visit", "lower", "from memory")},
    sentences={
        "fallen": "Since {record} the head has changed by {change} at the same speed and flow: now "
        "{head} at {flow} and {speed}, then {before} {then}; the instruments explain {noise}.",
    },
    remedies={
        "fallen": "Check flow and gauges with their heights first; then look for wear, clogging "
        "and recirculation, and compare the clearances."
    },
)


def _efficiency(case: Case, place: str) -> Iterator[Finding]:
    limit = case.limit("trend.efficiency.fall")
    then = history.base(case, f"efficiency_drive_{'output' if case.fixed_speed else 'input'}")
    pairs = history.efficiencies(case, then)
    if _fallen(pairs, limit) is None:
        return
    believed = [pair for pair in pairs if not efficiencies.is_beyond_parts(then, pair.before)]
    if len(believed) < LEAST_POINTS:
        because = f"{history.told(case, then)} has more efficiency than its parts can give"
        raise Missing(POINTS, because=because)
    worst = _fallen(believed, limit)
    if worst is None:
        return
    require_gauge(case, worst.now)
    powers = (load.power_place(each, at) for each, at in ((case, worst.now), (then, worst.before)))
    power, before = (each.quantity(at) for each, at in zip((case, then), powers, strict=True))
    yield EFFICIENCY.finding(
        "fallen", "review", worst.now,
        compared={
            "power": power,
            "flow": case.quantity(f"{worst.now}/flow"),
            "before": Shown(before.value, before.unit),
        },
        limit=percent(limit), change=signed_percent(worst.change),
        record=history.told(case, then), then=_then(case, then, worst),
        now=percent(wire_to_water(case, worst.now)),
        was=percent(wire_to_water(then, worst.before)),
        noise=_noise(case, then, worst, power=True), where=load.power_taken_at(case),
    )  # fmt: skip


EFFICIENCY = Rule(
    id="trend.efficiency",
    title="Overall efficiency against the first visit",
    severities=("review",),
    condition="At two points or more near those of the first record, efficiency from wire to water "
    "has not fallen by more than 5 % of itself and the uncertainty of both visits. Since pump, "
    "motor or drive were exchanged, or the impeller trimmed, the first record after that is "
    "compared with. What is more than the parts can give is no efficiency to begin from.",
    source="ISO 9906:2012, 3.2; JCGM 100:2008, 5.1.2; limit from memory",
    subject=POINTS,
    waits_for=(*RESTS_ON_CURVE, "curve.point", "efficiency.sum-of-parts",
               "efficiency.wire-to-water", "trend.head"),
    applies=lambda case: _has_history(case) and has_points(case),
    check=_efficiency,
    limits={"fall": Limit(5, "%", "of itself, since the first visit", "lower", "from memory")},
    sentences={
        "fallen": "Since {record} the overall efficiency has changed by {change} of itself: now "
        "{now} ({power} {where} at {flow}), then {was} ({before} {then}); the instruments explain "
        "{noise}.",
    },
    remedies={"fallen": "Look for wear and clogging of the pump; check the power reading."},
)  # fmt: skip


# -- insulation -----------------------------------------------------------------------------------


def _insulation(case: Case, place: str) -> Iterator[Finding]:
    then = history.base(case, "insulation")
    with_cable = "/event/motor_tests/insulation/includes_cable"
    if case.require(with_cable) != then.require(with_cable):
        raise Missing(with_cable, because="once with and once without cable")
    now, before = case.value("insulation.at-40-degrees"), then.value("insulation.at-40-degrees")
    limit = case.limit("trend.insulation.share")
    if before <= 0 or not below(now, limit * before):
        return
    read = case.quantity(RESISTANCE)
    compared: dict[str, Shown | Quantity] = {
        "read": read,
        "now": about(now, read.unit),
        "before": about(before, read.unit),
    }
    yield INSULATION.finding(
        "fallen", "review", place, compared=compared, limit=percent(limit),
        share=percent(now / before), record=history.told(case, then),
    )  # fmt: skip


INSULATION = Rule(
    id="trend.insulation",
    title="Insulation against the first visit",
    severities=("review",),
    condition="Insulation resistance at 40 degC, with or without cable both times, is at least a "
    "third of what it was at the first visit of this motor.",
    source="common practice, from memory: the trend says more than the figure",
    subject=RESISTANCE,
    waits_for=("insulation.drive-connected", "insulation.temperature", "insulation.minimum"),
    applies=lambda case: _has_history(case) and case.find(RESISTANCE) is not None,
    check=_insulation,
    limits={"share": Limit(33, "%", "of the first visit's", "higher", "from memory")},
    sentences={
        "fallen": "Insulation of {read} is {now} at 40 degC, {share} of the {before} of {record}.",
    },
    remedies={
        "fallen": "Isolate, prove dead, dry and clean the winding or the cable's ends, and test "
        "again soon."
    },
)


# -- sensors --------------------------------------------------------------------------------------


def _sensor(case: Case, place: str) -> Iterator[Finding]:
    found = verifying.check(case, place, "as_found")
    base, before = sensor_history.before(case, place)
    if found.outside:
        return
    if abs(found.span - before.span) > SAME_SPAN * before.span:
        raise Missing(place, because=f"another range than by {history.told(case, base)}")
    now, then, elapsed = found.worst[1], before.worst[1], history.elapsed(case, base)
    rate = intervals.drift_rate(as_left_before=then, as_found=now, elapsed=elapsed)
    noise = 2 * found.worst[0].rounding / found.span
    left = intervals.time_to_limit(error=now, rate=rate, allowed_error=found.tolerance)
    soon = case.limit("trend.sensor.soon")
    if (
        left is None
        or not above(abs(now - then), noise)
        or abs(now) <= abs(then)
        or not below(left, soon)
    ):
        return
    yield SENSOR.finding(
        "drifts", "review", place,
        compared={"left": roughly(left, "mo")}, limit=str(roughly(soon, "mo")),
        sensor=name(case, found), now=signed_percent(now), then=signed_percent(then),
        rate=signed_percent(rate * YEAR), tolerance=percent(found.tolerance),
        record=history.told(case, base),
    )  # fmt: skip


SENSOR = Rule(
    id="trend.sensor",
    title="Drift of a sensor since it was last adjusted",
    severities=("review",),
    condition="An error that has grown since the sensor was last adjusted at any visit to the "
    "station, or else first read, beyond the rounding of that reading, does not reach the "
    "tolerance within a year at the same rate.",
    source="ILAC-G24:2022, method 2 (control chart), with a straight line",
    each=VERIFICATIONS,
    applies=lambda case: has_verifications(case) and sensor_history.has_before(case),
    check=_sensor,
    limits={"soon": Limit(12, "mo", "until the tolerance is reached", "higher", "from memory")},
    sentences={
        "drifts": "{sensor} was left with {then} of span by {record} and found with {now}, a drift "
        "of {rate} a year: its tolerance of {tolerance} is reached in about {left}.",
    },
    remedies={"drifts": "Adjust it, or verify it again earlier."},
)
