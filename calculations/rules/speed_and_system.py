"""Rules of the speed range against the system: no flow, closed valves, pressures at no flow."""

from collections.abc import Iterator, Mapping

from calculations.aspects import holding, kinds, loop, pumping, suction
from calculations.aspects.pump_torque import FROM_MEMORY
from calculations.aspects.pumping import Off
from calculations.aspects.suction import End
from calculations.case import Case, Missing
from calculations.findings import Finding, Shown
from calculations.rule import Limit, Rule, entered, show
from calculations.rules.closeness import above, below, give_or_take, less_or_more
from calculations.rules.loop_measurable import measured_limit
from calculations.rules.speed_limits import MAXIMUM, MINIMUM, RESTS_ON_CURVE, has_pump_on_drive
from calculations.units import Quantity

NO_PROTECTION = (None, "none", "alarm")
SUMMIT_FIRST = "Check the high point of the main (high_point_elevation) first. "
LOST_WITH_SENSOR = (None, "regulating_sensor", "discharge_sensor")


# -- zero flow ----------------------------------------------------------------------------------


def has_lift(case: Case) -> bool:
    """Whether the drive may pump against a static lift, or into a header that others keep."""
    regulation = case.find("/settings/regulation")
    return has_pump_on_drive(case) and (
        regulation is None or holding.lifts(case) or _joins_others(case)
    )


def _joins_others(case: Case) -> bool:
    running = case.find("/settings/pumps_maximum_running")
    return loop.keeps_discharge_pressure(case) and running is not None and running > 1


def _zero_flow(case: Case, place: str) -> Iterator[Finding]:
    lowest = case.quantity(MINIMUM)
    case.require("/settings/regulation")
    kinds.require_fit(case)
    if not holding.lifts(case):
        yield from _below_header(case, place, lowest)
        return
    easiest = case.value("speed.zero-flow-at-highest-suction")
    hardest = case.value("speed.zero-flow-at-lowest-suction")
    compared: dict[str, Shown | Quantity] = {
        "minimum": lowest,
        "zero_flow": show(easiest, "Hz"),
        "worst": show(hardest, "Hz"),
    }
    over = _over_summit(case)
    highest = case.find(MAXIMUM)
    off = {end: holding.zero_flow_off(case, end) for end in suction.ENDS}
    never = easiest - off["high"].less - case.limit("speed.zero-flow.margin")
    sometimes = hardest - off["low"].less
    if highest is not None and not above(highest.si, sometimes):
        # No stop: it follows from lifts and curve as entered, nobody saw a pump without flow.
        yield ZERO_FLOW.finding(
            "not_at_all_lifts" if above(highest.si, easiest - off["high"].less) else "at_no_lift",
            "review", place,
            compared=compared | {"maximum": highest}, over=over,
            first=SUMMIT_FIRST if over else "", **_uncertain(off, easiest, hardest),
        )  # fmt: skip
    elif below(lowest.si, never):
        yield ZERO_FLOW.finding(
            "never", "review", place, compared=compared, over=over,
            limit=f"at least {show(never, 'Hz')}", **_uncertain(off, easiest, hardest),
        )  # fmt: skip
    elif below(lowest.si, sometimes):
        yield ZERO_FLOW.finding(
            "sometimes", "note", place, compared=compared, over=over,
            limit=f"at least {show(sometimes, 'Hz')}", **_uncertain(off, easiest, hardest),
        )  # fmt: skip


def _uncertain(off: Mapping[End, Off], easiest: float, hardest: float) -> dict[str, str]:
    """What slip leaves uncertain of zero flow at the lowest and at the highest lift, in words."""
    return {
        "off": less_or_more(off["high"], easiest, "Hz"),
        "worst_off": less_or_more(off["low"], hardest, "Hz"),
    }


def _over_summit(case: Case) -> str:
    """What is assumed of a high point above the outlet, in words; nothing where there is none."""
    if all(holding.over_summit(case, end) is None for end in suction.ENDS):
        return ""
    summit = case.quantity(holding.SUMMIT)
    return (
        f"; it has to lift over the main's high point at {entered(summit)}, above the outlet, "
        "before anything flows, and no siphon is counted on"
    )


