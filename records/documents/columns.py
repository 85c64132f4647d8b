"""A resource of the register as one row of a table: a column for each value that it can hold.

All of it follows from `calculations.inputs`: the forms, the template of an import and the reading
of one share these columns.
"""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from types import NoneType
from typing import Annotated, Any, Literal, get_args, get_origin

from pydantic import BaseModel

from calculations.inputs.base import REQUIRED, Bound, Day, Needed, Of
from calculations.inputs.reading import pointer
from calculations.inputs.site import Latitude, Longitude
from calculations.units import KINDS, kinds_of
from records.document_style import Units
from records.documents import labels
from records.documents.unit_systems import instead, unit_in

Shape = Literal[
    "quantity", "choice", "yes or no", "count", "position", "text", "day", "degrees", "piece",
    "pieces",
]  # fmt: skip
Path = tuple[str | int, ...]

# Who it is, and whose, is told by the row itself.
_LEFT_OUT = ("id", "contractor", "organization")
_PIECES = ("drive_shared_with",)
# Counted from 1 by people, from 0 in documents.
_POSITIONS = ("rating_in_use",)
# Of lists as many as a row of a table has room for; documents hold more.
LENGTHS: Mapping[str, int] = {"ratings": 6, "curve_points": 12, "system_curve_points": 8}
# What a plate says in per cent, though it is a plain number as well.
_IN_PER_CENT = ("efficiency",)
_CALLED = {"site": "Station", "serial": "Serial number", "maker_text": "Maker",
           "model_text": "Model"}  # fmt: skip
_USUAL_UNIT = {"pressure": "bar", "ratio": "%"}
# On plates of either practice.
_ITS_UNIT = {"duty_minutes": "min", "short_circuit_rating": "kA", "ambient_rated": "degC"}
# Documents leave these as entered in either system; a plate there has the other.
_ON_A_US_PLATE = {"kW": "hp", "mm2": "AWG"}
_BY_GAUGE = re.compile(r"(?P<value>\S+) ?(?P<unit>AWG|kcmil)")


@dataclass(frozen=True, slots=True)
class Column:
    """One value of a resource: where it stands in the document, and what it may be."""

    path: Path
    shape: Shape
    of: Of | None = None
    words: tuple[str | int, ...] = ()
    needed: Needed | None = None
    about: str = ""

    @property
    def name(self) -> str:
        """What programs call it: `ratings.0.voltage`."""
        return ".".join(map(str, self.path))

    @property
    def label(self) -> str:
        """What people call it."""
        return _CALLED.get(self.name) or labels.sentence(labels.place(self.pointer))

    @property
    def pointer(self) -> str:
        """Where it stands in the document."""
        return pointer(*self.path)

    @property
    def units(self) -> tuple[str, ...]:
        """Units that it may be written in."""
        kinds = self.of.kinds if self.of else ()
        return tuple(dict.fromkeys(unit for kind in kinds for unit in KINDS[kind]))

    @property
    def limits(self) -> str:
        """The hard limits in words; beside a unit of % it is said that they are shares."""
        return self.limits_in("entered")

    def limits_in(self, system: Units) -> str:
        """The same for readers of one system, with the limit itself behind where it is another."""
        words = self.of.words(lambda bound: _said(bound, system)) if self.of else ""
        return f"{words}, as a share of 1" if words and self.path[-1] in _IN_PER_CENT else words

    @property
    def is_required(self) -> bool:
        """Whether the register refuses a resource without it."""
        return self.needed == REQUIRED and len(self.path) == 1

    def usual_unit(self, system: Units = "si") -> str:
        """The unit that it is most often written in; none where that depends on the piece."""
        if self.of is None or len({kind for kind in self.of.kinds if kind != "count"}) > 1:
            return ""
        if self.name in _ITS_UNIT:
            return _ITS_UNIT[self.name]
        bound = self.of.low or self.of.high
        unit = bound.text.partition(" ")[2] if bound else ""
        if self.path[-1] in _IN_PER_CENT or not unit:
            unit = _USUAL_UNIT.get(self.of.kinds[0], KINDS[self.of.kinds[0]][0])
        shown = unit_in(unit, system)
        return _ON_A_US_PLATE.get(shown, shown) if system == "us" else shown

    def holds(self, place: str) -> bool:
        """Whether a JSON Pointer leads to this value, or into it."""
        return place == self.pointer or place.startswith(self.pointer + "/")


def _said(bound: Bound, system: Units) -> str:
    value, _, unit = bound.text.partition(" ")
    other = instead({"value": value, "unit": unit or "1"}, system)
    if other is None:
        return bound.words
    words = f"{other['value']} {other['unit']}"
    return words if float(value) == float(other["value"]) == 0 else f"{words} ({bound.words})"


def columns(
    model: type[BaseModel], lengths: Mapping[str, int] = LENGTHS, pieces: tuple[str, ...] = ()
) -> tuple[Column, ...]:
    """Every value that a resource can hold, in the order of its fields.

    `pieces` are the fields that name another resource; `lengths` says of lists how many elements.
    """
    return tuple(_of_model(model, (), lengths, frozenset(pieces)))


def _of_model(
    model: type[BaseModel], at: Path, lengths: Mapping[str, int], pieces: frozenset[str]
) -> Iterator[Column]:
    for name, info in model.model_fields.items():
        if not at and name in _LEFT_OUT:
            continue
        inner, listed = _inner(info.annotation)
        if inner is not None:
            for place in _places((*at, name), listed, lengths):
                yield from _of_model(inner, place, lengths, frozenset())
            continue
        of = next((mark for mark in info.metadata if isinstance(mark, Of)), None)
        needed = next((mark for mark in info.metadata if isinstance(mark, Needed)), None)
        shape, words = _shape(name, _without_none(info.annotation), of, pieces)
        yield Column((*at, name), shape, of, words, needed, info.description or "")


