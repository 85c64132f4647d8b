"""A client's whole book as one file: a bundle of every sealed record, with all tables beside.

Read in one snapshot of the tables' owner, and written while it is read: a row, a record or a piece
of a file is held at a time. `verify.py` checks it like any bundle; `book_tables` says what is in
it.
"""

import hashlib
import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any
from uuid import UUID

from django.db import connections

from records.documents.zipping import Member, Written, zipped
from records.errors import Conflict
from records.models import Organization, Record, SigningKey
from records.selectors import sealed, signing_keys
from records.selectors.book_tables import FORMAT, TABLES, Table
from records.selectors.bundles import heads_of, pieces_of, stems_of
from records.services.times import instant
from records.verifier import joined

_AT_ONCE = 20
_FILES = """
SELECT DISTINCT encode(f.sha256, 'hex')
  FROM (SELECT event_id, sha256 FROM records_attachment WHERE client_id = %(client)s
        UNION ALL SELECT event_id, sha256 FROM records_trace WHERE client_id = %(client)s) AS f
  JOIN records_event e ON e.row = f.event_id
 WHERE e.state = 'sealed' OR %(drafts)s
 ORDER BY 1
"""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Whose book, of which service; `drafts`: with visits that are not sealed."""

    client: UUID
    service: str
    drafts: bool = False


class Book:
    """Everything of one client; to be made and read inside of one REPEATABLE READ transaction."""

    def __init__(self, wanted: Wanted, using: str) -> None:
        """Look up the client, its heads and keys, and the time of the snapshot."""
        self.wanted, self.using = wanted, using
        self.client = Organization.objects.using(using).get(id=wanted.client)
        self.records = Record.objects.using(using).filter(client=self.client)
        self.heads = heads_of(self.records)
        self.keys = signing_keys.document_of(_keys(self.records, using))
        self.at = datetime.now(UTC).replace(microsecond=0)
        self.counts: dict[str, int] = {}

    @property
    def about(self) -> dict[str, Any]:
        """What the file says of itself."""
        return {
            "format": FORMAT,
            "client": str(self.client.id),
            "service": self.wanted.service,
            "written_at": instant(self.at),
            "drafts": self.wanted.drafts,
        }

    def stream(self) -> Iterator[bytes]:
        """The ZIP, written while it is read."""
        written: list[Written] = []
        yield from zipped(self._members(written), written)

    def _members(self, written: list[Written]) -> Iterator[Member]:
        yield self._small("README.txt", self._readme())
        yield self._small("keys.json", json.dumps(self.keys, indent=1))
        yield self._small("heads.json", json.dumps({"heads": self.heads}, indent=1))
        yield Member(joined.NAME, [joined.program()], self.at)
        for table in TABLES:
            yield Member(table.path, self._lines(table), self.at)
        yield from self._records()
        for sha256 in self._files():
            yield Member(f"files/{sha256}", _sound(sha256), self.at)
        yield self._small("datapackage.json", self._package(written))

    def _small(self, path: str, text: str) -> Member:
        return Member(path, [text.encode()], self.at)

    @property
    def _parameters(self) -> dict[str, Any]:
        return {"client": self.client.id, "drafts": self.wanted.drafts}

    def _lines(self, table: Table) -> Iterator[bytes]:
        count = 0
        query = f"COPY ({table.query()}) TO STDOUT"
        with (
            connections[self.using].cursor() as cursor,
            cursor.copy(query, self._parameters) as copy,
        ):
            for (line,) in copy.rows():
                yield str(line).encode() + b"\n"
                count += 1
        self.counts[table.path] = count

    def _records(self) -> Iterator[Member]:
        sites = self.records.values_list("site__id", "site__code").distinct()
        stems = stems_of({(str(site), code) for site, code in sites})
        rows = self.records.select_related("site", "key").prefetch_related("documents")
        for record in rows.order_by("site__code", "site", "number").iterator(_AT_ONCE):
            path = f"records/{stems[str(record.site.id)]}-{record.number:06d}"
            yield Member(f"{path}.json", [sealed.data(record)], record.sealed_at)
            for made in record.documents.all():
                if made.kind == "pdf" and made.sha256:
                    sha256 = bytes(made.sha256).hex()
                    yield Member(f"{path}.pdf", _sound(sha256), record.sealed_at)

    def _files(self) -> list[str]:
        with connections[self.using].cursor() as cursor:
            cursor.execute(_FILES, self._parameters)
            return [sha256 for (sha256,) in cursor.fetchall()]

    def _package(self, written: Sequence[Written]) -> str:
        """What is in the file (Data Package, version 2), with the columns of each table."""
        resources = [self._resource(index, each) for index, each in enumerate(written, 1)]
        package = {
            "$schema": "https://datapackage.org/profiles/2.0/datapackage.json",
            "name": "client-book",
            "title": f"Whole book of {self.client.name}",
            "book": self.about,
            "every_record": True,
            "resources": resources,
        }
        return json.dumps(package, indent=1, ensure_ascii=False)

    def _resource(self, index: int, each: Written) -> dict[str, Any]:
        told: dict[str, Any] = {
            "name": f"member-{index}",
            "path": each.path,
            "bytes": each.size,
            "hash": f"sha256:{each.sha256}",
        }
        table = next((table for table in TABLES if table.path == each.path), None)
        if table is not None:
            rows = {"rows": self.counts[table.path], "schema": table.schema()}
            told |= {"mediatype": "application/jsonl", "encoding": "utf-8"} | rows
        return told

    def _readme(self) -> str:
        heads = [f"  {each['code']}: record {each['number']}, SHA-256 {each['digest']}"
                 for each in self.heads]  # fmt: skip
        return _README.format(
            client=self.client.name,
            service=self.wanted.service,
            at=instant(self.at),
            drafts="with" if self.wanted.drafts else "without",
            heads="\n".join(heads) or "  none",
        )


def _sound(sha256: str) -> Iterator[bytes]:
    """The bytes of a stored file; `Conflict` where they are not those of its digest."""
    found = hashlib.sha256()
    for piece in pieces_of(sha256):
        found.update(piece)
        yield piece
    if found.hexdigest() != sha256:
        raise Conflict(f"a stored file is damaged: {sha256}")


def digest_of(package: bytes) -> str:
    """Names a book: the digest of the list that has those of all its members."""
    return hashlib.sha256(package).hexdigest()


def _keys(records: Any, using: str) -> list[SigningKey]:
    """Those that the client's records were sealed with, and those before that endorsed them."""
    every = {key.kid: key for key in SigningKey.objects.using(using)}
    wanted = set(records.values_list("key_id", flat=True).distinct())
    for kid in list(wanted):
        while (before := every[kid].endorsed_by_id) and before not in wanted:
            wanted.add(before)
            kid = before
    found = [every[kid] for kid in wanted]
    return sorted(found, key=lambda key: (key.valid_from, key.kid))


