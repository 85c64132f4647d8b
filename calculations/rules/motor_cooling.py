"""Rules of a motor's cooling, thermal protection and bearings."""

from collections.abc import Iterator

from calculations import motor_operation
from calculations.aspects import cooling, load
from calculations.case import Case
from calculations.derived.station import FLOW_UNIT
from calculations.findings import Finding
from calculations.rule import Limit, Rule, about, percent, rough_percent, roughly, show
from calculations.rules.closeness import above, below
from calculations.rules.loop_set_point import SCALED
from calculations.rules.motor_guards import asks_for_protection, in_hazardous_area, is_protected
from calculations.rules.scope import has_drive, has_motor, is_immersed, is_new_work, may_be_immersed
from calculations.units import Quantity

CLOSE = 1e-6  # m; conversion alone must not decide

# -- cooling ------------------------------------------------------------------------------------


def _is_cooled_specially(case: Case) -> bool:
    separate = case.is_("/motor/cooling", "separate_fan") and is_new_work(case)
    return has_motor(case) and (
        separate or cooling.is_in_a_well(case) or cooling.is_in_a_wet_well(case)
    )


def _cooling(case: Case, place: str) -> Iterator[Finding]:
    if cooling.is_in_a_well(case):
        yield from _never_covered(case)
        yield from _velocity(case, place)
    elif cooling.is_in_a_wet_well(case):
        yield from _covered(case)
    else:
        yield from _separate_fan(case, place)


def _never_covered(case: Case) -> Iterator[Finding]:
    """A motor that asks for liquid where none stands while it pumps: a depth taken for a height."""
    least, water = case.find("/motor/minimum_liquid_level"), case.find("/site/pumping_water_depth")
    if least is not None and water is not None and above(least.at_least, -water.at_least):
        yield COOLING.finding(
            "never_covered", "review", "/motor/minimum_liquid_level",
            compared={"least": least, "water": water}, limit="below the pumping water",
        )  # fmt: skip


def _velocity(case: Case, place: str) -> Iterator[Finding]:
    limit = case.limit("motor.cooling.velocity")
    if not below(cooling.velocity_in_empty_casing(case), limit):
        return
    slowest = cooling.slowest_velocity(case)
    if _is_slim(case):
        limit = case.limit("motor.cooling.velocity-slim")
    if not below(slowest, limit):
        return
    flow = cooling.least_flow(case)[0]
    unit = cooling.velocity_unit(case)
    share = cooling.area_uncertainty(case, case.limit("motor.cooling.diameters"))
    close = not below(slowest * (1 + share), limit * (1 - CLOSE))
    own = 0.0 if close else cooling.flow_at_lowest_speed(case)
    never = own > 0 and not below(cooling.velocity(case, own), limit * (1 + share))
    yield COOLING.finding(
        "close" if close else "allowed" if never else "slow",
        "note" if close or never else "review", _of_least_flow(case, place),
        compared={
            "flow": flow,
            "casing": case.quantity("/site/casing_inside_diameter"),
            "outside": case.quantity("/motor/outside_diameter"),
            "velocity": roughly(slowest, unit),
        },
        limit=str(roughly(limit, unit)), least=roughly(limit, unit), share=rough_percent(share),
        own=about(own, FLOW_UNIT(case)),
    )  # fmt: skip


def _of_least_flow(case: Case, place: str) -> str:
    return case.place("/settings/set_point") if cooling.keeps_flow(case) else place


def _is_slim(case: Case) -> bool:
    outside: Quantity = case.quantity("/motor/outside_diameter")
    return not above(outside.si, case.limit("motor.cooling.slim"))


def _covered(case: Case) -> Iterator[Finding]:
    least: Quantity = case.quantity("/motor/minimum_liquid_level")
    stop: Quantity = case.quantity("/settings/stop_level")
    elevation = cooling.stop_elevation(case)
    if below(elevation + stop.resolution, least.at_least - CLOSE):
        yield COOLING.finding(
            "uncovered", "review", case.place("/settings/stop_level"),
            compared={"stop": stop, "elevation": show(elevation, least.unit), "least": least},
            limit="the level that covers the motor",
        )  # fmt: skip


def _separate_fan(case: Case, place: str) -> Iterator[Finding]:
    (checks,) = case.require("/event/mechanical_checks")
    results = [each.result for each in checks if each.item == "cooling_path_clear"]
    if "ok" not in results:
        yield COOLING.finding("fan", "review", place, compared={})


