"""Rule of the liquid's temperature on the day against the site's range."""

from collections.abc import Iterator

from calculations.aspects.in_order import SITE_ORDER
from calculations.case import Case
from calculations.findings import Finding, Severity, Shown
from calculations.rule import Limit, Rule, entered
from calculations.rules.closeness import above
from calculations.units import Quantity, to_si

READ = "/event/liquid_temperature"
ENDS = ("/site/liquid_temperature_min", "/site/liquid_temperature_max")
OTHER = {"degC": "degF", "degF": "degC"}


def _beyond(read: float, low: float, high: float) -> float:
    """How far a temperature lies outside of a range [K]."""
    return max(low - read, read - high, 0.0)


def _temperature(case: Case, place: str) -> Iterator[Finding]:
    read = case.quantity(READ)
    low, high = (case.quantity(end) for end in ENDS)
    room = case.limit("site.liquid-temperature.note") + read.resolution
    beyond = _beyond(read.si, low.si, high.si)
    if not above(beyond, room) or low.si > high.si:
        return
    unit = OTHER.get(read.unit)
    meant = unit and _beyond(to_si(float(read.value), unit), low.si, high.si) <= room
    grave = above(beyond - read.resolution, case.limit("site.liquid-temperature.review"))
    severity: Severity = "review" if meant or grave else "note"
    compared: dict[str, Shown | Quantity] = {"read": read, "lowest": low, "highest": high}
    yield LIQUID_TEMPERATURE.finding(
        "unit" if meant else "outside", severity, place,
        compared=compared, limit=f"{entered(low)} to {entered(high)}",
        meant=f"{read.value} {unit}",
    )  # fmt: skip


LIQUID_TEMPERATURE = Rule(
    id="site.liquid-temperature",
    title="Temperature of the liquid on the day against the site's range",
    severities=("review", "note"),
    condition="The liquid is not more than 2 K outside the range that the site states (note), nor "
    "more than 10 K (review); a slip between degC and degF is named.",
    source="logic; limits: common practice, no source",
    subject=READ,
    needs=(READ, *ENDS),
    waits_for=(SITE_ORDER,),
    applies=lambda case: case.find(READ) is not None,
    check=_temperature,
    limits={
        "note": Limit(2, "K", "outside the site's range", "lower", "common practice"),
        "review": Limit(10, "K", "outside the site's range", "lower", "common practice"),
    },
    sentences={
        "unit": "Probably {meant}, not {read}: at this site the liquid is at {lowest} to "
        "{highest}.",
        "outside": "The liquid was at {read}; at this site it is said to be at {lowest} to "
        "{highest}. Vapour pressure, viscosity and the motor's cooling rest on it.",
    },
    remedies={
        "unit": "Enter {meant}, if that was read.",
        "outside": "Read it again, or correct the site's range.",
    },
)
