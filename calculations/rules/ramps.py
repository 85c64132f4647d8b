"""Rules of ramps: through a well pump's bearing speed, surge in the main, torque to start."""

from collections.abc import Iterator

from calculations import motor_operation, motors
from calculations.aspects import holding, in_order, liquid, pumping, ramps, surging
from calculations.aspects.surging import PIPELINE
from calculations.case import Case, Missing, Waits
from calculations.findings import Finding, Severity, Shown
from calculations.rule import Limit, Rule, about, entered, estimate_over, percent, roughly, show
from calculations.rules.closeness import above, below
from calculations.rules.scope import has_drive
from calculations.rules.speed_limits import MAXIMUM, RESTS_ON_CURVE
from calculations.units import Quantity

UP, DOWN = "/settings/ramp_up_time", "/settings/ramp_down_time"


# -- submersible ----------------------------------------------------------------------------------


def is_well_pump(case: Case) -> bool:
    """Whether a drive runs a submersible well pump."""
    return has_drive(case) and case.is_("/pump/type", "submersible_well")


def _bearing(case: Case) -> float:
    """Frequency at which the bearing's film carries [Hz]: the pump's own, else by practice."""
    stated = case.find("/pump/bearing_frequency")
    return float(stated.si) if stated is not None else case.limit("ramp.submersible.frequency")


def _allowed(case: Case) -> float:
    stated = case.find("/pump/bearing_time_limit")
    return float(stated.si) if stated is not None else case.limit("ramp.submersible.time")


def _submersible(case: Case, place: str) -> Iterator[Finding]:
    bearing, allowed = _bearing(case), _allowed(case)
    taken = ramps.up_time(case, bearing)
    if above(taken, allowed):
        yield _slow(case, "up", case.place(UP), taken)
    if case.is_("/settings/stop_mode", "coast"):
        return
    taken = ramps.down_time(case, bearing)
    if above(taken, allowed):
        yield _slow(case, "down", case.place(DOWN), taken)


def _slow(case: Case, variant: str, place: str, taken: float) -> Finding:
    return SUBMERSIBLE.finding(
        variant, "review", place,
        compared={
            "taken": about(taken, "s"),
            "bearing": show(_bearing(case), "Hz"),
            "allowed": show(_allowed(case), "s"),
        },
        limit=f"at most {show(_allowed(case), 's')}",
    )  # fmt: skip


SUBMERSIBLE = Rule(
    id="ramp.submersible",
    title="Time through the bearing speed of a submersible well pump",
    severities=("review",),
    condition="From rest to the frequency at which the pump's bearing film carries, and back "
    "unless it coasts, the drive takes no more than the pump permits; 2 s to 30 Hz where it "
    "states nothing.",
    source="pump's manual; 2 s and 30 Hz: common practice, from memory",
    subject=UP,
    needs=(UP, DOWN),
    waits_for=("speed.order",),
    applies=is_well_pump,
    check=_submersible,
    limits={
        "time": Limit(2, "s", "to the bearing's frequency", "lower", "from memory"),
        "frequency": Limit(30, "Hz", "where the film carries", "higher", "from memory"),
    },
    sentences={
        "up": "The pump takes {taken} from rest to {bearing}, where the film of its bearings "
        "carries; {allowed} are permitted.",
        "down": "The pump takes {taken} from {bearing}, where the film of its bearings carries, to "
        "rest; {allowed} are permitted.",
    },
    remedies={
        "up": "Set a first ramp of {allowed} or less to {bearing}.",
        "down": "Set a last ramp of {allowed} or less from {bearing}, or let it coast.",
    },
)


# -- surge ----------------------------------------------------------------------------------------


def has_main(case: Case) -> bool:
    """Whether a drive pumps into a main that is recorded."""
    return has_drive(case) and pumping.is_centrifugal(case) and (
        case.find(PIPELINE) is not None
    )  # fmt: skip


def stops_into_main(case: Case) -> bool:
    """Whether a pump, on a drive or across the line, stands at a main that is recorded."""
    across = case.fixed_speed and pumping.is_centrifugal(case)
    return has_main(case) or (across and case.find(PIPELINE) is not None)


def _surge(case: Case, place: str) -> Iterator[Finding]:
    holding.require_flow(case)
    rest, rating = surging.pressure_at_rest(case), case.quantity(f"{PIPELINE}/pressure_rating")
    if above(rest, rating.at_most):
        # No stop: it follows from lifts and rating as entered.
        yield SURGE.finding(
            "at_rest", "review", f"{PIPELINE}/pressure_rating",
            compared={"rest": estimate_over(rest, rating), "rating": rating},
            limit=f"at most {entered(rating)}", by=surging.what_stands_highest(case),
        )  # fmt: skip
        return
    if case.is_("/settings/stop_mode", "coast"):
        yield from _coast(case, case.place("/settings/stop_mode"))
        return
    if not case.fixed_speed:
        yield from _by_ramp(case, place)
    if case.is_("/site/surge_protection", "none"):
        yield from _sudden(case, case.place("/site/surge_protection"), "power_failure", "review")


