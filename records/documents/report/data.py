"""A report as data: one JSON document, written line by line."""

import hashlib
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any

import orjson

from calculations.tasks.catalogue import BY_ID
from records.documents.contents.cautions import DEFERENCE
from records.documents.report.gathered import CHANGES, LISTED, Gathered

LONGEST_ATTACHED = 2_000_000
"""Bytes of data that a PDF has attached whole."""


def head(found: Gathered) -> dict[str, Any]:
    """All of it but the lists."""
    return {
        "report": found.head,
        "cautions": DEFERENCE,
        "counts": found.counts | {"not_possible": found.not_possible},
        "changes": found.changes(),
        "clients": [
            {"client": key, "name": found.names.get(key, "")} | counts
            for key, counts in found.by["client"].items()
        ],
        "stations": [
            {"site": key} | found.stations[key] | counts
            for key, counts in found.by["station"].items()
        ],
        "tasks": [
            {"task": key, "title": BY_ID[key].title} | found.by["task"][key]
            for key in BY_ID
            if key in found.by["task"]
        ],
        "heads": found.heads,
    }


def write(found: Gathered, file: IO[bytes]) -> None:
    """The whole document into an open file; the same report, the same bytes."""
    for piece in _pieces(found):
        file.write(piece)


def _pieces(found: Gathered) -> Iterator[bytes]:
    yield orjson.dumps(head(found))[:-1]
    for name in (*LISTED, *CHANGES):
        yield f',"{name}":['.encode()
        for index, line in enumerate(found.sections[name].lines()):
            yield b",\n" if index else b"\n"
            yield line
        yield b"]"
    yield b"}\n"


def attached(found: Gathered, whole: Path) -> bytes:
    """What a PDF has attached: all data, or of very much its head and the digest of the rest."""
    size = whole.stat().st_size
    if size <= LONGEST_ATTACHED:
        return whole.read_bytes()
    with whole.open("rb") as file:
        digest = hashlib.file_digest(file, "sha256").hexdigest()
    words = "the lists are in data.json, which is kept beside this document"
    left_out = {"words": words, "size": size, "sha256": digest}
    return orjson.dumps(head(found) | {"left_out": left_out})
