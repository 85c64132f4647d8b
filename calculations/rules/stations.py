"""Rules of several pump sets that share a header: set points, staging, wake, sensor."""

from collections.abc import Iterator

from calculations import without_drive
from calculations.aspects import group, holding, kinds, loop, pumping, sleeping
from calculations.aspects.likeness import are_alike
from calculations.aspects.suction import End
from calculations.case import Case, Missing
from calculations.duty_points import speeds_through
from calculations.findings import Finding, Shown
from calculations.inputs.settings import Settings
from calculations.rule import Limit, Rule, percent, show
from calculations.rules.closeness import above, below
from calculations.rules.loop_set_point import SCALED, SET_POINT
from calculations.rules.scope import has_drive
from calculations.rules.speed_limits import MAXIMUM, MINIMUM, RESTS_ON_CURVE
from calculations.units import Quantity

NO_WORD = ("none", "no", "not fitted", "n/a")


def in_group(case: Case) -> bool:
    """Whether other pump sets are known on the header, and this one has a drive."""
    with_drive = has_drive(case) and not without_drive.is_recorded(case.subject)
    return with_drive and bool(case.subject.neighbours)


SCALING = ("feedback_at_lower_signal", "feedback_at_upper_signal")


def _in_units(case: Case, settings: Settings, quantity: Quantity | None) -> float | None:
    """A value of another set in SI of this loop; in % it belongs to that set's own scaling.

    None where it is of another kind: that is for that set's own record to tell.
    """
    if quantity is None:
        return None
    if quantity.kind != "ratio":
        return _of_this_loop(case, quantity)
    low, high = settings.feedback_at_lower_signal, settings.feedback_at_upper_signal
    if low is None or high is None or "ratio" in (low.kind, high.kind):
        return None
    lowest, highest = _of_this_loop(case, low), _of_this_loop(case, high)
    if lowest is None or highest is None:
        return None
    return lowest + quantity.si * (highest - lowest)


def _of_this_loop(case: Case, quantity: Quantity) -> float | None:
    kind = kinds.of_loop(case)
    if kind == "ratio" or not kinds.readable(kind, quantity):
        return None
    return kinds.in_loop(case, quantity)


# -- set points agree -----------------------------------------------------------------------------


def _set_points(case: Case, place: str) -> Iterator[Finding]:
    ours = loop.set_point(case)
    span = loop.process_span(case)
    offset = case.find("/settings/stage_set_point_offset")
    step = loop.process_difference(case, "/settings/stage_set_point_offset") if offset else 0.0
    lacking = []
    for at, settings in group.on_header(case, and_unset=True):
        if _keeps_none_of_ours(case, at) or group.has_no_drive(case.find(at)):
            continue
        lacking += _lacks(case, at, "regulated_quantity", "set_point")
        theirs = _in_units(case, settings, settings.set_point)
        if theirs is None or settings.regulated_quantity is None:
            continue
        allowed = case.limit("station.set-points-agree.share") * span
        if not above(min(abs(ours - theirs), abs(abs(ours - theirs) - abs(step))), allowed):
            continue
        yield SET_POINTS_AGREE.finding(
            "differ", "review", f"{at}/settings/set_point",
            compared={"ours": case.quantity(SET_POINT), "theirs": _entered(settings)},
            limit=f"{percent(case.limit('station.set-points-agree.share'))} of span",
            tag=group.name(case, at),
        )  # fmt: skip
    if lacking:
        raise Missing(*lacking)


def _keeps_none_of_ours(case: Case, at: str) -> bool:
    """Whether another set is known to keep another quantity, or none by a drive of its own."""
    regulation, theirs = (
        case.find(f"{at}/settings/{name}") for name in ("regulation", "regulated_quantity")
    )
    by_others = regulation not in (None, "closed_loop_in_drive")
    alone = by_others and case.find(f"{at}/settings/set_point") is None
    return alone or theirs not in (None, case.word("/settings/regulated_quantity"))


def _lacks(case: Case, at: str, *names: str) -> list[str]:
    """What is not known of a neighbour's settings; of a value in %, its scaling as well."""
    lacking = group.lacks(case, at, *names)
    quantities = (case.find(f"{at}/settings/{name}") for name in names)
    if any(isinstance(each, Quantity) and each.kind == "ratio" for each in quantities):
        lacking += group.lacks(case, at, *SCALING)
    return lacking


def _entered(settings: Settings) -> Shown | Quantity:
    return settings.set_point if settings.set_point is not None else Shown("", "")


SET_POINTS_AGREE = Rule(
    id="station.set-points-agree",
    title="Set points of the sets on one header",
    severities=("review",),
    condition="Sets that keep the same quantity of one header have the same set point, to within "
    "1 % of span, or differ by the offset for staged pumps.",
    source="common practice, no source",
    subject=SET_POINT,
    needs=(SET_POINT, "/settings/regulated_quantity"),
    waits_for=(*SCALED, "loop.set-point-unit", "loop.two-controllers"),
    applies=lambda case: in_group(case) and loop.is_closed(case),
    check=_set_points,
    limits={"share": Limit(1, "%", "between the set points, of span", "lower", "from memory")},
    sentences={
        "differ": "{tag} on the same header keeps {theirs}, this set keeps {ours}: one of them "
        "does all the work, or they follow each other.",
    },
    remedies={"differ": "Set the same set point, or the offset that is meant."},
)