_README = """\
The whole book of {client}
kept by {service} until {at}, {drafts} visits that were not sealed.

records/   each sealed record for programs (JSON, as it was sealed) and for people (PDF)
files/     photographs, documents and traces, named by their SHA-256
tables/    everything else, one JSON document a line: stations, equipment with its plates, visits
           with findings, answers and signatures, limits, the audit. bytea columns are hexadecimal;
           `row` and columns that end with _id name rows of these files
keys.json  the public keys that the seals are checked with
heads.json the last record of each station, when this was made
verify.py  checks records, links, heads and files without a network:
             pip install cryptography
             python verify.py THIS-FILE.zip
           Compare the fingerprint that it prints with the one on a printed record.
datapackage.json  every file with its size, SHA-256 and columns (Data Package, version 2)

There are no accounts, passwords or tokens in it. People are names.

Whoever runs another installation takes it in with `manage.py take_in_book THIS-FILE.zip`. Keep
heads.json: `python verify.py --heads heads.json LATER.zip` shows later that nothing was dropped.

The last record of each station:
{heads}

That values agree by computation is arithmetic and not a safety approval. Nameplate, maker's
manual, local code and licensed practice come first. Before anything is set again from these
records, read the cautions in them: hazardous voltage and stored energy, lockout, rotating and
pressurised equipment, confined space, automatic restart.
"""
