"""Where the liquid stands before the pump: its grade line, as an elevation over the site datum."""

from collections.abc import Iterator
from typing import Literal, NamedTuple

from calculations.aspects import in_order, liquid
from calculations.aspects.in_order import SITE_ORDER, WELL_ORDER, higher
from calculations.case import Case, Missing, Waits, once
from calculations.constants import STANDARD_GRAVITY
from calculations.units import Quantity

End = Literal["low", "high"]
ENDS: tuple[End, End] = ("low", "high")

DATUM = "site.datum"
"""Rule that names heights which do not count from the pump."""

Slip = Literal["sea", "high", "gauge", "lift", "dry", "sunk"]

# Grade line by kind of suction; depths are positive downwards from the well head, at the datum.
_LEVELS = ("flooded_tank", "wet_well", "suction_lift")
_WELL_DEPTHS: dict[End, str] = {
    "low": "/site/pumping_water_depth",
    "high": "/site/static_water_depth",
}

SETTING_DEPTH = "/site/pump_setting_depth"
EYE = "/pump_set/eye_elevation"

IN_THE_WET_WELL = ("submersible_sewage", "vertical_turbine")
IN_THE_LIQUID = ("submersible_well", *IN_THE_WET_WELL)


IN_A_WELL = (
    "wet_well_floor", "suction_level_low", "suction_level_high", "inlet_invert", "overflow_level",
)  # fmt: skip


@once
def well_height(case: Case, name: Literal["wet_well_floor", "overflow_level"]) -> float:
    """Floor or overflow of a wet well [m over the site datum]; all its other heights lie between.

    `Waits` where one does not: nobody knows then which of them is wrong.
    """
    height = case.quantity(f"/site/{name}")
    others = [case.find(f"/site/{each}") for each in IN_A_WELL if each != name]
    known = [each for each in others if each is not None]
    floor = name == "wet_well_floor"
    if any(higher(height, each) if floor else higher(each, height) for each in known):
        raise Waits(SITE_ORDER)
    require_fit(case, f"/site/{name}")
    return float(height.si)


@once
def grade(case: Case, end: End) -> float:
    """Lowest or highest grade line of the suction [m over the site datum] while nothing flows.

    A pressure counts at the height of the suction sensor, or at the datum where there is none. It
    tells of a flooded tank as well where no level does.
    """
    low, high = (_place(case, each) for each in ENDS)
    lowest, highest = case.find(low), case.find(high)
    require_datum(case)
    deep = case.is_("/site/suction_kind", "well")
    if lowest and highest and (higher(highest, lowest) if deep else higher(lowest, highest)):
        raise Waits(WELL_ORDER if deep else SITE_ORDER)
    asked = low if end == "low" else high
    require_fit(case, asked)
    value = case.si(asked)
    if deep:
        return -value
    if by_pressure(case):
        return max(_read(case, value), dry_eye(case))
    if case.is_("/site/suction_kind", *_LEVELS):
        return value
    return _read(case, value)


def require_fit(case: Case, *pointers: str) -> None:
    """Raise `Waits` where one of these values of the site is named as not fitting its row."""
    in_doubt = in_order.in_doubt(case)
    if in_doubt:
        for pointer in pointers:
            rule = in_doubt.get(pointer.removeprefix("/site/"))
            if rule is not None:
                raise Waits(rule)


def _read(case: Case, pressure: float) -> float:
    return gauge_elevation(case) + liquid.head(case, pressure)


def by_pressure(case: Case) -> bool:
    """Whether pressures tell of a tank that floods the pump, since its levels are not known.

    Such a tank stands over the pump's eye: whatever shows less was read while it ran.
    """
    if not case.is_("/site/suction_kind", "flooded_tank"):
        return False
    known = [
        [case.find(f"/site/suction_{what}_{end}") for end in ENDS] for what in ("level", "pressure")
    ]
    levels, pressures = (any(each is not None for each in found) for found in known)
    return pressures and not levels


def lowest_in_service(case: Case, flow: float) -> float:
    """Lowest grade line at the pump [m over the site datum] at a flow [m3/s].

    A pressure below the eye that is stated of a tank over the pump has the losses in it.
    """
    if by_pressure(case):
        read = _read(case, case.si(_place(case, "low")))
        if read < dry_eye(case):
            return read
    return grade(case, "low") - loss(case, flow)


LOWEST = "/site/suction_level_low"
HIGHEST = "/site/suction_level_high"
PIT = 1.0
"""How far a pit may reach under the floor of a well [m]; common practice, no source."""
SURFACES = (HIGHEST, LOWEST, "/site/wet_well_floor")
"""Heights of the liquid, and of what it stands in."""

