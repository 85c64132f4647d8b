"""Rules of levels: their order, the overflow, what the transmitter calls zero, the float."""

from collections.abc import Iterator, Sequence

from calculations.aspects import chain, levels, loop, suction
from calculations.aspects.in_order import odd_ones
from calculations.case import Case, Missing, Waits
from calculations.findings import Finding
from calculations.rule import Limit, Rule, about, entered, roughly, show, spaced
from calculations.rules import mix_ups
from calculations.rules.closeness import above, below
from calculations.units import Quantity

LEVEL_TESTS = "/event/level_tests"
SCALING = "loop.scaling"


def require_reference(case: Case) -> None:
    """Raise `Waits` where the drive's levels fit as counted from elsewhere than is recorded.

    That is told of a drive that acts on them.
    """
    try:
        doubted = chain.has_chain(case) and chain.other_reference(case) is not None
    except (Missing, Waits):
        return
    if doubted and SCALING not in case.accepted:
        raise Waits(SCALING)


# -- order --------------------------------------------------------------------------------------


def _order(case: Case, place: str) -> Iterator[Finding]:
    empties = levels.empties(case)
    if empties is None:
        raise _unsaid(case)
    names = levels.EMPTYING if empties else levels.FILLING
    known = [name for name in names if case.find(f"/settings/{name}") is not None]
    if len(known) < 2:
        raise Missing(case.place("/settings/start_level"), case.place("/settings/stop_level"))
    odd = odd_ones(levels.comparable(case, known))
    if not odd:
        return
    together = _start_together(case, known)
    if together is not None:
        yield ORDER.finding(
            "together", "review", case.place("/settings/lag_start_level"),
            compared={"start": together},
        )  # fmt: skip
        return
    entered_ = {name: case.quantity(f"/settings/{name}") for name in known}
    other = mix_ups.odd_unit(entered_)
    wrong = [other[0]] if other else [known[index] for index in odd]
    yield ORDER.finding(
        "emptying" if empties else "filling", "stop", case.place(f"/settings/{wrong[-1]}"),
        compared=entered_, odd=" or ".join(levels.WORDS[name] for name in wrong),
        probably=f"Probably {entered(other[1])}, as the others are written. " if other else "",
        row=", ".join(f"{levels.WORDS[name]} {_text(case, name)}" for name in known),
        right=" < ".join(levels.WORDS[name] for name in known),
    )  # fmt: skip


def _unsaid(case: Case) -> Missing:
    """That nothing tells which way the levels go; a quantity that is no level does not."""
    regulated = case.find("/settings/regulated_quantity")
    place = case.place("/settings/regulated_quantity")
    if regulated is None:
        return Missing(place)
    because = f"{spaced(regulated)} does not tell whether the pump empties or fills these levels"
    return Missing(place, because=because)


def _start_together(case: Case, known: Sequence[str]) -> Quantity | None:
    """The level that lead and lag both start at, where nothing else is out of order."""
    if "lag_start_level" not in known or "start_level" not in known:
        return None
    values = dict(zip(known, levels.comparable(case, known), strict=True))
    lag = values.pop("lag_start_level")
    same = lag == values["start_level"] and not odd_ones(list(values.values()))
    found: Quantity | None = case.find("/settings/start_level") if same else None
    return found


def _text(case: Case, name: str) -> str:
    return str(entered(case.quantity(f"/settings/{name}")))


ORDER = Rule(
    id="level.order",
    title="Levels in order",
    severities=("stop", "review"),
    condition="Where a well is emptied: low cut-off < stop < start < lag start < high alarm. Where "
    "a tank is filled: low cut-off < lag start < start < stop < high alarm. Of those that are set. "
    "Lead and lag that start at one level are a review.",
    source="logic",
    subject="/settings/start_level",
    waits_for=("loop.action",),
    waits_at=lambda case, place: levels.action_tells(case),
    applies=levels.are_set,
    check=_order,
    sentences={
        "together": "Start and lag start stand at one level, {start}: both pumps start at once, "
        "and none is left to help the other.",
        **dict.fromkeys(
            ("emptying", "filling"),
            "{probably}The levels are not in order, {odd} does not fit: {row}. They have to rise: "
            "{right}.",
        ),
    },
    remedies={
        "together": "Set the lag start apart from the start, on the side of more demand.",
        **dict.fromkeys(("emptying", "filling"), "Read the levels again; check {odd} first."),
    },
)