def _below_header(case: Case, place: str, lowest: Quantity) -> Iterator[Finding]:
    """The slower of several pumps is shut off by the header long before it stops."""
    if case.find("/site/zero_demand_possible") is not False:
        return
    leaves = [case.find("/settings/stage_off_frequency"), case.find("/settings/sleep_frequency")]
    slowest = max([lowest.si, *(each.si for each in leaves if each)])
    header = case.value("speed.zero-flow-at-highest-suction")
    off = holding.zero_flow_off(case, "high")
    least = header - off.less - case.limit("speed.zero-flow.margin")
    if below(slowest, least):
        yield ZERO_FLOW.finding(
            "header", "review", place,
            compared={"minimum": lowest, "zero_flow": show(header, "Hz")},
            limit=f"at least {show(least, 'Hz')}", off=less_or_more(off, header, "Hz"),
        )  # fmt: skip


ZERO_FLOW = Rule(
    id="speed.zero-flow",
    title="Minimum frequency against the frequency below which nothing flows",
    severities=("review", "note"),
    condition="On level or static lift the minimum frequency is not below the zero-flow frequency "
    "at the lowest lift (0.5 Hz allowed; between lowest and highest lift: note), and the maximum "
    "frequency is above that at the highest lift. A high point of the main above its "
    "outlet counts as the lift: flow has to begin over it, and no siphon is counted on. One of "
    "several pumps on a header where demand never ends leaves before the header shuts it off.",
    source="affinity laws at zero flow, HI engineering data, equation 1.B.6; slip by the "
    f"torque, what it leaves uncertain being allowed for; {FROM_MEMORY}",
    subject=MINIMUM,
    needs=(MINIMUM,),
    waits_for=(*RESTS_ON_CURVE, "speed.order"),
    applies=has_lift,
    check=_zero_flow,
    limits={
        "margin": Limit(0.5, "Hz", "below the zero-flow frequency", "lower", "common practice"),
    },
    sentences={
        "at_no_lift": "Even at the maximum frequency {maximum} nothing flows: the pump would begin "
        "to deliver at {zero_flow}{off} at the lowest lift, at {worst}{worst_off} at the highest"
        "{over}.",
        "not_at_all_lifts": "At the maximum frequency {maximum} nothing flows at the highest lift, "
        "where the pump would begin to deliver at {worst}{worst_off}; at the lowest at {zero_flow}"
        "{over}.",
        "never": "At the minimum frequency {minimum} nothing flows even at the lowest lift: the "
        "pump begins to deliver at {zero_flow}{off}, at the highest lift at {worst}{over}.",
        "sometimes": "At the minimum frequency {minimum} the pump delivers at the lowest lift "
        "(from {zero_flow}) but not at the highest, from {worst} on{worst_off}{over}.",
        "header": "At the minimum frequency {minimum} the pump cannot open its check valve against "
        "the header, which takes {zero_flow}{off}: beside the others it churns without flow.",
    },
    remedies={
        "at_no_lift": "{first}Check the static lifts, the pump's curve and its stages: this pump "
        "is not for this lift.",
        "not_at_all_lifts": "{first}Check the highest static lift and the pump's curve; raise the "
        "maximum frequency if motor and pump allow it.",
        "never": "Set the minimum frequency to {worst} or more.",
        "sometimes": "Set the minimum frequency to {worst} or more, or accept that it rests.",
        "header": "Set the minimum frequency, or the frequency at which it is taken out, to "
        "{zero_flow} or more.",
    },
)


# -- dead-head ----------------------------------------------------------------------------------


def may_meet_closed_valves(case: Case) -> bool:
    """Whether demand is not known to be always there."""
    return has_pump_on_drive(case) and case.find("/site/zero_demand_possible") is not False


PROTECTIONS = ("/site/minimum_flow_path", "/settings/sleep_method", "/settings/no_flow_response")


def _dead_head(case: Case, place: str) -> Iterator[Finding]:
    if any(_protects(case)):
        return
    case.require(PROTECTIONS[0], PROTECTIONS[1])
    yield DEAD_HEAD.finding(
        "none", "review", place,
        compared={"minimum": case.quantity(MINIMUM)}, limit="one protection at least",
    )  # fmt: skip


def _protects(case: Case) -> Iterator[bool]:
    """Every way out at no demand; a sleep that is never reached is named by `loop.sleep-order`."""
    yield ends_without_feedback(case)
    yield case.find("/settings/sleep_method") not in (None, "none")
    yield _stops_on_level(case)


def ends_without_feedback(case: Case) -> bool:
    """Whether water has a way, or the pump is stopped at no flow, whatever the loop reads."""
    stops_dry = case.find("/settings/dry_run_response") not in NO_PROTECTION
    return (
        case.find("/site/minimum_flow_path") not in (None, "none")
        or case.find("/settings/no_flow_response") not in NO_PROTECTION
        or (case.is_("/settings/dry_run_method", "flow_switch", "underload") and stops_dry)
    )


