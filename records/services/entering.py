"""Values as people type them, in forms and in cells of a spreadsheet, as documents have them."""

import re
from datetime import date
from typing import Any

from calculations.inputs.reading import Problem
from records.documents.columns import Column, expected, known_unit, plain, quantity_value, word_of

_SPACES = " \N{NO-BREAK SPACE}\N{NARROW NO-BREAK SPACE}"
_MINUS = "\N{MINUS SIGN}"
_NUMBER = re.compile(
    rf"(?P<digits>[+\-{_MINUS}]?[\d.,'’{_SPACES}]*\d(?:[eE][+\-]?\d{{1,3}})?)\s*(?P<unit>.*)"
)
_GROUPS = re.compile(rf"\d{{1,3}}(?:[{_SPACES}'’]\d{{3}})+(?=\D|$)")
_THOUSAND_OR_POINT = re.compile(r"[1-9]\d{0,2}[.,]\d{3}")
_GAUGE = re.compile(r"\s*(?P<size>-?\d+(?:/0)?|\d+\.\d+)\s*(?P<unit>AWG|kcmil)\s*", re.IGNORECASE)
_YES, _NO = frozenset({"yes", "y", "true", "1"}), frozenset({"no", "n", "false", "0"})
_DOTTED = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4})")


class NotSo(Exception):
    """A text that is no value of its column; says what was expected."""


def entered(column: Column, text: str, unit: str = "", *, decimal_comma: bool = False) -> Any:
    """The value that a text means; `unit` is that of the column or of the field beside.

    Raises `NotSo`. Limits are the register's to check.
    """
    text = text.strip()
    if column.shape == "quantity":
        return _quantity(column, text, unit, decimal_comma)
    if column.shape == "choice":
        return _word(column, text)
    if column.shape == "yes or no":
        return _yes_or_no(text)
    if column.shape in ("count", "position"):
        return _count(column, number(text, decimal_comma))
    if column.shape == "degrees":
        return number(text, decimal_comma="," in text)  # there are no thousands of degrees
    return _day(text) if column.shape == "day" else text


def number(text: str, decimal_comma: bool = False) -> str:
    """The digits of a number with a decimal point, however its thousands are parted."""
    digits = text.strip().replace(_MINUS, "-").removeprefix("+")
    digits = _GROUPS.sub(lambda found: re.sub(rf"[{_SPACES}'’]", "", found[0]), digits)
    sign, digits = ("-", digits[1:]) if digits.startswith("-") else ("", digits)
    if "," in digits and "." in digits:
        digits = _both_signs(digits)
    elif digits.count(",") > 1 or digits.count(".") > 1:
        digits = _thousands(digits, "," if "," in digits else ".")
    else:
        digits = _one_sign(digits, decimal_comma)
    return sign + ("0" + digits if digits.startswith(".") else digits)


def _one_sign(digits: str, decimal_comma: bool) -> str:
    usual = "," if decimal_comma else "."
    if _THOUSAND_OR_POINT.fullmatch(digits) and usual not in digits:
        plain_ = digits.replace(",", "").replace(".", "")
        pointed = digits.replace(",", ".")
        raise NotSo(f"{digits} can mean {plain_} or {pointed}: write one of these")
    return digits.replace(",", ".")


def _both_signs(digits: str) -> str:
    """The last sign is the decimal one, the others part thousands."""
    point = max(digits.rfind(","), digits.rfind("."))
    whole = digits[:point]
    return f"{_thousands(whole, '.' if digits[point] == ',' else ',')}.{digits[point + 1 :]}"


def _thousands(digits: str, between: str) -> str:
    if not re.fullmatch(rf"\d{{1,3}}(?:{re.escape(between)}\d{{3}})+", digits):
        raise NotSo(f"expected a number such as 1450 or 7.50, got {digits[:40]}")
    return digits.replace(between, "")


def _quantity(column: Column, text: str, unit: str, decimal_comma: bool) -> Any:
    by_gauge = "AWG" if known_unit(unit) == "AWG" else ""
    gauge = _GAUGE.fullmatch(text) or _GAUGE.fullmatch(f"{text} {by_gauge}")
    if gauge and "AWG" in column.units:
        return quantity_value(gauge["size"], _gauge_unit(gauge["unit"]))
    found = _NUMBER.fullmatch(text)
    if found is None:
        raise NotSo(f"expected {expected(column)}, got {text[:40]!r}")
    symbol = known_unit(found["unit"]) or known_unit(unit) or _without_unit(column)
    if not symbol:
        raise NotSo(f"has no unit: choose one, or write it behind the number; "
                    f"expected {' or '.join(column.units)}")  # fmt: skip
    return quantity_value(number(found["digits"], decimal_comma), symbol)


def _gauge_unit(text: str) -> str:
    return "AWG" if text.upper() == "AWG" else "kcmil"


def _without_unit(column: Column) -> str:
    """The unit where a plain number can mean nothing else: the only one, or 1."""
    if len(column.units) == 1:
        return column.units[0]
    return "1" if column.usual_unit() == "1" else ""


def _word(column: Column, text: str) -> str | int:
    word = word_of(column, text)
    if word is None:
        raise NotSo(f"expected {expected(column)}; got {text[:40]!r}")
    return word


def _yes_or_no(text: str) -> bool:
    words = plain(text)
    if words not in _YES | _NO:
        raise NotSo(f"expected yes or no, got {text[:40]!r}")
    return words in _YES


def _count(column: Column, digits: str) -> int:
    if not re.fullmatch(r"-?[0-9]{1,9}(\.0+)?", digits):
        raise NotSo(f"expected {expected(column)}, got {digits[:40]!r}")
    count = int(digits.partition(".")[0])
    if column.shape == "position":
        if not 1 <= count <= 6:
            raise NotSo(f"expected {expected(column)}, got {count}")
        return count - 1
    return count


def _day(text: str) -> str:
    """A day as ISO 8601 has it; with dots between, the day comes first."""
    dotted = _DOTTED.fullmatch(text)
    try:
        if dotted:
            day, month, year = map(int, dotted.groups())
            return date(year, month, day).isoformat()
        return date.fromisoformat(text).isoformat()
    except ValueError:
        words = "expected a day such as 2026-03-14"
        if "/" in text:
            words += ": with strokes nobody can tell the day from the month"
        raise NotSo(f"{words}; got {text[:40]!r}") from None


def shown(column: Column, value: Any) -> str:
    """A value as it stands in a form: what `entered` reads back; quantities without their unit."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if column.shape == "position":
        return str(int(value) + 1)
    return str(value)


def told(column: Column, problem: Problem) -> str:
    """What is wrong with a value, as people count."""
    if column.shape == "position" and problem.code == "out_of_range":
        return "expected which of the ratings above: 1 is the first"
    return problem.detail
