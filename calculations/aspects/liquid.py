"""The liquid on the day, and the air above it."""

from calculations import water
from calculations.case import Case, Missing, Waits, once
from calculations.constants import ICE_POINT, STANDARD_ATMOSPHERE
from calculations.rules.closeness import above

AIR_WITHIN = 0.1
"""Share of an atmosphere that weather and instruments take away or add [1]; common practice."""

WARMEST = "/site/liquid_temperature_max"
DENSITY, VAPOUR_PRESSURE = "/site/liquid_density", "/site/liquid_vapour_pressure_absolute"

COMPARED = {DENSITY: "site.liquid-density", VAPOUR_PRESSURE: "site.liquid-vapour-pressure"}
"""Rules that hold what is stated of water against water."""

NOT_WATER = "the liquid is not water"

USUAL_TEMPERATURE = ICE_POINT + 15.0
"""Water temperature where none is recorded [K]; 10 K more or less change the density by 0.2 %."""


def temperature(case: Case) -> float:
    """Temperature of the liquid [K], not below ice: on the day, else the middle of the site's."""
    measured = case.find("/event/liquid_temperature")
    if measured is not None:
        return temperature_at(case, "/event/liquid_temperature")
    ends = [case.find("/site/liquid_temperature_min"), case.find(WARMEST)]
    known = [end.si for end in ends if end is not None]
    return max(sum(known) / len(known), ICE_POINT) if known else USUAL_TEMPERATURE


def temperature_at(case: Case, place: str) -> float:
    """Temperature that stands at a place [K], not below that of ice: what is pumped is liquid."""
    return max(case.si(place), ICE_POINT)


def is_water(case: Case) -> bool:
    """Whether the liquid is water, or so thin a mixture that water's properties are its own."""
    return not case.is_("/site/liquid_kind", "other")


@once
def density(case: Case) -> float:
    """Density of the liquid [kg/m3]: as stated, else that of clean water on the day."""
    stated = _stated(case, DENSITY)
    return stated if stated is not None else water.density(temperature=temperature(case))


def density_at(case: Case, place: str) -> float:
    """Density [kg/m3]: as stated, else of clean water at the temperature that stands at a place."""
    stated = _stated(case, DENSITY)
    return stated if stated is not None else water.density(temperature=temperature_at(case, place))


def _stated(case: Case, place: str) -> float | None:
    """A property as the site states it; where it does not, the liquid has to be water."""
    stated = case.find(place)
    if stated is None:
        if not is_water(case):
            raise Missing(place, because=NOT_WATER)
        return None
    if COMPARED[place] not in case.accepted and is_unlike_water(case, place):
        if case.find("/site/liquid_kind") is None:
            raise Missing("/site/liquid_kind")
        raise Waits(COMPARED[place])
    return float(stated.si)


def of_water(case: Case, place: str) -> float:
    """What a property that may be stated at this place is of clean water, in SI."""
    if place == DENSITY:
        return water.density(temperature=temperature(case))
    return water.saturation_pressure_absolute(temperature=temperature_at(case, WARMEST))


@once
def is_unlike_water(case: Case, place: str) -> bool:
    """Whether a property is stated that no water has, of what is not said to be another liquid."""
    stated = case.find(place)
    if stated is None or not is_water(case):
        return False
    own = of_water(case, place)
    room = (
        case.limit("site.liquid-density.of") * own
        if place == DENSITY
        else case.limit("site.liquid-vapour-pressure.note")
    )
    return above(abs(stated.si - own) - stated.resolution, room)


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
    return vapour_pressure_at(case, "/event/liquid_temperature" if known else WARMEST)


@once
def vapour_pressure_at(case: Case, place: str) -> float:
    """Absolute vapour pressure [Pa] at the temperature that stands at a place.

    One that is stated is so many times that of water, at other temperatures too: what is
    dissolved lowers it by its share (Raoult's law).
    """
    saturation = water.saturation_pressure_absolute(temperature=temperature_at(case, place))
    stated = _stated(case, VAPOUR_PRESSURE)
    if stated is None:
        return saturation
    return saturation * stated / of_water(case, VAPOUR_PRESSURE)
