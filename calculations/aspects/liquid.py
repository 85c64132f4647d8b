"""The liquid on the day, and the air above it."""

from calculations import water
from calculations.case import Case, once
from calculations.constants import ICE_POINT, STANDARD_ATMOSPHERE
from calculations.rules.closeness import above

AIR_WITHIN = 0.1
"""Share of an atmosphere that weather and instruments take away or add [1]; common practice."""

USUAL_TEMPERATURE = ICE_POINT + 15.0
"""Water temperature where none is recorded [K]; 10 K more or less change the density by 0.2 %."""


def temperature(case: Case) -> float:
    """Temperature of the liquid [K], not below ice: on the day, else the middle of the site's."""
    measured = case.find("/event/liquid_temperature")
    if measured is not None:
        return temperature_at(case, "/event/liquid_temperature")
    ends = [case.find("/site/liquid_temperature_min"), case.find("/site/liquid_temperature_max")]
    known = [end.si for end in ends if end is not None]
    return max(sum(known) / len(known), ICE_POINT) if known else USUAL_TEMPERATURE


def temperature_at(case: Case, place: str) -> float:
    """Temperature that stands at a place [K], not below that of ice: what is pumped is liquid."""
    return max(case.si(place), ICE_POINT)


@once
def density(case: Case) -> float:
    """Density of the liquid [kg/m3], taken as clean water."""
    return water.density(temperature=temperature(case))


def density_at(case: Case, place: str) -> float:
    """Density [kg/m3] at the temperature that stands at a place, taken as clean water."""
    return water.density(temperature=temperature_at(case, place))


def head(case: Case, pressure: float) -> float:
    """Height of liquid [m] that a pressure [Pa] holds up."""
    return water.head_of_pressure(pressure=pressure, density=density(case))


def pressure(case: Case, head: float) -> float:
    """Pressure [Pa] under a height of liquid [m]."""
    return water.pressure_of_head(head=head, density=density(case))


@once
def atmosphere(case: Case) -> float:
    """Absolute pressure of the air at the site [Pa]; `Missing` without the site's elevation."""
    return water.atmospheric_pressure_absolute(elevation=case.si("/site/elevation"))


def is_an_atmosphere(case: Case, pressure: float) -> bool:
    """Whether a pressure [Pa] is about the atmosphere's: the station's, or at sea level."""
    known = case.find("/site/elevation") is not None
    air = atmosphere(case) if known else STANDARD_ATMOSPHERE
    return not above(abs(pressure / air - 1), AIR_WITHIN)


def vapour_pressure(case: Case) -> float:
    """Absolute vapour pressure [Pa]: on the day, else at the highest temperature of the site."""
    known = case.find("/event/liquid_temperature") is not None
    place = "/event/liquid_temperature" if known else "/site/liquid_temperature_max"
    return vapour_pressure_at(case, place)


@once
def vapour_pressure_at(case: Case, place: str) -> float:
    """Absolute vapour pressure [Pa] at the temperature that stands at a place."""
    return water.saturation_pressure_absolute(temperature=temperature_at(case, place))
