"""A ZIP that is written while it is read."""

import bisect
import hashlib
import io
import itertools
import shutil
import struct
import subprocess
import sys
import tracemalloc
import zipfile
import zlib
from dataclasses import replace
from datetime import UTC, datetime, timedelta, timezone

import pytest

from records.documents.zipping import Damaged, Kept, Member, zipped

AT = datetime(2026, 3, 14, 9, 30, 12, tzinfo=UTC)


def read(members, written=None):
    pieces = list(zipped(members, [] if written is None else written))
    return zipfile.ZipFile(io.BytesIO(b"".join(pieces)))


def test_members_come_back_as_they_went_in_and_are_written_down():
    large = bytes(range(256)) * 4096
    written = []
    archive = read([Member("a/b.txt", [b"one", b"", b"two"], AT),
                    Member("large", [large, large, b"end"], AT),
                    Member("empty", [], AT)], written)  # fmt: skip
    assert archive.testzip() is None
    assert archive.read("a/b.txt") == b"onetwo"
    assert archive.read("large") == large + large + b"end"
    assert archive.read("empty") == b""
    assert [(each.path, each.size) for each in written] == [
        ("a/b.txt", 6), ("large", 2 * len(large) + 3), ("empty", 0),
    ]  # fmt: skip
    assert written[0].sha256 == hashlib.sha256(b"onetwo").hexdigest()


def by_the_library(members, file, known):
    """The same as the standard library writes it: to what cannot seek, it puts sizes behind."""
    with zipfile.ZipFile(file, "w", zipfile.ZIP_STORED) as archive:
        for member in members:
            info = zipfile.ZipInfo(member.path, member.at.timetuple()[:6])
            info.external_attr = 0o100644 << 16
            with archive.open(info, "w", force_zip64=not known) as written:
                for piece in member.pieces:
                    written.write(piece)


class Once:
    """Pieces that come one after the other, and are no list of which all is at hand."""

    def __init__(self, pieces):
        self.pieces = pieces

    def __iter__(self):
        return iter(self.pieces)


class Line:
    def __init__(self):
        self.taken = bytearray()

    def write(self, piece):
        self.taken += piece
        return len(piece)

    def flush(self):
        pass


SEVERAL = {
    "none": [],
    "two": [Member("records/B-01.json", [b"one", b"two"], AT), Member("ohne Größe", [], AT)],
    "large": [Member("large", [bytes(range(256)) * 4096, b"end"], AT), Member("small", [b"1"], AT)],
    "more than 16 bits can count": [Member(str(number), [], AT) for number in range(66_000)],
}


@pytest.mark.skipif(
    sys.version_info < (3, 11, 4), reason="its heads of members of unknown size were wrong before"
)
@pytest.mark.parametrize("which", SEVERAL)
def test_its_bytes_are_those_of_the_standard_library(which):
    file = Line()
    members = [replace(each, pieces=Once(each.pieces)) for each in SEVERAL[which]]
    by_the_library(members, file, known=False)
    same = b"".join(zipped(members, [])) == bytes(file.taken)
    assert same  # a difference of megabytes would take minutes to print


@pytest.mark.parametrize("which", SEVERAL)
def test_what_is_at_hand_has_its_size_in_front(which):
    file = io.BytesIO()
    by_the_library(SEVERAL[which], file, known=True)
    same = b"".join(zipped(SEVERAL[which], [])) == file.getvalue()
    assert same


STORED = b"as it was stored"
NOTED = Kept(hashlib.sha256(STORED).hexdigest(), len(STORED), zlib.crc32(STORED))
READERS = {  # what each says of a whole ZIP; the second and third read it as it comes in
    "unzip": (["unzip", "-t", "-q", "a.zip"], b"No errors"),
    "bsdtar": (["bsdtar", "-xOf", "-"], STORED),
    "funzip": (["funzip"], b"first"),
    "7zz": (["7zz", "t", "a.zip"], b"Everything is Ok"),
}


@pytest.mark.parametrize("reader", READERS)
def test_other_programs_read_it(reader, tmp_path):
    words, expected = READERS[reader]
    if not shutil.which(words[0]):
        pytest.skip(f"{words[0]} is not here")
    members = [
        Member("first.txt", [b"first"], AT),
        Member("größer.pdf", Once([STORED]), AT, NOTED),
        Member("later.csv", Once([b"a,b"]), AT),
        Member("last.json", [b"{}"], AT),
    ]
    whole = b"".join(zipped(members, []))
    (tmp_path / "a.zip").write_bytes(whole)
    ran = subprocess.run(words, cwd=tmp_path, input=whole, capture_output=True, check=False)
    assert ran.returncode == 0, ran.stderr
    assert expected in ran.stdout


def in_front(whole, path):
    """CRC-32, and size twice, in the head of the member of this path."""
    head = zipfile.ZipFile(io.BytesIO(whole)).getinfo(path).header_offset
    return struct.unpack_from("<3L", whole, head + 14)


