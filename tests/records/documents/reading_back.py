"""Reading a PDF back with an independent reader."""

import io
import re
import unicodedata
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

import pypdf

Leaf = tuple[str, Any]


def reader(pdf: bytes) -> pypdf.PdfReader:
    """The reader of a PDF's bytes."""
    return pypdf.PdfReader(io.BytesIO(pdf))


@lru_cache(maxsize=4)
def pages(pdf: bytes) -> tuple[str, ...]:
    """The text of every page; a second's work, and many tests look at the same document."""
    return tuple(page.extract_text() for page in reader(pdf).pages)


def text(pdf: bytes) -> str:
    """The text of all pages."""
    return "\n".join(pages(pdf))


def in_print(words: str) -> str:
    """A text of the catalogue with its temperatures as paper and pages show them, squeezed."""
    return squeezed(words.replace("degC", "°C").replace("degF", "°F"))


def squeezed(words: str) -> str:
    """A text without white space, so that it does not matter where lines end.

    Signs that look alike and have one glyph, such as micro and mu, become one character.
    """
    return re.sub(r"\s+", "", unicodedata.normalize("NFKC", words))


def leaves(value: Any, at: str = "") -> Iterator[Leaf]:
    """Every single value of a document with its place; a quantity is one value."""
    if isinstance(value, dict) and set(value) != {"value", "unit"}:
        for name, inner in value.items():
            yield from leaves(inner, f"{at}/{name}")
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from leaves(inner, f"{at}/{index}")
    else:
        yield at, value