def _coast(case: Case, place: str) -> Iterator[Finding]:
    """By what the set's inertia keeps it turning; where that is not known the flow ends at once."""
    try:
        found = surging.coasting_surge(case) if knows_inertia(case) else None
    except Missing:
        found = None
    if found is None:
        yield from _sudden(case, place, "coast", "stop")
        return
    rating = case.quantity(f"{PIPELINE}/pressure_rating")
    peak = surging.pressure_at_rest(case) + liquid.pressure(case, found.head_rise)
    if above(peak, rating.at_most):
        surging.require_unsoftened(case)
        yield SURGE.finding(
            "coast_slow" if found.slow else "coast_at_once", "review" if found.slow else "stop",
            place, compared={"peak": estimate_over(peak, rating), "rating": rating},
            limit=f"at most {entered(rating)}", reflection=about(found.reflection_time, "s"),
            taken=about(surging.coasting_time(case), "s"),
        )  # fmt: skip
    elif case.find(f"{PIPELINE}/high_point_elevation") is not None:
        yield from _low_pressure(case, place, found.head_rise, "coast_")


def _sudden(case: Case, place: str, cause: str, severity: Severity) -> Iterator[Finding]:
    """The set runs down without power; in a short main the wave is back before it has."""
    drop = surging.sudden_surge(case, case.limit("ramp.surge.least-run-down")).head_rise
    rating = case.quantity(f"{PIPELINE}/pressure_rating")
    peak = surging.pressure_at_rest(case) + liquid.pressure(case, drop)
    back = surging.reflection_time(case)
    is_long = not below(back, case.limit("ramp.surge.run-down"))
    if above(peak, rating.at_most):
        surging.require_unsoftened(case)
        yield SURGE.finding(
            cause, severity if is_long else "note", place,
            compared={"peak": estimate_over(peak, rating), "rating": rating},
            limit=f"at most {entered(rating)}", reflection=about(back, "s"),
        )  # fmt: skip
    elif is_long and case.find(f"{PIPELINE}/high_point_elevation") is not None:
        yield from _low_pressure(case, place, drop, f"{cause}_")


def _by_ramp(case: Case, place: str) -> Iterator[Finding]:
    case.require(DOWN)
    found = surging.ramp_surge(case)
    rating = case.quantity(f"{PIPELINE}/pressure_rating")
    peak = surging.pressure_at_rest(case) + liquid.pressure(case, found.head_rise)
    compared: dict[str, Shown | Quantity] = {
        "ramp": case.quantity(DOWN),
        "peak": estimate_over(peak, rating),
        "rating": rating,
    }
    if above(peak, rating.at_most):
        surging.require_unsoftened(case)
        variant, sensible = (
            ("over_rating", surging.settable_ramp(case)) if found.slow else ("at_once", None)
        )
        yield SURGE.finding(
            variant, "stop", place,
            compared=compared, limit=f"at most {entered(rating)}",
            longer=_told(sensible),
            reflection=about(found.reflection_time, "s"),
        )  # fmt: skip
    elif case.find(f"{PIPELINE}/high_point_elevation") is not None:
        yield from _low_pressure(case, place, found.head_rise, "")


def _told(sensible: float | None) -> str:
    if sensible is None:
        return "No ramp of a drive is long enough: stop in another way"
    unusual = ", longer than a pump is usually stopped" if sensible > surging.USUAL_RAMP else ""
    return f"Set the ramp down to about {about(sensible, 's')} or more{unusual}"


LIFTS = {"static_lift_low", "static_lift_high"}
"""What of the site a main's high point is held against; the pipe's rating does not rest on it."""


def _low_pressure(case: Case, place: str, drop: float, cause: str) -> Iterator[Finding]:
    if surging.ends_at_high_point(case):
        return
    lowest = surging.high_point(case, drop)
    unit = case.quantity(f"{PIPELINE}/pressure_rating").unit
    if lowest.pressure >= 0:
        return
    if not LIFTS.isdisjoint(in_order.in_doubt(case)):
        raise Waits(in_order.SITE_ORDER)
    surging.require_unsoftened(case)
    if cause and surging.is_summit(case) and not surging.tears(case, drop):
        yield SURGE.finding(
            "summit", "note", f"{PIPELINE}/high_point_elevation",
            compared={"lowest": roughly(lowest.pressure, unit)},
            limit="not below the pressure of the air",
        )  # fmt: skip
        return
    rare = cause == "power_failure_" and not lowest.column_separates
    laid_so = not cause and surging.is_summit(case)  # no ramp is at fault, and none mends it
    ramp = {} if cause else {"ramp": entered(case.quantity(DOWN))}
    yield SURGE.finding(
        f"{cause}separates" if lowest.column_separates else f"{cause}vacuum",
        "note" if rare or laid_so else "review", place,
        compared=ramp | {"lowest": roughly(lowest.pressure, unit)},
        limit="not below the pressure of the air", **({} if cause else _longer(case)),
    )  # fmt: skip