# -- inlet --------------------------------------------------------------------------------------


def _of_a_sewer(case: Case) -> bool:
    """Whether levels are set of a lift station whose inlet is known; a river's may be drowned."""
    sewer = case.is_("/site/kind", "lift_station") and case.is_("/site/suction_kind", "wet_well")
    known = sewer and case.find("/site/inlet_invert") is not None
    return known and _is_started(case) and levels.empties(case) is True


def _is_started(case: Case) -> bool:
    """Whether a start level is set, or a level that a loop keeps."""
    return case.find("/settings/start_level") is not None or _keeps_level(case)


def _keeps_level(case: Case) -> bool:
    keeps = loop.is_known_closed(case) and case.find("/settings/set_point") is not None
    return keeps and loop.on_level(case)


def _inlet(case: Case, place: str) -> Iterator[Finding]:
    """The start level, and what a loop keeps: each may hold the liquid over the inlet alone."""
    found: tuple[Finding, ...] = ()
    if case.find("/settings/start_level") is not None:
        found = _over_inlet(case, "start_level", levels.elevation(case, "start_level"))
    if not found and _keeps_level(case):
        found = _over_inlet(case, "set_point", loop.set_point(case) + loop.level_reference(case))
    yield from found


def _over_inlet(case: Case, name: str, rises: float) -> tuple[Finding, ...]:
    invert, level = case.quantity("/site/inlet_invert"), case.quantity(f"/settings/{name}")
    if not above(rises - level.resolution, invert.at_most):
        return ()
    return (INLET.finding(
        "above" if name == "start_level" else "kept", "review", case.place(f"/settings/{name}"),
        compared={"level": level, "elevation": show(rises, invert.unit), "inlet": invert},
        limit=f"at most {entered(invert)}", name=spaced(name),
    ),)  # fmt: skip


INLET = Rule(
    id="level.inlet",
    title="Start level of a lift station against its inlet",
    severities=("review",),
    condition="In ordinary service the liquid of a lift station rises no higher than the invert of "
    "its inlet: the start level of the first pump, and the level that a loop keeps, are not above "
    "it. Lag start and alarm may be.",
    source="common practice; 30 TAC 217.60(a)(1): controls prevent surcharge of the sewer, "
    "secondary text",
    subject="/settings/start_level",
    waits_for=("site.datum", "level.order", "level.in-range"),
    applies=_of_a_sewer,
    check=_inlet,
    sentences={
        "above": "The {name} {level} stands at {elevation} over the site datum, above the invert "
        "of the inlet at {inlet}: the sewer backs up before the pump works.",
        "kept": "The {name} {level} stands at {elevation} over the site datum, above the invert of "
        "the inlet at {inlet}: what the loop keeps backs up into the sewer.",
    },
    remedies=dict.fromkeys(
        ("above", "kept"),
        "Lower it below the inlet, or check the inlet's height with its unit, and what levels "
        "count from.",
    ),
)


# -- overflow -----------------------------------------------------------------------------------


def _below_overflow(case: Case, place: str) -> Iterator[Finding]:
    alarm = levels.elevation(case, "high_level_alarm")
    overflow = case.quantity("/site/overflow_level")
    if below(alarm, suction.well_height(case, "overflow_level")):
        return
    require_reference(case)
    yield BELOW_OVERFLOW.finding(
        "above", "review", place,
        compared={
            "alarm": case.quantity("/settings/high_level_alarm"),
            "elevation": show(alarm, overflow.unit),
            "overflow": overflow,
        },
        limit=f"below {overflow.value} {overflow.unit}",
    )  # fmt: skip


