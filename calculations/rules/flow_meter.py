"""Rules of a flow meter: straight pipe before and behind it, its range and its bore."""

from collections.abc import Iterator
from math import log, pi

from calculations.aspects import verifying
from calculations.case import Case, Missing
from calculations.findings import Finding, Severity, Shown
from calculations.rule import Limit, Rule, about, each_alone, entered, percent, roughly
from calculations.rules.closeness import above, below
from calculations.rules.loop_set_point import SCALED
from calculations.rules.mix_ups import in_unit
from calculations.units import US_FLOWS, Quantity

UPSTREAM, DOWNSTREAM = "straight_upstream_diameters", "straight_downstream_diameters"


def _has_flow_meter(case: Case) -> bool:
    return any(case.is_(f"/sensors/{index}/quantity", "flow")
               for index in range(len(case.find("/sensors") or ())))  # fmt: skip


def _straight_run(case: Case, place: str) -> Iterator[Finding]:
    """Only electromagnetic meters: what others need depends on their beams, blades or ratio."""
    if not case.is_(f"{place}/quantity", "flow"):
        return iter(())
    if case.word(f"{place}/meter_kind") != "electromagnetic":
        return iter(())
    return each_alone(_upstream(case, place), _downstream(case, place))


def _upstream(case: Case, place: str) -> Iterator[Finding]:
    run, usual = case.quantity(f"{place}/{UPSTREAM}"), case.limit("sensor.straight-run.upstream")
    if below(run.at_most, usual):
        short = below(run.at_most, case.limit("sensor.straight-run.upstream-review"))
        yield _finding(case, place, UPSTREAM, "much_too_short" if short else "upstream")


def _downstream(case: Case, place: str) -> Iterator[Finding]:
    run = case.quantity(f"{place}/{DOWNSTREAM}")
    if below(run.at_most, case.limit("sensor.straight-run.downstream")):
        yield _finding(case, place, DOWNSTREAM, "downstream")


def _finding(case: Case, place: str, name: str, variant: str) -> Finding:
    side = "downstream" if name == DOWNSTREAM else "upstream"
    usual = f"{case.limit(f'sensor.straight-run.{side}'):g}"
    return STRAIGHT_RUN.finding(
        variant, "review" if variant == "much_too_short" else "note", f"{place}/{name}",
        compared={"run": entered(case.quantity(f"{place}/{name}"))},
        limit=f"at least {usual} diameters", usual=usual,
        sensor=case.find(f"{place}/tag") or case.find(f"{place}/serial") or "The flow meter",
    )  # fmt: skip


STRAIGHT_RUN = Rule(
    id="sensor.straight-run",
    title="Straight pipe before and behind an electromagnetic flow meter",
    severities=("review", "note"),
    condition="An electromagnetic flow meter has at least 5 diameters of straight pipe upstream "
    "(note; review below 3) and 2 downstream (note). Its maker may permit less, "
    "and what meters of other kinds need is the maker's alone: those are not judged.",
    source="common practice; ISO 20456 leaves the lengths to the maker (from memory)",
    each="/sensors",
    applies=_has_flow_meter,
    check=_straight_run,
    limits={
        "upstream": Limit(5, "1", "diameters upstream", "higher", "common practice"),
        "upstream-review": Limit(
            3, "1", "diameters upstream, below which an answer is needed", "higher",
            "common practice",
        ),
        "downstream": Limit(2, "1", "diameters downstream", "higher", "common practice"),
    },
    sentences={
        "much_too_short": "{sensor} has {run} diameters of straight pipe upstream, far fewer than "
        "the {usual} that are usual: swirl and a one-sided profile can shift its readings by more "
        "than its tolerance.",
        "upstream": "{sensor} has {run} diameters of straight pipe upstream; {usual} are usual "
        "where its maker does not permit less.",
        "downstream": "{sensor} has {run} diameters of straight pipe downstream; {usual} are usual "
        "where its maker does not permit less.",
    },
    remedies={
        "much_too_short": "Compare it with another meter or a timed volume, move it, or name what "
        "its maker permits.",
    },
)  # fmt: skip