# -- staging --------------------------------------------------------------------------------------


def stages(case: Case) -> bool:
    """Whether pumps are added and taken away with demand."""
    return has_drive(case) and case.is_("/settings/pump_arrangement", "lead_lag", "staged")


def _staging(case: Case, place: str) -> Iterator[Finding]:
    size, running = (
        case.find(f"/settings/{name}") for name in ("pumps_in_group", "pumps_maximum_running")
    )
    if size is not None and running is not None and running > size:
        yield STAGING.finding(
            "too_many", "review", case.place("/settings/pumps_maximum_running"),
            compared={"running": Shown(str(running), ""), "group": Shown(str(size), "")},
        )  # fmt: skip
    if running == 1:
        return
    on, off = case.quantity("/settings/stage_on_frequency"), _stage_off(case)
    lowest, highest = case.quantity(MINIMUM), case.quantity(MAXIMUM)
    compared: dict[str, Shown | Quantity] = {"on": on, "minimum": lowest, "maximum": highest}
    if above(on.si, highest.si):
        yield STAGING.finding("never_on", "review", place, compared=compared)
    elif off is not None and not below(off.si, on.si):
        yield STAGING.finding("order", "review", place, compared=compared | {"off": off})
    elif off is not None and below(off.si, lowest.si):
        yield STAGING.finding("never_off", "review", place, compared=compared | {"off": off})
    elif off is not None:
        yield from _comes_and_goes(case, place, compared | {"off": off})


def _comes_and_goes(
    case: Case, place: str, compared: dict[str, Shown | Quantity]
) -> Iterator[Finding]:
    """Pumps that share the flow run slower than one alone: slower than they are taken away at."""
    if not loop.keeps_discharge_pressure(case) or not _share_alike(case):
        return
    on, off = (case.si(f"/settings/stage_{end}_frequency") for end in ("on", "off"))
    shared = max(_shared_frequency(case, on, end) for end in ("low", "high"))
    if below(shared, off):
        shown = show(shared, "Hz", 3)
        yield STAGING.finding(
            "cycles", "review", place,
            compared=compared | {"shared": shown}, limit=f"at most {shown}",
        )  # fmt: skip


def _share_alike(case: Case) -> bool:
    """Whether the pumps that are added hold the same pressure at the same speed.

    Not where the set point moves as they are added, where the pressure is kept far away or out of
    a well, or where a neighbour has another pump.
    """
    moves = case.find("/settings/stage_set_point_offset")
    elsewhere = case.is_("/regulating_sensor/location", "remote")
    if (moves and moves.si) or elsewhere or holding.is_kept_from_a_well(case):
        return False
    own = case.subject.pump
    others = [each.pump for each in case.subject.neighbours or () if each.pump is not None]
    return own is not None and all(are_alike(own, other) for other in others)


def _shared_frequency(case: Case, alone: float, end: End) -> float:
    """Frequency [Hz] at which two share what one gives at another frequency [Hz]."""
    flow = sleeping.flow_at_set_point(case, alone, end)
    head = loop.required_head(case, end)
    if flow <= 0 or head <= 0:
        raise Missing(case.place(SET_POINT), because="one pump alone gives no flow there")
    met = speeds_through(curve=pumping.curve(case), flow=flow / 2, head=head)
    if not met:
        raise Missing("/pump/curve_points", because="half of the flow lies beyond the curve")
    return pumping.frequency(case, met[-1], flow / 2)


def _stage_off(case: Case) -> Quantity | None:
    found: Quantity | None = case.find("/settings/stage_off_frequency")
    return found


STAGING = Rule(
    id="station.staging",
    title="Frequencies at which pumps are added and taken away",
    severities=("review",),
    condition="The next pump is added at a frequency that is reached, and taken away at a lower "
    "one that is reached; no more pumps run than there are. Where like pumps keep a pressure, "
    "they are not taken away above the speed that two run at when they share what one alone gave "
    "as the second was added.",
    source="logic; affinity laws, HI engineering data, equation 1.B.6",
    subject="/settings/stage_on_frequency",
    waits_for=("speed.order", *RESTS_ON_CURVE),
    applies=stages,
    check=_staging,
    sentences={
        "too_many": "{running} pumps may run at once, but the group has {group}.",
        "never_on": "The next pump is added at {on}, above the maximum frequency {maximum}: it "
        "never is.",
        "order": "The next pump is added at {on} and taken away at {off}: it comes and goes all "
        "the time.",
        "cycles": "The next pump is added at {on} and taken away at {off}. Once it has joined, "
        "both hold the set point at no more than {shared}, which is below that: it is taken away "
        "again, one alone runs up again, and so on for ever.",
        "never_off": "The next pump is taken away at {off}, below the minimum frequency {minimum}: "
        "it never is.",
    },
    remedies={
        "too_many": "Correct the numbers of pumps.",
        "never_on": "Set the frequency to add a pump just below the maximum.",
        "order": "Set the frequency to take a pump away well below the one to add it.",
        "cycles": "Set the frequency to take a pump away well below {shared}.",
        "never_off": "Set the frequency to take a pump away above the minimum.",
    },
)


