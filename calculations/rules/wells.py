"""Rules of wells: dry run, depths in order, how often a wet well starts its pump."""

from collections.abc import Iterator

from calculations import wet_wells
from calculations.aspects import in_order, levels, loop, pumping, system
from calculations.case import Case, Missing
from calculations.findings import Finding, Shown
from calculations.rule import Limit, Rule, about, entered, show, spaced
from calculations.rules.closeness import above, below
from calculations.rules.draw_down import require_registered_area
from calculations.rules.scope import has_drive
from calculations.rules.speed_limits import MAXIMUM, MINIMUM, RESTS_ON_CURVE
from calculations.units import Quantity


def is_well(case: Case) -> bool:
    """Whether the pump draws from a borehole."""
    return case.is_("/site/suction_kind", "well") or case.is_("/site/kind", "well")


def pumps_a_well(case: Case) -> bool:
    """Whether a pump set draws from a borehole, on a drive or across the line."""
    return is_well(case) and (has_drive(case) or case.fixed_speed)


# -- dry run ------------------------------------------------------------------------------------


def _dry_run(case: Case, place: str) -> Iterator[Finding]:
    method = case.word("/settings/dry_run_method")
    response = case.find("/settings/dry_run_response")
    if method != "none" and response is None:
        raise Missing(case.place("/settings/dry_run_response"))
    if method != "none" and response not in ("none", "alarm"):
        return
    yielded, flow = case.find("/site/tested_yield"), _pump_flow(case)
    compared: dict[str, Shown | Quantity] = {"method": Shown(spaced(method), "")}
    if yielded is not None and flow is not None and below(yielded.si, flow):
        compared |= {"yield": yielded, "flow": show(flow, yielded.unit)}
    runs_dry = "yield" in compared
    variant = "none" if method == "none" else "no_stop"
    yield DRY_RUN.finding(
        f"{variant}_short" if runs_dry else variant, "stop" if runs_dry else "review", place,
        compared=compared, tested=f"{yielded.value} {yielded.unit}" if yielded else "",
    )  # fmt: skip


def _pump_flow(case: Case) -> float | None:
    """Flow of the pump at its maximum frequency [m3/s], by affinity from its rated flow.

    Across the line the rated flow itself.
    """
    rated, highest = case.find("/pump/rated_flow"), case.find(MAXIMUM)
    speed = case.find("/pump/rated_speed")
    if rated is None:
        return None
    known = highest is not None and speed is not None and case.find("/rating/speed") is not None
    if not known or case.find("/rating/frequency") is None:
        return float(rated.si)
    turns = pumping.speed_where(case, highest.si, lambda at: rated.si * at / speed.si)
    return float(rated.si * turns / speed.si)


DRY_RUN = Rule(
    id="well.dry-run",
    title="Dry-run protection of a well pump",
    severities=("stop", "review"),
    condition="A well pump has a dry-run protection that stops it; without one: stop where the "
    "tested yield is less than the pump's flow at its maximum frequency, across the line at its "
    "rated speed.",
    source="common practice, no source",
    subject="/settings/dry_run_method",
    needs=("/settings/dry_run_method",),
    applies=pumps_a_well,
    check=_dry_run,
    sentences={
        "none": "Nothing protects the well pump from running dry.",
        "no_stop": "The dry-run protection ({method}) does not stop the well pump.",
        "none_short": "Nothing protects the well pump from running dry, and the well yields "
        "{tested} only while the pump can take {flow}.",
        "no_stop_short": "The dry-run protection ({method}) does not stop the well pump, and the "
        "well yields {tested} only while the pump can take {flow}.",
    },
    remedies=dict.fromkeys(
        ("none", "no_stop", "none_short", "no_stop_short"),
        "Set a dry-run stop by level, or by low load measured on the day.",
    ),
)


# -- depths ---------------------------------------------------------------------------------------