def _overflows(case: Case) -> bool:
    """Whether the levels are of what the site's overflow belongs to: its well, else the tank."""
    empties = levels.empties(case) if levels.are_set(case) else None
    return empties is True or (empties is False and not case.is_("/site/suction_kind", "wet_well"))


def overflows_first(case: Case) -> bool:
    """Whether it overflows before it alarms, as far as is known."""
    overflow = case.find("/site/overflow_level")
    if overflow is None or not _overflows(case):
        return False
    return not below(levels.elevation(case, "high_level_alarm"), overflow.si)


BELOW_OVERFLOW = Rule(
    id="level.alarm-below-overflow",
    title="High alarm below the overflow",
    severities=("review",),
    condition="The high-level alarm of a well that is emptied, or of a tank that is filled from no "
    "well, lies below the overflow, both over the site datum.",
    source="logic",
    subject="/settings/high_level_alarm",
    needs=("/settings/high_level_alarm", "/site/overflow_level"),
    waits_for=("level.order",),
    applies=_overflows,
    check=_below_overflow,
    sentences={
        "above": "The high alarm {alarm} stands at {elevation} over the site datum, not below the "
        "overflow at {overflow}: it overflows before it alarms.",
    },
    remedies={"above": "Lower the alarm, or check what the levels count from."},
)


# -- zero -----------------------------------------------------------------------------------------


def _pairs(case: Case) -> list[tuple[str, float, float]]:
    """Place of every level test, level shown and level by tape [m over the same reference]."""
    found = []
    for index, test in enumerate(case.find(LEVEL_TESTS) or ()):
        if test.level_measured is None or test.level_indicated is None:
            continue
        found.append((f"{LEVEL_TESTS}/{index}", _indicated(case, test), test.level_measured.si))
    if not found:
        raise Missing(LEVEL_TESTS)
    return found


def _indicated(case: Case, test: object) -> float:
    read: Quantity = getattr(test, "level_indicated")  # noqa: B009 - any of the models of a test
    return levels.at_share(case, read.si) if read.kind == "ratio" else read.si


def _allowed(case: Case) -> float:
    """What tape and waves leave open, or 1 % of the transmitter's span [m]."""
    least = case.limit("level.zero-offset.least")
    known = case.find("/level_sensor/upper_range_value") and case.find(
        "/level_sensor/lower_range_value"
    )
    if not known:
        return least
    span = abs(loop.measuring_range(case, "/level_sensor").span)
    return max(least, case.limit("level.zero-offset.share") * span)


def _shown_by_loop(case: Case, place: str) -> bool:
    """Whether the level is shown by the chain that the drive is regulated on, or may be."""
    sensors = case.place("/level_sensor"), case.place("/regulating_sensor")
    return loop.on_level(case) or sensors[0] == sensors[1]


def _zero_offset(case: Case, place: str) -> Iterator[Finding]:
    allowed = _allowed(case)
    pairs = _pairs(case)
    differences = [(at, shown - taped) for at, shown, taped in pairs]
    off = [each for each in differences if above(abs(each[1]), allowed)]
    if not off:
        return
    from_above = _cover(pairs, allowed)
    # To a tenth of a millimetre, so that the first of equals is named in every unit.
    at, difference = max(off, key=lambda each: round(abs(each[1]), 4))
    unit = levels.unit(case)
    zero, floor = case.find("/level_sensor/zero_elevation"), case.find("/site/wet_well_floor")
    named = [each for each in (_step(zero, floor), _step(zero), _step(floor)) if each]
    known = any(not above(abs(each - abs(difference)), allowed) for each in named)
    variant = "depth" if from_above is not None else "reference" if known else "plain"
    yield ZERO_OFFSET.finding(
        variant, "review", at,
        compared={"difference": about(difference, unit)},
        limit=f"at most {roughly(allowed, unit)}", count=len(off),
        cover=about(from_above or 0.0, unit),
    )  # fmt: skip


