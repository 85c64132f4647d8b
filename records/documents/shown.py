"""A record's values as they are printed: digits and unit as entered, words, times.

A cell is None (nothing there), a number `{"n", "u"}` or a text `{"t"}`. A number in another unit
than the entered one has `entered` with it.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime, tzinfo
from functools import cache
from typing import Any, Literal, get_args
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import BaseModel

from calculations.inputs.subject import Subject
from records.document_style import Units
from records.documents import labels
from records.documents.texts import runs
from records.documents.unit_systems import are_alike, beside, instead, other_system, unit_in

Cell = dict[str, Any] | None

NO_BREAK = "\N{NO-BREAK SPACE}"
MINUS = "\N{MINUS SIGN}"
DASH = "\N{EN DASH}"
_PLAIN_NUMBER = re.compile(r"[+-]?[0-9]{1,9}(\.[0-9]{1,7})?")
_MOMENT = re.compile(
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}[Tt ][0-9]{2}:[0-9]{2}:[0-9]{2}(\.[0-9]+)?([Zz]|[+-][0-9:]{5})"
)
# Stamped by the service: a second is fine enough for people; data.json has them as they are.
_STAMPS = frozenset({"at", "sealed_at", "expires_at"})
_MOMENTS = _STAMPS | {"performed_at", "performed_until", "device_time", "time"}


@dataclass(frozen=True, slots=True)
class Shown:
    """How values are printed for one station: time zone, names of its pieces, system of units."""

    zone: tzinfo | None = None
    names: Mapping[str, str] = field(default_factory=dict)
    units: Units = "entered"

    def cell(self, name: str, value: Any) -> Cell:
        """The cell of a field's value."""
        if value is None:
            return None
        if isinstance(value, list) and len(value) == 1:
            return self.cell(name, value[0])
        if is_quantity(value):
            return self._number(value)
        if isinstance(value, int) and not isinstance(value, bool):
            return number(str(value))
        return text(self.words(name, value))

    def words(self, name: str, value: Any) -> str:
        """A field's value in one text, whatever it is."""
        if value is None:
            return DASH
        if isinstance(value, bool):
            return "yes" if value else "no"
        if is_quantity(value):
            return self.quantities([value])
        if isinstance(value, Mapping):
            parts = (f"{labels.label(n)}: {self.words(n, v)}" for n, v in value.items())
            return ", ".join(parts) or DASH
        if isinstance(value, Sequence) and not isinstance(value, str):
            return self._listed(name, value)
        return self._word(name, str(value))

    def _number(self, value: Mapping[str, Any]) -> Cell:
        entered = number(str(value["value"]), str(value["unit"]))
        other = instead(value, self.units)
        cell = number(other["value"], other["unit"]) if other else None
        return {**cell, "entered": runs(quantity(value))} if cell else entered

    def beside(self, name: str, value: Any, other: Any) -> Cell:
        """A value as it is compared with `other`: in its unit, where both are of one kind."""
        if not (is_quantity(value) and is_quantity(other)):
            return self.cell(name, value)
        alike = beside(value, unit_in(str(other["unit"]), self.units))
        if alike is None:
            return self.cell(name, value)
        cell = number(alike["value"], alike["unit"]) or {}
        return {**cell, "entered": runs(quantity(value))}

    def compared(self, values: Sequence[Mapping[str, Any]]) -> list[Cell]:
        """Cells of quantities that are compared: all of a kind in the system of the first."""
        return [
            self.beside("", value, _first_of_other_system(value, values[:at]))
            for at, value in enumerate(values)
        ]

    def bare(self, value: Any) -> Cell:
        """The cell of one or several quantities whose unit stands elsewhere."""
        listed = [value] if is_quantity(value) else list(value)
        shown = [instead(each, self.units) or each for each in listed]
        if len(shown) == 1:
            cell = number(str(shown[0]["value"]))
        else:
            cell = text(_digits(shown))
        return {**(cell or {}), "entered": runs(_digits(listed))} if shown != listed else cell

    def unit(self, entered: str) -> Cell:
        """The unit of values that were entered in this one, in a cell of its own."""
        other = instead({"value": "1", "unit": entered}, self.units)
        cell = {"t": labels.unit(other["unit"] if other else entered), "light": True}
        return {**cell, "entered": runs(labels.unit(entered))} if other else cell

    def quantities(self, values: Sequence[Mapping[str, Any]]) -> str:
        """One or several values in running text; as entered behind, where units differ."""
        others = [instead(value, self.units) or value for value in values]
        entered = quantities(values)
        return entered if others == list(values) else f"{quantities(others)} ({entered})"

    def _listed(self, name: str, values: Sequence[Any]) -> str:
        if values and all(is_quantity(each) for each in values):
            return self.quantities(values)
        between = "; " if any(isinstance(each, Mapping) for each in values) else ", "
        return between.join(self.words(name, each) for each in values) or DASH

    def _word(self, name: str, value: str) -> str:
        if name in _MOMENTS and _MOMENT.fullmatch(value):
            return self.moment(value, whole=name in _STAMPS)
        if value in self.names and name != "id":
            return self.names[value]
        return labels.word(value) if value in _closed().get(name, ()) else value

    def moment(self, given: str, whole: bool = False) -> str:
        """A time in the station's zone with its offset; the original too where it differs.

        `whole` leaves out the parts of a second.
        """
        try:
            original = datetime.fromisoformat(given.upper())
        except ValueError:
            return given
        if whole:
            original = original.replace(microsecond=0)
        local = original.astimezone(self.zone) if self.zone else original
        here = f"{local:%Y-%m-%d}{NO_BREAK}{_clock(local)} {offset(local)}"
        # Z is a clock's time, not somebody's: nothing is lost by showing it in the station's.
        if given[-1] in "Zz" or local.utcoffset() == original.utcoffset():
            return here
        return f"{here} (entered as {given})"