# -- range and bore -------------------------------------------------------------------------------

METER = "/flow_meter"
RATED = "/pump/rated_flow"
DESIGN = "/site/system_design_flow"

BORE_SLIPS = {
    "mm": ("in", "cm"), "in": ("mm", "cm"), "cm": ("mm", "in"), "m": ("cm", "mm"), "ft": ("in",),
}  # fmt: skip
"""Units of a bore that are taken for each other, by the one that was entered."""

ORDINARY = 2.0
"""Velocity in a meter [m/s] that a bore is chosen for; common practice, no source."""


def _meter_size(case: Case, place: str) -> Iterator[Finding]:
    """The least and the most that is asked of it: a header's meter carries other pumps besides."""
    design = case.find(DESIGN)
    flows = [case.quantity(RATED), *([design] if design is not None else [])]
    least, most = (end(flows, key=lambda each: each.si) for end in (min, max))
    return each_alone(_in_range(case, place, least, most), _in_bore(case, place, least, most))


def _in_range(case: Case, place: str, least: Quantity, most: Quantity) -> Iterator[Finding]:
    upper = case.quantity(f"{METER}/upper_range_value")
    lower = case.quantity(f"{METER}/lower_range_value")
    top = max(upper, lower, key=lambda each: each.si)
    share = case.limit("sensor.meter-size.share")
    if above(least.at_least, top.at_most):
        yield _size(case, place, "small", "review", least, {"upper": top},
                    limit=f"at least {entered(least)}")  # fmt: skip
    elif below(most.at_most, share * top.at_least):
        _require_all(case)
        told = percent(most.si / top.si)
        yield _size(case, place, "wide", "review", most, {"upper": top},
                    limit=f"at least {percent(share)}", share=told)  # fmt: skip


def _in_bore(case: Case, place: str, least: Quantity, most: Quantity) -> Iterator[Finding]:
    bore = case.quantity(f"{METER}/bore")
    fastest, slow, slowest = (
        case.limit(f"sensor.meter-size.{name}") for name in ("fastest", "slow", "slowest")
    )
    velocity = _velocity(most, bore.at_least)
    if above(_velocity(least, bore.at_most), fastest):
        yield _of_bore(case, place, "fast", least, bore, f"at most {_speed(fastest, least)}")
    elif below(velocity, slow):
        _require_all(case)
        if below(velocity, slowest):
            yield _of_bore(case, place, "slow", most, bore, f"at least {_speed(slowest, most)}")
        else:
            yield _size(case, place, "low", "note", most, {"bore": bore},
                        limit=f"at least {_speed(slow, most)}",
                        velocity=roughly(_velocity(most, bore.si), _speed_unit(most)))  # fmt: skip


def _of_bore(
    case: Case, place: str, variant: str, flow: Quantity, bore: Quantity, limit: str
) -> Finding:
    slow, fastest = map(case.limit, ("sensor.meter-size.slow", "sensor.meter-size.fastest"))
    meant = _bore_meant(flow, bore, slow, fastest)
    return _size(case, place, "unit" if meant else variant, "review", flow, {"bore": bore},
                 limit=limit, velocity=roughly(_velocity(flow, bore.si), _speed_unit(flow)),
                 meant=entered(meant) if meant else "")  # fmt: skip


def _require_all(case: Case) -> None:
    """Raise `Missing` where a meter that is large for this pump may be that of a whole group."""
    if case.find(DESIGN) is None and (case.find("/settings/pumps_in_group") or 1) > 1:
        raise Missing(DESIGN, because="the meter may carry all pumps of the group")


