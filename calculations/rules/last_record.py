"""Rules of a visit against records around it: counters, dates, settings, and what it corrects."""

from collections.abc import Iterator
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from calculations.aspects import history, pieces
from calculations.beside import Sealed
from calculations.case import Case, Missing
from calculations.findings import Finding, Shown
from calculations.inputs.settings import Settings
from calculations.rule import Limit, Rule, entered, percent, show, spaced
from calculations.rules import copied
from calculations.rules.closeness import above
from calculations.units import Quantity

AT = "/event/performed_at"
COPIED = "record.order.copied"


def read_sealed(case: Case, sealed: Sealed | None) -> tuple[Case, str]:
    """What a record says, and its name in words."""
    found = history.sealed(case, sealed)
    assert found is not None  # noqa: S101 - rules apply only where there is one
    return found, history.told(case, found)


def _has_last(case: Case) -> bool:
    return case.beside.last is not None


# -- the visit among the records ------------------------------------------------------------------


def _clock(moment: str) -> str:
    """A time with its offset as people read it: 2026-11-17 07:40 UTC-08:00."""
    offset = "" if moment[-1] in "Zz" else moment[-6:]
    return f"{moment[:10]} {moment[11:16]} UTC{offset}"


def _order(case: Case, place: str) -> Iterator[Finding]:
    begun, is_told = case.require(AT)[0], False
    for sealed in (case.beside.last, case.beside.following):
        if sealed is None:
            continue
        then, record = read_sealed(case, sealed)
        other = then.find(AT)
        if other is None:
            continue
        same_kind = case.find("/event/kind") == then.find("/event/kind")
        same_day = begun[:10] == other[:10]
        compared = {"begun": Shown(_clock(begun), ""), "other": Shown(_clock(other), "")}
        if same_kind and begun.at == other.at:
            yield ORDER.finding("twice", "review", place, compared=compared, record=record)
        elif not is_told and (found := copied.alike(case, then, case.limit(COPIED))):
            is_told = True
            shared = same_day and not same_kind
            yield ORDER.finding(
                "shared" if shared else "copied", "note" if shared else "review", place,
                compared=compared, limit=f"below {percent(case.limit(COPIED))}",
                record=record, same=found.same, of=found.of,
                how=_TO_THE_DIGIT if found.same == found.to_the_digit else _CONVERTED,
            )  # fmt: skip
        elif same_kind and same_day:
            yield ORDER.finding("same_day", "note", place, compared=compared, record=record)
        elif sealed is case.beside.following:
            yield ORDER.finding("before", "note", place, compared=compared, record=record)


_TO_THE_DIGIT, _CONVERTED = "to the last digit", "converted or rounded, but to their last digit"

ORDER = Rule(
    id="record.order",
    title="The visit among the records of its pump set",
    severities=("review", "note"),
    condition="No record of the same kind began at the same time (note: on the same day), none "
    "that was sealed already is of a later visit (note), and the readings are not those of the "
    "record before or after: of eight or more with three digits fewer than 80 % are the same to "
    "the last one, converted or rounded where they stand in other units or digits (note: a record "
    "of another kind on the same day).",
    source="logic; copied readings: common practice, no source",
    subject=AT,
    needs=(AT,),
    applies=lambda case: (
        case.event is not None
        and (case.beside.last is not None or case.beside.following is not None)
    ),
    check=_order,
    limits={
        "copied": Limit(80, "%", "of the readings that are the same to the digit", "lower",
                        "common practice"),
    },
    sentences={
        "copied": "{same} of {of} readings are {how} those of {record}: nobody reads "
        "the same twice. Were they read, or copied?",
        "shared": "{same} of {of} readings are {how} those of {record}, of another "
        "kind on the same day: were they read once for both?",
        "twice": "This is of the same kind as {record}, and began at the same time ({begun}): the "
        "same visit was entered twice.",
        "same_day": "This is of the same kind as {record}, and of the same day ({other}): is it "
        "the same visit?",
        "before": "A later visit, {record} ({other}), was sealed before this one of {begun}.",
    },
    remedies={
        "copied": "Enter what was read on the day. Where nothing was read, take these out and say "
        "what was not possible; where both are of one visit, withdraw one.",
        "shared": "Nothing is to be done where nothing was changed between the two; else enter "
        "what was read for this one.",
        "twice": "Withdraw this one, or correct its time; a correction names the record that it "
        "replaces.",
        "same_day": "Nothing is to be done where there were two visits; where it was one, withdraw "
        "this, or let it correct the other record.",
        "before": "Make sure of the day. Where it is right, look whether what this visit found "
        "changes what was said at the later one.",
    },
)  # fmt: skip