COOLING = Rule(
    id="motor.cooling",
    title="Cooling of immersed and separately cooled motors",
    severities=("review", "note"),
    condition="In a well at least 0.15 m/s (0.08 m/s past a motor of at most 0.115 m) flow past "
    "the motor at the lowest flow that a loop keeps, else at the minimum continuous flow (note "
    "where 1 % of the diameters decides, since these are nominal ones, or where what a pump alone "
    "on its main gives at its lowest speed is enough), and the pumping water covers what the motor "
    "asks; in a wet well the liquid covers a motor without jacket down to the stop level; a "
    "separate fan was proven.",
    source="common practice; 0.15 and 0.08 m/s from memory, the motor's manual governs",
    subject="/motor/cooling",
    waits_for=("loop.kinds", *SCALED, "loop.set-point-unit"),
    waits_at=lambda case, place: cooling.keeps_flow(case),
    applies=_is_cooled_specially,
    check=_cooling,
    limits={
        "velocity": Limit(0.15, "m/s", "past a motor in a well", "higher", "from memory"),
        "velocity-slim": Limit(0.08, "m/s", "past a slim motor in a well", "higher", "from memory"),
        "slim": Limit(0.115, "m", "outside diameter of a slim motor", "lower", "from memory"),
        "diameters": Limit(1, "%", "of nominal diameters", "lower", "common practice"),
    },
    sentences={
        "close": "At {flow} {velocity} flow past the motor ({outside} in {casing}); it needs "
        "{least}. Nominal diameters leave {share} of that open: it cannot be decided with them.",
        "slow": "At {flow} only {velocity} flow past the motor ({outside} in {casing}); it needs "
        "{least}.",
        "allowed": "At {flow} only {velocity} flow past the motor ({outside} in {casing}); it "
        "needs {least}. By the curves of pump and system {own} flow at its lowest speed, which is "
        "enough, unless a valve throttles it.",
        "uncovered": "The pump stops at {stop}, which is an elevation of {elevation}; the motor "
        "has to be covered to {least} and has no jacket.",
        "never_covered": "The motor has to be covered to {least} over the site datum, but while it "
        "pumps the water stands at a depth of {water}.",
        "fan": "The motor is cooled by a separate fan, and nothing records that it was seen to run "
        "with its way clear.",
    },
    remedies={
        "slow": "Fit a cooling shroud, or let it run at more flow only.",
        "uncovered": "Raise the stop level.",
        "never_covered": "Read the level that has to cover the motor again: below the site datum "
        "it is negative. Else lower the pump.",
        "fan": "See the fan run, in the right direction and before the motor starts; record it.",
    },
)

# -- ambient and altitude -----------------------------------------------------------------------


def is_cooled_by_air(case: Case) -> bool:
    """Whether the air of the visit's day cools the motor."""
    return has_motor(case) and not is_immersed(case) and case.event is not None


def allowed_ambient(case: Case) -> float:
    """Air temperature in which the motor still carries its rating [K]."""
    rated, height = case.find("/motor/ambient_rated"), case.find("/motor/altitude_rated")
    return motor_operation.allowed_ambient(
        altitude=case.si("/site/elevation"),
        rated_ambient=rated.si if rated is not None else motor_operation.RATED_AMBIENT,
        rated_altitude=height.si if height is not None else motor_operation.RATED_ALTITUDE,
        loss_per_metre=_ambient_loss(case),
    )


def _ambient_loss(case: Case) -> float:
    """By the class that the motor's rise is held to, else by its insulation; F where unknown [K/m].

    A rise grows by a share of itself as the air gets thinner, whatever the insulation stands.
    """
    known = case.find("/motor/temperature_rise_class") or case.find("/motor/insulation_class")
    by_class = motor_operation.AMBIENT_LOSS_BY_CLASS
    return by_class.get(str(known), motor_operation.AMBIENT_LOSS_PER_METRE)


def highest_torque(case: Case) -> float:
    """Largest share of rated torque [1]: by the currents read, else by the one expected."""
    reading = load.highest_reading(case)
    current = reading[1].si if reading else case.value("load.highest-expected-current")
    return load.torque_ratio_of_current(case, current)


def _ambient(case: Case, place: str) -> Iterator[Finding]:
    air: Quantity = case.quantity("/event/ambient_temperature")
    allowed = allowed_ambient(case)
    if not above(air.at_least, allowed):
        return
    loaded = highest_torque(case)
    if above(loaded, case.limit("motor.ambient-altitude.load")):
        yield AMBIENT_ALTITUDE.finding(
            "warm", "review", place,
            compared={
                "air": air,
                "elevation": case.quantity("/site/elevation"),
                "allowed": about(allowed, air.unit),
            },
            limit=str(about(allowed, air.unit)), loaded=percent(loaded),
        )  # fmt: skip


