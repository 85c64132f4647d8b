"""Quantities as people and programs enter them, and how a refusal says what was expected."""

import re
from typing import Any

from pydantic_core import PydanticCustomError

from calculations.errors import UnitError
from calculations.units import KINDS, NUMBER, Quantity, to_si


class NumberText(str):
    """The digits of a JSON number, kept as they were written; not a text."""

    __slots__ = ()


def refusal(code: str, message: str, inside: str = "") -> PydanticCustomError:
    """An error in words; `inside` names the place below the value that is read."""
    context: dict[str, Any] = {"message": message, "inside": inside}
    return PydanticCustomError(code, "{message}", context)


def read_quantity(given: object, kinds: tuple[str, ...]) -> Quantity:
    """A quantity of one of `kinds`, or a refusal that says how it is written."""
    if isinstance(given, str) and kinds == ("conductor",):
        return _conductor(given)
    if not isinstance(given, dict) and is_plain(kinds) and _is_number(given):
        given = {"value": given, "unit": "1"}
    if not isinstance(given, dict) or given.keys() != _MEMBERS:
        raise _no_quantity(given, kinds)
    try:
        return Quantity.of(given["value"], _unit(given["unit"]), *kinds)
    except UnitError as error:
        raise refusal("wrong_unit", error.message, "unit") from None
    except ValueError as error:
        raise refusal("not_a_number", str(error), "value") from None


_MEMBERS = {"value", "unit"}


def _is_number(given: object) -> bool:
    """Whether it is a number as it stands: of JSON, or its digits as text."""
    if isinstance(given, (NumberText, int)):
        return not isinstance(given, bool)
    return isinstance(given, str) and NUMBER.fullmatch(given) is not None


def _no_quantity(given: object, kinds: tuple[str, ...]) -> PydanticCustomError:
    alone = "a number, or " if is_plain(kinds) else ""
    words = f'expected {alone}{{"value", "unit"}} of {_words(kinds)}'
    found = _WITH_UNIT.fullmatch(given) if isinstance(given, str) else None
    if found and found["unit"] in (unit for kind in kinds for unit in KINDS[kind]):
        words += f': write {{"value": "{found["value"]}", "unit": "{found["unit"]}"}}'
    elif _is_number(given):
        words += f": {str(given)[:40]} has no unit"
    return refusal("quantity", words)


_WITH_UNIT = re.compile(rf"\s*(?P<value>{NUMBER.pattern})\s*(?P<unit>\S+)\s*")


def _unit(given: object) -> str:
    if not isinstance(given, str):
        raise UnitError("unit", "expected the unit as text")
    return given


def _conductor(text: str) -> Quantity:
    found = re.fullmatch(r"(-?[0-9]+(?:/0)?|[0-9]+(?:\.[0-9]+)?) ?(AWG|kcmil)", text)
    if not found:
        metric = _WITH_UNIT.fullmatch(text)
        value = metric["value"] if metric and metric["unit"] in ("mm2", "mm²") else "10"
        words = f'{{"value": "{value}", "unit": "mm2"}}'
        raise refusal("conductor", f'expected a size such as "6 AWG", "250 kcmil" or {words}')
    digits, unit = found.groups()
    gauge = str(1 - int(digits[0])) if digits.endswith("/0") and unit == "AWG" else digits
    try:
        area = to_si(float(gauge), unit)
    except (UnitError, ValueError):
        raise refusal("conductor", "American wire gauge runs from 4/0 to 40") from None
    return Quantity(digits, unit, "conductor", area)


def is_plain(kinds: tuple[str, ...]) -> bool:
    """Whether a number of these kinds may stand alone, without a unit."""
    return "1" in KINDS[kinds[0]]


def _words(kinds: tuple[str, ...]) -> str:
    return " or ".join(kind.replace("_", " ") for kind in kinds)
