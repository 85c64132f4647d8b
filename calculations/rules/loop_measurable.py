"""Rule of the limits that a sensor can show."""

from collections.abc import Iterator

from calculations.aspects import kinds, loop, pumping, suction
from calculations.aspects.pump_torque import FROM_MEMORY
from calculations.case import Case, Missing
from calculations.derived.speeds import TAPPING
from calculations.findings import Finding
from calculations.rule import Limit, Rule, each_alone, percent, show
from calculations.rules.closeness import above, below, give_or_take
from calculations.rules.loop_set_point import SCALED
from calculations.rules.speed_limits import MAXIMUM

LIMITS = {
    "wake_value": "wake value",
    "low_suction_limit": "low suction limit",
    "low_discharge_limit": "low discharge limit",
    "high_discharge_limit": "high discharge limit",
}
MEASURED_BY = {"regulating_sensor": "/regulating_sensor", "suction_sensor": "/suction_sensor"}


def _measurable(case: Case, place: str) -> Iterator[Finding]:
    return each_alone(*(_one_measurable(case, name) for name in LIMITS), _overpressure(case))


def _one_measurable(case: Case, name: str) -> Iterator[Finding]:
    sensor = _measured_by(case, name)
    if name == "wake_value" and _wakes_too_late(case):
        return  # `loop.wake` tells it
    if sensor is not None and case.find(f"/settings/{name}") is not None:
        yield from _limit_measurable(case, name, sensor)


def _wakes_too_late(case: Case) -> bool:
    """Whether a wake value is wrong in itself: below the pressure that is promised."""
    least = case.find("/site/minimum_service_pressure")
    if least is None or case.find("/settings/wake_value") is None:
        return False
    return (
        loop.keeps_discharge_pressure(case)
        and loop.process_value(case, "/settings/wake_value") < least.at_least
    )


def _measured_by(case: Case, name: str) -> str | None:
    """The sensor that a limit is read from, if it is one with a range."""
    if name == "wake_value":
        below = case.is_("/settings/wake_basis", "below_set_point")
        return None if below else "/regulating_sensor"
    found = case.find(f"/settings/{name}_measured_by")
    return MEASURED_BY.get(str(found))


def measured_limit(case: Case, name: str) -> float:
    """A limit in SI; in % it belongs to the span of the sensor that it is read from."""
    quantity, sensor = case.quantity(f"/settings/{name}"), _measured_by(case, name)
    if sensor == "/suction_sensor":
        if quantity.kind == "ratio":
            return loop.measuring_range(case, sensor).at(quantity.si)
        return kinds.in_sensor(case, sensor, quantity, kinds.LOOP_RULE)
    if sensor is None and quantity.kind != "ratio":
        return quantity.si
    if kinds.of_loop(case) not in (None, "pressure", "ratio") and name != "wake_value":
        kinds.in_loop(case, quantity)
        place = case.place(f"/settings/{name}_measured_by")
        raise Missing(place, because="the loop keeps no pressure")
    return loop.process_value(case, f"/settings/{name}")


def is_measurable(case: Case, name: str) -> bool:
    """Whether a limit lies inside the range of the sensor that it is read from."""
    sensor = _measured_by(case, name)
    if sensor is None:
        return True
    share = _measured_range(case, sensor).share(measured_limit(case, name))
    return not below(min(share, 1 - share), case.limit("loop.limit-measurable.room"))


def _measured_range(case: Case, sensor: str) -> loop.Range:
    return loop.process_range(case) if sensor == "/regulating_sensor" else loop.measuring_range(
        case, sensor
    )  # fmt: skip


def _unit(case: Case, sensor: str) -> str:
    """The unit of a sensor's range, where its values are computed in that kind."""
    upper = case.quantity(f"{sensor}/upper_range_value")
    kind = kinds.of_loop(case) if sensor == kinds.REGULATING else kinds.of_sensor(case, sensor)
    return upper.unit if upper.kind == kind else loop.process_unit(case)


def _limit_measurable(case: Case, name: str, sensor: str) -> Iterator[Finding]:
    if is_measurable(case, name):
        return
    ranged, value = _measured_range(case, sensor), measured_limit(case, name)
    room = case.limit("loop.limit-measurable.room")
    unit = _unit(case, sensor)
    yield MEASURABLE.finding(
        "limit", "review", case.place(f"/settings/{name}"),
        compared={
            "value": case.quantity(f"/settings/{name}"),
            "lower": show(ranged.low, unit),
            "upper": show(ranged.high, unit),
        },
        limit=f"{percent(room)} to {percent(1 - room)} of span", name=LIMITS[name],
        share=percent(ranged.share(value)),
    )  # fmt: skip


def _overpressure(case: Case) -> Iterator[Finding]:
    """Pressure at no flow and maximum frequency against what the transmitter can show and bear."""
    highest = case.find(MAXIMUM)
    if highest is None or not case.is_("/regulating_sensor/quantity", "pressure"):
        return
    if case.find("/pump/curve_points") is None or not loop.keeps_discharge_pressure(case):
        return
    stands = suction.pressure(case, "high", case.si(TAPPING))  # at the sensor's own height
    reached = stands + pumping.shut_off_pressure(case, highest.si)
    certain = stands + pumping.least_shut_off_pressure(case, highest.si)
    burst, ranged = case.find("/regulating_sensor/overpressure_limit"), loop.measuring_range(case)
    upper = max(ranged)
    unit = case.quantity("/regulating_sensor/upper_range_value").unit
    compared = {"reached": show(reached, unit), "maximum": highest}
    if burst and above(certain, burst.si):
        yield MEASURABLE.finding(
            "overpressure", "review", case.place("/regulating_sensor/overpressure_limit"),
            compared=compared | {"burst": burst}, limit=f"at most {burst.value} {burst.unit}",
            off=give_or_take(reached - certain, reached, unit),
        )  # fmt: skip
    elif above(certain, upper):
        yield MEASURABLE.finding(
            "shut_off", "note", case.place("/regulating_sensor/upper_range_value"),
            compared=compared | {"upper": show(upper, unit)},
            off=give_or_take(reached - certain, reached, unit),
        )  # fmt: skip


MEASURABLE = Rule(
    id="loop.limit-measurable",
    title="Limits inside the range of the sensor that they are read from",
    severities=("review", "note"),
    condition="Limits and wake value lie at 2 to 98 % of the range of the sensor that they are "
    "read from; the pressure at no flow and maximum frequency stays within the sensor's "
    "overpressure limit (beyond its range: note).",
    source=f"common practice, no source; slip at no flow by the torque; {FROM_MEMORY}",
    subject="/settings/high_discharge_limit",
    waits_for=(*SCALED, "loop.set-point-unit", "speed.order", "speed.maximum-speed"),
    applies=loop.is_closed,
    check=_measurable,
    limits={"room": Limit(2, "%", "room at either end, of span", "higher", "from memory")},
    sentences={
        "limit": "The {name} {value} stands at {share} of the sensor's span from {lower} to "
        "{upper}: the sensor may never show it.",
        "overpressure": "At {maximum}, no flow and the highest suction the transmitter sees "
        "{reached}{off}, more than the {burst} that it bears.",
        "shut_off": "At {maximum}, no flow and the highest suction the pressure is {reached}{off}, "
        "beyond the transmitter's {upper}: there the drive no longer sees how high it is.",
    },
    remedies={
        "limit": "Bring the limit inside the sensor's range, or have it measured by another.",
        "overpressure": "Use a transmitter that bears the pressure, or lower the maximum "
        "frequency.",
    },
)
