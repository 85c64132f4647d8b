"""Derived values of the station: flows on the system, the main, surge, vessels, wells, air."""

from collections.abc import Callable

from calculations.aspects import holding, levels, liquid, lowest_suction, pumping, surging, system
from calculations.aspects.storage import over_sensor, usable_volume, wake_value
from calculations.aspects.suction import End
from calculations.case import Case
from calculations.rule import Value, fixed, like
from calculations.rules import draw_down, ramps, vessels, wells
from calculations.rules.speed_limits import MAXIMUM, MINIMUM

SMALL_LEAK = 0.01
"""Share of the rated flow that a header loses while everybody sleeps [1]; common practice."""


def _uses_feet(case: Case) -> bool:
    found = case.find("/site/pipeline/inside_diameter")
    return found is not None and found.unit in ("in", "ft")


def _speed_unit(case: Case) -> str:
    return "ft/s" if _uses_feet(case) else "m/s"


FLOW_UNIT = like("/site/system_design_flow", "m3/h", "/pump/rated_flow")
HEAD_UNIT = like("/site/system_design_head", "m", "/pump/rated_head")
PRESSURE_UNIT = like("/site/pipeline/pressure_rating", "bar")


def _absolute_pressure(case: Case) -> str:
    """The unit that goes with the site's elevation."""
    elevation = case.find("/site/elevation")
    return "psi" if elevation is not None and elevation.unit == "ft" else "kPa"


def _flow(name: str, pointer: str, end: End = "low") -> Value:
    at_lowest = end == "high"
    return Value(
        id=f"system.flow-at-{name}-speed" + ("-at-lowest-lift" if at_lowest else ""),
        title=f"Flow of this pump alone on the system at its {name} frequency, "
        f"{'lowest' if at_lowest else 'highest'} lift",
        formula="s^2 h(Q / s) = H_system(Q)",
        source="HI engineering data (affinity laws, system curves)",
        unit=FLOW_UNIT,
        compute=lambda case: system.flow(case, case.si(pointer), end),
        subject=pointer,
        applies=pumping.is_centrifugal,
        read_on_site=True,
    )


def _velocity(name: str, pointer: str) -> Value:
    return Value(
        id=f"main.velocity-at-{name}-speed",
        title=f"Velocity in the main at the {name} frequency, lowest lift",
        formula="v = 4 Q / (pi d^2)",
        source="continuity",
        unit=_speed_unit,
        compute=lambda case: system.main_velocity(
            case, system.flow(case, case.si(pointer), "high")
        ),
        subject=pointer,
        applies=ramps.has_main,
        significant=3,
    )


# -- surge --------------------------------------------------------------------------------------


def _surge(
    name: str,
    title: str,
    formula: str,
    source: str,
    unit: Callable[[Case], str],
    compute: Callable[[Case], float],
    applies: Callable[[Case], bool] = ramps.stops_into_main,
) -> Value:
    return Value(
        id=f"surge.{name}",
        title=title,
        formula=formula,
        source=source,
        unit=unit,
        compute=compute,
        subject=surging.PIPELINE,
        significant=3,  # estimates
        applies=applies,
    )


def _power_failure(case: Case) -> float:
    rise = liquid.pressure(case, surging.instant_head(case))
    return surging.pressure_at_rest(case) + rise


def _lift_at_stop(case: Case) -> float:
    """The lowest lift belongs to the highest level of the site; every metre lower adds to it."""
    lowest, highest_level = case.si(holding.LIFT["high"]), case.si("/site/suction_level_high")
    return lowest + highest_level - levels.elevation(case, "stop_level")


# -- vessels ------------------------------------------------------------------------------------


def _wake_interval(case: Case, place: str) -> float:
    leak = SMALL_LEAK * case.si("/pump/rated_flow")
    return usable_volume(case, place) / leak


def _target(case: Case, place: str) -> float:
    case.require(place)
    low, high = map(case.limit, ("vessel.precharge.low", "vessel.precharge.high"))
    return (wake_value(case) + over_sensor(case, place)) * (low + high) / 2


def _of_vessel(
    name: str,
    title: str,
    formula: str,
    source: str,
    unit: Callable[[Case], str],
    compute: Callable[[Case, str], float],
) -> Value:
    return Value(
        id=f"vessel.{name}",
        title=title,
        formula=formula,
        source=source,
        unit=unit,
        compute_each=compute,
        each="/vessels",
        applies=vessels.serves_sleep,
        significant=3,
        read_on_site=True,
    )


def _volume_unit(case: Case) -> str:
    found = case.find("/vessels/0/volume")
    return str(found.unit) if found is not None else "L"