def _longer(case: Case) -> dict[str, str]:
    """The ramp down that keeps the high point over the air's pressure, in words."""
    told = "Set a longer ramp down"
    if surging.is_summit(case):
        told = "No ramp keeps it there: the high point lies above the grade at rest"
    elif surging.flow_stop_time(case) > 0:
        told = _told(surging.settable_ramp(case))
    return {"longer": told}


_LAID = "the whole drop at the pump is laid on the high point, wherever along the main it is)."

SURGE = Rule(
    id="ramp.surge",
    title="Surge in the main when the drive ramps down",
    severities=("stop", "review", "note"),
    condition="The main is rated for its pressure at rest, full to its outlet or to a "
    "summit above that (else review, and nothing more). "
    "By the simple estimate the pressure stays within the main's rating when the drive "
    "ramps down from the design point, and does not fall below that of the air at its high point, "
    "unless that is its outlet (above the grade at rest no ramp keeps it there: note; a sudden "
    "stop counts there only where the fall of head by itself tears the column). What an air "
    "vessel, a one-way tank or a flywheel softens is left to a study. "
    "The flow ends when the speed falls to zero flow, not with the ramp. Where the pump coasts, "
    "or power fails without surge protection (across the line every stop is as if it did), the "
    "flow is taken to end within 0.5 s; that is a note where the wave is back before a set has run "
    "down. Where both inertias are recorded a pump that coasts is judged by the time they keep it "
    "delivering (over the rating: stop where that is over before the wave is back, else review). "
    "Not a surge study.",
    source="Joukowsky 1898, Michaud 1878, Korteweg 1878; elastic moduli, and an axial pump's "
    "torque at no flow where its curve tells none (1.3 times that at best efficiency), from memory",
    subject=DOWN,
    needs=(f"{PIPELINE}/length", f"{PIPELINE}/inside_diameter", f"{PIPELINE}/pressure_rating"),
    waits_for=("main.wall", *RESTS_ON_CURVE, "speed.order", "speed.maximum-speed"),
    applies=stops_into_main,
    check=_surge,
    limits={
        "run-down": Limit(2, "s", "ordinary run-down of a set", "lower", "common practice"),
        "least-run-down": Limit(0.5, "s", "shortest run-down", "lower", "common practice"),
    },
    sentences={
        "at_rest": "At rest {by} alone puts {rest} on the main, above its rating of {rating}.",
        "over_rating": "Ramping down in {ramp} may raise the pressure in the main to about {peak}, "
        "above its rating of {rating} (simple estimate, not a surge study).",
        "at_once": "Ramping down in {ramp} ends the flow before the wave is back ({reflection}) "
        "and may raise the pressure in the main to about {peak}, above its rating of {rating} "
        "(simple estimate, not a surge study).",
        "vacuum": "Ramping down in {ramp} may lower the pressure at the main's high point to about "
        "{lowest}: air or dirt may be drawn in (" + _LAID,
        "separates": "Ramping down in {ramp} may lower the pressure at the main's high point to "
        "the vapour's: the column separates, and slams when it closes (" + _LAID,
        **dict.fromkeys(
            ("coast_slow", "coast_at_once"),
            "Letting the pump coast ends the flow within about {taken}, by the inertia of the set "
            "(the wave is back after {reflection}), and may raise the pressure in the main to "
            "about {peak}, above its rating of {rating} (simple estimate, not a surge study).",
        ),
        "coast": "Letting the pump coast may end the flow before the wave is back ({reflection}) "
        "and may raise the pressure in the main to about {peak}, above its rating of {rating} "
        "(simple estimate without the set's inertia, not a surge study).",
        "coast_vacuum": "Letting the pump coast may lower the pressure at the main's high point to "
        "about {lowest}: air or dirt may be drawn in.",
        "coast_separates": "Letting the pump coast may lower the pressure at the main's high point "
        "to the vapour's: the column separates, and slams when it closes.",
        "power_failure_vacuum": "A power failure may lower the pressure at the main's high point "
        "to about {lowest}: air or dirt may be drawn in.",
        "power_failure_separates": "A power failure may lower the pressure at the main's high "
        "point to the vapour's: the column separates, and slams when it closes; no surge "
        "protection is recorded.",
        "summit": "The main's high point lies above the grade at rest: whenever the pump stops, "
        "the pressure there falls to about {lowest} unless air gets in.",
        "power_failure": "No ramp softens a power failure: without surge protection the pressure "
        "in the main may reach about {peak}, above its rating of {rating}.",
    },
    remedies={
        "at_rest": "Check the rating with its unit and {by}, before the main is filled.",
        "over_rating": "{longer}, and have the main studied.",
        "at_once": "Set a much longer ramp down, and have the main studied.",
        "vacuum": "{longer}; check air valves at the high point.",
        "separates": "{longer}; check air valves at the high point, and have the main studied.",
        "summit": "Check that an air valve stands there, and works.",
        **dict.fromkeys(
            ("coast", "coast_slow", "coast_at_once"), "Stop by a ramp, and have the main studied."
        ),
        "coast_vacuum": "Stop by a ramp; check air valves at the high point.",
        "coast_separates": "Stop by a ramp, and have the main studied.",
        "power_failure": "Have the main studied for a power failure.",
        "power_failure_vacuum": "Check air valves at the high point.",
        "power_failure_separates": "Have the main studied for a power failure.",
    },
)  # fmt: skip