def _stops_on_level(case: Case) -> bool:
    on_level = case.is_("/settings/regulated_quantity", *loop.LEVELS)
    return on_level and case.find("/settings/stop_level") is not None


DEAD_HEAD = Rule(
    id="speed.dead-head",
    title="What protects the pump when nobody draws water",
    severities=("review",),
    condition="Where demand can be zero there is a sleep function, a path for minimum flow, or a "
    "stop at no flow. The minimum frequency alone never decides.",
    source="common practice: a pump between closed valves heats its water",
    subject=MINIMUM,
    needs=("/site/zero_demand_possible", MINIMUM),
    applies=may_meet_closed_valves,
    check=_dead_head,
    sentences={
        "none": "Demand can be zero, but there is no sleep function, no path for minimum flow and "
        "no stop at no flow: the pump churns at {minimum} or more and heats its water.",
    },
    remedies={"none": "Set a sleep frequency above the zero-flow frequency, or a no-flow stop."},
)


# -- pressures at no flow -------------------------------------------------------------------------

BEARING = {
    "pipework": "/site/discharge_pressure_limit",
    "pump": "/pump/maximum_working_pressure",
}


def bearing_parts(case: Case) -> list[tuple[str, Quantity]]:
    """What bears the pressure on the discharge side, and how much, as far as is known."""
    found = [(name, case.find(place)) for name, place in BEARING.items()]
    for index, vessel in enumerate(case.find("/vessels") or ()):
        if vessel.location != "suction":
            found.append((f"vessel {vessel.tag or index + 1}", vessel.maximum_pressure))
    return [(name, limit) for name, limit in found if limit is not None]


def weakest(case: Case) -> tuple[str, Quantity]:
    """The lowest pressure limit on the discharge side, and whose it is."""
    known = bearing_parts(case)
    if not known:
        raise Missing(*BEARING.values())
    return min(known, key=lambda each: each[1].si)


def pressure_at(case: Case, frequency: float) -> float:
    """Pressure [Pa] at no flow and the highest suction, at the height of the site datum."""
    return suction.pressure(case, "high", 0.0) + pumping.shut_off_pressure(case, frequency)


def least_pressure_at(case: Case, frequency: float) -> float:
    """The same [Pa] as far as it is certain, since the speed hangs on the motor's slip."""
    return suction.pressure(case, "high", 0.0) + pumping.least_shut_off_pressure(case, frequency)


def relieved(case: Case, limit: float, *, blind: bool = False) -> bool:
    """Whether a relief valve, or a stop on high pressure, acts at `limit` [Pa] or less.

    `blind`: the regulating sensor is lost, so that a stop that it measures does not count.
    """
    if _valve_opens(case, limit):
        return True
    if not case.is_("/settings/high_discharge_limit_response", "stop", "stop_and_retry"):
        return False
    if case.find("/settings/high_discharge_limit") is None:
        return False
    if blind and case.find("/settings/high_discharge_limit_measured_by") in LOST_WITH_SENSOR:
        return False
    return not above(trip_at_pump(case), limit)


def _valve_opens(case: Case, limit: float) -> bool:
    relief = case.find("/site/relief_valve_setting")
    return relief is not None and not above(relief.si, limit)


def trip_at_pump(case: Case) -> float:
    """Pressure at the pump at which the drive trips on high pressure [Pa], wherever it is read."""
    return measured_limit(case, "high_discharge_limit") + over_trip(case)


def over_trip(case: Case) -> float:
    """By how much the pressure at the pump is above that where the trip is read [Pa]."""
    return loop.over_remote(case) if _trips_by_loop(case) else 0.0


def _trips_by_loop(case: Case) -> bool:
    return case.is_("/settings/high_discharge_limit_measured_by", "regulating_sensor")


def _maximum_pressure(case: Case, place: str) -> Iterator[Finding]:
    highest = case.quantity(MAXIMUM)
    whose, limit = weakest(case)
    reached = pressure_at(case, highest.si)
    certain = least_pressure_at(case, highest.si)
    trip = _remote_trip(case)
    spared = relieved(case, limit.si) if trip is None else _valve_opens(case, limit.si)
    if not above(certain, limit.at_most) or spared:
        return
    compared: dict[str, Shown | Quantity] = {
        "maximum": highest, "pressure": show(reached, limit.unit), "permitted": limit,
    }  # fmt: skip
    variant = "unprotected"
    if trip is not None:
        compared |= {"trip": trip, "at_pump": show(trip_at_pump(case), limit.unit)}
        variant = "remote" if relieved(case, limit.si) else "too_high_there"
    yield MAXIMUM_PRESSURE.finding(
        variant, "review" if variant == "remote" else "stop", place, compared=compared,
        limit=f"at most {limit.value} {limit.unit}", whose=whose,
        off=give_or_take(reached - certain, reached, limit.unit),
    )  # fmt: skip