VALUES = (
    _flow("minimum", MINIMUM),
    _flow("maximum", MAXIMUM),
    _flow("maximum", MAXIMUM, "high"),
    _velocity("minimum", MINIMUM),
    _velocity("maximum", MAXIMUM),
    _surge(
        "wave-speed", "Speed of a pressure wave in the main",
        "a = sqrt(K / rho) / sqrt(1 + K D / (E e))",
        "Korteweg 1878; elastic modulus from memory, liquid without gas", _speed_unit,
        surging.wave_speed,
    ),
    _surge(
        "reflection-time", "Time after which the wave is back", "T = 2 L / a", "Michaud 1878",
        fixed("s"), surging.reflection_time,
    ),
    _surge(
        "instant-stop-head", "Change of head when the design flow stops at once", "dH = a dV / g",
        "Joukowsky 1898", HEAD_UNIT, surging.instant_head,
    ),
    _surge(
        "power-failure-pressure", "Pressure that a power failure may reach, no protection counted",
        "p = p_static + rho g dH", "Joukowsky 1898; simple estimate, not a surge study",
        PRESSURE_UNIT, _power_failure,
    ),
    _surge(
        "flow-stop-time", "Time within the ramp down after which the flow ends",
        "t_ramp (s_design - s_zero-flow)", "HI engineering data, equation 1.B.6, at zero flow",
        fixed("s"), surging.flow_stop_time, ramps.has_main,
    ),
    _surge(
        "ramp-head-rise", "Head rise when the drive ramps down from the design point",
        "a dV / g up to 2 L / a, then 2 L dV / (g t)",
        "Joukowsky 1898, Michaud 1878; simple estimate, not a surge study", HEAD_UNIT,
        lambda case: surging.ramp_surge(case).head_rise, ramps.has_main,
    ),
    _surge(
        "shortest-ramp", "Shortest ramp down whose estimated rise stays within the main's rating",
        "2 L dV / (g dH), taken back to the drive's ramp",
        "Michaud 1878; simple estimate, not a surge study", fixed("s"), surging.shortest_ramp,
        ramps.has_main,
    ),
    _of_vessel(
        "pre-charge-target", "Pre-charge to aim at, system drained", "0.875 p_wake",
        "common practice, from memory (80 to 95 % of the wake pressure)",
        like("/settings/set_point", "bar"), _target,
    ),
    _of_vessel(
        "usable-volume", "Water that the vessel gives between stop and wake",
        "V p_0 (1 / p_wake - 1 / p_stop), absolute pressures at the site",
        "Boyle's law; ISO 2533:1975", _volume_unit, usable_volume,
    ),
    _of_vessel(
        "wake-interval", "Time between wakes at a leak of 1 % of the rated flow", "V / Q",
        "definition; leak: common practice", fixed("s"), _wake_interval,
    ),
    Value(
        id="system.static-lift-at-stop-level",
        title="Static lift when the well is drawn down to the stop level, the highest in service",
        formula="H_low + z_high - z_stop",
        source="definition",
        unit=HEAD_UNIT,
        compute=_lift_at_stop,
        subject="/settings/stop_level",
        applies=lambda case: levels.are_set(case) and levels.empties(case) is True,
    ),
    Value(
        id="well.starts-per-hour",
        title="Starts in the worst hour of a wet well's pump",
        formula="T = V / (Q - Q_in) + V / Q_in, worst at Q_in = Q / 2",
        source="MIL-HDBK-1005/9A, 2.5.3.6",
        unit=fixed("1"),
        compute=wells.starts_per_hour,
        subject="/settings/start_level",
        applies=wells.starts_by_level,
        significant=3,
    ),
    Value(
        id="flow.by-drawdown",
        title="Flow by the falling level, inflow added",
        formula="Q = A dh / t + Q_in",
        source="continuity; state agency's guide to calibrating lift stations",
        unit=FLOW_UNIT,
        compute_each=draw_down.drawdown_flow,
        each=draw_down.TESTS,
    ),
    Value(
        id="npsh.atmospheric-pressure",
        title="Pressure of the air at the site's elevation, absolute",
        formula="p = p0 (1 - L H / T0)^(g / (R L))",
        source="ISO 2533:1975; weather moves it by 3 %",
        unit=_absolute_pressure,
        compute=liquid.atmosphere,
        subject="/site/elevation",
    ),
    Value(
        id="npsh.vapour-pressure",
        title="Vapour pressure of the liquid on the day, absolute",
        formula="saturation line, equation 30; as many times water's as one that is stated",
        source="IF97; Raoult's law, from memory",
        unit=_absolute_pressure,
        compute=lambda case: liquid.vapour_pressure_at(case, "/event/liquid_temperature"),
        subject="/event/liquid_temperature",
    ),
    Value(
        id="npsh.vapour-pressure-at-highest-temperature",
        title="Vapour pressure of the liquid at the site's highest temperature, absolute",
        formula="saturation line, equation 30; as many times water's as one that is stated",
        source="IF97; Raoult's law, from memory",
        unit=_absolute_pressure,
        compute=lambda case: liquid.vapour_pressure_at(case, liquid.WARMEST),
        subject=liquid.WARMEST,
    ),
    Value(
        id="npsh.available-at-lowest-suction",
        title="Net positive suction head available at the lowest suction, highest temperature and "
        "highest flow",
        formula="(p_atm - p_v)/(rho g) + z_suction - z_eye - h_f(Q)",
        source="ISO 9906:2012, 3.2; IF97; ISO 2533:1975",
        unit=HEAD_UNIT,
        compute=lambda case: lowest_suction.scarcest(case).available,
        subject="/site",
        applies=pumping.is_centrifugal,
    ),
)  # fmt: skip
