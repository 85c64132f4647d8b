"""What a program that unpacks could find in a ZIP beside what its list of members says.

Some go by what stands in front of each member, some by one of two ends, and some systems take two
names for one. So each member is said twice alike, nothing lies between them, and there is one end
(PKWARE APPNOTE 6.3.10, 4.3).
"""

import os
import struct
import zipfile
from collections.abc import Iterator
from typing import IO

from records.verifier.telling import shown

_SIZE_BEHIND = 0x8
_BEHIND = {12, 16, 20, 24}  # bytes of what may stand behind such a member
_WIDE, _NAMED_AGAIN, _IN_64_BITS = 1, 0x7075, 0xFFFFFFFF


def found_otherwise(file: IO[bytes], archive: zipfile.ZipFile) -> Iterator[tuple[str, str]]:
    """Which member, and why another program may find something else."""
    at, names = 0, dict[str, str]()
    infos = sorted(archive.infolist(), key=lambda info: info.header_offset)
    for info, after in zip(infos, [*infos[1:], None], strict=True):
        name = names.setdefault(info.filename.casefold(), info.filename)
        if name != info.filename:
            yield info.filename, f"where capitals do not count it is {shown(name)}"
        if info.header_offset != at:
            yield info.filename, "something stands before it that the list of members is silent of"
        end = _end(file, info)
        at = after.header_offset if after else archive.start_dir
        behind = at - (end or at)
        if end is None or (behind and not (info.flag_bits & _SIZE_BEHIND and behind in _BEHIND)):
            yield info.filename, "what stands in front of it differs from the list of members"
    if not _is_end(file, len(infos), archive.start_dir):
        yield "", "its end may be read in two ways"


def _end(file: IO[bytes], info: zipfile.ZipInfo) -> int | None:
    """Where a member's bytes end, if it says the same of itself as the list does."""
    file.seek(info.header_offset)
    head = file.read(30)
    if len(head) < 30:
        return None
    said = struct.unpack("<4s5H3L2H", head)
    *sums, name, more = said[6:]
    file.seek(name, os.SEEK_CUR)
    extra = _extra(file.read(more))
    wide = extra.get(_WIDE, b"")
    if _IN_64_BITS in sums[1:] and len(wide) >= 16:
        packed, whole = struct.unpack("<2Q", wide[:16])[::-1]
        sums[1:] = packed, whole
    listed = [info.CRC, info.compress_size, info.file_size]
    behind = [0, 0, 0] if info.flag_bits & _SIZE_BEHIND else listed
    alike = said[2:4] == (info.flag_bits, info.compress_type) and sums in (listed, behind)
    if not alike or _NAMED_AGAIN in extra or _NAMED_AGAIN in _extra(info.extra):
        return None
    return file.tell() + info.compress_size


def _extra(fields: bytes) -> dict[int, bytes]:
    """What stands behind a member's name (4.5.1)."""
    found, at = dict[int, bytes](), 0
    while at + 4 <= len(fields):
        kind, size = struct.unpack_from("<2H", fields, at)
        found[kind] = fields[at + 4 : at + 4 + size]
        at += 4 + size
    return found


def _is_end(file: IO[bytes], count: int, start: int) -> bool:
    """Whether behind the list stand the numbers of it, and nothing else."""
    size = file.seek(0, os.SEEK_END) - start - 22
    file.seek(max(start, start + size - 76))
    tail = file.read()
    real, most = (0, 0, count, count), (0, 0, 0xFFFF, 0xFFFF)
    end = struct.unpack("<4s4H2LH", tail[-22:])
    if tail[-42:-38] != b"PK\6\7":
        return end == (b"PK\5\6", *real, size, start, 0)
    size -= 76
    record = struct.unpack("<4sQ2H2L4Q", tail[:-42])
    leads = struct.unpack("<4sLQL", tail[-42:-22])
    known = (b"PK\5\6", *real, size, start, 0)
    greatest = (b"PK\5\6", *most, _IN_64_BITS, _IN_64_BITS, 0)
    return (
        all(each in pair for each, *pair in zip(end, known, greatest, strict=True))
        and record[:2] + record[4:] == (b"PK\6\6", 44, *real, size, start)
        and leads == (b"PK\6\7", 0, start + size, 1)
    )