def _cover(pairs: list[tuple[str, float, float]], allowed: float) -> float | None:
    """Height [m] that the tape was let down from, where it fell as the level shown rose."""
    sums = [shown + taped for _, shown, taped in pairs]
    levels_ = [shown for _, shown, _ in pairs]
    apart = above(max(levels_) - min(levels_), 2 * allowed)
    return sums[0] if apart and not above(max(sums) - min(sums), 2 * allowed) else None


def _step(zero: Quantity | None, other: Quantity | None = None) -> float:
    """Height between two references of level [m]."""
    if zero is None:
        return 0.0
    return abs(zero.si - (other.si if other is not None else 0.0))


ZERO_OFFSET = Rule(
    id="level.zero-offset",
    title="Level by tape against level shown",
    severities=("review",),
    condition="The level shown is the level by tape, both counted as the levels in the settings "
    "are, to within 30 mm or 1 % of the transmitter's span.",
    source="common practice, from memory",
    subject=LEVEL_TESTS,
    waits_for=("loop.signal-type", "loop.input-selector", "loop.scaling"),
    waits_at=_shown_by_loop,
    applies=lambda case: bool(case.find(LEVEL_TESTS)),
    check=_zero_offset,
    limits={
        "least": Limit(30, "mm", "tape and waves", "lower", "from memory"),
        "share": Limit(1, "%", "of the transmitter's span", "lower", "from memory"),
    },
    sentences={
        "depth": "The levels by tape fall as the levels shown rise: they are probably depths below "
        "{cover}, where the tape was let down from, and not heights.",
        "reference": "The level shown differs from the tape by {difference} (at {count} places): "
        "as much as lies between floor, transmitter's zero and site datum, so the levels probably "
        "count from another of them.",
        "plain": "The level shown differs from the tape by {difference} (at {count} places).",
    },
    remedies={
        "depth": "Enter {cover} less what the tape showed.",
        "reference": "Settle what levels count from, and set scaling and levels to that.",
        "plain": "Check the transmitter's zero and depth, and the tape's mark.",
    },
)


# -- backup ----------------------------------------------------------------------------------------


def _float(case: Case) -> tuple[str, Quantity]:
    for index, test in enumerate(case.find(LEVEL_TESTS) or ()):
        if test.name == "float" and test.level_measured is not None:
            return f"{LEVEL_TESTS}/{index}", test.level_measured
    raise Missing(LEVEL_TESTS, because="no level of a float by tape")


def _backup(case: Case, place: str) -> Iterator[Finding]:
    at, found = _float(case)
    starts = [name for name in ("start_level", "lag_start_level") if case.find(f"/settings/{name}")]
    if not starts:
        raise Missing(case.place("/settings/start_level"))
    highest = max(starts, key=lambda name: levels.value(case, name))
    unit = levels.unit(case)
    overflow = case.find("/site/overflow_level")
    if not above(found.si, levels.value(case, highest)):
        yield BACKUP.finding(
            "low", "review", at,
            compared={"float": found, "start": show(levels.value(case, highest), unit)},
            name=levels.WORDS[highest],
        )  # fmt: skip
    elif overflow is not None and not below(
        found.si + loop.level_reference(case), suction.well_height(case, "overflow_level")
    ):
        require_reference(case)
        yield BACKUP.finding("high", "review", at, compared={"float": found, "overflow": overflow})


BACKUP = Rule(
    id="level.backup",
    title="Backup float above the highest start and below the overflow",
    severities=("review",),
    condition="The independent float of a lift station acts above the highest start level and "
    "below the overflow.",
    source="logic",
    subject=LEVEL_TESTS,
    waits_for=("level.order",),
    applies=lambda case: case.is_("/site/kind", "lift_station") and bool(case.find(LEVEL_TESTS)),
    check=_backup,
    sentences={
        "low": "The backup float acts at {float}, not above the {name} level of {start}: it acts "
        "in ordinary service.",
        "high": "The backup float acts at {float}, not below the overflow at {overflow} over the "
        "site datum: it acts too late.",
    },
    remedies=dict.fromkeys(
        ("low", "high"), "Hang the float above the highest start level and below the overflow."
    ),
)
