"""Rule of the level at which a borehole's transducer stops the pump, against the water in it."""

from collections.abc import Iterator

from calculations.aspects import kinds, loop
from calculations.aspects.in_order import PUMPED, STATIC
from calculations.case import Case, Missing
from calculations.findings import Finding, Severity, Shown
from calculations.rule import Limit, Rule, show
from calculations.rules.closeness import above, below
from calculations.rules.wells import pumps_a_well
from calculations.units import Quantity

THRESHOLD, ZERO = "/settings/dry_run_threshold", f"{kinds.LEVEL_SENSOR}/zero_elevation"
SETTING = "/site/pump_setting_depth"


def _by_transducer(case: Case) -> bool:
    return case.is_("/settings/dry_run_method", "level") and pumps_a_well(case)


def _range(case: Case) -> loop.Range:
    """What the transducer reads [m over the site datum]."""
    ranged, zero = loop.measuring_range(case, kinds.LEVEL_SENSOR), case.si(ZERO)
    return loop.Range(ranged.low + zero, ranged.high + zero)


def stops_at(case: Case) -> float:
    """Elevation of the water at which the pump stops [m over the site datum]."""
    entered = case.quantity(THRESHOLD)
    if entered.kind == "ratio":
        return _range(case).at(entered.si)
    return kinds.in_sensor(case, kinds.LEVEL_SENSOR, entered) + loop.level_reference(case)


def _dry_run_level(case: Case, place: str) -> Iterator[Finding]:
    stop, entered = stops_at(case), case.quantity(THRESHOLD)
    ranged, zero = _range(case), case.si(ZERO)
    static, pumped, pump = (
        case.find(each) for each in (f"/site/{STATIC}", f"/site/{PUMPED}", SETTING)
    )
    if static is None and pumped is None:
        raise Missing(f"/site/{STATIC}", f"/site/{PUMPED}")
    unit = (static or pumped).unit
    compared: dict[str, Shown | Quantity] = {"threshold": entered, "depth": show(-stop, unit)}
    told = _told(stop, ranged, zero, static, pumped, pump)
    least = _covering(case, pumped or static)
    known_to = case.limit("well.dry-run-level.cover")
    if told is None and least is not None and below(stop + known_to, least.si):
        told = "uncovered", "review", least
    if told is None:
        return
    variant, severity, water = told
    beside = {"below_pump": "pump", "uncovered": "least"}.get(variant, "water")
    compared |= {beside: water} if water is not None else {}
    compared |= {"transducer": show(-zero, unit)}
    yield DRY_RUN_LEVEL.finding(variant, severity, place, compared=compared)


def _told(
    stop: float, ranged: loop.Range, zero: float,
    static: Quantity | None, pumped: Quantity | None, pump: Quantity | None,
) -> tuple[str, Severity, Quantity | None] | None:  # fmt: skip
    """What is wrong with where the pump stops, the worst first."""
    if static is not None and not below(zero, -static.si):
        return "transducer", "review", static
    if static is not None and not below(stop, -static.si):
        return "never_starts", "stop", static
    if pumped is not None and not below(stop, -pumped.si):
        return "always_trips", "review", pumped
    if below(stop, min(ranged)):
        return "unread", "review", None
    if pump is not None and not above(stop, -pump.si):
        return "below_pump", "review", pump
    return None


def _covering(case: Case, water: Quantity) -> Quantity | None:
    """Elevation to which the motor asks to be covered; None where no water reaches it anyway."""
    least: Quantity | None = case.find("/motor/minimum_liquid_level")
    return least if least is not None and below(least.si, -water.si) else None


DRY_RUN_LEVEL = Rule(
    id="well.dry-run-level",
    title="Level at which a well pump stops against the water in the well",
    severities=("stop", "review"),
    condition="The dry-run level of a well lies below its static water (else the pump never "
    "starts: stop) and below its pumping water, above the pump, not below what the motor has to be "
    "covered to, and not below what the transducer reads, which hangs below the static water.",
    source="logic",
    subject=THRESHOLD,
    needs=(THRESHOLD,),
    waits_for=("site.datum", "well.levels", "loop.kinds"),
    applies=_by_transducer,
    check=_dry_run_level,
    limits={
        "cover": Limit(
            0.3,
            "m",
            "to which the heights of transducer and pump are known",
            "lower",
            "from memory",
        )
    },
    sentences={
        "transducer": "The transducer hangs at a depth of {transducer}, not below the static water "
        "at {water}: it reads nothing, whatever the dry-run level {threshold} is.",
        "never_starts": "The dry-run level {threshold} stands at a depth of {depth}, not below the "
        "static water at {water}: the pump never starts.",
        "always_trips": "The dry-run level {threshold} stands at a depth of {depth}, not below the "
        "pumping water at {water}: the pump trips in ordinary service.",
        "unread": "The dry-run level {threshold} stands at a depth of {depth}, below what the "
        "transducer at {transducer} reads: it never trips.",
        "below_pump": "The dry-run level {threshold} stands at a depth of {depth}, not above the "
        "pump at {pump}: the pump runs dry before it trips.",
        "uncovered": "The dry-run level {threshold} stands at a depth of {depth}: the motor has to "
        "be covered to {least} over the site datum, and is bare before the pump trips.",
    },
    remedies={
        "transducer": "Lower the transducer below the pumping water, or check its depth.",
        "never_starts": "Set it between the pumping water and the pump; check whether it is meant "
        "as a depth.",
        "always_trips": "Set it between {water} and the pump.",
        "unread": "Set it above the transducer, or lower the transducer.",
        "below_pump": "Set it above the pump.",
        "uncovered": "Set it so that the pump stops at {least} or above.",
    },
)
