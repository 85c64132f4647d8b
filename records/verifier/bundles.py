"""A bundle: a ZIP of a stranger."""

import hashlib
import json
import re
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path

from records.verifier.book import Book
from records.verifier.telling import (
    MALFORMED,
    MOST,
    MOST_PDF,
    PIECE,
    Told,
    Unusable,
    Wrong,
    shown,
    why,
)


class Bundle:
    """A ZIP whose members are read one at a time, in pieces, after a look at what it claims."""

    def __init__(self, path: Path, told: Told) -> None:
        self.told, self.name = told, path.name
        try:
            self.zip = zipfile.ZipFile(path)
        except (zipfile.BadZipFile, OSError, ValueError, EOFError, NotImplementedError) as error:
            raise Unusable(f"{path.name} is no whole ZIP, damaged or cut short: {error}") from None
        self.members = {info.filename: info for info in self.zip.infolist()}
        refused = list(self._refused(path.stat().st_size))
        if refused:
            raise Unusable(f"{path.name}: {shown(refused[0])}")
        self.listed = self._listed()

    def _refused(self, size: int) -> Iterator[str]:
        infos = sorted(self.zip.infolist(), key=lambda info: info.header_offset)
        if len(infos) != len(self.members):
            yield "a name stands for two members"
        end = 0
        for info in infos:
            name, kind = info.filename, info.external_attr >> 28
            if kind not in (0, 0o10) or name.endswith("/"):
                yield f"{name} is no plain file (a link, a folder)"
            if (
                name.startswith("/")
                or ".." in name.split("/")
                or re.search(r"[\\:\x00-\x1f]", name)
            ):
                yield f"{name} is no path inside of a bundle"
            if info.flag_bits & 1:
                yield f"{name} is encrypted"
            if info.header_offset < end:
                yield f"{name} lies over another member"
            if info.file_size > MOST and info.file_size > 300 * info.compress_size:
                yield f"{name} unpacks to {info.file_size} bytes, out of {info.compress_size}"
            end = info.header_offset + 30 + info.compress_size
        if end > size:
            yield "it ends too early: cut short"

    def _listed(self) -> dict[str, tuple[int, str]]:
        try:
            package = json.loads(self.read("datapackage.json"))
            self.every_record = package.get("every_record", True) is not False
            return {each["path"]: (each["bytes"], each["hash"]) for each in package["resources"]}
        except KeyError:
            words = "it has no datapackage.json that lists its members: cut short, or no bundle"
            raise Unusable(f"{self.name}: {words}") from None
        except MALFORMED as error:
            raise Unusable(f"{self.name}: datapackage.json: {why(error)}") from None

    def pieces(self, name: str) -> Iterator[bytes]:
        """The bytes of a member, which are never more than it says; `Wrong` if it is damaged."""
        try:
            with self.zip.open(self.members[name]) as file:
                yield from iter(lambda: file.read(PIECE), b"")
        except (zipfile.BadZipFile, zlib.error, EOFError, OSError, RuntimeError) as error:
            raise Wrong(f"it is damaged in the ZIP: {why(error)}") from None

    def whole(self, name: str, most: int) -> bytes:
        """A member in memory; `Wrong` if it is damaged."""
        if self.members[name].file_size > most:
            raise Unusable(f"{self.name}: {shown(name)} has more than {most} bytes")
        return b"".join(self.pieces(name))

    def read(self, name: str) -> bytes:
        """A list in memory, without which nothing can be checked."""
        try:
            return self.whole(name, MOST)
        except Wrong as error:
            raise Unusable(f"{self.name}: {shown(name)}: {error}") from None

    def check(self, book: Book) -> None:
        """Every member against the list, each record, each PDF against its record."""
        inside: dict[str, str | None] = {}
        found: dict[str, str] = {}
        for name in self.members:
            if name != "datapackage.json":
                try:
                    found[name] = self._check(name, book, inside)
                except Wrong as error:
                    self.told.fail(f"{self.name}/{name}", str(error))
        for name in self.listed.keys() - self.members.keys():
            self.told.fail(
                f"{self.name}/{name}",
                "datapackage.json lists it, and it is not there: cut short or taken out",
            )
        for name, mine in inside.items():
            beside = found.get(name[:-4] + ".json")
            if beside and mine and mine != beside:
                self.told.fail(
                    f"{self.name}/{name}",
                    f"the record attached to it is another than {shown(name[:-4])}.json",
                )
            elif beside and mine:
                self.told.did("PDFs that hold the record beside them")

    def _check(self, name: str, book: Book, inside: dict[str, str | None]) -> str:
        where = f"{self.name}/{name}"
        is_record = name.startswith("records/") and name.endswith((".json", ".pdf"))
        content = (
            self.whole(name, MOST_PDF if name.endswith(".pdf") else MOST) if is_record else None
        )
        counted, total = hashlib.sha256(), 0
        for piece in self.pieces(name) if content is None else [content]:
            counted.update(piece)
            total += len(piece)
        mine = counted.hexdigest()
        if name not in self.listed:
            self.told.fail(where, "datapackage.json does not list it")
        elif self.listed[name] != (total, f"sha256:{mine}"):
            self.told.fail(where, "it has other bytes than datapackage.json says")
        else:
            self.told.did("members as the bundle's own list says")
        if name.startswith("files/"):
            book.files[mine] = where
            if name.split("/")[-1].split(".")[0] != mine:
                self.told.fail(where, f"it is not what was attached: its digest is {mine}")
        elif content is not None and name.endswith(".pdf"):
            inside[name] = book.take_pdf(content, where, surely=True)
        elif content is not None:
            book.take_record(content, where, mine, surely=True)
        return mine