# -- lead and lag ---------------------------------------------------------------------------------


def _lead_lag(case: Case, place: str) -> Iterator[Finding]:
    ours = case.find("/pump_set/position_in_group")
    if ours is None:
        raise Missing("/pump_set/position_in_group")
    wake = loop.process_value(case, "/settings/wake_value")
    lacking = []
    for at, settings in group.on_header(case, and_unset=True):
        if settings.wake_basis == "below_set_point" or _keeps_none_of_ours(case, at):
            continue
        position = case.find(f"{at}/pump_set/position_in_group")
        theirs = _in_units(case, settings, settings.wake_value)
        lacking += [f"{at}/pump_set/position_in_group"] if position is None else []
        lacking += _lacks(case, at, "wake_value")
        if position is None or theirs is None:
            continue
        if group.has_no_drive(case.find(at)):  # what starts it is read beside the pumps
            theirs -= loop.over_remote(case)
            if not below(theirs, loop.set_point(case)):
                continue  # `station.stand-by` tells it
        lead, lag = (wake, theirs) if ours < position else (theirs, wake)
        if ours != position and not below(lag, lead):
            staged = case.find("/settings/stage_on_frequency") is not None
            yield LEAD_LAG.finding(
                "by_frequency" if staged else "together", "note" if staged else "review",
                f"{at}/settings/wake_value",
                compared={"ours": case.quantity("/settings/wake_value"), "theirs": _wake(settings)},
                tag=group.name(case, at), ours_is="lead" if ours < position else "lag",
            )  # fmt: skip
    if lacking:
        raise Missing(*lacking)


def _wake(settings: Settings) -> Shown | Quantity:
    return settings.wake_value if settings.wake_value is not None else Shown("", "")


LEAD_LAG = Rule(
    id="station.lead-lag",
    title="Wake value of the lag pump below that of the lead pump",
    severities=("review", "note"),
    condition="With lead and lag pumps on discharge pressure the lag pump wakes at a lower "
    "pressure than the lead pump (a note where a frequency is set at which the next pump is added: "
    "then one wake value for the group is usual).",
    source="common practice, no source",
    subject="/settings/wake_value",
    needs=("/settings/wake_value",),
    waits_for=(*SCALED, "loop.wake"),
    applies=lambda case: (
        in_group(case)
        and loop.keeps_discharge_pressure(case)
        and case.is_("/settings/pump_arrangement", "lead_lag")
        and not case.is_("/settings/wake_basis", "below_set_point")
    ),
    check=_lead_lag,
    sentences={
        "together": "This set ({ours_is}) wakes at {ours}, {tag} at {theirs}: the lag pump does "
        "not wait for the lead pump.",
        "by_frequency": "This set ({ours_is}) wakes at {ours}, {tag} at {theirs}: only the staging "
        "keeps the lag pump waiting for the lead pump.",
    },
    remedies={"together": "Set the lag pump's wake value below that of the lead pump."},
)


# -- shared sensor --------------------------------------------------------------------------------


def _shared_sensor(case: Case, place: str) -> Iterator[Finding]:
    sensor = case.word("/pump_set/regulating_sensor")
    names = _names(case, sensor)
    sharing = [
        at for at, _ in group.on_header(case)
        if case.find(f"{at}/pump_set/regulating_sensor") in names
    ]  # fmt: skip
    if not sharing:
        return
    failover = str(case.require("/settings/failover")[0]).strip()
    if failover.casefold() in NO_WORD:
        yield SHARED_SENSOR.finding(
            "alone", "review", place,
            compared={"sensor": Shown(sensor, "")},
            tags=", ".join(group.name(case, at) for at in sharing),
        )  # fmt: skip


def _names(case: Case, sensor: str) -> set[str]:
    found = case.sensor(sensor)
    known = [sensor, *([found[1].id, found[1].tag, found[1].serial] if found else [])]
    return {each for each in known if each}


SHARED_SENSOR = Rule(
    id="station.shared-sensor",
    title="What happens when a shared sensor fails",
    severities=("review",),
    condition="Where several sets are regulated on one sensor, something takes over when it fails.",
    source="common practice, no source",
    subject="/settings/failover",
    needs=("/pump_set/regulating_sensor",),
    applies=lambda case: in_group(case) and loop.is_known_closed(case),
    check=_shared_sensor,
    sentences={
        "alone": "{tags} and this set are regulated on {sensor} alone, and nothing takes over when "
        "it fails: the whole station stops with it.",
    },
    remedies={"alone": "Give the sets a second sensor, or a fixed speed to fall back on."},
)
