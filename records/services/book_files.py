"""A file with a client's book, as a stranger sent it: checked before anything of it is taken in."""

import io
import json
from collections.abc import Iterator, Sequence
from contextlib import redirect_stdout
from datetime import datetime
from functools import cached_property
from pathlib import Path
from typing import Any, NamedTuple
from uuid import UUID

from records.errors import Conflict
from records.selectors.book_tables import ALWAYS_EMPTY, FORMAT, TABLES, Table
from records.selectors.books import digest_of
from records.verifier.book import Book, Head, read_heads
from records.verifier.bundles import Bundle
from records.verifier.keys import Keys
from records.verifier.telling import BEGIN, BESIDE, MALFORMED, MOST, Told, Unusable, Wrong


class Text(NamedTuple):
    """A sealed record: what stands in its text, and its seal."""

    record: UUID
    canonical: bytes
    digest: bytes
    signature: str
    key: str
    pdf: bytes | None
    size: int | None
    crc32: int | None


class BookFile:
    """The file, open. `Conflict` says in words what keeps it from being taken in."""

    def __init__(self, path: Path) -> None:
        """Look at what it says of itself."""
        if not path.is_file():
            raise Conflict(f"{path} is no file")
        self.path, self.said = path, io.StringIO()
        self._told = Told()
        try:
            self.bundle = Bundle(path, self._told)
            text = self.bundle.read("datapackage.json")
        except (Unusable, Wrong) as error:
            raise Conflict(f"{path.name}: {error}") from None
        self.digest = digest_of(text)
        self.package: dict[str, Any] = json.loads(text)
        self._read_about()
        self.defaults = {table.name: self._defaults(table) for table in TABLES}

    def _read_about(self) -> None:
        about = self.package.get("book")
        if not isinstance(about, dict):
            raise Conflict("it is no client's book: expected a file of take_out_book")
        if about.get("format") != FORMAT:
            raise Conflict(f"it is of format {about.get('format')}: expected {FORMAT}")
        try:
            self.client = UUID(about["client"])
            self.written_at = datetime.fromisoformat(about["written_at"])
            self.service, self.drafts = str(about["service"]), about["drafts"] is True
        except MALFORMED as error:
            raise Conflict(f"what it says of itself cannot be read: {error}") from None
        if not self.service.strip():
            raise Conflict("it does not say which service it comes from")
        self.rows = {each["path"]: each for each in self.package["resources"]}
        if not all(isinstance(path, str) for path in self.rows):
            raise Conflict("datapackage.json has a path that is no text")
        for name in ("keys.json", "heads.json"):
            if name not in self.bundle.members:
                raise Conflict(f"{name} is not in it: expected a file of take_out_book")
        paths = {path for path in self.rows if path.startswith("tables/")}
        wanted = {table.path for table in TABLES}
        if paths - ALWAYS_EMPTY != wanted:
            raise Conflict(f"other tables than expected: {', '.join(sorted(paths ^ wanted))}")

    def _defaults(self, table: Table) -> dict[str, Any]:
        """What an older file's rows lack; refused where nothing can stand in for it."""
        try:
            told = [field["name"] for field in self.rows[table.path]["schema"]["fields"]]
        except MALFORMED:
            raise Conflict(f"{table.path}: its columns are not told") from None
        unknown = set(told) - set(table.columns)
        lacking = [field for field in table.fields if field.column not in told]
        needed = [
            f.column for f in lacking if not (f.null or (f.has_default() and f.column != "id"))
        ]
        if unknown or needed:
            names = ", ".join(map(str, [*sorted(unknown), *needed]))
            raise Conflict(
                f"{table.path} has other columns than this version ({names}): bring both"
                " installations to the same version first"
            )
        return {str(f.column): None if f.null else f.get_default() for f in lacking}

    def check(self, fingerprints: Sequence[str], kept: Path | None) -> str:
        """Every member, seal, link, key and head, as `verify.py` does; what was checked, in words.

        With `fingerprints` those keys alone are trusted, and those that they endorse; `kept` is
        a file of heads from earlier.
        """
        told = self._told
        with redirect_stdout(self.said):
            try:
                heads = read_heads(kept.read_bytes(), str(kept)) if kept else []
                self._check(told, fingerprints, heads)
            except (Unusable, Wrong) as error:
                told.refuse(self.path.name, str(error))
            status = told.end()
        if status:
            raise Conflict("nothing is taken in, since it is not right:\n" + self.said.getvalue())
        return self.said.getvalue()

    def _check(self, told: Told, fingerprints: Sequence[str], kept: list[Head]) -> None:
        keys = Keys(told)
        if self.has_records:
            keys.take(self.bundle.read("keys.json"), "keys.json")
        roots = [str(each["kid"]) for each in keys.given if each["endorsed_by"] is None]
        keys.trust(list(fingerprints) or roots)
        told.notes += [f"Compare with paper, or with keys that you kept: {kid}" for kid in roots]
        book = Book(told, keys)
        self.bundle.check(book)
        heads = read_heads(self.bundle.read("heads.json"), "heads.json")
        book.end({head.site: head for head in heads}, kept, whole=True)

    @property
    def has_records(self) -> bool:
        """Whether anything was sealed."""
        return any(name.startswith("records/") for name in self.bundle.members)

    def keys(self) -> list[dict[str, Any]]:
        """The keys that it was sealed with, in their order."""
        found: list[dict[str, Any]] = json.loads(self.bundle.read("keys.json"))["items"]
        for each in found:
            for name in ("algorithm", "endorsement", "origin"):
                told = each.get(name)
                if not (isinstance(told, str) or (told is None and name == "origin")):
                    raise Conflict(f"keys.json: expected text as {name} of key {each['kid']}")
        return found

    def lines(self, table: Table) -> Iterator[str]:
        """The rows of a table, each as its JSON document."""
        count = 0
        with self.bundle.zip.open(self.bundle.members[table.path]) as file:
            while line := file.readline(MOST):
                yield line.decode()
                count += 1
        if count != self.rows[table.path].get("rows"):
            raise Conflict(f"{table.path} has {count} rows, and its list says otherwise")

    def texts(self) -> Iterator[Text]:
        """Every sealed record."""
        for name in self.bundle.members:
            if name.startswith("records/") and name.endswith(".json"):
                try:
                    yield _text(self.bundle.read(name), *self._pdf(f"{name[:-5]}.pdf"))
                except MALFORMED as error:
                    raise Conflict(f"{name}: expected a UUID as its record_id: {error}") from None

    def _pdf(self, name: str) -> tuple[bytes | None, int | None, int | None]:
        """Digest, size and CRC-32, all found right when the member was read."""
        if name not in self.bundle.members:
            return None, None, None
        size, told = self.bundle.listed[name]
        return _digest(told), size, self.bundle.members[name].CRC

    def files(self) -> Iterator[tuple[bytes, int, str]]:
        """Digest, size and member of whatever is kept under its digest."""
        for name, (size, told) in self.bundle.listed.items():
            if name.startswith("files/") or (name.startswith("records/") and name.endswith("pdf")):
                yield _digest(told), size, name

    @cached_property
    def _members(self) -> dict[bytes, str]:
        return {digest: name for digest, _, name in self.files()}

    def member_of(self, digest: bytes) -> str:
        """The member that is kept under a digest, which is in it."""
        return self._members[digest]

    def pieces(self, name: str) -> Iterator[bytes]:
        """The bytes of a member."""
        try:
            yield from self.bundle.pieces(name)
        except Wrong as error:
            raise Conflict(f"{name}: {error}") from None


def _digest(told: str) -> bytes:
    return bytes.fromhex(told.removeprefix("sha256:"))


def _text(data: bytes, *pdf: Any) -> Text:
    end = data.rindex(BESIDE)
    canonical, seal = data[len(BEGIN) : end], json.loads(data[end + len(BESIDE) : -1])
    return Text(
        UUID(json.loads(canonical)["record_id"]),
        canonical,
        bytes.fromhex(seal["digest"]),
        seal["signature"],
        seal["key"],
        *pdf,
    )
