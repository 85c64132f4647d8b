"""A ZIP that is written while it is read: nothing of it is kept but the list of its members.

Stored and not compressed (PKWARE APPNOTE 6.3.10). Size and CRC-32 stand in front of a member where
they are known, or where all of it is at hand: who unpacks while it comes in needs them there. Else
they stand behind it, in 64 bits (4.3.9, 4.5.3). Both are the bytes that the standard library
writes. That library counts a CRC-32 of everything, and here most of it is known beforehand.
"""

import hashlib
import zlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from struct import pack

_PIECE = 1 << 18
_EARLIEST = datetime(1980, 1, 1, tzinfo=UTC)  # what a ZIP can say
_READABLE = 0o100644 << 16
_PLAIN, _VERSION = 20, 45  # the second is the first that knows 64 bits
_UNIX = 3 << 8
_SIZE_BEHIND, _UTF_8 = 0x8, 0x800
_MOST, _MOST_MEMBERS, _IN_64_BITS = (1 << 31) - 1, 0xFFFF, 0xFFFFFFFF


class Damaged(Exception):
    """What was stored comes back in another size than was noted of it."""


@dataclass(frozen=True, slots=True)
class Kept:
    """What was noted of a file when it was stored; of an older one not its CRC-32."""

    sha256: str
    size: int
    crc32: int | None = None


@dataclass(frozen=True, slots=True)
class Member:
    """A file of a ZIP; what is not `kept` of it is found out on the way, of a list beforehand."""

    path: str
    pieces: Iterable[bytes]
    at: datetime
    kept: Kept | None = None


@dataclass(frozen=True, slots=True)
class Written:
    """What has gone into the ZIP."""

    path: str
    size: int
    sha256: str


def zipped(members: Iterable[Member], written: list[Written]) -> Iterator[bytes]:
    """The bytes of a ZIP; `written` grows by each member that is in it.

    `Damaged` ends it before it has a list of its members: no reader takes it for a whole one.
    """
    return _gathered(_pieces(members, written))


def _gathered(pieces: Iterable[bytes]) -> Iterator[bytes]:
    """What is large as it came, what is small joined."""
    small, size = list[bytes](), 0
    for piece in pieces:
        if len(piece) < _PIECE:
            small.append(piece)
            size += len(piece)
        if small and (size >= _PIECE or len(piece) >= _PIECE):
            yield b"".join(small)
            small, size = [], 0
        if len(piece) >= _PIECE:
            yield piece
    if small:
        yield b"".join(small)


def _pieces(members: Iterable[Member], written: list[Written]) -> Iterator[bytes]:
    directory, end = list[bytes](), 0
    for member in members:
        sums = _Sums(member)
        head = _head(member, sums)
        yield head
        for piece in member.pieces:
            sums.send(piece)
            yield piece
        sums.require_kept()
        behind = (
            b"" if sums.in_front else pack("<4sL2Q", b"PK\7\10", sums.crc32, sums.size, sums.size)
        )
        yield behind
        written.append(Written(member.path, sums.size, sums.sha256))
        directory.append(_listed(member, sums, end))
        end += len(head) + sums.size + len(behind)
    yield from directory
    yield _ending(len(directory), sum(map(len, directory)), end)


class _Sums:
    """Size, CRC-32 and SHA-256 of a member: as they were noted, or else counted."""

    def __init__(self, member: Member) -> None:
        self.path, self.kept = member.path, member.kept
        self._sent, self._crc32, self._digest = 0, 0, hashlib.sha256()
        self._at_hand = isinstance(member.pieces, list)
        if self._at_hand:
            for piece in member.pieces:
                self._count(piece)
            self.require_kept()

    @property
    def in_front(self) -> bool:
        """Whether everything is known before anything is sent."""
        return self._at_hand or (self.kept is not None and self.kept.crc32 is not None)

    def send(self, piece: bytes) -> None:
        if not self._at_hand:
            self._count(piece)

    def _count(self, piece: bytes) -> None:
        self._sent += len(piece)
        if self.kept is None or self.kept.crc32 is None:
            self._crc32 = zlib.crc32(piece, self._crc32)
        if self.kept is None:
            self._digest.update(piece)

    @property
    def size(self) -> int:
        return self.kept.size if self.kept else self._sent

    @property
    def crc32(self) -> int:
        known = self.kept.crc32 if self.kept else None
        return self._crc32 if known is None else known

    @property
    def sha256(self) -> str:
        return self.kept.sha256 if self.kept else self._digest.hexdigest()

    def require_kept(self) -> None:
        """As many bytes as were stored."""
        if self.kept and self.kept.size != self._sent:
            words = f"{self._sent} bytes are there, and {self.kept.size} were stored"
            raise Damaged(f"{self.path} ({self.kept.sha256}): {words}")


def _head(member: Member, sums: _Sums) -> bytes:
    """What stands in front of a member: with its numbers where they are known."""
    name, large = member.path.encode(), not sums.in_front or sums.size > _MOST
    numbers = (sums.crc32, sums.size) if sums.in_front else (0, 0)
    size = _IN_64_BITS if large else sums.size
    more = pack("<2H2Q", 1, 16, numbers[1], numbers[1]) if large else b""
    said = (_VERSION if large else _PLAIN, *_said(member, sums))
    lengths = (len(name), len(more))
    return pack("<4s5H3L2H", b"PK\3\4", *said, numbers[0], size, size, *lengths) + name + more


def _said(member: Member, sums: _Sums) -> tuple[int, int, int, int]:
    """Flags, method, time and day, as they stand in both of a member's heads."""
    flags = 0 if sums.in_front else _SIZE_BEHIND
    flags |= 0 if member.path.isascii() else _UTF_8
    at = max(member.at.astimezone(UTC), _EARLIEST)
    day = (at.year - 1980) << 9 | at.month << 5 | at.day
    return flags, 0, at.hour << 11 | at.minute << 5 | at.second // 2, day


def _listed(member: Member, sums: _Sums, start: int) -> bytes:
    """A member's entry in the list at the end; large numbers stand behind its name."""
    name = member.path.encode()
    sizes = [sums.size, sums.size] if sums.size > _MOST else []
    large = sizes + ([start] if start > _MOST else [])
    more = pack(f"<2H{len(large)}Q", 1, 8 * len(large), *large) if large else b""
    size = _IN_64_BITS if sizes else sums.size
    version = _VERSION if large or not sums.in_front else _PLAIN
    said = (_UNIX | version, version, *_said(member, sums))
    entry = pack(
        "<4s6H3L5H2L",
        *(b"PK\1\2", *said, sums.crc32, size, size, len(name), len(more)),
        *(0, 0, 0, _READABLE, _IN_64_BITS if start > _MOST else start),
    )
    return entry + name + more


def _ending(count: int, size: int, start: int) -> bytes:
    """What leads to the list of members."""
    more = b""
    if count > _MOST_MEMBERS or size > _MOST or start > _MOST:
        sums = (count, count, size, start)
        more = pack("<4sQ2H2L4Q", b"PK\6\6", 44, _VERSION, _VERSION, 0, 0, *sums)
        more += pack("<4sLQL", b"PK\6\7", 0, start + size, 1)
    count = min(count, _MOST_MEMBERS)
    size, start = min(size, _IN_64_BITS), min(start, _IN_64_BITS)
    return more + pack("<4s4H2LH", b"PK\5\6", 0, 0, count, count, size, start, 0)
