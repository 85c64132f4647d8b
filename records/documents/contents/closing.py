"""What closes a record: not possible, attachments, remarks, signatures, seal."""

import re
from typing import Any

from calculations.inputs.event import (
    AttachmentReference,
    Event,
    NotPossible,
    TraceReference,
)
from records.documents import labels
from records.documents.blocks import Block, heading, pairs, paragraph
from records.documents.contents.listing import listed_section
from records.documents.contents.source import Source, compact
from records.documents.placing import Part
from records.documents.shown import Cell, order, text

COVERS = {
    "performed": "the event's document, the nameplates it was judged against, the version of the "
    "catalogue and the findings shown",
    "reviewed": "what was signed as performed, and the answers to the findings",
    "witnessed": "what was signed as performed, and the answers to the findings",
}


def not_possible(source: Source) -> list[Block]:
    """Work that could not be done: it stays due."""
    listed = listed_section(source, "Not possible on the day", source.event, "not_possible",
                            NotPossible)  # fmt: skip
    words = "Neither done nor missing: these tasks stay due."
    return [listed[0], paragraph(words, "small"), *listed[1:]] if listed else []


def attachments(source: Source) -> list[Block]:
    """Photographs, documents and traces, by the digest of their bytes."""
    event = source.event
    return [
        *listed_section(source, "Attachments", event, "attachments", AttachmentReference),
        *listed_section(source, "Traces", event, "traces", TraceReference),
    ]


def remarks(source: Source) -> list[Block]:
    """What the technician wrote, as written."""
    words = source.event.take("remarks")
    return [heading("Remarks"), paragraph(str(words))] if words else []


def others(source: Source) -> list[Block]:
    """Whatever the event holds that has no place of its own, and what it does not hold."""
    event = source.event
    rows = source.cells(event.rest(order(Event), leave=("id", "site", "pump_set")))
    blocks: list[Block] = [heading("Also recorded"), pairs(rows)] if rows else []
    return blocks + _nothing_recorded(source)


_PARTS = tuple(
    name for name in order(Event)
    if name in ("settings", "supply", "motor_tests", "rotation", "identification_run")
    or name.endswith(("_tests", "_checks", "_points", "_verifications", "traces", "attachments"))
)  # fmt: skip


def _nothing_recorded(source: Source) -> list[Block]:
    empty = [labels.label(name).lower() for name in _PARTS if not source.event.see(name)]
    if not empty:
        return []
    return [paragraph(f"Nothing was recorded of: {', '.join(empty)}.", "small")]


def signatures(source: Source) -> list[Block]:
    """Who signed, with which meaning, over what."""
    parts = source.record.parts("signatures")
    blocks = [block for part in parts for block in _signature(source, part)]
    return [heading("Signatures"), *blocks] if blocks else []


def _signature(source: Source, part: Part) -> list[Block]:
    meaning = str(part.take("meaning"))
    by = part.part("by")
    name = str(by.take("name") or "")
    at = source.shown.words("at", part.take("at"))
    who = compact([str(part.take("role") or ""), str(part.take("organization") or "")])
    rows = [
        ("By", text(compact([name, who]))),
        ("At", text(at)),
        ("Covers", text(COVERS.get(meaning, "what its digest is of"))),
        ("Digest of what was signed", text(str(part.take("digest")))),
        *source.rest(part),
    ]
    return [heading(labels.sentence(meaning), 3), pairs(rows, columns=1)]


def seal(source: Source) -> list[Block]:
    """Number, digest, link, key, and how anybody can check them."""
    record = source.record
    algorithms = record.take("algorithms") or {}
    rows: list[tuple[str, Cell]] = [
        ("Number at this station", source.shown.cell("", record.take("number"))),
        ("Record", text(str(record.take("record_id")))),
        ("Digest", text(str(source.seal.take("digest")))),
        ("Digest of the record before", text(str(record.take("previous") or "none: the first"))),
        ("Key (fingerprint)", text(str(source.seal.take("key")))),
        ("Public key", text(_public_key(source.seal.take("public_key")))),
        ("Signature", text(str(source.seal.take("signature")))),
        ("Methods", text(source.shown.words("", algorithms))),
        ("Format of the record", source.shown.cell("", record.take("format"))),
        *source.rest(source.seal),
    ]
    steps = ({"title": str(i + 1), "text": step} for i, step in enumerate(CHECKING))
    return [heading("Seal"), pairs(rows, columns=1), heading("How to check it", 3),
            {"kind": "titled", "items": list(steps)}]  # fmt: skip


CHECKING = (
    "Take the attached file data.json out of this document. It is one line: "
    '{"record":…,"seal":{…}}.',
    'The text between {"record": and ,"seal": is the record, byte for byte. Its SHA-256 must be '
    "the digest above.",
    "The signature is a detached JSON Web Signature over the same bytes (RFC 7515, RFC 7797; "
    "Ed25519). Check it with the public key, whose thumbprint (RFC 7638) must be the key above.",
    "Compare the key with the one that you were given by another way, and the digest of the "
    "record before with that record. A chain without a gap shows that nothing was taken out.",
    "What is printed here must agree with data.json. Where the two differ, data.json is the "
    "record.",
)


def _public_key(key: Any) -> str:
    if not isinstance(key, dict):
        return str(key)
    return ", ".join(f"{name} {value}" for name, value in sorted(key.items()))


def leftovers(source: Source) -> list[Block]:
    """Every value that has no place above: identifiers, above all."""
    rows = _by_list(source, [each for each in source.record.unplaced() if _worth(source, *each)])
    if not rows:
        return []
    return [heading("Identifiers"), pairs(rows, columns=1, small=True)]


def _worth(source: Source, at: str, value: Any) -> bool:
    """Whether a value says something: not nothing, nor a reference to a piece named above."""
    if value in (None, [], {}):
        return False
    return at.endswith("/id") or str(value) not in source.shown.names


def _by_list(source: Source, values: list[tuple[str, Any]]) -> list[tuple[str, Cell]]:
    """The same field of a list's elements in one line, in the order of the list."""
    lines: dict[str, list[str]] = {}
    names: dict[str, str] = {}
    for at, value in values:
        kind = _INDEX.sub("/*", at)
        names.setdefault(kind, source.place(at))
        lines.setdefault(kind, []).append(source.shown.words(at.rsplit("/", 1)[-1], value))
    return [
        (_list_label(kind, names[kind], len(words)), text("; ".join(words)))
        for kind, words in lines.items()
    ]


_INDEX = re.compile("/[0-9]+")


def _list_label(kind: str, name: str, count: int) -> str:
    name = name.removesuffix(", identifier")
    if count == 1 or "*" not in kind:
        return labels.sentence(name)
    return labels.sentence(labels.place(kind.removesuffix("/id").replace("/*", "")))
