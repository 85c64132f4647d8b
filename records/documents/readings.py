"""Every single value of a record, and of the quantities among them what a table needs.

The same list makes the readings as CSV and the last sheet of the workbook, so that nothing of a
record is missing in either. Its order does not depend on that of the text.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from calculations.errors import UnitError
from calculations.inputs.base import Of
from calculations.inputs.entered import read_quantity
from calculations.inputs.reading import pointer
from calculations.inputs.subject import Subject
from calculations.units import NUMBER, SI_UNITS, factor, kinds_of, to_si
from records.documents import labels
from records.documents.contents.source import Source
from records.documents.pieces import Pieces
from records.documents.placing import step
from records.documents.shown import models, order

Document = Mapping[str, Any]

_PARTS = (
    "format", "record_id", "number", "previous", "sealed_at", "algorithms", "contractor", "client",
    "corrects", "event", "attachments", "traces", "snapshot", "judgement", "answers", "signatures",
)  # fmt: skip
STATES = ("as_found", "as_left")
_ENDINGS = ("drive_input", "drive_output", "drive_display")
# Spans, never points of a scale: an uncertainty of 0.5 degC is one of 0.5 K.
_SPANS = frozenset({"uncertainty", "resolution"})
# Of the position, written without their unit.
_DEGREES = frozenset({"latitude", "longitude"})
# Whole numbers that count nothing.
_NO_COUNTS = frozenset({"rating_in_use"})


@dataclass(frozen=True, slots=True)
class Entered:
    """A quantity: digits and unit as entered, and its SI value where the unit has one."""

    digits: str
    unit: str
    si: float | None
    si_unit: str


@dataclass(frozen=True, slots=True)
class Leaf:
    """One single value: where it stands, in which words, of which piece, and measured where.

    `place` is a JSON Pointer into the record, `value` is what stands there.
    """

    place: str
    words: str
    tag: str
    serial: str
    measured_at: str
    state: str
    value: Any
    quantity: Entered | None

    @property
    def name(self) -> str:
        """The field's own name."""
        return next((s for s in reversed(self.place.split("/")) if not s.isdigit()), "")

    @property
    def text(self) -> str:
        """The value as it stands in JSON, without quotation marks."""
        if isinstance(self.value, bool):
            return "true" if self.value else "false"
        return str(self.value)


def leaves(record: Document) -> Iterator[Leaf]:
    """Every value of a record that is not empty, in the order of its parts and of their fields."""
    teller = _Teller(record)
    return (teller.leaf(*found) for found in _found(record))


def quantities(record: Document) -> Iterator[Leaf]:
    """The values among them that have a unit, counts included."""
    teller = _Teller(record)
    return (teller.leaf(*found) for found in _found(record) if found[-1] is not None)


# Place, name of the field, the object it stands in, the value, and its quantity if it is one.
_Found = tuple[str, str, Document, Any, "Entered | None"]


def _found(record: Document) -> list[_Found]:
    found: list[_Found] = []
    for name in _sorted(record, _PARTS):
        _gather(found, record[name], pointer(name), name, record)
    return found


def _gather(found: list[_Found], value: Any, at: str, name: str, within: Document) -> None:
    if isinstance(value, dict):
        known: Sequence[str] = ()
        if _is_quantity(value):
            found.append((at, name, within, value["value"], entered(value, name)))
            known = ("value", "unit")
            if len(value) == len(known):
                return
        for inner in _sorted(value):
            if inner not in known:
                _gather(found, value[inner], at + step(inner), inner, value)
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            _gather(found, inner, f"{at}/{index}", name, within)
    elif value is not None:
        found.append((at, name, within, value, alone(at, name, value)))


def alone(at: str, name: str, value: Any) -> Entered | None:
    """A quantity that is written without an object: a count, or a wire gauge."""
    if isinstance(value, str):
        if name in _DEGREES and NUMBER.fullmatch(value):
            return Entered(value, "deg", None, "")
        return _gauge(value) if name in _conductors() else None
    counted = at.startswith(("/event/", "/snapshot/")) and name not in _NO_COUNTS
    if not isinstance(value, int) or isinstance(value, bool) or not counted:
        return None
    return Entered(str(value), "1", float(value), "1")


