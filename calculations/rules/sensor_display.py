"""Rule of what a display shows against what the transmitter's signal means."""

from collections.abc import Iterator
from math import isclose

from calculations.aspects import liquid, rooted, verifying
from calculations.aspects.verifying import VERIFICATIONS, Check, Point
from calculations.case import Case, Waits
from calculations.findings import Finding
from calculations.rule import Limit, Rule, percent
from calculations.rules import mix_ups
from calculations.rules.closeness import above, signed_percent
from calculations.rules.loop_set_point import CHAIN as LOOP_CHAIN
from calculations.rules.sensor_readings import (
    LEAST_POINTS,
    explained,
    has_verifications,
    left,
    name,
    shown,
)
from calculations.signals import ANALOGUE_SIGNALS
from calculations.units import KINDS, factor

LIVE_ZERO = 0.2
"""Where a live zero stands, as a share of the highest signal [1]; IEC 60381-1."""

UNIT_WITHIN = 0.02
"""How well another unit must explain every display [1]; common practice, no source."""


def _gaps(found: Check) -> list[tuple[Point, float]]:
    """Points with signal and display, and how far the display is from the signal [1]."""
    return [
        (point, (point.shown - point.by_signal) / found.span)
        for point in found.points
        if point.by_signal is not None and point.shown is not None
    ]


def _chain(case: Case, place: str) -> Iterator[Finding]:
    explained(case, place)
    found = left(case, place)
    gaps = _gaps(found)
    if not gaps:
        return
    limit = max(case.limit("sensor.chain.difference"), found.tolerance)
    point, gap = max(gaps, key=lambda each: abs(each[1]))
    if not above(abs(gap) - 2 * point.reading_rounding / found.span, limit):
        return
    if rooted.is_taken_behind(case, found):
        raise Waits("sensor.error-as-left")  # which notes where the root is taken
    slip = _slip(gaps, limit)
    if slip is not None:
        yield _one_point(case, found, *slip)
        return
    unit = _unit(case, found)
    zero = None if unit else _zero_taken_for(case, found, gaps, limit)
    root = rooted.display(case, found, limit)
    variant = "unit" if unit else zero or (f"root_{root}" if root else _kind(found, gaps))
    if variant == "shifted" and _shows_absolute(case, found, gap):
        variant = "absolute"
    yield CHAIN.finding(
        variant, "note" if variant == "absolute" else "review", place,
        compared={
            "signal": case.quantity(f"{point.place}/signal"),
            "meant": shown(case, found, point.by_signal or 0.0),
            "indicated": case.quantity(f"{point.place}/indicated"),
        },
        limit=f"{percent(limit)} of span", sensor=name(case, found), gap=signed_percent(gap),
        unit=unit or "", where=_where(case, point), output=case.find(f"{found.sensor}/output"),
    )  # fmt: skip


def _slip(gaps: list[tuple[Point, float]], limit: float) -> tuple[Point, float] | None:
    """The only value shown apart from its signal: a wrong scaling moves its neighbours as well.

    Apart by twice what is allowed, all others by less than half of it; no source.
    """
    far = [each for each in gaps if above(abs(each[1]), limit / 2)]
    alone = len(far) == 1 and len(gaps) >= LEAST_POINTS
    return far[0] if alone and above(abs(far[0][1]), 2 * limit) else None


def _one_point(case: Case, found: Check, point: Point, gap: float) -> Finding:
    """A slip at one point, with the unit that explains it."""
    entered, meant = case.quantity(f"{point.place}/indicated"), point.by_signal or 0.0
    ways = [mix_ups.in_unit(entered, unit) for unit in mix_ups.SLIPS.get(entered.unit, ())]
    allowed = found.tolerance * found.span + 2 * point.rounding
    read = next((each for each in ways if abs(each.si - meant) <= allowed), None)
    return CHAIN.finding(
        "one_point", "review", point.place,
        compared={
            "signal": case.quantity(f"{point.place}/signal"),
            "meant": shown(case, found, meant),
            "indicated": entered,
        },
        limit="all points alike", sensor=name(case, found), gap=signed_percent(gap),
        read=f", probably of {read.value} {read.unit}" if read else "", where=_where(case, point),
    )  # fmt: skip


def _zero_taken_for(
    case: Case, found: Check, gaps: list[tuple[Point, float]], limit: float
) -> str | None:
    """Whether a live zero shown as a dead one, or the reverse, explains every point.

    A signal S of the highest T is S / T of span with a dead zero and (S - T / 5) / (4 T / 5) with
    a live one: (1 - S / T) / 4 apart.
    """
    sent = ANALOGUE_SIGNALS.get(str(case.find(f"{found.sensor}/output")))
    values = [gap for _, gap in gaps]
    if sent is None or not above(max(values) - min(values), limit):
        return None
    live = isclose(sent.lower, LIVE_ZERO * sent.upper)
    if not live and sent.lower:
        return None
    sign = 1 if live else -1
    fits = all(
        abs(gap - sign * (1 - case.si(f"{point.place}/signal") / sent.upper) / 4) <= limit
        for point, gap in gaps
    )
    if not fits:
        return None
    return "dead_zero" if live else "live_zero"


