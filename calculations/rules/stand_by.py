"""Rule of a pump set without a drive that a pressure starts: beside its lead pump, and alone."""

from collections.abc import Iterator

from calculations.aspects import group, loop, suction
from calculations.case import Case, Missing
from calculations.findings import Finding
from calculations.inputs.settings import Settings
from calculations.inputs.subject import Neighbour
from calculations.rule import Rule, each_alone, show
from calculations.rules.closeness import above, below
from calculations.rules.loop_set_point import SCALED
from calculations.units import Quantity

WAKE = "/settings/wake_value"
TAPPING = "/regulating_sensor/tapping_elevation"


def _is_concerned(case: Case) -> bool:
    """Whether a pressure starts this set, or one beside it, without a drive."""
    if case.fixed_speed:
        return case.settings is not None and _starts_at(case.settings) is not None
    return any(True for _ in _beside(case))


def _starts_at(settings: Settings) -> Quantity | None:
    """The pressure that starts a set without a drive; None where none does, or another quantity."""
    wake = settings.wake_value
    kept = settings.regulated_quantity in (None, "unknown", "discharge_pressure")
    as_it_stands = settings.wake_basis in (None, "unknown", "absolute")
    return wake if wake is not None and wake.kind == "pressure" and kept and as_it_stands else None


def _beside(case: Case) -> Iterator[tuple[str, Quantity]]:
    """Sets without a drive on the same header, and the pressure that starts each."""
    for at, settings in group.on_header(case):
        neighbour = case.find(at)
        starts = _starts_at(settings) if group.has_no_drive(neighbour) else None
        if starts is not None:
            yield at, starts


def _kept(settings: Settings | None) -> list[Quantity]:
    """The pressures that a drive keeps by these settings, at whatever hour."""
    if settings is None or settings.regulation != "closed_loop_in_drive":
        return []
    others = [each.set_point for each in settings.set_point_alternatives or ()]
    found = [each for each in (settings.set_point, *others) if each is not None]
    pressures = settings.regulated_quantity == "discharge_pressure"
    return [each for each in found if each.kind == "pressure"] if pressures else []


def _kept_here(case: Case) -> list[Quantity]:
    """The same of this set, whose scaling tells what a set point in % is."""
    if not loop.keeps_discharge_pressure(case):
        return []
    places = (loop.SET_POINT, *loop.alternatives(case))
    found = [(at, each) for at in places if (each := case.find(at)) is not None]
    return [_as_pressure(case, at) if each.kind == "ratio" else each for at, each in found]


def _as_pressure(case: Case, place: str) -> Quantity:
    shown = show(loop.process_value(case, place), loop.process_unit(case))
    return Quantity.of(shown.value, shown.unit, "pressure")


def _keeps_more(lead: Neighbour, starts: Quantity) -> bool:
    """Whether gauges showed a lead to keep more at the pump than what starts another set.

    Its sensor may stand far away, and higher: of another set's sensors nothing is known here.
    """
    read = [
        point.discharge_pressure
        for point in lead.duty_points or ()
        if point.purpose in ("normal", "design") and point.discharge_pressure is not None
    ]
    return bool(read) and all(above(each.at_least, starts.at_most) for each in read)


def _stand_by(case: Case, place: str) -> Iterator[Finding]:
    if case.fixed_speed:
        starts = case.quantity(WAKE)
        leads = [
            (group.name(case, at), kept)
            for at, settings in group.on_header(case)
            if (kept := _kept(settings))
            and not group.has_no_drive(case.find(at))
            and not _keeps_more(case.find(at), starts)
        ]
        return each_alone(_of_one(case, case.place(WAKE), "This set", starts, leads))
    ours = _kept_here(case)
    leads = [("this set", ours)] if ours else []
    return each_alone(
        *(
            _of_one(case, f"{at}/settings/wake_value", group.name(case, at), starts, leads)
            for at, starts in _beside(case)
        )
    )


def _of_one(
    case: Case, place: str, tag: str, starts: Quantity, leads: list[tuple[str, list[Quantity]]]
) -> Iterator[Finding]:
    """One set: the lowest of what its leads keep, then what the suction holds by itself."""
    kept = [(each, lead) for lead, pressures in leads for each in pressures]
    lowest, lead = min(kept, key=lambda pair: pair[0].si, default=(None, ""))
    over = 0.0 if case.fixed_speed else loop.over_remote(case) if lowest else 0.0
    if lowest is not None and not below(starts.si, lowest.si + over):
        at_pump = {"at_pump": show(lowest.si + over, starts.unit)} if over else {}
        yield STAND_BY.finding(
            "early_remote" if over else "early", "review", place,
            compared={"starts": starts, "kept": lowest, **at_pump}, tag=tag, lead=lead,
        )  # fmt: skip
        return
    held = suction.pressure(case, "high", _height(case))
    if not above(starts.si, held):
        yield STAND_BY.finding(
            "never", "review", place,
            compared={"starts": starts, "held": show(held, starts.unit, 3)}, tag=tag,
        )  # fmt: skip


def _height(case: Case) -> float:
    """Where the pressure on the header is read [m over the site datum].

    What starts another set is read in the station, beside the pumps.
    """
    if not case.fixed_speed and loop.is_remote(case):
        return 0.0
    height = case.find(TAPPING)
    if height is None:
        raise Missing(case.place(TAPPING))
    return float(height.si)


STAND_BY = Rule(
    id="station.stand-by",
    title="Pressure that starts a pump set without a drive",
    severities=("review",),
    condition="A pump set without a drive that is started by the discharge pressure starts below "
    "every set point that a drive keeps on the same header, and above what the highest suction "
    "holds by itself. A set point that is kept at a remote sensor counts with the height of the "
    "sensor over the pumps.",
    source="logic; hydrostatics",
    subject=WAKE,
    waits_for=(*SCALED, "loop.set-point-unit", "loop.set-point-in-span"),
    applies=_is_concerned,
    check=_stand_by,
    sentences={
        "early": "{tag} has no drive and starts at {starts}, but {lead} keeps {kept}: it starts "
        "while nothing lacks, and runs beside the pump that it stands by for.",
        "early_remote": "{tag} has no drive and starts at {starts}, but {lead} keeps {kept} at its "
        "remote sensor, which is {at_pump} or more beside the pumps: it starts while nothing "
        "lacks, and runs beside the pump that it stands by for.",
        "never": "{tag} has no drive and starts at {starts}, but the highest suction alone holds "
        "{held}: it may never start, and nobody notices before it is needed.",
    },
    remedies={
        "early": "Set its start below {kept}, by more than the pressure dips when demand rises.",
        "early_remote": "Set its start below {at_pump}, by more than the pressure dips when demand "
        "rises; check the height of the sensor.",
        "never": "Set its start above {held} and below the set point that it stands by for; check "
        "both with their units.",
    },
)
