"""Sheets of what the catalogue said, and of who answered, signed and sealed."""

from collections.abc import Iterator, Mapping
from typing import Any

from records.documents import labels
from records.documents.contents import cautions as contents
from records.documents.contents.sealed import CHECKING, COVERS
from records.documents.contents.source import Source, seriousness
from records.documents.pieces import Pieces
from records.documents.readings import entered
from records.documents.workbook.sheets import VALUE_HEADS, Digits, Row, Sheet, Value, valued

Document = Mapping[str, Any]


def _judged(source: Source, name: str) -> list[Document]:
    return list(source.judgement.see(name) or ())


def _findings(source: Source) -> list[Document]:
    """In the order and with the numbers of the PDF: the most serious first."""
    return sorted(_judged(source, "findings"), key=seriousness)


def findings(source: Source) -> Sheet:
    """A row for each finding; further answers in rows of their own."""
    heads = ("No.", "Severity", "Finding", "Rule", "About", "Limit", "Source", "Remedy",
             "Only to be corrected", "Answer", "Accepted", "Answered by", "Role", "At")  # fmt: skip
    rows = [row for n, each in enumerate(_findings(source)) for row in _finding(source, n, each)]
    words = "Their values stand on the next sheet."
    return Sheet("Findings", heads, rows, (words if rows else "No rule made a finding.",))


def _finding(source: Source, index: int, told: Document) -> Iterator[Row]:
    first: Row = (
        index + 1, labels.word(told["severity"]), told["sentence"], told["rule"],
        source.place(told["subject"]), told.get("limit"), told.get("source"), told.get("remedy"),
        "yes" if told.get("correct_only") else "no",
    )  # fmt: skip
    answers = [a for a in source.record.see("answers") or () if a["finding"] == told["id"]]
    if not answers:
        yield first
    for answer in answers:
        yield (*first, *_answer(source, answer))
        first = (index + 1, *[None] * (len(first) - 1))


def _answer(source: Source, answer: Document) -> Row:
    accepted = "accepted" if answer["accepted"] else "not accepted"
    at = source.shown.words("at", answer["at"])
    return (answer["text"], accepted, answer["by"], labels.word(answer["role"]), at)


def finding_values(source: Source) -> Sheet:
    """The values that findings compare."""
    rows = [
        (n + 1, told["rule"], labels.label(value["name"]), *valued(entered(value)))
        for n, told in enumerate(_findings(source))
        for value in told.get("compared") or ()
    ]
    return Sheet("Finding values", ("No.", "Rule", "What", *VALUE_HEADS), rows)


def not_judged(source: Source) -> Sheet:
    """Rules that could not judge, with what they need."""
    rows = [
        (
            told["rule"],
            source.place(told["subject"]) or "the whole",
            "; ".join(source.place(need) for need in told.get("needs") or ()),
            told.get("waits_for"),
            told.get("because"),
        )
        for told in _judged(source, "not_evaluated")
    ]
    words = (
        "These rules neither passed nor failed. They say nothing until they have what they need."
    )
    return Sheet("Not judged", ("Rule", "Of", "Needs", "Waits for", "Because"), rows, (words,))


def limits(source: Source) -> Sheet:
    """Every limit that applied; those that differ from the catalogue's own with the reason."""
    changed = {
        f"{each['rule']}.{each['limit']}": each for each in _judged(source, "limits_changed")
    }
    rows = [
        (
            *_limit_name(name),
            *valued(entered(value))[:2],
            *_changed(source, changed.pop(name, None)),
        )
        for name, value in sorted((source.judgement.see("limits") or {}).items())
    ]
    rows += [
        (*_limit_name(name), *valued(entered(each))[:2], *_changed(source, each))
        for name, each in changed.items()
    ]
    heads = ("Rule", "Limit", "Value", "Unit", "In the catalogue", "Unit", "Way", "Why", "Set by",
             "Set at")  # fmt: skip
    words = "Where nothing stands under In the catalogue, the limit is the catalogue's own."
    return Sheet("Limits", heads, rows, (words,))


def _limit_name(name: str) -> tuple[str, str]:
    rule, _, limit = name.rpartition(".")
    return rule, limit.replace("-", " ")


