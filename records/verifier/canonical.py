"""Canonical JSON (RFC 8785)."""

import json
from collections.abc import Callable
from typing import Any, NamedTuple

from records.verifier.telling import Wrong

GREATEST = 2**53 - 1  # whole numbers beyond are not exact everywhere (RFC 7493)


class _NotQuick(Exception):
    """A number that the quick way does not write canonically."""


def _whole(text: str) -> int:
    if len(text) > 15 and abs(int(text)) > GREATEST:
        raise _NotQuick
    return int(text)


def _whole_or_double(text: str) -> int | float:
    return float(text) if len(text) > 15 and abs(int(text)) > GREATEST else int(text)


def _fraction(text: str) -> float:
    raise _NotQuick


def _no_number(text: str) -> float:
    raise ValueError(f"{text} is no number")


_QUICK = json.JSONDecoder(parse_int=_whole, parse_float=_fraction, parse_constant=_no_number)
_SLOW = json.JSONDecoder(parse_int=_whole_or_double, parse_constant=_no_number)
WRITE = json.JSONEncoder(
    ensure_ascii=False, sort_keys=True, separators=(",", ":"), check_circular=False
).encode


def canonical(value: Any) -> str:
    """Canonical text of a JSON value: names in the order of their UTF-16, numbers as doubles."""
    if isinstance(value, dict):
        names = sorted(value, key=lambda name: name.encode("utf-16-be"))
        return "{" + ",".join(f"{WRITE(name)}:{canonical(value[name])}" for name in names) + "}"
    if isinstance(value, list):
        return "[" + ",".join(map(canonical, value)) + "]"
    return _double(value) if isinstance(value, float) else WRITE(value)


def _double(value: float) -> str:
    """A double as ECMAScript writes it (RFC 8785, 3.2.2.3)."""
    if value == 0:
        return "0"
    if value - value != 0:
        raise ValueError("a number is too large")
    sign, (mantissa, exponent) = "-" * (value < 0), f"{abs(value)!r}e0".split("e")[:2]
    whole, _, rest = mantissa.partition(".")
    point = len(whole) + int(exponent)  # where the point stands, counted from the first digit
    digits = whole + rest
    point -= len(digits) - len(digits.lstrip("0"))
    digits = digits.strip("0")
    if 0 < point <= 21:
        cut = digits.ljust(point, "0")
        return sign + cut[:point] + ("." + cut[point:] if cut[point:] else "")
    if -6 < point <= 0:
        return f"{sign}0.{'0' * -point}{digits}"
    tail = "." + digits[1:] if digits[1:] else ""
    return f"{sign}{digits[0]}{tail}e{point - 1:+d}"


class Text(NamedTuple):
    """A canonical text that was read: its members, and what is written canonically."""

    members: dict[str, Any]
    parts: dict[str, str]
    write: Callable[[Any], str]


def read_text(text: bytes) -> Text:
    """An object from its canonical text; `Wrong` says where it is damaged or not canonical."""
    try:
        words = text.decode("utf-8")
        # Only names with characters beyond U+D7FF are in another order than Python's.
        quick = words.isascii() or not any(byte in text for byte in range(0xEE, 0xF5))
        try:
            found = _members(words, _QUICK if quick else _SLOW)
        except _NotQuick:
            quick, found = False, _members(words, _SLOW)
        write = WRITE if quick else canonical
        members = {name: value for name, (value, _) in found.items()}
        again = write(members)
        if again != words:
            same = zip(again, words, strict=False)
            at = next((at for at, (one, other) in enumerate(same) if one != other), len(again))
            raise Wrong(f"its text is not canonical JSON (RFC 8785) from character {at} on")
    except UnicodeError as error:
        raise Wrong(f"its text is damaged: not UTF-8, or half a character: {error}") from None
    except (ValueError, StopIteration, IndexError) as error:
        raise Wrong(f"its text is damaged, and no canonical JSON: {error}") from None
    except RecursionError:
        raise Wrong("its text is damaged: it is nested too deeply") from None
    return Text(members, {name: part for name, (_, part) in found.items()}, write)


def _members(words: str, decoder: json.JSONDecoder) -> dict[str, tuple[Any, str]]:
    """The members of an object, each with its own text."""
    found: dict[str, tuple[Any, str]] = {}
    at = 0
    while words[at] == ("," if found else "{"):
        name, at = decoder.raw_decode(words, at + 1)
        value, end = decoder.raw_decode(words, at + 1)
        found[name], at = (value, words[at + 1 : end]), end
    if words[at:] != "}":
        raise ValueError(f"something else than expected at character {at}")
    return found
