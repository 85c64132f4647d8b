"""Rule of the suction head that is left over."""

from collections.abc import Iterator

from calculations import hydraulics
from calculations.aspects import duty, liquid, lowest_suction, pumping, suction
from calculations.aspects.duty import POINTS
from calculations.case import Case, Missing, Waits
from calculations.derived.duty import HEAD_UNIT, npsh_available
from calculations.derived.station import FLOW_UNIT
from calculations.findings import Finding
from calculations.rule import Limit, Rule, about, show
from calculations.rules.closeness import below
from calculations.rules.measured_points import has_points
from calculations.rules.point_slips import misread
from calculations.rules.speed_limits import RESTS_ON_CURVE


def required(case: Case, place: str) -> float:
    """Suction head that the pump needs at the point's flow and speed [m]."""
    found = pumping.curve(case).npsh_required(
        flow=duty.flow(case, place), speed=duty.speed(case, place)
    )
    if found is None:
        raise Missing("/pump/curve_points", because="no required NPSH at this flow")
    return found


def _uncertainty(case: Case, place: str) -> float:
    """What rounding of gauge and heights may have changed [m]."""
    read = case.find(f"{place}/suction_pressure")
    if read is None:
        return 0.0
    height = case.quantity(f"{place}/suction_gauge_elevation")  # no head without it
    return liquid.head(case, read.resolution) + height.resolution


def _wanted(case: Case, needed: float) -> float:
    """Suction head [m] that leaves enough over what is needed [m]."""
    ratio, difference = map(case.limit, ("npsh.margin.ratio", "npsh.margin.difference"))
    return max(ratio * needed, needed + difference)


def _margin(case: Case, place: str) -> Iterator[Finding]:
    if case.is_(f"{place}/purpose", "shut_off") or case.si(f"{place}/flow") == 0:
        return
    if "curve.point" not in case.accepted and misread(case, place):
        raise Waits("curve.point")
    available, needed = npsh_available(case, place), required(case, place)
    if needed <= 0:
        return
    margin = hydraulics.npsh_margin(available=available, required=needed)
    wanted, unit = _wanted(case, needed), HEAD_UNIT(case)
    short = below(margin.difference + _uncertainty(case, place), 0)
    if not short and not below(available, wanted):
        return
    suction.require_eye(case)
    yield MARGIN.finding(
        "short" if short else "small", "stop" if short else "review", place,
        compared={
            "available": show(available, unit),
            "required": show(needed, unit),
            "flow": case.quantity(f"{place}/flow"),
        },
        limit=f"at least {show(wanted, unit)}", wanted=show(wanted, unit),
        ratio=about(margin.ratio),
    )  # fmt: skip


MARGIN = Rule(
    id="npsh.margin",
    title="NPSH available against required",
    severities=("stop", "review"),
    condition="At flow and speed of the point, with the air's pressure at the site's elevation and "
    "the vapour pressure on the day, the NPSH available is at least 1.1 times what the "
    "pump needs and 0.6 m more (stop: less than it needs at 3 % head drop, rounding granted). A "
    "point under its curve is judged as well, since cavitation takes head; one whose readings are "
    "wrong is not.",
    source="ISO 9906:2012, 3.2; ISO 2533:1975; margin: ANSI/HI 9.6.1, secondary text",
    each=POINTS,
    needs=("./flow", "/pump/curve_points", "/pump/rated_speed", "/site/elevation"),
    waits_for=(
        "site.elevation",
        "site.liquid-temperature",
        "well.levels",
        *RESTS_ON_CURVE,
        "speed.measured",
        "rotation.reversed",
        "suction.reading",
    ),
    applies=has_points,
    check=_margin,
    limits={
        "ratio": Limit(1.1, "1", "available over required", "higher", "retrieved"),
        "difference": Limit(0.6, "m", "available minus required", "higher", "from memory"),
    },
    sentences={
        "short": "At {flow} the pump needs an NPSH of {required} and has "
        "{available}: it cavitates.",
        "small": "At {flow} the pump needs an NPSH of {required} and has "
        "{available} ({ratio} times): the margin is small, {wanted} would be enough.",
    },
    remedies=dict.fromkeys(
        ("short", "small"),
        "Raise the suction level or pressure, clear the strainer, lower the highest flow or the "
        "speed, or pump cooler liquid: warm liquid has less to spare.",
    ),
)


# -- at the lowest suction ------------------------------------------------------------------------


def _lowest(case: Case, place: str) -> Iterator[Finding]:
    at = lowest_suction.scarcest(case)
    needed = pumping.curve(case).npsh_required(flow=at.flow, speed=at.speed)
    if needed is None:
        raise Missing("/pump/curve_points", because="no required NPSH at this flow")
    wanted = _wanted(case, needed)
    if needed <= 0 or not below(at.available, wanted):
        return
    suction.require_eye(case)
    unit = HEAD_UNIT(case)
    short = below(at.available, needed)
    yield LOWEST.finding(
        "short" if short else "small", "review" if short else "note", place,
        compared={
            "available": show(at.available, unit),
            "required": show(needed, unit),
            "flow": show(at.flow, FLOW_UNIT(case)),
            "temperature": case.quantity(liquid.WARMEST),
        },
        limit=f"at least {show(wanted, unit)}", wanted=show(wanted, unit),
    )  # fmt: skip


LOWEST = Rule(
    id="npsh.lowest-suction",
    title="NPSH available at the lowest suction, highest temperature and highest flow",
    severities=("review", "note"),
    condition="At the flow that pump and system agree on at the maximum frequency (where a "
    "pressure is kept, at the design flow at most), with the lowest suction, the highest lift and "
    "the highest temperature that the site states, the NPSH available is at least what "
    "the pump needs (else review), 1.1 times that and 0.6 m more, as of a measured point (else "
    "note). Where no level of a flooded tank is stated its suction pressures count; one below that "
    "of liquid at the datum was read while the pump ran, with the losses in it. The eye of a dry "
    "pump stands at the datum, that of a pump in a can at its setting depth.",
    source="ISO 9906:2012, 3.2; ISO 2533:1975; IF97; margin: ANSI/HI 9.6.1, secondary text",
    subject="/site",
    needs=(
        "/site/elevation", "/site/suction_kind", liquid.WARMEST,
        "/pump/curve_points", "/pump/rated_speed",
    ),
    waits_for=("site.elevation", "well.levels", *RESTS_ON_CURVE, "speed.order",
               "speed.maximum-speed"),
    applies=has_points,
    check=_lowest,
    sentences={
        "short": "At the lowest suction and {temperature} the pump takes up to {flow}, needs "
        "an NPSH of {required} and has {available}: it would cavitate.",
        "small": "At the lowest suction and {temperature} the pump takes up to {flow}, needs "
        "an NPSH of {required} and has {available}: the margin is small, {wanted} would be "
        "enough.",
    },
    remedies=dict.fromkeys(
        ("short", "small"),
        "Stop at a higher suction, lower the maximum frequency, keep the liquid cooler, or check "
        "the lowest suction and the highest temperature.",
    ),
)  # fmt: skip
