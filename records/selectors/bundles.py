"""Many records of one client in one ZIP: what is in it, and in which order.

Only ids are held; each record is read when its turn comes, in a transaction of its own. What is
sealed does not change in between.
"""

import hashlib
import json
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from django.core.files.storage import default_storage
from django.db.models import DateField, F, Func, QuerySet
from django.db.models.functions import Cast, Length

from records import permissions
from records.documents.zipping import Kept, Member, Written, zipped
from records.models import Organization, Record
from records.permissions import Actor
from records.selectors import readings, sealed, signing_keys, traces
from records.selectors.copying import copied
from records.services.files import saved_as, stored_name
from records.services.times import instant
from records.verifier import joined

_LONG_AGO = datetime(2000, 1, 1, tzinfo=UTC)
_PDF = ("documents__sha256", "documents__size", "documents__crc32")
_AT_ONCE = 4 << 20  # bytes of texts that are read together
_PIECE = 1 << 18
_MEDIA_TYPES = {
    ".json": "application/json", ".pdf": "application/pdf", ".csv": "text/csv",
    ".txt": "text/plain", ".py": "text/x-python",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which records, by the day of the work at the station; with their files or without."""

    site: Any = None
    begin: date | None = None
    end: date | None = None
    files: bool = False


@dataclass(frozen=True, slots=True)
class _Entry:
    row: int
    site: str
    code: str
    number: int
    digest: str
    sealed_at: datetime
    size: int
    pdf: Kept | None
    path: str


class Bundle:
    """The records that an actor may have of one client."""

    def __init__(self, actor: Actor, client: Organization, wanted: Wanted, schema: str) -> None:
        """Look up which records there are; to be called inside the actor's place."""
        self.actor, self.client, self.wanted, self.schema = actor, client, wanted, schema
        self.every = sealed.rows(actor).filter(client=client)
        every = self.every.order_by("site__code", "number")
        # Of all the client's stations: whoever keeps them can ask for any of them later.
        self.heads = heads_of(every)
        every = every.filter(site=wanted.site) if wanted.site else every
        self.rows = readings.until(_within(every, wanted))
        self.entries = _entries(self.rows)
        keys = signing_keys.document()
        self.keys = json.dumps(keys, indent=1).encode()
        self.public_keys = {key["kid"]: key["public_key"] for key in keys["items"]}
        self.at = max((each.sealed_at for each in self.entries), default=_LONG_AGO)

    @property
    def has_every_record(self) -> bool:
        """Whether of each of the client's stations all numbers are there, up to its last."""
        here = Counter(each.site for each in self.entries)
        return here == {head["site"]: head["number"] for head in self.heads}

    @property
    def tag(self) -> str:
        """Names the bytes: the same records, documents, keys and heads give the same."""
        entries = [(each.path, each.digest, each.pdf.sha256 if each.pdf else "")
                   for each in self.entries]  # fmt: skip
        told = [self.wanted.files, self.keys.decode(), self.heads, joined.program().decode(),
                self.schema, entries]  # fmt: skip
        return hashlib.sha256(json.dumps(told).encode()).hexdigest()

    def stream(self) -> Iterator[bytes]:
        """The ZIP, written while it is read."""
        written: list[Written] = []
        yield from zipped(self._members(written), written)

    def _members(self, written: list[Written]) -> Iterator[Member]:
        yield self._small("README.txt", self._readme().encode())
        yield self._small("keys.json", self.keys)
        yield self._small("heads.json", json.dumps({"heads": self.heads}, indent=1).encode())
        # Readers of data packages take what is called schema.json for one of tables.
        yield self._small("record-format.json", self.schema.encode())
        yield self._small(joined.NAME, joined.program())
        there: set[str] = set()
        for some in _together(self.entries):
            for entry, data in zip(some, self._data(some), strict=True):
                yield from self._of_record(entry, data, there)
        yield Member("readings.csv", readings.stream(self.actor, self.rows), self.at)
        yield self._small("datapackage.json", self._package(written))

    def _small(self, path: str, content: bytes) -> Member:
        return Member(path, [content], self.at)

    def _data(self, entries: Sequence[_Entry]) -> Iterator[bytes]:
        """Each as `sealed.data` has it; what does not change is known already."""
        rows = self.every.filter(row__in=[each.row for each in entries])
        listed = rows.values_list("row", "canonical", "signature", "key_id")
        with permissions.while_streaming(self.actor):
            found = copied(listed, ("int8", "bytea", "text", "text"))
        by_row = {row: rest for row, *rest in found}
        for each in entries:
            canonical, signature, kid = by_row.pop(each.row)
            seal = {"digest": each.digest, "signature": signature, "key": kid,
                    "public_key": self.public_keys[kid]}  # fmt: skip
            yield sealed.written(canonical, seal)

    def _of_record(self, entry: _Entry, data: bytes, there: set[str]) -> Iterator[Member]:
        yield Member(f"{entry.path}.json", [data], entry.sealed_at)
        if entry.pdf:
            yield _stored(f"{entry.path}.pdf", entry.pdf, entry.sealed_at)
        for name, kept in _files(data) if self.wanted.files else ():
            if kept.sha256 not in there:
                there.add(kept.sha256)
                yield _stored(f"files/{kept.sha256}{_ending(name)}", kept, entry.sealed_at)

    def _package(self, written: Sequence[Written]) -> bytes:
        """What is in the bundle (Data Package, version 2)."""
        resources = [
            {
                "name": f"{Path(each.path).stem.lower().replace(' ', '-')}-{index}",
                "path": each.path,
                "mediatype": _MEDIA_TYPES.get(Path(each.path).suffix, "application/octet-stream"),
                "bytes": each.size,
                "hash": f"sha256:{each.sha256}",
            }
            for index, each in enumerate(written, 1)
        ]
        package = {
            "$schema": "https://datapackage.org/profiles/2.0/datapackage.json",
            "name": "sealed-records",
            "title": f"Sealed records of {self.client.name}",
            "every_record": self.has_every_record,
            "without_document": [each.path for each in self.entries if not each.pdf],
            "resources": resources,
        }
        return json.dumps(package, indent=1, ensure_ascii=False).encode()

    def _readme(self) -> str:
        heads = [f"  {each['code']}: record {each['number']}, SHA-256 {each['digest']}"
                 for each in self.heads]  # fmt: skip
        unprinted = sum(not each.pdf for each in self.entries)
        return _README.format(
            client=self.client.name,
            count=len(self.entries),
            which=_in_words(self.wanted),
            lacking="" if self.has_every_record else _LACKING,
            unprinted=_UNPRINTED.format(unprinted) if unprinted else "",
            files=_FILES if self.wanted.files else _WITHOUT_FILES,
            heads="\n".join(heads) or "  none",
        )


def _within(rows: QuerySet[Record], wanted: Wanted) -> QuerySet[Record]:
    """By the day of the work as it was at the station."""
    local = Func(F("site__time_zone"), F("performed_at"), function="timezone")
    rows = rows.annotate(day=Cast(local, DateField()))
    rows = rows.filter(day__gte=wanted.begin) if wanted.begin else rows
    return rows.filter(day__lte=wanted.end) if wanted.end else rows


def _entries(rows: QuerySet[Record]) -> list[_Entry]:
    listed = list(
        rows.values_list(
            "row", "site__id", "site__code", "number", "digest", "sealed_at", Length("canonical")
        )
    )
    made = rows.filter(documents__kind="pdf", documents__sha256__isnull=False)
    pdfs = {row: Kept(bytes(sha256).hex(), size, crc32)
            for row, sha256, size, crc32 in made.values_list("row", *_PDF)}  # fmt: skip
    stems = stems_of({(str(site), code) for _, site, code, *_ in listed})
    return [
        _Entry(
            row, str(site), code, number, bytes(digest).hex(), at, size,
            pdfs.get(row), f"records/{stems[str(site)]}-{number:06d}",
        )
        for row, site, code, number, digest, at, size in listed
    ]  # fmt: skip


def _together(entries: Sequence[_Entry]) -> Iterator[list[_Entry]]:
    """So many at a time as are not much to hold."""
    some, size = list[_Entry](), 0
    for each in entries:
        some.append(each)
        size += each.size
        if size >= _AT_ONCE:
            yield some
            some, size = [], 0
    if some:
        yield some


def stems_of(sites: set[tuple[str, str]]) -> dict[str, str]:
    """How files of each station begin: two must not meet where capitals do not count."""
    folded = [code.casefold() for _, code in sites]
    return {
        site: code if folded.count(code.casefold()) == 1 else f"{code} {site[-8:]}"
        for site, code in sites
    }


def heads_of(rows: QuerySet[Record]) -> list[dict[str, Any]]:
    """The last record of each station."""
    last = rows.order_by("site", "-number").distinct("site")
    named = last.values_list("site__id", "site__code", "number", "digest", "sealed_at")
    heads = [
        {"site": str(site), "code": code, "number": number, "digest": bytes(digest).hex(),
         "sealed_at": instant(at)}
        for site, code, number, digest, at in named
    ]  # fmt: skip
    return sorted(heads, key=lambda head: str(head["code"]))


def _files(data: bytes) -> list[tuple[str, Kept]]:
    """Name, digest and size of what a record's text names."""
    text = json.loads(data)["record"]
    told = [*text["attachments"], *map(traces.as_file, text["traces"])]
    return [
        (saved_as(each["name"], each["content_type"]), Kept(each["sha256"], each["size"]))
        for each in told
    ]


def _ending(name: str) -> str:
    """What a free name ends with, where every system and `verify.py` take it in a path."""
    ending = Path(name).suffix
    return ending if re.fullmatch(r"\.[A-Za-z0-9]{1,8}", ending) else ""


def _stored(path: str, kept: Kept, at: datetime) -> Member:
    pieces: Iterable[bytes] = pieces_of(kept.sha256)
    if kept.crc32 is None and kept.size <= _AT_ONCE:
        pieces = list(pieces)  # so that its numbers stand in front of it
    return Member(path, pieces, at, kept)


def pieces_of(sha256: str) -> Iterator[bytes]:
    with default_storage.open(stored_name(bytes.fromhex(sha256))) as file:
        yield from file.chunks(_PIECE)


def _in_words(wanted: Wanted) -> str:
    words = f"of station {wanted.site.code}" if wanted.site else "of all stations"
    words += f", work performed from {wanted.begin}" if wanted.begin else ""
    return words + (f", work performed until {wanted.end}" if wanted.end else "")


_LACKING = "These are not all records up to the last of each station.\n"
_UNPRINTED = (
    "           Of {} of them the PDF was not made yet when this was taken (without_document in\n"
    "           datapackage.json names them): take them again later.\n"
)
_FILES = "files/     what was attached, named by its SHA-256\n"
_WITHOUT_FILES = (
    "           What was attached to records (photographs, documents, traces) is not in this\n"
    "           download: each record names it with its SHA-256. With files=true it comes along.\n"
)
_README = """\
Sealed records of {client}
{count} records {which}.
{lacking}
records/   each record for programs (JSON, as it was sealed) and for people (PDF)
{unprinted}readings.csv  every quantity of all records: as entered, and in SI. It is UTF-8;
           an apostrophe in front of a text, or in it after a semicolon, tab or line end, keeps
           spreadsheets from taking it for a formula and is no part of it
{files}keys.json  the public keys that the seals are checked with
heads.json the last record of each station, when this was made
record-format.json  what stands where in a record, and of which kind (JSON Schema, 2020-12)
verify.py  checks records, links, heads and what was attached without a network. It needs
           Python 3.11 or later, and its first lines say how everything here is made:
             pip install cryptography
             python verify.py THIS-FILE.zip
           Compare the fingerprint that it prints with the one on a printed record.
           No seal is over readings.csv, the schema and this page: the records themselves count.
           Who can change a record here can change verify.py as well: better is one from the
           service, or one that you kept.
datapackage.json  every file with its size and SHA-256 (Data Package, version 2)

Keep heads.json, or this page: whoever has it can show later that nothing was dropped or
written anew. `python verify.py --heads heads.json LATER.zip` checks that.

The last record of each station:
{heads}

That values agree by computation is arithmetic and not a safety approval. Nameplate, maker's
manual, local code and licensed practice come first. Before anything is set again from these
records, read the cautions in them: hazardous voltage and stored energy, lockout, rotating and
pressurised equipment, confined space, automatic restart.
"""