# -- torque to start ------------------------------------------------------------------------------


def knows_inertia(case: Case) -> bool:
    """Whether the inertia of motor and pump is recorded, so that a ramp can be judged."""
    return has_drive(case) and all(
        case.find(f"/{part}/inertia") is not None for part in ("motor", "pump")
    )


def _start_torque(case: Case, place: str) -> Iterator[Finding]:
    power, speed = case.require("/rating/power", "/rating/speed")
    ratio = pumping.transmission(case)
    inertia = case.si("/motor/inertia") + case.si("/pump/inertia") / ratio**2
    time = ramps.up_time(case, case.si("/rating/frequency"))
    if time <= 0:
        raise Missing(case.place(UP), because="no time to speed up")
    rated = motors.rated_torque(power=power.si, speed=speed.si)
    extra = motor_operation.ramp_torque(inertia=inertia, speed_change=speed.si, time=time)
    load, available = _load_share(case), _available_share(case)
    needed = extra / rated + load
    if not above(needed, available):
        return
    room = available - load
    sensible = time * extra / rated / room if room > 0 else time
    yield START_TORQUE.finding(
        "too_fast" if room > 0 else "too_weak", "review", place,
        compared={"ramp": case.quantity(UP)}, limit=percent(available), needed=percent(needed),
        available=percent(available), sensible=about(sensible, "s"), load=percent(load),
    )  # fmt: skip


def _load_share(case: Case) -> float:
    """Torque of the pump at the end of the ramp over the motor's rated torque [1]."""
    try:
        needed = case.value("speed.highest-for-motor-power")
    except Missing:
        return 1.0
    return float(min((case.si("/rating/frequency") / needed) ** 2, 1.0)) if needed > 0 else 1.0


def _available_share(case: Case) -> float:
    """Torque that the drive's overload lets the motor give, over its rated torque [1]."""
    overload = case.quantity("/drive/overload_percent")
    duty = case.find("/settings/duty_class") or "normal"
    rated = case.quantity(f"/drive/rated_current_{duty}_duty")
    return float(overload.si * rated.si / case.si("/rating/current"))


START_TORQUE = Rule(
    id="ramp.start-torque",
    title="Torque to speed up against the drive's overload",
    severities=("review",),
    condition="Speeding up motor and pump within the ramp, with the pump's load at its end, takes "
    "no more torque than the drive's overload gives the motor. Judged where both inertias are "
    "known.",
    source="equation of rotation",
    subject=UP,
    needs=(UP, MAXIMUM, "/rating/power", "/rating/speed", "/rating/frequency", "/rating/current",
           "/drive/overload_percent"),
    waits_for=("motor.slip", "motor.poles", "motor.power-balance", "drive.volts-per-hertz",
               "drive.rated-current", *RESTS_ON_CURVE, "speed.order", "speed.maximum-speed"),
    applies=knows_inertia,
    check=_start_torque,
    sentences={
        "too_fast": "Speeding up in {ramp} takes {needed} of the motor's rated torque; the drive's "
        "overload gives {available}: it will trip or stretch the ramp.",
        "too_weak": "The pump alone takes {load} of the motor's rated torque at the end of the "
        "ramp; the drive's overload gives {available}: no ramp is long enough.",
    },
    remedies={
        "too_fast": "Set the ramp up to {sensible} or more.",
        "too_weak": "Use a drive with more overload, or a lower maximum frequency.",
    },
)  # fmt: skip
