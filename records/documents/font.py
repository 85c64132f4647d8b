"""The bundled faces: which characters they have, and how wide figures are.

Most is set in one text face. Chinese, Japanese and Korean signs, above all in names, are set in a
second one that has one weight.

Only what setting a document needs is read, from the OpenType tables `cmap` (format 12), `hhea`
and `hmtx` (ISO/IEC 14496-22).
"""

import struct
from functools import cache
from pathlib import Path
from typing import Literal

FOLDER = Path(__file__).parent / "fonts"
FAMILY = "Source Sans 3"
FAR_EAST = "DroidSansFallback.ttf"
Weight = Literal["Light", "Regular", "Semibold"]
WEIGHTS: tuple[Weight, ...] = ("Light", "Regular", "Semibold")
_UNICODE_FULL = (3, 10)


@cache
def covered() -> frozenset[int]:
    """Code points that every bundled weight of the text face has."""
    return frozenset.intersection(*(frozenset(_glyphs(_file(weight))) for weight in WEIGHTS))


@cache
def covered_far_east() -> frozenset[int]:
    """Code points that only the second face has."""
    return frozenset(_glyphs(FAR_EAST)) - covered()


@cache
def width(character: str, weight: Weight = "Regular") -> float:
    """Advance width of a character [em]."""
    tables = _tables(_file(weight))
    units_per_em = struct.unpack_from(">H", tables["head"], 18)[0]
    metrics = struct.unpack_from(">H", tables["hhea"], 34)[0]
    glyph = min(_glyphs(_file(weight))[ord(character)], metrics - 1)
    advance = struct.unpack_from(">H", tables["hmtx"], 4 * glyph)[0]
    return float(advance / units_per_em)


def _file(weight: Weight) -> str:
    return f"SourceSans3-{weight}.otf"


@cache
def _tables(file: str) -> dict[str, bytes]:
    data = (FOLDER / file).read_bytes()
    count = struct.unpack_from(">H", data, 4)[0]
    entries = (struct.unpack_from(">4sIII", data, 12 + 16 * i) for i in range(count))
    return {tag.decode("ascii"): data[at : at + size] for tag, _, at, size in entries}


@cache
def _glyphs(file: str) -> dict[int, int]:
    """Glyph of every code point."""
    cmap = _tables(file)["cmap"]
    count = struct.unpack_from(">H", cmap, 2)[0]
    entries = (struct.unpack_from(">HHI", cmap, 4 + 8 * i) for i in range(count))
    at = next(offset for platform, kind, offset in entries if (platform, kind) == _UNICODE_FULL)
    groups = struct.unpack_from(">I", cmap, at + 12)[0]
    glyphs: dict[int, int] = {}
    for index in range(groups):
        first, last, glyph = struct.unpack_from(">III", cmap, at + 16 + 12 * index)
        glyphs.update((code, glyph + code - first) for code in range(first, last + 1))
    return glyphs