# -- correction -----------------------------------------------------------------------------------


def _correction(case: Case, place: str) -> Iterator[Finding]:
    then, _ = read_sealed(case, case.beside.corrected)
    number = case.beside.corrected.number if case.beside.corrected else None
    compared = {"of": Shown(_set(then), ""), "here": Shown(_set(case), "")}
    told = {
        "record": f"record {number} of {str(then.find(AT))[:10]}",
        "was": _kind(then), "now": _kind(case),
    }  # fmt: skip
    if _identity(then) != _identity(case):
        yield CORRECTION.finding("other_set", "review", place, compared=compared, **told)
    elif then.find("/event/kind") != case.find("/event/kind"):
        yield CORRECTION.finding("other_kind", "review", place, compared=compared, **told)


def _identity(case: Case) -> Any:
    return case.find("/event/pump_set") or case.find("/pump_set/id") or case.find("/pump_set/tag")


def _set(case: Case) -> str:
    return str(case.find("/pump_set/tag") or _identity(case) or "no pump set")


def _kind(case: Case) -> str:
    return spaced(str(case.find("/event/kind")))


CORRECTION = Rule(
    id="record.correction",
    title="What a correction replaces",
    severities=("review",),
    condition="A correction is of the pump set and of the kind of the record that it replaces.",
    source="logic",
    subject="/event/corrects",
    applies=lambda case: case.beside.corrected is not None and case.event is not None,
    check=_correction,
    sentences={
        "other_set": "This corrects {record}, of {of} ({was}), and is itself of {here} ({now}): "
        "that visit would be gone from the history of {of}.",
        "other_kind": "This corrects {record}, of {of} ({was}), and is itself of another kind "
        "({now}).",
    },
    remedies={
        "other_set": "Choose the record again; where the visit was entered for the wrong pump set, "
        "say so.",
        "other_kind": "Choose the record again; where the kind was wrong, say so.",
    },
)


# -- settings as found ----------------------------------------------------------------------------

OPERATORS = {"set_point", "hand_speed"}
"""What an operator may change between visits without a technician; common practice."""


def _shows(annotation: Any) -> bool:
    """Whether a field holds a number or a word of a list, which reads the same each time."""
    if get_origin(annotation) is Literal:
        return True
    if get_origin(annotation) in (Annotated, Union, UnionType):
        return any(map(_shows, get_args(annotation)))
    return annotation in (Quantity, bool, int)


COMPARED = tuple(name for name, field in Settings.model_fields.items() if _shows(field.annotation))
"""Settings whose change shows by itself: a number, a word of a list. Others are told in words."""

MOST = 6


def _settings(case: Case, place: str) -> Iterator[Finding]:
    then, record = read_sealed(case, case.beside.left or case.beside.last)
    left = then.find("/event/settings/as_left")
    if left is None:
        raise Missing(place, because=f"neither {record} nor one before it has settings as left")
    before, now = pieces.of_subject(then.subject), pieces.of_subject(case.subject)
    if not pieces.is_same(before, now, "drive"):
        return
    found = case.find(place)
    moved = [name for name in COMPARED if _differ(getattr(found, name), getattr(left, name))]
    if not moved:
        return
    first = moved[0]
    yield SETTINGS.finding(
        "moved", "note" if OPERATORS.issuperset(moved) else "review", f"{place}/{first}",
        compared={"found": _told(getattr(found, first)), "left": _told(getattr(left, first))},
        record=record, changes=_changes(found, left, moved),
    )  # fmt: skip