class _Teller:
    """Says in words what a value of one record is, and of which piece."""

    def __init__(self, record: Document) -> None:
        self.source = Source.of(record, {})
        self.pieces = Pieces(record)
        self.record = record
        self.around: dict[str, str] = {}

    def leaf(
        self, at: str, name: str, within: Document, value: Any, quantity: "Entered | None"
    ) -> Leaf:
        tag, serial = self.pieces.of(at)
        return Leaf(
            place=at,
            words=self._words(at),
            tag=tag,
            serial=serial,
            measured_at=measured_at(name, within) if quantity else "",
            state=_state(at, name),
            value=value,
            quantity=quantity,
        )

    def _words(self, at: str) -> str:
        steps = at.split("/")[1:]
        if steps[0] != "judgement":
            return self._beside(at, steps[-1]) if len(steps) > 3 else self.source.place(at)
        if len(steps) < 3:
            return self.source.place(at)
        if steps[1] == "limits":
            rule, _, limit = steps[2].rpartition(".")
            return f"limit of {rule}: {limit.replace('-', ' ')}"
        told = self.record["judgement"][steps[1]]
        return self._judged(steps, told[int(steps[2])]) if isinstance(told, list) else (
            self.source.place(at)
        )  # fmt: skip

    def _beside(self, at: str, name: str) -> str:
        """`Source.place`, of which fields of one object have all but the last words in common."""
        if name.isdigit():
            return self.source.place(at)
        outer = at[: -len(name) - 1]
        if outer not in self.around:
            words = self.source.place(outer)
            self.around[outer] = words + (" " if words.endswith("settings") else ", ")
        return self.around[outer] + _lower(name)

    def _judged(self, steps: list[str], told: Document) -> str:
        inner = ", ".join(labels.label(step) for step in steps[3:] if not step.isdigit())
        if steps[1] == "derived":
            words = f"derived: {labels.dotted(told['id'])} ({self.source.place(told['subject'])})"
        elif steps[1] == "limits_changed":
            words = f"limit changed of {told['rule']}: {told['limit'].replace('-', ' ')}"
        else:
            words = self.source.place(pointer(*steps[:3]))
            if steps[3:4] == ["compared"]:
                inner = labels.label(told["compared"][int(steps[4])]["name"])
        return f"{words}, {inner[:1].lower()}{inner[1:]}" if inner else words


@cache
def _lower(name: str) -> str:
    """A field's label, as it stands behind others."""
    return labels.place(f"/{name}")


def entered(value: Document, name: str = "") -> Entered:
    """A quantity of a document; `name` is the field's."""
    digits, unit = str(value["value"]), str(value["unit"])
    si_unit = _si_unit(unit)
    if not si_unit:
        return Entered(digits, unit, None, "")
    try:
        si = factor(unit) * float(digits) if name in _SPANS else to_si(float(digits), unit)
        return Entered(digits, unit, si, si_unit)
    except (UnitError, ValueError):
        return Entered(digits, unit, None, "")


@cache
def _si_unit(unit: str) -> str:
    """All kinds of quantity that are written in one unit have one SI unit."""
    kinds = kinds_of(unit)
    return SI_UNITS[kinds[0]] if kinds else ""


def measured_at(name: str, within: Document) -> str:
    """Where a value was measured or read, in the record's word; nothing where it does not say."""
    if name.endswith(_ENDINGS):
        return next(place for place in _ENDINGS if name.endswith(place))
    if name == "indicated":
        return str(within.get("indicated_at") or "")
    return str(within.get("measured_at") or within.get("at") or "")


def _gauge(text: str) -> Entered | None:
    try:
        found = read_quantity(text, ("conductor",))
    except ValueError:
        return None
    digits, _, unit = text.rpartition(" ")
    return Entered(digits, unit, found.si, SI_UNITS["conductor"]) if digits else None


@cache
def _conductors() -> frozenset[str]:
    """Names of the fields that hold a wire size, which may be text."""
    return frozenset(
        info.alias or name
        for model in models(Subject)
        for name, info in model.model_fields.items()
        if any(isinstance(mark, Of) and mark.kinds == ("conductor",) for mark in info.metadata)
    )


def _is_quantity(value: Document) -> bool:
    """Words that a finding compares have an empty unit: a quantity has one."""
    return (
        isinstance(value.get("value"), str)
        and isinstance(value.get("unit"), str)
        and bool(value["unit"])
    )


def _state(at: str, name: str) -> str:
    for state in STATES:
        if name.endswith(state) or f"/{state}/" in at:
            return state
    return ""


def _sorted(value: Document, first: tuple[str, ...] = ()) -> list[str]:
    rank = {name: index for index, name in enumerate(first)} if first else _ranks()
    last = len(rank)
    return sorted(value, key=lambda name: (rank.get(name, last), name))


@cache
def _ranks() -> Mapping[str, int]:
    """A field's place among all of them, in the order in which the documents declare them."""
    names: dict[str, None] = {}
    for model in models(Subject):
        names.update(dict.fromkeys(order(model)))
    return {name: index for index, name in enumerate(names)}