NEAR = 10.0
"""Height over the datum, and distance from the site's elevation, that are alike by chance only [m];
common practice, no source."""

BESIDE = 15.0
"""Height over the datum that no gauge beside a pump's suction has [m]; common practice, no source:
gauges of a deep pit are led up to its floor at times."""

WATER = 1000.0 * STANDARD_GRAVITY
"""Pressure of a metre of water [Pa/m]: near enough to tell heights over the sea."""


@once
def heights(case: Case) -> tuple[str, ...]:
    """Places of the known heights at the station that are measured from the pump.

    A remote sensor stands elsewhere: how its height lies beside the site's elevation says nothing.
    """
    asked = [*SURFACES] if case.is_("/site/suction_kind", *_LEVELS) else []
    asked += [EYE, "/suction_sensor/tapping_elevation"]
    if not case.is_("/regulating_sensor/location", "remote"):
        asked.append("/regulating_sensor/tapping_elevation")
    for index in range(len(case.find("/event/duty_points") or ())):
        point = f"/event/duty_points/{index}"
        asked += [f"{point}/suction_gauge_elevation", f"{point}/discharge_gauge_elevation"]
    return tuple([pointer for pointer in asked if case.find(pointer) is not None])


def misplaced(case: Case) -> tuple[str, Slip] | None:
    """The first height that does not count from the pump, and what shows it."""
    return next(iter(_misplaced(case)), None)


@once
def _misplaced(case: Case) -> tuple[tuple[str, Slip], ...]:
    """Every such height."""
    return tuple(_heights_elsewhere(case))


def _heights_elsewhere(case: Case) -> Iterator[tuple[str, Slip]]:
    high, sea = case.limit(f"{DATUM}.high"), case.find("/site/elevation")
    for pointer in heights(case):
        height = case.quantity(pointer)
        alike = sea is not None and height.si > NEAR and abs(height.si - sea.si) <= NEAR
        if pointer in SURFACES:
            if height.si > high and _bears_out(case, height) is not True:
                yield pointer, "sea" if alike else "high"
            elif alike and _bears_out(case, height) is False:
                yield pointer, "sea"
        elif alike:
            yield pointer, "sea"
        elif pointer == EYE and height.si > high:
            yield pointer, "high"
        elif "suction" in pointer and height.si > BESIDE:
            yield pointer, "gauge"
    lowest = case.find(LOWEST) if case.is_("/site/suction_kind", "suction_lift") else None
    if lowest is not None and lowest.si > dry_eye(case):
        yield LOWEST, "lift"
    if _hangs_dry(case):
        yield EYE, "dry"
    elif _lies_under_the_floor(case):
        yield EYE, "sunk"


def _hangs_dry(case: Case) -> bool:
    """Whether a pump that belongs in the liquid is said to hang over the highest level of it."""
    stated = case.find(EYE)
    if stated is None or not case.is_("/pump/type", *IN_THE_LIQUID):
        return False
    highest = case.find(HIGHEST) if case.is_("/site/suction_kind", *_LEVELS) else None
    return highest is not None and higher(stated, highest)


def _lies_under_the_floor(case: Case) -> bool:
    """Whether a pump that stands in a wet well is said to stand far under its floor."""
    stated, floor = case.find(EYE), case.find("/site/wet_well_floor")
    if None in (stated, floor) or not case.is_("/pump/type", "submersible_sewage"):
        return False
    return bool(stated.at_most < floor.at_least - PIT)


def _bears_out(case: Case, height: Quantity) -> bool | None:
    """Whether the suction gauges bear out a level of the liquid; None where nothing tells.

    A gauge that stands near the pump shows the level's height over itself, less what is lost on
    the way. Liquid that has to be lifted stands below the pump, and not so high above it.
    """
    if case.is_("/site/suction_kind", "suction_lift"):
        return False
    shown = _height_by_gauges(case)
    if shown is None:
        return None
    lost = case.find("/site/suction_loss")
    return bool(height.si - shown - (lost.si if lost is not None else 0.0) <= NEAR)


@once
def _height_by_gauges(case: Case) -> float | None:
    """The highest grade line that suction gauges of the points show [m over the site datum]."""
    shown = []
    for index in range(len(case.find("/event/duty_points") or ())):
        point = f"/event/duty_points/{index}"
        read = case.find(f"{point}/suction_pressure")
        at = case.find(f"{point}/suction_gauge_elevation")
        if read is not None and at is not None:
            shown.append(read.si / WATER + at.si)
    return max(shown, default=None)


