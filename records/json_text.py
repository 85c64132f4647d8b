"""JSON as text for what this service writes and reads back itself.

What callers send is read by `api/json_bodies`, which loses no digit and refuses what is
ambiguous; what is sealed is written by RFC 8785.
"""

import json
import math
from typing import Any

import orjson


def text_of(document: Any, *, sorted_names: bool = False) -> bytes:
    """The compact text, UTF-8; `ValueError` where a number is none: JSON has no word for it."""
    text = orjson.dumps(document, option=orjson.OPT_SORT_KEYS if sorted_names else None)
    if b"null" in text:  # as which NaN and infinity are written without a complaint
        _refuse_what_is_no_number(document)
    return text


def _refuse_what_is_no_number(value: Any, name: str = "the document") -> None:
    if isinstance(value, dict):
        for inner, each in value.items():
            if not isinstance(each, str):  # most are
                _refuse_what_is_no_number(each, inner)
    elif isinstance(value, (list, tuple)):
        for each in value:
            _refuse_what_is_no_number(each, name)
    elif isinstance(value, float) and not math.isfinite(value):
        raise ValueError(f"{name}: expected a finite number, got {value}")


def document_of(text: str | bytes) -> Any:
    """The document of such a text."""
    return orjson.loads(text)


class Encoder(json.JSONEncoder):
    """The same where an encoder of the standard library is asked for."""

    def encode(self, o: Any) -> str:
        """The compact text."""
        return text_of(o).decode()


class Decoder(json.JSONDecoder):
    """Reads back what the database kept."""

    def decode(self, s: str, *_: Any) -> Any:
        """The document."""
        return document_of(s)