def _differ(found: Any, left: Any) -> bool:
    if found is None or left is None or "unknown" in (found, left):
        return False
    if isinstance(found, Quantity) and isinstance(left, Quantity):
        if found.kind != left.kind:
            return False  # a share of the span against a value of it: only the scaling tells
        return above(abs(found.si - left.si), found.resolution + left.resolution)
    if isinstance(found, str | int) and isinstance(left, str | int):
        return found != left
    return False


def _told(value: Any) -> Shown | Quantity:
    return value if isinstance(value, Quantity) else Shown(str(value).replace("_", " "), "")


def _changes(found: Settings, left: Settings, moved: list[str]) -> str:
    told = [
        f"{name.replace('_', ' ')} {_words(getattr(found, name))} "
        f"(left {_words(getattr(left, name))})"
        for name in moved[:MOST]
    ]
    more = len(moved) - MOST
    return "; ".join(told) + (f"; and {more} more" if more > 0 else "")


def _words(value: Any) -> str:
    return str(entered(value) if isinstance(value, Quantity) else _told(value))


SETTINGS = Rule(
    id="record.settings-found",
    title="Settings as found against what was last left",
    severities=("review", "note"),
    condition="The drive is found as it was left by the last record that has settings as left. "
    "What operators change by themselves, the set point and the speed by hand, is noted.",
    source="common practice, no source",
    subject="/event/settings/as_found",
    applies=lambda case: _has_last(case) and case.find("/event/settings/as_found") is not None,
    check=_settings,
    sentences={
        "moved": "The drive was not found as {record} left it: {changes}. Somebody changed it "
        "since, or it was read wrongly.",
    },
    remedies={
        "moved": "Ask who changed it and why; set it back, or enter what is right as left.",
    },
)


# -- the impeller and its curve -------------------------------------------------------------------

DIAMETER, CURVE = "/pump/impeller_diameter", "/pump/curve_points"


def _impeller(case: Case, place: str) -> Iterator[Finding]:
    now = pieces.of_subject(case.subject)
    for sealed in (case.beside.last, case.earlier):
        then = sealed if isinstance(sealed, Case) else history.sealed(case, sealed)
        if then is None or then.find(CURVE) != case.find(CURVE):
            continue
        before = pieces.of_subject(then.subject)
        if not pieces.is_same(before, now, "pump"):
            continue
        if pieces.is_trimmed(before, now):
            was, is_ = then.quantity(DIAMETER), case.quantity(DIAMETER)
            share = (is_.si / was.si) ** 2
            yield IMPELLER.finding(
                "trimmed", "review", place, compared={"is": is_, "was": was},
                record=history.told(case, then), share=str(show(share, "%", 3)),
            )  # fmt: skip
        if then.find(DIAMETER) is not None:
            return  # told, or answered when the last record was signed with both


IMPELLER = Rule(
    id="curve.impeller",
    title="Curve of an impeller that was trimmed",
    severities=("review",),
    condition="Where the impeller has another diameter than at an earlier record of the same pump, "
    "its curve is another one, too, unless the last record was signed with this diameter and this "
    "curve.",
    source="affinity laws, HI engineering data: head as the square of the diameter, near",
    subject=CURVE,
    applies=lambda case: (
        case.earlier is not None
        and case.find(DIAMETER) is not None
        and case.find(CURVE) is not None
    ),
    check=_impeller,
    sentences={
        "trimmed": "The impeller has {is} and had {was} by {record}, but the curve is still the "
        "same: heads are about {share} of it.",
    },
    remedies={
        "trimmed": "Enter the curve of the impeller as it is now, or correct the diameter.",
    },
)