AMBIENT_ALTITUDE = Rule(
    id="motor.ambient-altitude",
    title="Air at the motor against what it allows at this altitude",
    severities=("review",),
    condition="Above 90 % of rated torque the air is not warmer than the plate's ambient (40 "
    "degC), less 1 K for each 100 m above 1000 m (0.6 K of class A, 0.75 K of E, 0.8 K of B, "
    "1.25 K of H).",
    source="IEC 60034-1 for 40 degC and 1000 m; loss with altitude: the same; all from memory",
    subject="/event/ambient_temperature",
    needs=("/event/ambient_temperature", "/site/elevation"),
    waits_for=("site.elevation", "motor.power-balance", "load.current-nameplate"),
    applies=is_cooled_by_air,
    check=_ambient,
    limits={"load": Limit(90, "%", "share of rated torque", "lower", "from memory")},
    sentences={
        "warm": "Air at the motor is {air} at {elevation}, where it allows {allowed} at full load; "
        "it was loaded to {loaded}."
    },
    remedies={"warm": "Ventilate the room, or lower the maximum frequency."},
)

# -- bearings -----------------------------------------------------------------------------------


def _is_large_on_drive(case: Case) -> bool:
    power = case.find("/rating/power")
    if power is None or is_immersed(case):
        return False
    return has_drive(case) and not below(power.si, case.limit("motor.bearing-currents.power"))


def _bearings(case: Case, place: str) -> Iterator[Finding]:
    if case.find("/motor/bearing_current_protection") in (None, "none"):
        if may_be_immersed(case):
            case.require("/motor/immersed")
        power = case.quantity("/rating/power")
        yield BEARING_CURRENTS.finding("none", "note", place, compared={"power": power})


BEARING_CURRENTS = Rule(
    id="motor.bearing-currents",
    title="Protection against bearing currents",
    severities=("note",),
    condition="A motor of 75 kW and more on a drive has an insulated bearing or a shaft ring. "
    "Nothing is said of one that is immersed: in or behind its seals no "
    "ring is fitted.",
    source="common practice; IEC TS 60034-25, from memory",
    subject="/motor/bearing_current_protection",
    applies=_is_large_on_drive,
    check=_bearings,
    limits={"power": Limit(75, "kW", "rated power from which it matters", "lower", "from memory")},
    sentences={
        "none": "No protection against bearing currents is recorded for a motor of {power} on a "
        "drive."
    },
)

# -- thermal sensor -----------------------------------------------------------------------------


def _has_thermal_sensor(case: Case) -> bool:
    return has_drive(case) and case.find("/motor/thermal_sensor") not in (None, "none")


def _thermal_sensor(case: Case, place: str) -> Iterator[Finding]:
    response = case.word("/settings/motor_thermal_sensor_response")
    if response != "trip" and _is_protected_in_area(case):
        yield THERMAL_SENSOR.finding("explosion", "review", place, compared={})
    elif response == "none":
        yield THERMAL_SENSOR.finding("unused", "review", place, compared={})


def _is_protected_in_area(case: Case) -> bool:
    return is_protected(case) and in_hazardous_area(case) and asks_for_protection(case)


THERMAL_SENSOR = Rule(
    id="motor.thermal-sensor",
    title="Thermal sensor of the motor in use",
    severities=("review",),
    condition="Where the motor has a thermal sensor, the drive responds to it; that of an "
    "explosion-protected motor trips it in a hazardous area where no other will do.",
    source="common practice; NFPA 70 430.126, IEC 60079-14, from memory",
    subject="/settings/motor_thermal_sensor_response",
    needs=("/settings/motor_thermal_sensor_response",),
    applies=_has_thermal_sensor,
    check=_thermal_sensor,
    sentences={
        "unused": "The motor has a thermal sensor, but the drive does not respond to it: at low "
        "speed and with blocked cooling its overload alone does not protect the winding.",
        "explosion": "The thermal sensor of the explosion-protected motor does not trip the drive: "
        "on a drive the motor's certificate usually rests on that trip.",
    },
    remedies={
        "unused": "Wire the sensor to the drive, set it to trip and prove it.",
        "explosion": "Set it to trip and prove it, or say by which part of the certificate it need "
        "not.",
    },
)