def require_datum(case: Case) -> None:
    """Raise `Waits` where heights do not count from the pump, and nobody accepted that."""
    if DATUM not in case.accepted and misplaced(case) is not None:
        raise Waits(DATUM)


def require_gauges(case: Case, point: str) -> None:
    """Raise `Waits` where a gauge read at this point does not count from the pump."""
    if DATUM in case.accepted or not _misplaced(case):
        return
    read = (side for side in ("suction", "discharge") if case.find(f"{point}/{side}_pressure"))
    gauges = {f"{point}/{side}_gauge_elevation" for side in read}
    if any(place in gauges for place, _ in _misplaced(case)):
        raise Waits(DATUM)


def dry_eye(case: Case) -> float:
    """Height of a dry pump's eye [m over the site datum]: as stated, else it is the datum."""
    stated = case.find(EYE)
    return float(stated.si) if stated is not None else 0.0


def eye(case: Case, place: str = "") -> float:
    """Height of the impeller's eye [m over the site datum].

    A well pump's is its setting depth, and so is that of another pump that hangs in the liquid (a
    can under the floor) where nothing else is stated; of a pump whose impellers hang or stand in
    a wet well it is near the well's floor, else not higher than the suction gauge of a point or
    the sensor.
    """
    if case.is_("/site/suction_kind", "well"):
        require_fit(case, SETTING_DEPTH)
        return -case.si(SETTING_DEPTH)
    if not case.is_("/pump/type", *IN_THE_LIQUID):
        return dry_eye(case)
    hung = _height_in_the_liquid(case)
    if hung is not None:
        return hung
    at_point = (f"{place}/suction_gauge_elevation",) if place else ()
    for pointer in (*at_point, "/suction_sensor/tapping_elevation"):
        found = case.find(pointer)
        if found is not None:
            return float(found.si)
    raise Missing("/site/wet_well_floor")


def _height_in_the_liquid(case: Case) -> float | None:
    """Height [m] of impellers that hang in the liquid, where it is told by more than a gauge."""
    if case.find(EYE) is not None:
        return dry_eye(case)
    depth, floor = case.find(SETTING_DEPTH), case.find("/site/wet_well_floor")
    if depth is not None:
        return -float(depth.si)
    if floor is not None and case.is_("/pump/type", *IN_THE_WET_WELL):
        require_fit(case, "/site/wet_well_floor")
        return float(floor.si)
    return None


def require_eye(case: Case) -> None:
    """Raise `Missing` where all that is known of the eye is that it hangs below a gauge.

    More suction head than what is computed for the gauge's height may then be there: that is no
    evidence of a shortage.
    """
    hangs = case.is_("/pump/type", *IN_THE_LIQUID) and not case.is_("/site/suction_kind", "well")
    if hangs and _height_in_the_liquid(case) is None:
        raise Missing(SETTING_DEPTH, because="the impellers hang below the gauge")


def loss(case: Case, flow: float) -> float:
    """Friction up to the pump [m] at a flow [m3/s]; none where it hangs in the liquid.

    A main that feeds a can loses what is stated.
    """
    fed = case.is_("/site/suction_kind", "pressurised_main") and case.find("/site/suction_loss")
    if case.is_("/pump/type", *IN_THE_LIQUID) and not fed:
        return 0.0
    stated, at = case.si("/site/suction_loss"), case.si("/site/suction_loss_at_flow")
    if at <= 0:
        raise Missing("/site/suction_loss_at_flow", because="no flow")
    return stated * (flow / at) ** 2


def _place(case: Case, end: End) -> str:
    kind = case.word("/site/suction_kind")
    if kind == "well":
        return _WELL_DEPTHS[end]
    by_level = kind in _LEVELS and not by_pressure(case)
    return f"/site/suction_{'level' if by_level else 'pressure'}_{end}"


def gauge_elevation(case: Case) -> float:
    """Height at which suction pressures of the site count [m over the site datum]."""
    found = case.find("/suction_sensor/tapping_elevation")
    return float(found.si) if found is not None else 0.0


@once
def pressure(case: Case, end: End, elevation: float) -> float:
    """Lowest or highest suction pressure [Pa], seen at an elevation [m]."""
    return liquid.pressure(case, grade(case, end) - elevation)


class Seen(NamedTuple):
    """What a gauge may show at its height [Pa], from the lowest to the highest suction."""

    lowest: float
    highest: float


def at_gauge(case: Case, place: str) -> Seen:
    """What the suction gauge of a duty point may show."""
    height = case.si(f"{place}/suction_gauge_elevation")
    return Seen(pressure(case, "low", height), pressure(case, "high", height))