def _kind(found: Check, gaps: list[tuple[Point, float]]) -> str:
    values = [gap for _, gap in gaps]
    return "shifted" if not above(max(values) - min(values), found.tolerance) else "scaling"


def _shows_absolute(case: Case, found: Check, gap: float) -> bool:
    """Whether a cell that measures absolute pressure is shown as what it measures."""
    measures = case.is_(f"{found.sensor}/reference", "absolute")
    return measures and liquid.is_an_atmosphere(case, gap * found.span)


def _unit(case: Case, found: Check) -> str | None:
    """The unit that is really shown, if one explains every point."""
    pairs = [
        (case.quantity(f"{point.place}/indicated"), point.by_signal)
        for point, _ in _gaps(found)
        if point.by_signal and above(abs(point.by_signal), 0.1 * found.span)
    ]
    entered = pairs[0][0] if pairs else None
    if entered is None or entered.kind not in ("pressure", "length", "flow"):
        return None
    for unit in KINDS[entered.kind]:
        ratios = [float(read.value) * factor(unit) / meant for read, meant in pairs]
        if unit != entered.unit and all(not above(abs(ratio - 1), UNIT_WITHIN) for ratio in ratios):
            return unit
    return None


def _where(case: Case, point: Point) -> str:
    words = {"transmitter": "The transmitter's display", "remote_display": "The remote display"}
    return words.get(str(case.find(f"{point.place}/indicated_at")), "The drive")


CHAIN = Rule(
    id="sensor.chain",
    title="What is shown against what the signal means",
    severities=("review", "note"),
    condition="At every point the value shown is what the signal means by the sensor's range, to "
    "within 1 % of span or the sensor's tolerance: a good transmitter shown wrongly points to the "
    "scaling or the unit, a shift to the datum. One atmosphere more from a cell that measures "
    "absolute pressure is noted.",
    source="IEC 60381-1; limit from memory",
    each=VERIFICATIONS,
    waits_for=LOOP_CHAIN,
    waits_at=verifying.is_shown_by_drive,
    applies=has_verifications,
    check=_chain,
    limits={"difference": Limit(1, "%", "display against signal, of span", "lower", "from memory")},
    sentences={
        "unit": "{where} shows {indicated} where {signal} of {sensor} means {meant}: the digits "
        "fit {unit}, so the unit is probably wrong; the transmitter itself is right.",
        "shifted": "{where} shows {indicated} where {signal} of {sensor} means {meant} ({gap} of "
        "span), shifted alike at every point: datum or zero of the display, not the transmitter.",
        "absolute": "{where} shows {indicated} where {signal} of {sensor} means {meant} gauge: one "
        "atmosphere more, absolute pressure as this sensor measures it. Records have gauge ones.",
        "dead_zero": "{where} shows {indicated} where {signal} of {sensor} means {meant} ({gap} of "
        "span), and less amiss the higher the signal: what shows it is set for a signal that "
        "begins at zero, the transmitter gives {output}.",
        "live_zero": "{where} shows {indicated} where {signal} of {sensor} means {meant} ({gap} of "
        "span), and less amiss the higher the signal: what shows it is set for a signal with a "
        "live zero, the transmitter gives {output}.",
        "root_twice": "{where} shows {indicated} where {signal} of {sensor} means {meant} ({gap} "
        "of span): at every point the root of what is right. The root of the difference of "
        "pressure is taken in the transmitter, and again behind it.",
        "root_missing": "{where} shows {indicated} where {signal} of {sensor} means {meant} ({gap} "
        "of span): at every point the square of what is right. What shows it takes the flow for a "
        "difference of pressure.",
        "one_point": "{where} shows {indicated} where {signal} of {sensor} means {meant} ({gap} of "
        "span) at this one point, all others agree: a slip of writing{read}.",
        "scaling": "{where} shows {indicated} where {signal} of {sensor} means {meant} ({gap} of "
        "span): the scaling is not what is recorded; the transmitter itself is judged by its "
        "signal.",
    },
    remedies={
        "unit": "Correct the unit of the display or of the record.",
        "shifted": "Compare datum and zero of the display with the record.",
        "dead_zero": "Set the input to {output}.",
        "live_zero": "Set the input to {output}.",
        "root_twice": "Switch the root off in what shows it, and read again.",
        "root_missing": "Set what shows it to a linear signal, and read again.",
        "one_point": "Take this point again.",
        "scaling": "Compare the scaling in the drive with the record.",
    },
)
