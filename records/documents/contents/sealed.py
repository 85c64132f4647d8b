"""Who signed what, and the seal: how anybody can see that nothing was changed."""

from itertools import chain
from typing import Any

from records.documents import labels
from records.documents.blocks import Block, heading, pairs, together
from records.documents.contents.source import Source, compact
from records.documents.placing import Part
from records.documents.shown import Cell, text

COVERS = {
    "performed": "the event's document, the nameplates it was judged against, the version of the "
    "catalogue with the limits that were changed, the findings shown and the files kept",
    "reviewed": "what was signed as performed, and the answers to the findings",
    "witnessed": "what was signed as performed, and the answers to the findings",
}


def signatures(source: Source) -> list[Block]:
    """Who signed, with which meaning, over what."""
    parts = source.record.parts("signatures")
    signed = [_signature(source, part) for part in parts]
    if not signed:
        return []
    # One signature is never parted, the first never from the heading, and two stand together.
    first, rest = signed[:_BESIDE], signed[_BESIDE:]
    title = heading("Signatures")
    return [together([title, *chain(*first)]), *(together(each) for each in rest)]


# So many signatures surely fit on one page.
_BESIDE = 4


def _signature(source: Source, part: Part) -> list[Block]:
    meaning = str(part.take("meaning"))
    by = part.part("by")
    name = str(by.take("name") or "")
    at = source.shown.words("at", part.take("at"))
    who = compact([str(part.take("role") or ""), str(part.take("organization") or "")])
    rows = [
        ("By", text(compact([name, who]))),
        *_named_otherwise(source, meaning, name),
        ("At", text(at)),
        ("Covers", text(COVERS.get(meaning, "what its digest is of"))),
        ("Digest of what was signed", text(str(part.take("digest")))),
        *_on_a_device(source, part.part("device")),
        *source.rest(part),
    ]
    return [heading(labels.sentence(meaning), 3), pairs(rows, columns=1)]


def _on_a_device(source: Source, device: Part) -> list[tuple[str, Cell]]:
    """When, with which key and over what it was signed there; nothing where it was not."""
    if not device:
        return []
    statement = device.part("statement")
    shown = statement.take("findings") or ()
    rows = [
        ("Signed on a device, by its clock", source.shown.words("at", statement.take("signed_at"))),
        ("Shown there", ", ".join(str(each["rule"]) for each in shown) or "no finding"),
        ("Statement", compact([f"{name} {value}" for name, value in _said(statement)])),
        ("Digest of the statement", str(device.take("digest"))),
        ("Device’s key (fingerprint)", str(statement.take("key"))),
        ("Device’s public key", _public_key(device.take("public_key"))),
        ("Key registered", source.shown.words("at", device.take("key_since"))),
        ("Signature of the device", str(device.take("signature"))),
    ]
    return [(name, text(words)) for name, words in rows]


def _said(statement: Part) -> list[tuple[str, str]]:
    """The statement's digests and names; what is of itself in the record stands there."""
    by = statement.part("by")
    for name in ("id", "name"):
        by.take(name)
    files = [each["sha256"] for each in statement.take("attachments") or ()]
    listed = {"files": ", ".join(files), "traces": ", ".join(statement.take("traces") or ())}
    names = ("form", "document", "nameplates", "catalogue", "limits_changed", "event", "meaning")
    said = {name.replace("_", " "): str(statement.take(name)) for name in names} | listed
    return [(name, words) for name, words in said.items() if words]


def _named_otherwise(source: Source, meaning: str, name: str) -> list[tuple[str, Cell]]:
    """Whom the visit names, where the account that signed it writes the name in another way."""
    named = str(source.event.part("parties").see("performed_by") or "")
    if meaning != "performed" or not named or _plain(named) == _plain(name):
        return []
    return [("The visit names", text(named))]


def _plain(name: str) -> str:
    return " ".join(name.split()).casefold()


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
    check = together([heading("How to check it", 3), {"kind": "titled", "items": list(steps)}])
    return [heading("Seal"), pairs(rows, columns=1), check]


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
    "The program verify.py does all of this without a network: the service hands it out at "
    "/verify.py, and in every bundle of records.",
)


def _public_key(key: Any) -> str:
    if not isinstance(key, dict):
        return str(key)
    return ", ".join(f"{name} {value}" for name, value in sorted(key.items()))
