"""Setting a document by typst: one warm compiler, the bundled face only, archival PDF."""

import json
from datetime import datetime
from functools import cache
from pathlib import Path
from threading import Lock
from typing import Any

import typst

from records.documents import font

TEMPLATES = Path(__file__).parent / "templates"
# The compiler refuses to be used by two threads at once.
_one_at_a_time = Lock()


def pdf(template: str, sheet: dict[str, Any], data: bytes, at: datetime) -> bytes:
    """A PDF of `sheet` by a template, with `data` (JSON) attached; the same input, same bytes.

    The template is a file with a function of its own name, called with both.
    """
    with _one_at_a_time:
        made = _compiler().compile(
            input=_source(template, sheet, data).encode("utf-8"),
            format="pdf",
            # Archival with readable characters and data attached; usable by a screen reader.
            pdf_standards=["a-3a", "ua-1"],
            timestamp=at,
        )
    if not isinstance(made, bytes):
        raise TypeError("expected one PDF")
    return made


def _source(template: str, sheet: dict[str, Any], data: bytes) -> str:
    # As literals, because whatever came as an input would make the compiler forget all it knows.
    words = _literal(json.dumps(sheet, separators=(",", ":")))
    attached = _literal(data.decode("utf-8"))
    return (
        f'#import "{template}.typ": {template}\n'
        f"#{template}(json(bytes({words})), bytes({attached}))\n"
    )


def _literal(text: str) -> str:
    """A string of the template language, in which only these two characters are special."""
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


@cache
def _compiler() -> typst.Compiler:
    fonts = typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=False, font_paths=[str(font.FOLDER)]
    )
    return typst.Compiler(root=str(TEMPLATES), font_paths=fonts, ignore_system_fonts=True)