def _depths(case: Case, place: str) -> Iterator[Finding]:
    if len(in_order.depths(case)) < 2:
        raise Missing(*(f"/site/{name}" for name in in_order.DEPTHS))
    odd = in_order.odd_of_depths(case)
    if odd is None:
        return
    row = ", ".join(f"{spaced(name)} {entered(read)}" for name, read in odd.row.items())
    name = odd.names[-1]
    if odd.meant is None:
        yield LEVELS.finding(
            "order", "review", f"/site/{name}", compared=odd.row,
            odd=" or ".join(spaced(each) for each in odd.names), row=row,
        )  # fmt: skip
    else:
        yield LEVELS.finding(
            "unit", "review", f"/site/{name}", compared=odd.row, odd=spaced(name),
            entered=entered(odd.row[name]), meant=entered(odd.meant), row=row,
        )  # fmt: skip


LEVELS = Rule(
    id=in_order.WELL_ORDER,
    title="Depths of the well in order",
    severities=("review",),
    condition="Static water depth is not below the pumping water depth, this above the pump, the "
    "pump above the bottom of the well; and one that stands in another unit than the others does "
    "not fit between them, and nearer, in theirs.",
    source="logic",
    subject="/site/pump_setting_depth",
    applies=is_well,
    check=_depths,
    sentences={
        "order": "The depths of the well are not in order, {odd} does not fit: {row}.",
        "unit": "Probably the {odd} is {meant}, not {entered}: it stands in another unit than the "
        "other depths ({row}), and in theirs it lies nearer to them.",
    },
    remedies={
        "order": "Read the depths again; they count downwards from the well head.",
        "unit": "Read it again with its unit, and enter {meant} if that is what it was.",
    },
)


# -- yield ----------------------------------------------------------------------------------------


def _keeps_flow(case: Case) -> bool:
    """Whether the drive keeps a flow out of a borehole whose yield was tested."""
    of_flow = loop.is_known_closed(case) and case.is_("/settings/regulated_quantity", "flow")
    return of_flow and is_well(case) and case.find("/site/tested_yield") is not None


def _yield(case: Case, place: str) -> Iterator[Finding]:
    kept, gives = case.quantity("/settings/set_point"), case.quantity("/site/tested_yield")
    if above(loop.set_point(case), gives.at_most):
        yield YIELD.finding(
            "beyond", "review", case.place(place),
            compared={"set_point": kept, "yield": gives}, limit=f"at most {entered(gives)}",
        )  # fmt: skip


YIELD = Rule(
    id="well.yield",
    title="Flow kept out of a well against what it yields",
    severities=("review",),
    condition="The flow that a loop keeps out of a borehole is not above its tested yield.",
    source="definition of the yield",
    subject="/settings/set_point",
    needs=("/settings/set_point",),
    waits_for=("loop.kinds", "loop.set-point-unit", "loop.set-point-reachable"),
    applies=_keeps_flow,
    check=_yield,
    sentences={
        "beyond": "The set point {set_point} is above the {yield} that the well was tested to "
        "yield: the water falls until the dry-run protection stops the pump.",
    },
    remedies={"beyond": "Set the set point to {yield} or less, or correct the tested yield."},
)


# -- starts ----------------------------------------------------------------------------------------


def starts_by_level(case: Case) -> bool:
    """Whether levels of a wet well start and stop the pump."""
    return levels.are_set(case) and case.is_("/site/suction_kind", "wet_well")


def starts_per_hour(case: Case) -> float:
    """Starts in the worst hour [1/h]: inflow of half the pump's flow, or nearest to it."""
    return wet_wells.pump_cycle(
        volume=_volume(case), pump_flow=cycling_flow(case), inflow=_worst_inflow(case)
    ).starts_per_hour / taking_turns(case)


def _volume(case: Case) -> float:
    """Liquid between stop and start level [m3]."""
    between = levels.value(case, "start_level") - levels.value(case, "stop_level")
    if between <= 0:
        raise Missing(case.place("/settings/start_level"), because="not above the stop level")
    return between * case.si("/site/wet_well_area")