def _first_of_other_system(
    value: Mapping[str, Any], before: Sequence[Mapping[str, Any]]
) -> Mapping[str, Any] | None:
    own = str(value["unit"])
    alike = (each for each in before if are_alike(own, str(each["unit"])))
    first = next(alike, None)
    return first if first and other_system(own, str(first["unit"])) else None


def zone(name: Any) -> tzinfo | None:
    """The time zone of this IANA name; None where it is not known here."""
    try:
        return ZoneInfo(str(name)) if name else None
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return None


def offset(moment: datetime) -> str:
    """A time's offset, as UTC−05:00; UTC alone where there is none."""
    text = moment.strftime("%z")
    if text == "+0000":
        return "UTC"
    return f"UTC{text[0]}{text[1:3]}:{text[3:5]}".replace("-", MINUS) if text else ""


def _clock(moment: datetime) -> str:
    if moment.microsecond:
        return f"{moment:%H:%M:%S}.{moment.microsecond:06d}".rstrip("0")
    return f"{moment:%H:%M:%S}" if moment.second else f"{moment:%H:%M}"


def is_quantity(value: Any) -> bool:
    """Whether a value is digits with a unit."""
    return isinstance(value, dict) and len(value) == 2 and "value" in value and "unit" in value


def number(digits: str, unit: str = "1") -> Cell:
    """A number to be aligned at its decimal sign; as text if it is too long for that."""
    if not _PLAIN_NUMBER.fullmatch(digits):
        return text(quantity({"value": digits, "unit": unit}))
    return {"n": _minus(digits), "u": labels.unit(unit)}


def text(words: str) -> Cell:
    """A text of the record, as it stands."""
    return {"t": runs(words)}


def quantity(value: Mapping[str, Any]) -> str:
    """Digits and unit in running text."""
    unit = labels.unit(str(value["unit"]))
    digits = _minus(str(value["value"]))
    return f"{digits}{NO_BREAK}{unit}" if unit else digits


def quantities(values: Sequence[Mapping[str, Any]]) -> str:
    """Several values, the unit once where it is the same: 481 / 479 / 478 V."""
    if len({value["unit"] for value in values}) > 1:
        return " / ".join(quantity(value) for value in values)
    unit = labels.unit(str(values[0]["unit"]))
    return _digits(values) + (f"{NO_BREAK}{unit}" if unit else "")


def _digits(values: Sequence[Mapping[str, Any]]) -> str:
    return " / ".join(quantity({**value, "unit": "1"}) for value in values)


def _minus(digits: str) -> str:
    return MINUS + digits[1:] if digits.startswith("-") else digits


@cache
def _closed() -> Mapping[str, frozenset[str]]:
    """Words of every closed list, by name of field."""
    words: dict[str, set[str]] = {}
    for model in models(Subject):
        for name, info in model.model_fields.items():
            words.setdefault(info.alias or name, set()).update(_literals(info.annotation))
    return {name: frozenset(found) for name, found in words.items() if found}


@cache
def models(root: type[BaseModel]) -> tuple[type[BaseModel], ...]:
    """A document's model and every model inside."""
    found = {root: None}
    for info in root.model_fields.values():
        for inner in _inside(info.annotation):
            found.update(dict.fromkeys(models(inner)))
    return tuple(found)


def _inside(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    return [model for each in get_args(annotation) for model in _inside(each)]


def _literals(annotation: Any) -> set[str]:
    if getattr(annotation, "__origin__", None) is Literal:
        return {word for word in get_args(annotation) if isinstance(word, str)}
    return set().union(*(_literals(each) for each in get_args(annotation)))


@cache
def order(model: type[BaseModel]) -> tuple[str, ...]:
    """Names of a model's fields as documents have them, in the model's order."""
    return tuple(info.alias or name for name, info in model.model_fields.items())