def _places(at: Path, listed: bool, lengths: Mapping[str, int]) -> Iterator[Path]:
    if not listed:
        yield at
        return
    for index in range(lengths[str(at[-1])]):
        yield (*at, index)


def _shape(
    name: str, annotation: Any, of: Of | None, pieces: frozenset[str]
) -> tuple[Shape, tuple[str | int, ...]]:
    if name in _PIECES:
        return "pieces", ()
    if name in pieces:
        return "piece", ()
    if of is not None:
        return "quantity", ()
    if annotation in (Latitude, Longitude):
        return "degrees", ()
    if annotation == Day:
        return "day", ()
    bare = _bare(annotation)
    if get_origin(bare) is Literal:
        return "choice", get_args(bare)
    if bare is int:
        return ("position" if name in _POSITIONS else "count"), ()
    return ("yes or no" if bare is bool else "text"), ()


def _without_none(annotation: Any) -> Any:
    if get_origin(annotation) is Annotated:
        return annotation
    kept = [each for each in get_args(annotation) if each is not NoneType]
    return kept[0] if len(kept) == 1 else annotation


def _bare(annotation: Any) -> Any:
    while get_origin(annotation) is Annotated:
        annotation = get_args(annotation)[0]
    return annotation


def _inner(annotation: Any) -> tuple[type[BaseModel] | None, bool]:
    """The model inside of a field, and whether it is a list of them."""
    bare = _bare(_without_none(annotation))
    listed = get_origin(bare) is list
    element = _bare(get_args(bare)[0]) if listed else bare
    is_model = isinstance(element, type) and issubclass(element, BaseModel)
    return (element if is_model else None), listed


# --- values in documents ---------------------------------------------------------------------


def value_at(document: Any, path: Path) -> Any:
    """What a document holds at a place; None where nothing does."""
    for step in path:
        if isinstance(document, Mapping):
            document = document.get(str(step))
        elif isinstance(document, list) and isinstance(step, int) and step < len(document):
            document = document[step]
        else:
            return None
    return document


def built(values: Mapping[Path, Any]) -> dict[str, Any]:
    """The document that holds these values; elements of lists are counted as they come."""
    document: dict[str, Any] = {}
    for path, value in values.items():
        _put(document, path, value)
    return {name: _listed(value) for name, value in document.items()}


def _put(document: dict[Any, Any], path: Path, value: Any) -> None:
    for step in path[:-1]:
        document = document.setdefault(step, {})
    document[path[-1]] = value


def _listed(value: Any) -> Any:
    """A list of what was gathered by number; gaps are closed."""
    if isinstance(value, dict) and value and all(isinstance(key, int) for key in value):
        return [value[key] for key in sorted(value)]
    return value


def quantity_value(digits: str, unit: str) -> Any:
    """Digits and unit as documents have them: conductors by gauge are text."""
    return f"{digits} {unit}" if unit in ("AWG", "kcmil") else {"value": digits, "unit": unit}


def digits_and_unit(value: Any) -> tuple[str, str]:
    """The same back."""
    if isinstance(value, Mapping):
        return str(value["value"]), str(value["unit"])
    found = _BY_GAUGE.fullmatch(str(value))
    return (found["value"], found["unit"]) if found else (str(value), "")


# --- words -----------------------------------------------------------------------------------


@cache
def units_by_spelling() -> Mapping[str, str]:
    """Units as they are written by programs and as they are printed, each with its symbol."""
    symbols = [unit for units in KINDS.values() for unit in units]
    printed = {labels.unit(symbol): symbol for symbol in symbols if labels.unit(symbol)}
    return printed | {symbol: symbol for symbol in symbols}


def known_unit(text: str) -> str:
    """The symbol of a unit that is written so; what is unknown stays as it stands."""
    return units_by_spelling().get(text.strip(), text.strip())


def is_unit(text: str) -> bool:
    """Whether these words are a unit."""
    return bool(kinds_of(known_unit(text)))


def plain(words: str) -> str:
    """Words for comparing: small letters, single blanks, no signs."""
    return " ".join(re.sub(r"[^\w%]+", " ", words.replace("_", " ").casefold()).split())


def word_of(column: Column, text: str) -> str | int | None:
    """The word of a closed list that is written so; None where there is none."""
    for word in column.words:
        if plain(text) in (plain(str(word)), plain(labels.word(str(word)))):
            return word
    return None


def choices(column: Column) -> list[tuple[str, str]]:
    """Words of a closed list, each with what it is called."""
    return [(str(word), labels.word(str(word))) for word in column.words]


def expected(column: Column) -> str:
    """What a value of the column looks like, in words."""
    if column.shape == "choice":
        return "one of: " + ", ".join(words for _, words in choices(column))
    if column.shape == "quantity":
        limits = f"; {column.limits}" if column.limits else ""
        return f"a number in {' or '.join(column.units)}{limits}"
    return _EXPECTED[column.shape]


_EXPECTED: Mapping[str, str] = {
    "yes or no": "yes or no",
    "count": "a whole number",
    "position": "which of the ratings: 1 is the first",
    "text": "text",
    "day": "a day: 2026-03-14",
    "degrees": "decimal degrees: 51.5072",
    "piece": "its tag at the station",
    "pieces": "tags of pump sets, with semicolons between",
}
