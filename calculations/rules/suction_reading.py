"""Rule of the suction gauge's readings against the suction that the site states."""

from collections.abc import Iterator

from calculations.aspects import suction
from calculations.aspects.duty import POINTS
from calculations.aspects.in_order import SITE_ORDER
from calculations.case import Case, Waits
from calculations.findings import Finding, Severity, Shown
from calculations.rule import Limit, Rule, about
from calculations.rules.closeness import above, below
from calculations.rules.mix_ups import SLIPS, in_unit
from calculations.rules.point_slips import misread
from calculations.rules.pump_curve import has_curve
from calculations.rules.suction_absolute import as_gauge, is_vacuum_rather, reads_absolute
from calculations.units import Quantity

DRAWN_UP = ("suction_lift", "wet_well")
"""Kinds of suction where a gauge beside the pump shows less than the air's pressure."""

SHOWN_OTHERWISE = ("sign", "absolute")
"""Slips that the liquid's level or the pump's curve gives away, however little they add."""

PLAIN = 5.0
"""How many times less another unit must make of a reading to explain it; no source. Feet for psi
brings half of all readings into some range, and kilopascals everything near to nothing."""


def _meant(case: Case, read: Quantity, ranged: suction.Seen, room: float) -> tuple[str, str] | None:
    """What was probably read, by which slip: the sign of a vacuum, or another unit."""
    lowest, highest = ranged.lowest - room, ranged.highest + room
    drawn_up = case.is_("/site/suction_kind", *DRAWN_UP) and ranged.highest < 0 < read.at_least
    if drawn_up and not _outside(-read.si, lowest, highest):
        return "sign", f"-{read.value} {read.unit}"
    for unit in SLIPS.get(read.unit, ()):
        other = in_unit(read, unit)
        fits = not _outside(other.si, max(lowest, room), highest)
        if above(read.si, other.si * PLAIN) and fits:
            return "unit", str(Shown(other.value, other.unit))
    return None


def _outside(value: float, lowest: float, highest: float) -> bool:
    return below(value, lowest) or above(value, highest)


def _reading(case: Case, place: str) -> Iterator[Finding]:
    read: Quantity | None = case.find(f"{place}/suction_pressure")
    if read is None:
        return
    absolute = reads_absolute(case, place)
    if not absolute and "curve.point" not in case.accepted and misread(case, place):
        raise Waits("curve.point")
    ranged, room = suction.at_gauge(case, place), case.limit("suction.reading.note")
    beyond, slip = read.at_least - ranged.highest, _meant(case, read, ranged, room)
    turned = slip is not None and slip[0] == "sign" and is_vacuum_rather(case, place)
    if absolute and not turned:
        slip = "absolute", str(about(as_gauge(case, place), read.unit))
    if not above(beyond, room) and not (slip and slip[0] in SHOWN_OTHERWISE):
        return
    grave = slip is not None or above(beyond, case.limit("suction.reading.review"))
    severity: Severity = "review" if grave else "note"
    yield READING.finding(
        slip[0] if slip else "above", severity, f"{place}/suction_pressure",
        compared={"read": read, "highest": about(ranged.highest, read.unit)},
        limit=f"at most {about(room, read.unit)} above it",
        meant=slip[1] if slip else "",
    )  # fmt: skip


READING = Rule(
    id="suction.reading",
    title="Suction gauge against the suction that the site states",
    severities=("review", "note"),
    condition="The gauge shows at most 0.5 bar more than it would at the site's highest suction "
    "(note), 2 bar (review); a vacuum without its sign, another unit and absolute pressure are "
    "named. What is computed for no flow rests on that highest suction.",
    source="hydrostatics; limits: common practice, no source",
    each=POINTS,
    waits_for=(suction.DATUM, SITE_ORDER),
    applies=lambda case: has_curve(case) and bool(case.find(POINTS)),
    check=_reading,
    limits={
        "note": Limit(0.5, "bar", "above the highest suction", "lower", "common practice"),
        "review": Limit(2, "bar", "above the highest suction", "lower", "common practice"),
    },
    sentences={
        "above": "The suction gauge shows {read}; at the site's highest suction it would show "
        "{highest}.",
        "unit": "Probably {meant}, not {read}: at the site's highest suction the gauge shows "
        "{highest}.",
        "absolute": "Probably {read} absolute, which is {meant}: at the site's highest suction the "
        "gauge shows {highest}, and as gauge pressure the head is not that of the curve.",
        "sign": "Probably {meant}, not {read}: the pump draws from below, and at the highest level "
        "the gauge shows {highest}.",
    },
    remedies={
        "above": "Read the gauge again, or correct the site's highest suction.",
        **dict.fromkeys(("unit", "sign", "absolute"), "Enter {meant}, if that was read."),
    },
)