def cycling_flow(case: Case) -> float:
    """Flow while the pump cycles [m3/s]: with a level loop that at its minimum frequency.

    Across the line it is that at the motor's rated frequency.
    """
    slow = loop.is_known_closed(case) and case.is_("/settings/regulated_quantity", *loop.LEVELS)
    runs_at = MINIMUM if slow else "/rating/frequency" if case.fixed_speed else MAXIMUM
    flow = system.flow(case, case.si(runs_at), "high")
    if flow <= 0:
        raise Missing(case.place(runs_at), because="nothing flows at this frequency")
    return flow


def _worst_inflow(case: Case) -> float:
    worst = cycling_flow(case) / 2
    least, most = case.find("/site/inflow_minimum"), case.find("/site/inflow_peak")
    if least is not None:
        worst = max(worst, least.si)
    if most is not None:
        worst = min(worst, most.si)
    if not 0 < worst < cycling_flow(case):
        raise Missing("/site/inflow_minimum", because="the pump does not cycle at this inflow")
    return worst


def taking_turns(case: Case) -> int:
    """Pumps that take turns at every start."""
    turns = case.is_("/settings/pump_arrangement", "alternating")
    turns = turns or case.is_("/settings/alternation", "at_sleep")
    return int(case.find("/settings/pumps_in_group") or 1) if turns else 1


def plate_starts(case: Case) -> int | None:
    """The least number of starts per hour that motor or pump permit."""
    places = ("/motor/maximum_starts_per_hour", "/pump/maximum_starts_per_hour")
    known = [case.find(place) for place in places]
    return min((each for each in known if each is not None), default=None)


def _starts(case: Case, place: str) -> Iterator[Finding]:
    found = starts_per_hour(case)
    stated = plate_starts(case)
    limit = stated if stated is not None else case.limit("well.starts.unstated")
    if not above(found, limit):
        return
    require_registered_area(case)
    unit = "gpm" if levels.unit(case) in ("ft", "in") else "L/s"
    yield STARTS.finding(
        "above_plate" if stated is not None else "unstated",
        "review" if stated is not None else "note", place,
        compared={
            "start": case.quantity("/settings/start_level"),
            "stop": case.quantity("/settings/stop_level"),
            "flow": about(cycling_flow(case), unit),
        },
        limit=f"{about(limit)} per hour", starts=about(found), permitted=about(limit),
        each=_each_of(case),
    )  # fmt: skip


def _each_of(case: Case) -> str:
    """Who starts as often as is said: the pump, or each of those that take turns."""
    turns = taking_turns(case)
    return f"each of the {turns} pumps that take turns" if turns > 1 else "the pump"


STARTS = Rule(
    id="well.starts",
    title="Starts per hour of a wet well's pump",
    severities=("review", "note"),
    condition="At the worst steady inflow the volume between stop and start level gives no more "
    "starts per hour than motor and pump permit (note above 15 where neither states a number). "
    "With a level loop the flow at the minimum frequency counts.",
    source="MIL-HDBK-1005/9A, 2.5.3.6 (worst inflow is half of the flow); 15 from memory",
    subject="/settings/start_level",
    needs=("/settings/start_level", "/settings/stop_level", "/site/wet_well_area"),
    waits_for=("level.order", *RESTS_ON_CURVE, "speed.order", "speed.maximum-speed",
               "speed.zero-flow"),
    applies=starts_by_level,
    check=_starts,
    limits={"unstated": Limit(15, "1", "starts per hour", "lower", "from memory")},
    sentences={
        "above_plate": "Between stop {stop} and start {start} {each} (then at {flow}) may start "
        "{starts} times an hour; {permitted} are permitted.",
        "unstated": "Between stop {stop} and start {start} {each} (then at {flow}) may start "
        "{starts} times an hour; no limit is recorded.",
    },
    remedies={"above_plate": "Set start and stop level further apart, or lower the minimum "
              "frequency."},
)  # fmt: skip
