"""Derived values of energy: what a volume costs, and how soon a blocked pump boils."""

from calculations import hydraulics
from calculations.aspects import duty, liquid, load, pumping
from calculations.aspects.duty import POINTS
from calculations.case import Case, Missing
from calculations.constants import ICE_POINT
from calculations.derived.load import DRIVE_EFFICIENCY
from calculations.derived.station import FLOW_UNIT
from calculations.rule import Value, fixed
from calculations.rules.scope import has_drive
from calculations.rules.speed_limits import MAXIMUM
from calculations.units import US_FLOWS

BOILING = ICE_POINT + 100.0
"""Where water boils at the pressure of the sea's level [K]; under pressure later, and worse."""

HEAT_OF_WATER = 4186.0
"""Specific heat of water at 15 degC [J/(kg K)]; from memory."""

LITRE, GALLON = 1e-3, 3.785411784e-3  # m3; NIST SP 811:2008, appendix B.8
TEMPERATURES = ("/event/liquid_temperature", "/site/liquid_temperature_max")


def _in_us_units(case: Case) -> bool:
    return FLOW_UNIT(case) in US_FLOWS


def _unit(case: Case) -> str:
    return "kWh/Mgal" if _in_us_units(case) else "kWh/m3"


def _may_boil(case: Case) -> bool:
    return liquid.is_water(case) and pumping.is_centrifugal(case) and pumping.may_shut_off(case)


def _at_a_point(case: Case, place: str) -> float:
    flow, power = duty.flow(case, place), case.si(load.power_place(case, place))
    if flow <= 0:
        raise Missing(f"{place}/flow", because="no flow")
    return hydraulics.specific_energy(power=power, flow=flow)


def _at_rated_point(case: Case) -> float:
    flow, head, motor = (
        case.si(place) for place in ("/pump/rated_flow", "/pump/rated_head", "/rating/efficiency")
    )
    curve = pumping.curve(case)
    pump = curve.efficiency(flow=flow, speed=curve.speed)
    if not pump:
        raise Missing("/pump/curve_points", because="no efficiency at the rated flow")
    given = hydraulics.hydraulic_power(flow=flow, head=head, density=liquid.density(case))
    drive = DRIVE_EFFICIENCY if has_drive(case) else 1.0
    return hydraulics.specific_energy(power=given / (pump * motor * drive), flow=flow)


def _until_it_boils(case: Case) -> float:
    """Time that the shaft power at no flow heats a litre or US gallon from the liquid's temperature
    [s]."""
    known = [found.si for found in map(case.find, TEMPERATURES) if found is not None]
    if not known:
        raise Missing(*TEMPERATURES)
    curve = pumping.curve(case)
    speed = pumping.speed(case, case.si(MAXIMUM), 0.0) if has_drive(case) else curve.speed
    power = curve.shaft_power(flow=0.0, speed=speed)
    if not power:
        raise Missing("/pump/curve_points", because="no shaft power at no flow")
    heat = (
        liquid.density(case)
        * (GALLON if _in_us_units(case) else LITRE)
        * HEAT_OF_WATER
        * max(BOILING - max(known), 0.0)
    )
    return float(heat / power)


def _boiling_time(name: str, boiling: str, each: str, volume: str, *, in_us_units: bool) -> Value:
    """The same time, told as the station's own units have it."""
    return Value(
        id=f"pump.boiling-time-per-{name}",
        title=f"Time until the water in a blocked pump is at {boiling}, for {each} that it "
        "holds, at the highest speed in use",
        formula=f"t = rho V c ({boiling} - T) / P at no flow, V = {volume}",
        source="heat balance, heat lost on the way left out; c = 4.186 kJ/(kg K), from memory",
        unit=fixed("s"),
        compute=_until_it_boils,
        subject="/pump/curve_points",
        applies=lambda case: _in_us_units(case) == in_us_units and _may_boil(case),
        significant=2,
    )


VALUES = (
    Value(
        id="energy.per-volume",
        title="Energy from the supply for each unit of volume",
        formula="e = P_input / Q",
        source="definition",
        unit=_unit,
        compute_each=_at_a_point,
        each=POINTS,
    ),
    Value(
        id="energy.per-volume-at-rated-point",
        title="Energy for each unit of volume to expect at the pump's rated point",
        formula="e = rho g H / (eta_pump eta_motor 0.97)",
        source="ISO 9906:2012, 3.2; drive efficiency: common practice, 1 without a drive",
        unit=_unit,
        compute=_at_rated_point,
        subject="/pump/rated_flow",
        applies=pumping.is_centrifugal,
    ),
    _boiling_time("gallon", "212 degF", "each US gallon", "1 gal", in_us_units=True),
    _boiling_time("litre", "100 degC", "each litre", "1 L", in_us_units=False),
)
