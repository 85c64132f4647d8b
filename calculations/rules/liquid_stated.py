"""Rules of density and vapour pressure that a site states, against those of water."""

from collections.abc import Callable, Iterator

from calculations.aspects import liquid
from calculations.aspects.in_order import SITE_ORDER
from calculations.aspects.liquid import DENSITY, VAPOUR_PRESSURE, WARMEST
from calculations.case import Case
from calculations.findings import Finding
from calculations.rule import Limit, Rule, about, entered, show, spaced
from calculations.rules.closeness import Apart, above
from calculations.rules.mix_ups import in_unit
from calculations.units import KINDS, Quantity

VAPOUR = "site.liquid-vapour-pressure"

UNIT_WITHIN = 0.1
"""How near the same digits in another unit come [1]: a table may be 2 K off; common practice."""


def _is_stated(place: str) -> Callable[[Case], bool]:
    """Whether a site of water states this property."""
    return lambda case: case.find(place) is not None and liquid.is_water(case)


def _density(case: Case, place: str) -> Iterator[Finding]:
    if not liquid.is_unlike_water(case, DENSITY):
        return
    stated = case.quantity(DENSITY)
    own = show(liquid.of_water(case, DENSITY), stated.unit)
    yield LIQUID_DENSITY.finding(
        "unlike", "review", place,
        compared={"stated": stated, "water": own},
        limit=f"within {about(100 * case.limit('site.liquid-density.of'), '%')} of water",
        kind=spaced(case.word("/site/liquid_kind")),
    )  # fmt: skip


LIQUID_DENSITY = Rule(
    id="site.liquid-density",
    title="Density that is stated of water",
    severities=("review",),
    condition="A density that is stated of water, sewage or sludge is within 5 % of clean water's.",
    source="Kell 1975, equation 16; sea water has 2.5 % more; limit: common practice, no source",
    subject=DENSITY,
    needs=(DENSITY, "/site/liquid_kind"),
    applies=_is_stated(DENSITY),
    check=_density,
    limits={"of": Limit(0.05, "1", "of water's density", "lower", "common practice")},
    sentences={
        "unlike": "The liquid is {kind}, and said to have a density of {stated}; water has {water}."
    },
    remedies={
        "unlike": "Correct the density; if the liquid is not water, enter its kind as other, with "
        "its vapour pressure."
    },
)


# -- vapour pressure ------------------------------------------------------------------------------


def _vapour_pressure(case: Case, place: str) -> Iterator[Finding]:
    if not liquid.is_unlike_water(case, VAPOUR_PRESSURE):
        return
    stated, own = case.quantity(VAPOUR_PRESSURE), liquid.of_water(case, VAPOUR_PRESSURE)
    beyond = abs(stated.si - own) - stated.resolution
    meant = _in_other_unit(stated, own)
    note, review = map(case.limit, (f"{VAPOUR}.note", f"{VAPOUR}.review"))
    yield LIQUID_VAPOUR_PRESSURE.finding(
        "unlike" if meant is None else "unit",
        "review" if meant is not None or above(beyond, review) else "note", place,
        compared={
            "stated": stated, "water": show(own, stated.unit, 3),
            "warmest": case.quantity(WARMEST),
        },
        limit=f"within {about(note, 'kPa')} of water", meant=entered(meant or stated),
    )  # fmt: skip


def _in_other_unit(stated: Quantity, own: float) -> Quantity | None:
    """The same digits in the unit of pressure in which they are nearest to water's, if any fits."""
    others = [in_unit(stated, unit) for unit in KINDS["pressure"] if unit != stated.unit]
    near = [each for each in others if Apart(each.si / own).near(1, UNIT_WITHIN)]
    return min(near, key=lambda each: abs(each.si - own), default=None)


LIQUID_VAPOUR_PRESSURE = Rule(
    id=VAPOUR,
    title="Vapour pressure that is stated of water",
    severities=("review", "note"),
    condition="A vapour pressure that is stated of water, sewage or sludge is within 1 kPa of "
    "clean water's at the site's highest temperature (review: 5 kPa, which are half a metre of "
    "suction head); another unit is named.",
    source="IF97, 8.1; limits: common practice, no source",
    subject=VAPOUR_PRESSURE,
    needs=(VAPOUR_PRESSURE, WARMEST, "/site/liquid_kind"),
    waits_for=(SITE_ORDER,),
    applies=_is_stated(VAPOUR_PRESSURE),
    check=_vapour_pressure,
    limits={
        "note": Limit(1, "kPa", "from water's", "lower", "common practice"),
        "review": Limit(5, "kPa", "from water's", "lower", "common practice"),
    },
    sentences={
        "unit": "Probably {meant}, not {stated}: at {warmest}, the site's highest temperature, the "
        "vapour pressure of water is {water}, absolute.",
        "unlike": "The liquid is water, and its vapour pressure is said to be {stated}; at "
        "{warmest}, the site's highest temperature, that of water is {water}, absolute.",
    },
    remedies={
        "unit": "Enter {meant}, if that is what the table says.",
        "unlike": "Leave it empty for water, or enter it absolute and at the highest temperature; "
        "if the liquid is not water, enter its kind as other.",
    },
)
