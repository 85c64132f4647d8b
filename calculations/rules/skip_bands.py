"""A rule of skip bands against the frequencies at which the pump was read."""

from collections.abc import Iterator

from calculations.aspects.duty import POINTS
from calculations.case import Case
from calculations.findings import Finding
from calculations.rule import Rule, show
from calculations.rules.closeness import below
from calculations.rules.scope import has_drive
from calculations.units import Quantity

IN_SERVICE = ("normal", "design")


def _skip_bands(case: Case, place: str) -> Iterator[Finding]:
    """The points that lie inside a band, the first of each: there the drive may not stay."""
    points = case.elements(POINTS)
    for index, band in enumerate(case.find(place) or ()):
        if band.centre is None or band.width is None:
            continue  # speed.order asks for it
        low, high = band.centre.si - band.width.si / 2, band.centre.si + band.width.si / 2
        inside = (each for each in points if _is_inside(case, each, low, high))
        point = min(inside, key=lambda each: not _in_service(case, each), default=None)
        if point is None:
            continue
        purpose = case.find(f"{point}/purpose")
        yield SKIP_BANDS.finding(
            "point", "review" if _in_service(case, point) else "note", f"{place}/{index}",
            compared={
                "low": show(low, "Hz"),
                "high": show(high, "Hz"),
                "frequency": case.quantity(f"{point}/frequency"),
            },
            purpose=f"{purpose} " if purpose and purpose != "unknown" else "",
        )  # fmt: skip


def _is_inside(case: Case, point: str, low: float, high: float) -> bool:
    """Whether water was pumped there at a frequency that is certainly inside the band."""
    read: Quantity | None = case.find(f"{point}/frequency")
    if read is None or case.is_(f"{point}/purpose", "shut_off"):
        return False
    return below(low, read.at_least) and below(read.at_most, high)


def _in_service(case: Case, point: str) -> bool:
    return case.is_(f"{point}/purpose", *IN_SERVICE)


SKIP_BANDS = Rule(
    id="speed.skip-bands",
    title="Skip bands against the frequencies at which the pump was read",
    severities=("review", "note"),
    condition="No duty point lies inside a skip band: a drive passes through a band and does not "
    "stay in it, so that a demand between its ends makes it jump from one to the other (review at "
    "a normal or design point, note at another).",
    source="definition of a skip band; common practice",
    subject="/settings/skip_bands",
    waits_for=("speed.order",),
    applies=lambda case: has_drive(case) and bool(case.find("/settings/skip_bands")),
    check=_skip_bands,
    sentences={
        "point": "The skip band from {low} to {high} covers the {frequency} of a {purpose}point "
        "that was read: the drive may not stay there, and regulation jumps from one end of the "
        "band to the other."
    },
    remedies={
        "point": "Check whether the point was read before the band was set; put the band where "
        "the machine shakes and the service does not stay, or make it narrower."
    },
)