def _remote_trip(case: Case) -> Quantity | None:
    """A stop on high pressure that a remote sensor reads, as it is set."""
    trip = case.find("/settings/high_discharge_limit")
    stops = case.is_("/settings/high_discharge_limit_response", "stop", "stop_and_retry")
    return trip if stops and _trips_by_loop(case) and loop.is_remote(case) else None


MAXIMUM_PRESSURE = Rule(
    id="speed.maximum-pressure",
    title="Pressure at no flow and maximum frequency against the weakest part",
    severities=("stop", "review"),
    condition="Highest suction pressure plus shut-off pressure at the maximum frequency stays "
    "within the limit of pipework, pump and vessels, or a relief valve or a stop on high pressure "
    "acts at that limit or below. A pressure read at a remote sensor counts with the height of the "
    "sensor over the pump; where nothing but that sensor stops the pump, review: it sees nothing "
    "of a valve that is shut before it.",
    source="affinity laws, HI engineering data, equation 1.B.6; slip by the torque, what it leaves "
    f"uncertain being allowed for; {FROM_MEMORY}",
    subject=MAXIMUM,
    needs=(MAXIMUM, "/pump/curve_points"),
    waits_for=(*RESTS_ON_CURVE, "speed.order", "speed.maximum-speed"),
    applies=has_pump_on_drive,
    check=_maximum_pressure,
    sentences={
        "unprotected": "At {maximum}, no flow and the highest suction the pressure is "
        "{pressure}{off}, above the {permitted} of the {whose}, and no relief valve or stop on "
        "high pressure at that value or below is recorded.",
        "too_high_there": "At {maximum}, no flow and the highest suction the pressure is "
        "{pressure}{off}, above the {permitted} of the {whose}; the pump stops on high pressure at "
        "{trip} of the remote sensor, which is {at_pump} at the pump.",
        "remote": "At {maximum}, no flow and the highest suction the pressure is {pressure}{off}, "
        "above the {permitted} of the {whose}; only the remote sensor stops the pump, at {trip} "
        "({at_pump} at the pump), and it sees nothing of a valve that is shut before it.",
    },
    remedies={
        "unprotected": "Lower the maximum frequency, or set a relief valve or a stop on high "
        "pressure to {permitted} or less.",
        **dict.fromkeys(
            ("too_high_there", "remote"),
            "Have high pressure stop the pump by a sensor or a switch beside it, or fit a relief "
            "valve there, at {permitted} or less; or lower the maximum frequency.",
        ),
    },
)


def _minimum_pressure(case: Case, place: str) -> Iterator[Finding]:
    lowest = case.quantity(MINIMUM)
    whose, limit = weakest(case)
    reached, certain = pressure_at(case, lowest.si), least_pressure_at(case, lowest.si)
    if not above(certain, limit.at_most):
        return
    yield MINIMUM_PRESSURE.finding(
        "above", "review", place,
        compared={"minimum": lowest, "pressure": show(reached, limit.unit), "permitted": limit},
        limit=f"at most {limit.value} {limit.unit}", whose=whose,
        off=give_or_take(reached - certain, reached, limit.unit),
    )  # fmt: skip


MINIMUM_PRESSURE = Rule(
    id="speed.minimum-pressure",
    title="Pressure at no flow and minimum frequency against the weakest part",
    severities=("review",),
    condition="Highest suction pressure plus shut-off pressure at the minimum frequency stays "
    "within the limit of pipework, pump and vessels: the loop cannot go lower.",
    source="affinity laws, HI engineering data, equation 1.B.6; slip by the torque, what it leaves "
    f"uncertain being allowed for; {FROM_MEMORY}",
    subject=MINIMUM,
    needs=(MINIMUM, "/pump/curve_points"),
    waits_for=(*RESTS_ON_CURVE, "speed.order", "speed.maximum-speed", "speed.maximum-pressure"),
    applies=has_pump_on_drive,
    check=_minimum_pressure,
    sentences={
        "above": "Even at the minimum frequency {minimum}, at no flow and the highest suction, the "
        "pressure is {pressure}{off}, above the {permitted} of the {whose}.",
    },
    remedies={"above": "Lower the minimum frequency, or let the pump sleep at low demand."},
)
