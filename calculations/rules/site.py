"""Rules of the site: its height, its earthing, its fault current."""

from collections.abc import Iterator

from calculations.case import Case
from calculations.findings import Finding
from calculations.rule import Limit, Rule, show
from calculations.rules.closeness import above, below
from calculations.rules.scope import has_drive
from calculations.units import Quantity, to_si

# -- elevation ----------------------------------------------------------------------------------


def _has_site(case: Case) -> bool:
    return case.subject.site is not None


def _elevation(case: Case, place: str) -> Iterator[Finding]:
    entered = case.quantity("/site/elevation")
    lowest, highest = map(case.limit, ("site.elevation.lowest", "site.elevation.highest"))
    if not below(entered.at_most, lowest) and not above(entered.at_least, highest):
        return
    in_feet = to_si(float(entered.value), "ft")
    likely = entered.unit == "m" and lowest <= in_feet <= highest
    yield ELEVATION.finding(
        "feet" if likely else "plain", "review", place,
        compared={"elevation": entered},
        limit=f"{show(lowest, entered.unit)} to {show(highest, entered.unit)}",
        feet=f"{entered.value} ft", metres=show(in_feet, "m"),
    )  # fmt: skip


ELEVATION = Rule(
    id="site.elevation",
    title="Elevation of the site",
    severities=("review",),
    condition="The site lies between 430 m below and 4000 m above the sea.",
    source="lowest land on earth; 4000 m is where deratings end, common practice",
    subject="/site/elevation",
    needs=("/site/elevation",),
    applies=_has_site,
    check=_elevation,
    limits={
        "lowest": Limit(-430, "m", "lowest elevation", "higher", "common practice"),
        "highest": Limit(4000, "m", "highest elevation", "lower", "common practice"),
    },
    sentences={
        "feet": "Probably feet: {feet} are {metres}. An elevation of {elevation} is higher than "
        "pump stations stand.",
        "plain": "An elevation of {elevation} is outside what pump stations have.",
    },
    remedies={
        "feet": "Enter the elevation as {feet}.",
        "plain": "Read the elevation from a map again, with its unit.",
    },
)


# -- earthing -----------------------------------------------------------------------------------

UNFIT = {
    "unearthed": "is not earthed",
    "impedance_earthed": "is earthed over an impedance",
    "corner_earthed_delta": "has an earthed corner",
    "high_leg_delta": "has a high leg",
}


def _earthing(case: Case, place: str) -> Iterator[Finding]:
    site, settings = case.subject.site, case.settings
    said = site.supply_earthing if site else None
    links = settings.emc_filter_earthed if settings else None
    if links == "disconnected" and said == "solid_star":
        yield EARTHING.finding("open", "note", place, compared={})
    if links == "disconnected" or said == "solid_star":
        return
    if said == "unknown" and links == "connected":
        yield EARTHING.finding("unknown_supply", "review", place, compared={})
    elif said in UNFIT and links == "unknown":
        yield EARTHING.finding("unknown_links", "review", place, compared={}, supply=UNFIT[said])
    else:
        kind, _ = case.require("/site/supply_earthing", "/settings/emc_filter_earthed")
        yield EARTHING.finding("connected", "review", place, compared={}, supply=UNFIT[kind])


EARTHING = Rule(
    id="supply.earthing",
    title="Drive's filter links against the supply's earthing",
    severities=("review", "note"),
    condition="On a supply that is unearthed, earthed over an impedance, at a corner or with a "
    "high leg, the links that join the drive's filter to earth are open; on a star with a solidly "
    "earthed neutral they are closed (note).",
    source="common practice: drive manuals ask for it; from memory",
    subject="/settings/emc_filter_earthed",
    applies=has_drive,
    check=_earthing,
    sentences={
        "connected": "The supply {supply}, but the drive's filter is joined to earth: an earth "
        "fault elsewhere can destroy it.",
        "unknown_supply": "The drive's filter is joined to earth, and how the supply is earthed "
        "is not known.",
        "unknown_links": "The supply {supply}, and whether the drive's filter is joined to earth "
        "is not known.",
        "open": "The supply is a star with an earthed neutral, but the drive's filter is not "
        "joined to earth: it filters nothing, and what the drive emits goes into supply and "
        "signals.",
    },
    remedies=dict.fromkeys(
        ("connected", "unknown_supply", "unknown_links"),
        "Find out how the supply is earthed; follow the drive's manual for its filter links, "
        "isolated and with the d.c. link measured dead.",
    )
    | {
        "open": "Close the links, isolated and with the d.c. link measured dead, unless the "
        "drive's manual or an earth-leakage device asks for them open."
    },
)


# -- fault current ------------------------------------------------------------------------------


def _fault_current_matters(case: Case) -> bool:
    """Where the code asks for it, or where both figures are known anyway."""
    known = case.find("/site/available_fault_current") and case.find("/drive/short_circuit_rating")
    return has_drive(case) and (case.is_("/site/electrical_practice", "us_nec") or bool(known))


def _fault_rating(case: Case, place: str) -> Iterator[Finding]:
    available: Quantity
    rating: Quantity
    available, rating = case.require("/site/available_fault_current", "/drive/short_circuit_rating")
    if above(available.at_least, rating.si):
        yield FAULT_RATING.finding(
            "above", "review", place,
            compared={"available": available, "rating": rating}, limit="the drive's rating",
        )  # fmt: skip


FAULT_RATING = Rule(
    id="supply.fault-rating",
    title="Available fault current against the drive's rating",
    severities=("review",),
    condition="The fault current available at the site does not exceed the drive's short-circuit "
    "current rating.",
    source="NFPA 70 110.10; from memory",
    subject="/site/available_fault_current",
    needs=("/site/available_fault_current", "/drive/short_circuit_rating"),
    applies=_fault_current_matters,
    check=_fault_rating,
    sentences={
        "above": "Available fault current {available} exceeds the drive's rating of {rating}."
    },
    remedies={
        "above": "Have a licensed engineer confirm the combination of fuses or breaker and drive."
    },
)