def _changed(source: Source, told: Document | None) -> tuple[Value, ...]:
    if told is None:
        return ()
    way = {True: "looser", False: "tighter"}.get(told.get("looser"), "")  # type: ignore[arg-type]
    at = source.shown.words("at", told["set_at"]) if told.get("set_at") else None
    own = valued(entered(told["catalogue"]))[:2]
    return (*own, way, told.get("reason"), told.get("set_by"), at)


def derived(source: Source) -> Sheet:
    """Values that follow from what is known, with formula and source."""
    pieces = Pieces(source.record.value)
    rows = [
        (
            labels.dotted(told["id"]), source.place(told["subject"]), *pieces.of(told["subject"]),
            *valued(entered(told)), told["formula"], told["source"], told["id"],
        )
        for told in _judged(source, "derived")
    ]  # fmt: skip
    heads = ("What", "Of", "Tag", "Serial", *VALUE_HEADS, "Formula", "Source", "Id")
    words = f"Computed under catalogue {source.judgement.see('catalogue')}. {contents.ARITHMETIC}"
    return Sheet("Derived", heads, rows, (words,))


def signatures(source: Source) -> Sheet:
    """Who signed what, when, with which meaning."""
    rows = [
        (
            labels.sentence(told["meaning"]), told["by"]["name"], labels.word(told["role"]),
            told["organization"], source.shown.words("at", told["at"]),
            COVERS.get(told["meaning"], "what its digest is of"), told["digest"],
            *_on_a_device(source, told.get("device")),
        )
        for told in source.record.see("signatures") or ()
    ]  # fmt: skip
    heads = (
        "Meaning", "By", "Role", "Organization", "At", "Covers", "Digest of what was signed",
        "Signed on a device, by its clock", "Digest of the statement", "Device’s key",
    )  # fmt: skip
    return Sheet("Signatures", heads, rows)


def _on_a_device(source: Source, device: Any) -> Row:
    if not device:
        return ("", "", "")
    signed_at = source.shown.words("at", device["statement"]["signed_at"])
    return (signed_at, device["digest"], device["statement"]["key"])


def seal(source: Source) -> Sheet:
    """Number, digest, link, key: the file data.json is what can be checked."""
    record, beside = source.record, source.seal
    rows: list[Row] = [
        ("Number at this station", record.see("number")),
        ("Record", record.see("record_id")),
        ("Sealed", source.shown.words("sealed_at", record.see("sealed_at"))),
        ("Digest", beside.see("digest")),
        ("Digest of the record before", record.see("previous") or "none: the first"),
        ("Key (fingerprint)", beside.see("key")),
        ("Public key", source.shown.words("", beside.see("public_key"))),
        ("Signature", beside.see("signature")),
        ("Methods", source.shown.words("", record.see("algorithms"))),
        ("Format of the record", record.see("format")),
    ]
    rows += [(f"How to check, {n + 1}", words) for n, words in enumerate(CHECKING[1:])]
    words = "The seal is of data.json, not of this file: check that one."
    return Sheet("Seal", ("What", "Value"), rows, (words,))


def files(source: Source) -> Sheet:
    """Photographs, documents and traces that were kept, by the digest of their bytes."""
    rows: list[Row] = [
        (told["name"], labels.word(told["purpose"]), told["content_type"], told["size"], None, None,
         None, told["sha256"], told["sent_sha256"])
        for told in source.record.see("attachments") or ()
    ]  # fmt: skip
    rows += [_trace(told) for told in source.record.see("traces") or ()]
    heads = ("Name", "What it is", "Content", "Size [bytes]", "Rows", "Columns",
             "Sample interval [s]", "SHA-256", "SHA-256 as sent")  # fmt: skip
    return Sheet("Files", heads, rows, () if rows else ("No files were kept.",))


def _trace(told: Document) -> Row:
    columns = ", ".join(f"{c['name']} [{c['unit']}]" if c["unit"] else c["name"]
                        for c in told["columns"])  # fmt: skip
    interval = told.get("sample_interval")
    every = Digits(interval["value"]) if interval else None
    return (told["name"] or "Trace", "trace", "text/csv", told["size"], told["rows"], columns,
            every, told["sha256"])  # fmt: skip


def cautions(source: Source) -> Sheet:
    """All cautions that concern the reader."""
    told = contents.concerning(source.snapshot.value)
    rows = [(each["title"], each["text"]) for each in told]
    return Sheet("Cautions", ("Caution", "What it means"), rows, (contents.DEFERENCE,))
