"""A ZIP of a stranger, and what its members are by themselves."""

import hashlib
import re
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from records.verifier.keys import Keys
from records.verifier.looking import Checked, Found, look
from records.verifier.telling import MOST, MOST_PDF, PIECE, Unusable, Wrong, shown, why

_DAMAGED = (zipfile.BadZipFile, zlib.error, EOFError, OSError, RuntimeError, ValueError)


class Member(NamedTuple):
    """A member by itself; what is `wrong` with it, or why the bundle is `unusable` by it."""

    name: str
    size: int = 0
    digest: str = ""
    found: Found | None = None
    wrong: str = ""
    unusable: str = ""


class Zip:
    """A ZIP whose members are read one at a time, in pieces, after a look at what it claims."""

    def __init__(self, path: Path) -> None:
        self.path, self.name = path, path.name
        try:
            self.zip = zipfile.ZipFile(path)
        except (zipfile.BadZipFile, OSError, ValueError, EOFError, NotImplementedError) as error:
            raise Unusable(f"{path.name} is no whole ZIP, damaged or cut short: {error}") from None
        self.members = {info.filename: info for info in self.zip.infolist()}
        refused = list(self._refused(path.stat().st_size))
        if refused:
            raise Unusable(f"{path.name}: {shown(refused[0])}")

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
            if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
                yield f"{name} is packed by method {info.compress_type}: expected 0 or 8"
            if info.header_offset < end:
                yield f"{name} lies over another member"
            if info.file_size > MOST and info.file_size > 300 * info.compress_size:
                yield f"{name} unpacks to {info.file_size} bytes, out of {info.compress_size}"
            end = info.header_offset + 30 + info.compress_size
        if end > size:
            yield "it ends too early: cut short"

    def pieces(self, name: str) -> Iterator[bytes]:
        """The bytes of a member, which are never more than it says; `Wrong` if it is damaged."""
        try:
            with self.zip.open(self.members[name]) as file:
                yield from iter(lambda: file.read(PIECE), b"")
        except _DAMAGED as error:
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

    def look(self, name: str, keys: Keys, checked: Checked) -> Member:
        """A member by itself."""
        try:
            if name.startswith("records/") and name.endswith((".json", ".pdf")):
                is_pdf = name.endswith(".pdf")
                data = self.whole(name, MOST_PDF if is_pdf else MOST)
                found = look(data, f"{self.name}/{name}", is_pdf, keys, checked)
                return Member(name, len(data), found.digest, found)
            counted, size = hashlib.sha256(), 0
            for piece in self.pieces(name):
                counted.update(piece)
                size += len(piece)
            return Member(name, size, counted.hexdigest())
        except Wrong as error:
            return Member(name, wrong=str(error))
        except Unusable as error:
            return Member(name, unusable=str(error))