def _bore_meant(flow: Quantity, bore: Quantity, slow: float, fastest: float) -> Quantity | None:
    """The bore in the unit that makes its velocity an ordinary one, if one does."""
    read = [in_unit(bore, unit) for unit in BORE_SLIPS.get(bore.unit, ())]
    good = [each for each in read if slow <= _velocity(flow, each.si) <= fastest]
    return min(good, key=lambda each: abs(log(_velocity(flow, each.si) / ORDINARY)), default=None)


def _speed(velocity: float, flow: Quantity) -> Shown:
    """A velocity [m/s] as it is told beside a flow."""
    return about(velocity, _speed_unit(flow))


def _speed_unit(flow: Quantity) -> str:
    return "ft/s" if flow.unit in US_FLOWS else "m/s"


def _velocity(flow: Quantity, bore: float) -> float:
    """Mean velocity [m/s] of a flow in a round bore [m]: Q / (pi d^2 / 4)."""
    return flow.si / (pi * bore * bore / 4)


def _size(
    case: Case, place: str, variant: str, severity: Severity, flow: Quantity,
    compared: dict[str, Quantity], *, limit: str, **told: object,
) -> Finding:  # fmt: skip
    return METER_SIZE.finding(
        variant, severity, f"{place}/{'bore' if 'bore' in compared else 'upper_range_value'}",
        compared=compared | {"flow": flow}, limit=limit,
        sensor=case.find(f"{METER}/tag") or case.find(f"{METER}/serial") or "the flow meter",
        **told,
    )  # fmt: skip


METER_SIZE = Rule(
    id="sensor.meter-size",
    title="Range and bore of a flow meter against the pump's flow",
    severities=("review", "note"),
    condition="The flow meter of a pump set measures up to the pump's rated flow (or the system's "
    "design flow, where that is less), which is at least 5 % of its range; through its bore that "
    "flow runs at 10 m/s at most and 0.1 m/s at least (note below 0.3). A bore in another unit is "
    "named where it explains it.",
    source="v = Q / A; limits: common practice, from memory",
    subject=METER,
    needs=(RATED,),
    waits_for=(*SCALED, "curve.columns"),
    waits_at=verifying.is_regulating,
    applies=lambda case: case.is_(f"{METER}/quantity", "flow"),
    check=_meter_size,
    limits={
        "share": Limit(5, "%", "rated flow of the meter's range", "higher", "common practice"),
        "fastest": Limit(10, "m/s", "through the meter's bore", "lower", "from memory"),
        "slow": Limit(0.3, "m/s", "through the meter's bore, note", "higher", "from memory"),
        "slowest": Limit(0.1, "m/s", "through the meter's bore", "higher", "from memory"),
    },
    sentences={
        "small": "{sensor} measures up to {upper}, but {flow} are to be pumped: above its range it "
        "shows no more.",
        "wide": "{sensor} measures up to {upper}, of which the {flow} to be pumped are {share}: a "
        "tolerance in % of span weighs as many times more.",
        "unit": "Probably the bore of {sensor} is {meant}, not {bore}: at {flow} the liquid would "
        "run through it at {velocity}.",
        "fast": "Through the bore of {bore} of {sensor} {flow} run at {velocity}: no meter is "
        "chosen for that.",
        "slow": "Through the bore of {bore} of {sensor} {flow} run at {velocity}: hardly a meter "
        "tells that from nothing.",
        "low": "Through the bore of {bore} of {sensor} {flow} run at {velocity}: slow for a meter, "
        "whose error grows there.",
    },
    remedies={
        **dict.fromkeys(
            ("small", "wide"),
            "Read the range in the transmitter and its unit; where it is right, have it set for "
            "the flow, and with it the scaling of all that reads its signal.",
        ),
        "unit": "Read the plate again, and enter {meant} if that is what it says.",
        **dict.fromkeys(
            ("fast", "slow"), "Read bore and rated flow on their plates again, with their units."
        ),
    },
)  # fmt: skip
