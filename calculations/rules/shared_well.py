"""Rule of pump sets that empty one well: the levels at which they start and stop."""

from collections.abc import Iterator

from calculations.aspects import group, levels
from calculations.case import Case, Missing
from calculations.findings import Finding, Shown
from calculations.inputs.settings import Settings
from calculations.rule import Rule, entered
from calculations.rules.closeness import above
from calculations.rules.stations import in_group
from calculations.units import Quantity

TAKES_TURNS = ("alternating",)
DO_NOT_TAKE_TURNS = (None, "none", "unknown")
START, STOP = "/settings/start_level", "/settings/stop_level"
_Band = tuple[Quantity, Quantity]
"""Level at which a set starts, and at which it stops."""


def _empties_a_shared_well(case: Case) -> bool:
    return in_group(case) and levels.are_set(case) and levels.empties(case) is True


def _bands(case: Case, place: str) -> Iterator[Finding]:
    ours = (case.quantity(START), case.quantity(STOP))
    lacking: list[tuple[tuple[str, ...], str]] = []
    for index, neighbour in enumerate(case.subject.neighbours or ()):
        at, settings = f"/neighbours/{index}", neighbour.settings or Settings()
        if settings.regulated_quantity not in (None, "level_emptying"):
            continue
        try:
            yield from _beside(case, at, ours, settings)
        except Missing as missing:
            lacking.append((missing.places, missing.because))
    if lacking:
        places = dict.fromkeys(place for each, _ in lacking for place in each)
        raise Missing(*places, because=lacking[0][1] if len(lacking) == 1 else "")


def _beside(case: Case, at: str, ours: _Band, settings: Settings) -> Iterator[Finding]:
    if settings.start_level is None or settings.stop_level is None:
        raise Missing(*group.lacks(case, at, "start_level", "stop_level"))
    _require_one_frame(case, at, settings)
    theirs = (settings.start_level, settings.stop_level)
    lower = _lower(ours, theirs)
    if lower is not None and _is_wrong(case, at, settings, lower == "ours"):
        yield _finding(case, at, ours, theirs, lower == "ours")


def _require_one_frame(case: Case, at: str, settings: Settings) -> None:
    """Raise `Missing` where levels of both sets do not count from the same zero."""
    kinds = {case.quantity(START).kind, case.quantity(STOP).kind}
    kinds |= {each.kind for each in (settings.start_level, settings.stop_level) if each}
    sensor = case.find("/pump_set/regulating_sensor")
    if kinds == {"ratio"} and sensor and sensor == case.find(f"{at}/pump_set/regulating_sensor"):
        return
    reference = case.require("/settings/level_reference")[0]
    if kinds != {"length"} or settings.level_reference != reference:
        raise Missing(f"{at}/settings/level_reference", because="it counts from another zero")


def _lower(ours: _Band, theirs: _Band) -> str | None:
    """Whose start lies no higher than the other's stop; None where both bands overlap."""
    if not above(ours[0].si, theirs[1].si):
        return "ours"
    return None if above(theirs[0].si, ours[1].si) else "theirs"


def _is_wrong(case: Case, at: str, settings: Settings, ours_is_lower: bool) -> bool:
    """Whether bands apart are no stages: sets take turns, or the lower band is the lag pump's."""
    for arrangement, turns in (
        (case.find("/settings/pump_arrangement"), case.find("/settings/alternation")),
        (settings.pump_arrangement, settings.alternation),
    ):
        if arrangement in TAKES_TURNS or turns not in DO_NOT_TAKE_TURNS:
            return True
    own, other = "/pump_set/position_in_group", f"{at}/pump_set/position_in_group"
    ours, theirs = case.require(own, other)
    return bool(ours > theirs) if ours_is_lower else bool(theirs > ours)


def _finding(
    case: Case,
    at: str,
    ours: _Band,
    theirs: _Band,
    ours_is_lower: bool,
) -> Finding:
    low, high = (ours, theirs) if ours_is_lower else (theirs, ours)
    tag = group.name(case, at)
    compared: dict[str, Shown | Quantity] = {"start": low[0], "stop": low[1], "other": high[1]}
    return SHARED_WELL.finding(
        "below" if ours_is_lower else "above", "review",
        case.place(START) if ours_is_lower else f"{at}/settings/start_level",
        compared=compared, limit=f"above {entered(high[1])}", tag=tag,
    )  # fmt: skip


SHARED_WELL = Rule(
    id="station.shared-well",
    title="Start and stop levels of the sets that empty one well",
    severities=("review",),
    condition="Sets that empty one well and take turns start above the level at which the others "
    "stop. Where they do not take turns, the band of a lag pump may lie above that of the lead "
    "pump, not below.",
    source="common practice, no source",
    scope="station",
    subject=START,
    needs=(START, STOP),
    waits_for=("level.order",),
    applies=_empties_a_shared_well,
    check=_bands,
    sentences={
        "below": "This set starts at {start} and stops at {stop}, no higher than the {other} at "
        "which {tag} stops: it keeps the well in its own narrow reach, and {tag} starts only when "
        "it cannot.",
        "above": "{tag} starts at {start} and stops at {stop}, no higher than the {other} at which "
        "this set stops: it keeps the well in its own narrow reach, and this set starts only when "
        "{tag} cannot.",
    },
    remedies=dict.fromkeys(
        ("below", "above"),
        "Read the levels again on both drives. Give sets that take turns the same levels, and a "
        "lag pump a start above that of the lead pump.",
    ),
)