def test_what_was_noted_of_a_file_stands_in_front_of_it_and_what_was_not_behind():
    for kept in (NOTED, replace(NOTED, crc32=None), None):
        whole = b"".join(zipped([Member("a", Once([STORED]), AT, kept)], []))
        known = kept is NOTED
        expected = (NOTED.crc32, NOTED.size, NOTED.size) if known else (0, 2**32 - 1, 2**32 - 1)
        assert in_front(whole, "a") == expected
        assert (b"PK\x07\x08" in whole) is not known


def test_a_file_whose_size_is_known_may_have_more_than_four_gigabytes():
    kept = Kept("d1", 4500 << 20, 7)
    head = next(zipped([Member("huge", itertools.repeat(bytes(1 << 20), 4500), AT, kept)], []))
    info = zipfile.ZipInfo("huge", AT.timetuple()[:6])
    info.file_size = info.compress_size = kept.size
    info.CRC = kept.crc32
    assert head.startswith(info.FileHeader())


def test_what_was_noted_of_a_file_is_taken_and_its_bytes_stay_the_same():
    content = b"as it was stored"
    digest, crc32 = hashlib.sha256(content).hexdigest(), zlib.crc32(content)
    told = [None, Kept(digest, len(content)), Kept(digest, len(content), crc32)]
    made, lists = [], []
    for kept in told:
        lists.append([])
        made.append(b"".join(zipped([Member("a", [content], AT, kept)], lists[-1])))
    assert made[0] == made[1] == made[2]
    assert lists[0] == lists[1] == lists[2]


def test_a_file_of_another_size_than_was_stored_leaves_no_whole_zip():
    sent = []
    members = [Member("a.pdf", [b"cut sho"], AT, Kept("d1", 9)), Member("b", [b"next"], AT)]
    with pytest.raises(Damaged, match=r"a\.pdf \(d1\): 7 bytes are there, and 9 were stored"):
        sent.extend(zipped(members, []))
    with pytest.raises(zipfile.BadZipFile):
        zipfile.ZipFile(io.BytesIO(b"".join(sent)))


def test_a_file_with_other_bytes_is_told_by_whoever_unpacks_it():
    noted = Kept("d1", 3, zlib.crc32(b"one"))
    archive = zipfile.ZipFile(io.BytesIO(b"".join(zipped([Member("a", [b"0ne"], AT, noted)], []))))
    assert archive.testzip() == "a"


def test_members_of_more_than_four_gigabytes_and_those_behind_them_are_found():
    piece = bytes(1 << 20)
    kept = Kept("d1", 4500 << 20, 7)
    members = [Member("huge", itertools.repeat(piece, 4500), AT, kept), Member("b", [b"next"], AT)]
    archive = zipfile.ZipFile(Pieces(zipped(members, [])))
    assert archive.getinfo("huge").file_size == 4500 << 20
    assert archive.read("b") == b"next"


class Pieces(io.RawIOBase):
    """What was written, to be read at any place; equal pieces are held once."""

    def __init__(self, pieces):
        held = {}
        self.pieces = [held.setdefault(piece, piece) for piece in pieces]
        self.starts = [0, *itertools.accumulate(map(len, self.pieces))]
        self.at = 0

    def seekable(self):
        return True

    def tell(self):
        return self.at

    def seek(self, place, whence=0):
        self.at = place + (0, self.at, self.starts[-1])[whence]
        return self.at

    def read(self, size=-1):
        end = self.starts[-1] if size < 0 else min(self.at + size, self.starts[-1])
        first = bisect.bisect_right(self.starts, self.at) - 1
        last = bisect.bisect_left(self.starts, end)
        start = self.at - self.starts[first]
        found = b"".join(self.pieces[first:last])[start : start + end - self.at]
        self.at = end
        return found


def test_times_are_utc_and_within_what_a_zip_can_say():
    east = timezone(timedelta(hours=9))
    archive = read([Member("east", [b""], AT.astimezone(east)),
                    Member("old", [b""], datetime(1970, 1, 1, tzinfo=UTC))])  # fmt: skip
    assert archive.getinfo("east").date_time == (2026, 3, 14, 9, 30, 12)
    assert archive.getinfo("old").date_time == (1980, 1, 1, 0, 0, 0)


def test_a_member_is_asked_for_when_its_turn_comes():
    asked = []

    def members():
        for name in ("first", "second"):
            asked.append(name)
            yield Member(name, [bytes(1 << 20)], AT)

    stream = zipped(members(), [])
    next(stream)
    assert asked == ["first"]


def test_nothing_is_kept_of_what_was_read():
    """A hundred files of 1 MB leave less than 8 MB behind at any moment."""
    piece = bytes(1 << 20)
    members = (Member(str(number), [piece], AT) for number in range(100))
    tracemalloc.start()
    size = sum(len(each) for each in zipped(members, []))
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert size > 100 << 20
    assert most < 8 << 20
