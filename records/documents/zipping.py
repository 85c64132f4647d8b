"""A ZIP that is written while it is read: nothing of it is kept but the list of its members."""

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import groupby
from zipfile import ZIP_STORED, ZipFile, ZipInfo

_PIECE = 1 << 18
_EARLIEST = datetime(1980, 1, 1, tzinfo=UTC)  # what a ZIP can say
_READABLE = 0o100644 << 16


@dataclass(frozen=True, slots=True)
class Member:
    """A file of a ZIP. `sha256` is empty where it is to be found out on the way."""

    path: str
    pieces: Iterable[bytes]
    at: datetime
    sha256: str = ""


@dataclass(frozen=True, slots=True)
class Written:
    """What has gone into the ZIP."""

    path: str
    size: int
    sha256: str


def zipped(members: Iterable[Member], written: list[Written]) -> Iterator[bytes]:
    """The bytes of a ZIP (stored, not compressed); `written` grows by each member that is in it."""
    drain = _Drain()
    with ZipFile(drain, "w", ZIP_STORED) as archive:  # type: ignore[call-overload]
        for member in members:
            info = ZipInfo(member.path, max(member.at.astimezone(UTC), _EARLIEST).timetuple()[:6])
            info.external_attr = _READABLE
            size, digest = 0, None if member.sha256 else hashlib.sha256()
            with archive.open(info, "w", force_zip64=True) as file:
                for piece in member.pieces:
                    file.write(piece)
                    size += len(piece)
                    if digest:
                        digest.update(piece)
                    if drain.size > _PIECE:
                        yield from drain.emptied()
            found = digest.hexdigest() if digest else member.sha256
            written.append(Written(member.path, size, found))
    yield from drain.emptied()


class _Drain:
    """A file that is only written, in order; what has come is taken out from time to time."""

    def __init__(self) -> None:
        self._pieces: list[bytes] = []
        self.size = 0

    def write(self, piece: bytes) -> int:
        self._pieces.append(bytes(piece))
        self.size += len(piece)
        return len(piece)

    def flush(self) -> None:
        """Nothing waits here."""

    def emptied(self) -> Iterator[bytes]:
        """Everything since the last time: what is large as it came, what is small joined."""
        taken, self._pieces, self.size = self._pieces, [], 0
        for large, pieces in groupby(taken, key=lambda piece: len(piece) > _PIECE):
            if large:
                yield from pieces
            else:
                yield b"".join(pieces)
