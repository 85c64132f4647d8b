"""Whatever of a record no section has taken: nothing is dropped."""

import re
from typing import Any

from records.documents import labels
from records.documents.blocks import Block, heading, paragraph
from records.documents.contents.source import Source


def leftovers(source: Source) -> list[Block]:
    """Every value that has no place above: identifiers, above all."""
    rows = _by_list(source, [each for each in source.record.unplaced() if _worth(source, *each)])
    if not rows:
        return []
    words = "; ".join(f"{label}: {values}" for label, values in rows)
    return [heading("Identifiers"), paragraph(f"{words}.", "small")]


def _worth(source: Source, at: str, value: Any) -> bool:
    """Whether a value says something: not nothing, nor a reference to a piece named above."""
    if value in (None, [], {}):
        return False
    return at.endswith("/id") or str(value) not in source.shown.names


def _by_list(source: Source, values: list[tuple[str, Any]]) -> list[tuple[str, str]]:
    """The same field of a list's elements in one line, in the order of the list."""
    lines: dict[str, list[str]] = {}
    names: dict[str, str] = {}
    for at, value in values:
        kind = _INDEX.sub("/*", at)
        names.setdefault(kind, source.place(at))
        lines.setdefault(kind, []).append(source.shown.words(at.rsplit("/", 1)[-1], value))
    return [
        (_list_label(kind, names[kind], len(words)), ", ".join(words))
        for kind, words in lines.items()
    ]


_INDEX = re.compile("/[0-9]+")


def _list_label(kind: str, name: str, count: int) -> str:
    name = name.removesuffix(", identifier")
    if count == 1 or "*" not in kind:
        return labels.sentence(name)
    return labels.sentence(labels.place(kind.removesuffix("/id").replace("/*", "")))
