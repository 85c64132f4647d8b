"""Rules of what changed since the first visit: head, efficiency, insulation, sensors."""

from collections.abc import Iterator

from calculations import intervals
from calculations.aspects import assumed, history, load, verifying
from calculations.aspects.duty import POINTS
from calculations.aspects.history import LEAST_POINTS, YEAR, Pair
from calculations.aspects.verifying import VERIFICATIONS
from calculations.case import Case, Missing
from calculations.findings import Finding, Shown
from calculations.rule import Limit, Rule, about, percent, rough_percent, roughly
from calculations.rules.closeness import above, below, signed_percent
from calculations.rules.measured_points import has_points
from calculations.rules.sensor_readings import has_verifications, name
from calculations.rules.speed_limits import RESTS_ON_CURVE
from calculations.units import Quantity

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


def _head(case: Case, place: str) -> Iterator[Finding]:
    limit = case.limit("trend.head.fall")
    worst = _fallen(history.heads(case), limit)
    if worst is not None:
        yield HEAD.finding(
            "fallen", "review", worst.now,
            compared={"flow": case.quantity(f"{worst.now}/flow")}, limit=percent(limit),
            change=signed_percent(worst.change), noise=_noise(case, worst),
        )  # fmt: skip


def _noise(case: Case, found: Pair, *, power: bool = False) -> str:
    """What the instruments of both visits explain, and what was taken for those not recorded."""
    then = history.earlier(case)
    taken = assumed.accuracies(case, found.now, power=power)
    return rough_percent(found.noise) + (
        taken or assumed.accuracies(then, found.before, power=power)
    )


HEAD = Rule(
    id="trend.head",
    title="Head against the first visit",
    severities=("review",),
    condition="At two points or more near those of the first record, head brought to the same "
    "speed has not fallen by more than 5 % and the uncertainty of both visits. Where it has, that "
    "is told in place of the curve, unless a unit that was mistaken explains the point.",
    source="affinity laws, HI engineering data, equation 1.B.6; JCGM 100:2008, 5.1.2; limit from "
    "memory",
    subject=POINTS,
    waits_for=(*RESTS_ON_CURVE, "rotation.reversed", "curve.point"),
    applies=lambda case: (
        _has_history(case) and has_points(case) and history.same_piece(case, "pump")
    ),
    check=_head,
    limits={"fall": Limit(5, "%", "since the first visit", "lower", "from memory")},
    sentences={
        "fallen": "Since the first visit the head at {flow} has changed by {change} at the same "
        "speed; the instruments explain {noise}.",
    },
    remedies={
        "fallen": "Check flow and gauges with their heights first; then look for wear, clogging "
        "and recirculation, and compare the clearances."
    },
)


def _efficiency(case: Case, place: str) -> Iterator[Finding]:
    limit = case.limit("trend.efficiency.fall")
    worst = _fallen(history.efficiencies(case), limit)
    if worst is not None:
        power = case.quantity(load.power_place(case, worst.now))
        yield EFFICIENCY.finding(
            "fallen", "review", worst.now,
            compared={"power": power}, limit=percent(limit),
            change=signed_percent(worst.change), noise=_noise(case, worst, power=True),
            where=load.power_taken_at(case),
        )  # fmt: skip


EFFICIENCY = Rule(
    id="trend.efficiency",
    title="Overall efficiency against the first visit",
    severities=("review",),
    condition="At two points or more near those of the first record, efficiency from wire to water "
    "has not fallen by more than 5 % of itself and the uncertainty of both visits.",
    source="ISO 9906:2012, 3.2; JCGM 100:2008, 5.1.2; limit from memory",
    subject=POINTS,
    waits_for=(*RESTS_ON_CURVE, "curve.point", "efficiency.sum-of-parts",
               "efficiency.wire-to-water", "trend.head"),
    applies=lambda case: _has_history(case)
    and has_points(case)
    and history.same_piece(case, "pump")
    and history.same_piece(case, "motor"),
    check=_efficiency,
    limits={"fall": Limit(5, "%", "of itself, since the first visit", "lower", "from memory")},
    sentences={
        "fallen": "Since the first visit the overall efficiency has changed by {change} of itself "
        "(now {power} {where}); the instruments explain {noise}.",
    },
    remedies={"fallen": "Look for wear and clogging of the pump; check the power reading."},
)  # fmt: skip


# -- insulation -----------------------------------------------------------------------------------


def _insulation(case: Case, place: str) -> Iterator[Finding]:
    then = history.earlier(case)
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
        share=percent(now / before),
    )  # fmt: skip


INSULATION = Rule(
    id="trend.insulation",
    title="Insulation against the first visit",
    severities=("review",),
    condition="Insulation resistance at 40 degC, with or without cable both times, is at least a "
    "third of what it was at the first visit.",
    source="common practice, from memory: the trend says more than the figure",
    subject=RESISTANCE,
    waits_for=("insulation.drive-connected", "insulation.temperature", "insulation.minimum"),
    applies=lambda case: (
        _has_history(case)
        and case.find(RESISTANCE) is not None
        and history.same_piece(case, "motor")
    ),
    check=_insulation,
    limits={"share": Limit(33, "%", "of the first visit's", "higher", "from memory")},
    sentences={
        "fallen": "Insulation of {read} is {now} at 40 degC, {share} of the {before} of the first "
        "visit.",
    },
    remedies={"fallen": "Dry and clean the winding or the cable's ends, and test again soon."},
)


# -- sensors --------------------------------------------------------------------------------------


def _sensor(case: Case, place: str) -> Iterator[Finding]:
    found = verifying.check(case, place, "as_found")
    before = history.sensor_before(case, place)
    if found.outside:
        return
    now, then = found.worst[1], before.worst[1]
    rate = intervals.drift_rate(as_left_before=then, as_found=now, elapsed=history.elapsed(case))
    noise = 2 * found.points[0].rounding / found.span
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
    )  # fmt: skip


SENSOR = Rule(
    id="trend.sensor",
    title="Drift of a sensor since the first visit",
    severities=("review",),
    condition="An error that has grown since the sensor was left, beyond the rounding of the "
    "readings, does not reach the tolerance within a year at the same rate.",
    source="ILAC-G24:2022, method 2 (control chart), with a straight line",
    each=VERIFICATIONS,
    applies=lambda case: _has_history(case) and has_verifications(case),
    check=_sensor,
    limits={"soon": Limit(12, "mo", "until the tolerance is reached", "higher", "from memory")},
    sentences={
        "drifts": "{sensor} was left with {then} of span and found with {now}, a drift of {rate} a "
        "year: its tolerance of {tolerance} is reached in about {left}.",
    },
    remedies={"drifts": "Adjust it, or verify it again earlier."},
)
