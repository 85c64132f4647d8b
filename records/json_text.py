"""JSON as text for what this service writes and reads back itself.

What callers send is read by `api/json_bodies`, which loses no digit and refuses what is
ambiguous; what is sealed is written by RFC 8785.
"""

import json
from typing import Any

import orjson


def text_of(document: Any, *, sorted_names: bool = False) -> bytes:
    """The compact text, UTF-8."""
    return orjson.dumps(document, option=orjson.OPT_SORT_KEYS if sorted_names else None)


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
