"""Forms of the register: a field for each value, made of the resource's own declaration.

A form carries what stood in it when it was opened. So a change holds what its person changed and
nothing else, and what another has changed meanwhile is told field by field.
"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, NamedTuple

from django.http import QueryDict

from calculations.inputs.base import REQUIRED, Needed
from calculations.inputs.reading import Problem
from records.document_style import Units
from records.documents import labels
from records.documents.columns import (
    LENGTHS,
    Column,
    Path,
    built,
    choices,
    columns,
    digits_and_unit,
    value_at,
)
from records.documents.shown import quantity
from records.services.entering import NotSo, entered, shown, told
from records.services.kinds import Kind
from records.services.register_checks import time_zones

UNIT = ".unit"
_APART = ("out_of_service_on", "site")  # each has a page or a place of its own
_ROOM: Mapping[str, int] = {"ratings": 2, "curve_points": 8, "system_curve_points": 4}
_MORE = 2
GROUPS = ("Needed to register it", "Needed before a start-up is sealed", "Further")
_NEEDED_OR_SO = "Needed to register it (some only where they say so)"
"""In place of the first title where not all in the group is needed always."""
# Needed in some cases, so that nobody has to look for them below: which ones, the hint says.
_FIRST: Mapping[str, tuple[str, ...]] = {
    "drives": ("rated_current_normal_duty", "rated_current_heavy_duty"),
    "sensors": ("reference",),
    "pump-sets": ("in_service_from", "drive", "regulating_sensor", "suction_sensor",
                  "flow_meter", "level_sensor"),
}  # fmt: skip
_ABOUT: Mapping[str, str] = {
    "rated_current_normal_duty": "this or the one for heavy duty is needed, or both",
    "rated_current_heavy_duty": "this or the one for normal duty is needed, or both",
    "reference": "what a pressure is measured against: needed when it is a pressure",
    "drive": "nothing where the motor runs straight on the supply",
    "regulating_sensor": "what the drive regulates on, where it does",
    "suction_sensor": "where there is one",
    "flow_meter": "where there is one",
    "level_sensor": "where there is one",
    "rating_in_use": "1 for rating 1: the one that the terminal box is linked for",
    "time_zone": "a name of the IANA database, such as America/Denver",
}


class Typed(NamedTuple):
    """What stands in a field: its text, and the unit beside; several choices are parted by `;`."""

    text: str
    unit: str = ""


Flat = dict[str, Typed]


@dataclass
class Field:
    """A field as a template shows it."""

    column: Column
    typed: Typed
    options: list[tuple[str, str]] = field(default_factory=list)
    error: str = ""
    now: str = ""
    system: Units = "si"

    @property
    def id(self) -> str:
        """Its name in the page."""
        return "f-" + self.column.name.replace(".", "-")

    @property
    def label(self) -> str:
        """What it is called beside others of the same element."""
        path = self.column.path
        return labels.label(str(path[-1])) if len(path) == 3 else self.column.label

    @property
    def hint(self) -> str:
        """What it means, when it is needed, and its limits; in a list, of the first alone."""
        if len(self.column.path) == 3 and self.column.path[1] != 0:
            return ""
        about = _ABOUT.get(self.column.name, self.column.about)
        parts = [about, self._condition(), labels.with_units(self.column.limits_in(self.system))]
        return ". ".join(labels.sentence(each.rstrip(".")) for each in parts if each)

    def _condition(self) -> str:
        needed = self.column.needed
        words = needed.condition.split() if needed and needed.condition else []
        said = " ".join(labels.word(word) if "_" in word else word for word in words)
        return f"needed when: {said}" if said else ""

    @property
    def units(self) -> list[tuple[str, str]]:
        """Units to choose from, each as it is printed; none is chosen where none is usual."""
        units = [(unit, labels.unit(unit) or "1 (plain)") for unit in self.column.units]
        return units if self.column.usual_unit() else [("", "–"), *units]

    @property
    def offered(self) -> list[str]:
        """What can be chosen of while it is typed, where only known names are taken."""
        return sorted(time_zones()) if self.column.name == "time_zone" else []

    @property
    def unit(self) -> str:
        """The unit that is chosen."""
        return self.typed.unit or self.column.usual_unit(self.system)

    @property
    def chosen(self) -> list[str]:
        """What is ticked."""
        return [each for each in self.typed.text.split(";") if each]


@dataclass
class Element:
    """Fields that belong together: those of one rating, or all that stand alone."""

    title: str
    fields: list[Field]


class Form:
    """The fields of one resource, by kind and document."""

    def __init__(
        self,
        kind: Kind,
        held: Mapping[str, Any],
        options: "Options",
        apart: tuple[str, ...] = (),
        system: Units = "si",
    ) -> None:
        self.kind, self.held, self.options, self.system = kind, held, options, system
        fixed = {*_APART, *apart, *(kind.fixed if held.get("id") else ())}
        every = columns(kind.document, _lengths(held), tuple(kind.relations))
        self.columns = tuple(each for each in every if each.path[0] not in fixed)

    def stands(self) -> Flat:
        """What the book holds, field by field."""
        return {each.name: _typed(each, value_at(self.held, each.path)) for each in self.columns}

    def sent(self, form: QueryDict) -> Flat:
        """What came with the form."""
        return {each.name: _sent(each, form) for each in self.columns}

    def values(self, flat: Flat) -> tuple[dict[Path, Any], dict[str, str]]:
        """The values that were typed, and what is wrong with the others."""
        values: dict[Path, Any] = {}
        wrong: dict[str, str] = {}
        for column in self.columns:
            typed = flat[column.name]
            if not typed.text:
                continue
            try:
                values[column.path] = self._value(column, typed)
            except NotSo as error:
                wrong[column.name] = str(error)
        return values, wrong

    def _value(self, column: Column, typed: Typed) -> Any:
        if column.shape == "pieces":
            return typed.text.split(";")
        return entered(column, typed.text, typed.unit)

    def document(self, values: Mapping[Path, Any]) -> dict[str, Any]:
        """A new resource of these values."""
        return built(values)

    def patch(self, values: Mapping[Path, Any], changed: Iterable[str]) -> dict[str, Any]:
        """What makes the held document one with the values of the fields that were changed."""
        names = {str(name).split(".")[0] for name in changed}
        new = built({path: value for path, value in values.items() if path[0] in names})
        return {name: _patched(self.held.get(name), new.get(name)) for name in sorted(names)}

    def wrong(self, problems: Iterable[Problem]) -> tuple[dict[str, str], list[str]]:
        """What a service says of fields, by their names; and of what is no field."""
        fields: dict[str, str] = {}
        rest = []
        for problem in problems:
            column = self._at(problem.pointer)
            if column is None:
                place = labels.sentence(labels.place(problem.pointer)) or "It"
                rest.append(f"{place}: {problem.detail}.")
            else:
                fields.setdefault(column.name, told(column, problem))
        return fields, rest

    def _at(self, pointer: str) -> Column | None:
        found = next((each for each in self.columns if each.holds(pointer)), None)
        first = (each for each in self.columns if each.pointer.startswith(pointer + "/"))
        return found or next(first, None)

    def groups(self, flat: Flat, wrong: Mapping[str, str], now: Flat) -> list[dict[str, Any]]:
        """The fields as a template shows them, those first that are needed first."""
        groups: list[dict[str, Any]] = []
        for index, title in enumerate(GROUPS):
            fields = [
                self._field(each, flat, wrong, now)
                for each in self.columns
                if self._group(each) == index
            ]
            if fields:
                told_ = any(each.error or each.now for each in fields)
                if index == 0 and any(not self._is_required(each.column) for each in fields):
                    title = _NEEDED_OR_SO
                groups.append({"title": title, "elements": _elements(fields), "open": told_})
        return groups

    def _group(self, column: Column) -> int:
        first = self._is_required(column) or column.name in _FIRST.get(self.kind.name, ())
        return 0 if first else 1 if self._needed(column) else 2

    def _needed(self, column: Column) -> Needed | None:
        marks = self.kind.document.model_fields[str(column.path[0])].metadata
        return next((mark for mark in marks if isinstance(mark, Needed)), None)

    def _is_required(self, column: Column) -> bool:
        return self._needed(column) == REQUIRED

    def _field(self, column: Column, flat: Flat, wrong: Mapping[str, str], now: Flat) -> Field:
        options = choices(column)
        if column.shape in ("piece", "pieces"):
            options = self._pieces(column, flat)
        stands = now.get(column.name)
        words = said(column, stands, options) if stands is not None else ""
        typed = flat.get(column.name, Typed(""))
        return Field(column, typed, options, wrong.get(column.name, ""), words, self.system)

    def _pieces(self, column: Column, flat: Flat) -> list[tuple[str, str]]:
        """What may be chosen, and what is chosen though it is out of service."""
        options = self.options.get(str(column.path[0]), [])
        known = {value for value, _ in options}
        typed = flat.get(column.name, Typed("")).text.split(";")
        return options + [(each, _GONE) for each in typed if each and each not in known]


Options = Mapping[str, list[tuple[str, str]]]
_GONE = "what is joined, though out of service"


def _lengths(held: Mapping[str, Any]) -> dict[str, int]:
    """Room for what is there, and for a little more."""
    room = {}
    for name, least in _ROOM.items():
        there = len(held.get(name) or ())
        most = LENGTHS[name] if name == "ratings" else 200
        room[name] = min(max(there + _MORE, least), most)
    return room


def _typed(column: Column, value: Any) -> Typed:
    if value is not None and column.shape == "quantity":
        return Typed(*digits_and_unit(value))
    if column.shape == "pieces":
        return Typed(";".join(value or ()))
    return Typed(shown(column, value))


def _sent(column: Column, form: QueryDict) -> Typed:
    if column.shape == "pieces":
        return Typed(";".join(form.getlist(column.name)))
    text = form.get(column.name, "").replace("\r\n", "\n").strip()
    return Typed(text, form.get(column.name + UNIT, "") if column.shape == "quantity" else "")


def same(one: Typed, other: Typed) -> bool:
    """Whether two texts say the same: a unit beside nothing says nothing."""
    return one.text == other.text and (not one.text or one.unit == other.unit)


def _patched(held: Any, new: Any) -> Any:
    """A merge patch of one field; what an object no longer holds is taken out of it."""
    if isinstance(held, Mapping) and isinstance(new, Mapping) and "unit" not in new:
        return {name: new.get(name) for name in {*held, *new}}
    return new


def _elements(fields: Iterable[Field]) -> list[Element]:
    elements: list[Element] = []
    for each in fields:
        path = each.column.path
        title = _title(path) if len(path) == 3 else ""
        if not elements or elements[-1].title != title:
            elements.append(Element(title, []))
        elements[-1].fields.append(each)
    return elements


def _title(path: Path) -> str:
    return labels.sentence(labels.place("/" + "/".join(map(str, path[:2]))))


def said(column: Column, typed: Typed, options: Iterable[tuple[str, str]]) -> str:
    """What stands in a field, in words."""
    if column.shape == "quantity" and typed.text:
        return quantity({"value": typed.text, "unit": typed.unit})
    known = dict(options)
    return ", ".join(known.get(each, each) for each in typed.text.split(";")) or "nothing"


def packed(flat: Flat) -> str:
    """What stood in a form, for its hidden field."""
    return json.dumps({name: list(typed) for name, typed in flat.items() if typed.text})


def unpacked(text: str) -> Flat:
    """The same back; nothing where it cannot be read."""
    try:
        return {str(name): Typed(*map(str, typed)) for name, typed in json.loads(text).items()}
    except (ValueError, TypeError, AttributeError):
        return {}


def errors_of(groups: Iterable[Mapping[str, Any]]) -> list[Field]:
    """The fields that something is wrong with."""
    fields = (each for group in groups for part in group["elements"] for each in part.fields)
    return [each for each in fields if each.error]
