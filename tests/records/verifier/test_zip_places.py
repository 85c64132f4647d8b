"""ZIPs in which another program finds something else than the one that checks: none passes."""

import struct
import zipfile
import zlib

import pytest

from tests.records.verifier.making import bundle, chain, members

NAME = "records/B-01/2.json"


@pytest.fixture
def whole(key):
    return members(chain(key, range(1, 5)), key)


@pytest.fixture
def plain(whole, tmp_path):
    return bundle(tmp_path / "bundle.zip", whole).read_bytes()


def with_end(data, **said):
    """The same, where the end says something else of the list of members."""
    end = dict(zip(("count", "size", "start"), struct.unpack("<H2L", data[-12:-2]), strict=True))
    end |= said
    return data[:-12] + struct.pack("<H2L", *end.values()) + data[-2:]


def start_of(data):
    return struct.unpack("<L", data[-6:-2])[0]


def member(name, content):
    sums = (zlib.crc32(content), len(content), len(content))
    head = struct.pack("<4s5H3L2H", b"PK\3\4", 20, 0, 0, 0, 0, *sums, len(name), 0)
    return head + name + content


def not_listed(data):
    """A member that stands there, and that the list is silent of."""
    start, hidden = start_of(data), member(b"records/B-01/5.json", b"{}")
    return with_end(data[:start] + hidden + data[start:], start=start + len(hidden))


def before_all(data):
    return member(NAME.encode(), b"{}") + data


def packed_otherwise(data):
    """What stands in front of it says that it is stored; the list, that it is deflated."""
    at = data.index(NAME.encode()) - 30
    return data[: at + 8] + b"\0\0" + data[at + 10 :]


def of_another_size(data):
    at = data.index(NAME.encode()) - 30
    return data[: at + 18] + struct.pack("<L", 7) + data[at + 22 :]


def two_ends(data):
    """One in 64 bits, that leads to the genuine list, and one that leads to another list."""
    start, end = start_of(data), len(data) - 22
    listed = data[start:end]
    other = listed.replace(NAME.encode(), NAME.replace("2", "9").encode())
    count, size = struct.unpack("<HL", data[-12:-6])
    wide = struct.pack("<4sQ2H2L4Q", b"PK\6\6", 44, 45, 45, 0, 0, count, count, size, end)
    wide += struct.pack("<4sLQL", b"PK\6\7", 0, end + size, 1)
    return data[:start] + other + listed + wide + data[end:]


def a_remark(data):
    """Behind the end, where programs look for another one."""
    return data[:-2] + struct.pack("<H", 9) + b"as sealed"


FORGED = {
    not_listed: "what stands in front of it differs",
    before_all: "something stands before it",
    packed_otherwise: f"{NAME}: what stands in front of it differs",
    of_another_size: f"{NAME}: what stands in front of it differs",
    two_ends: "its end may be read in two ways",
    a_remark: "its end may be read in two ways",
}


@pytest.mark.parametrize("forge", FORGED)
def test_what_another_program_finds_otherwise_is_told(verify, keys_file, put, plain, forge):
    assert verify("--keys", keys_file, put("plain.zip", plain)).status == 0
    said = verify("--keys", keys_file, put("forged.zip", forge(plain)))
    assert said.status == 1
    assert FORGED[forge] in said


@pytest.mark.parametrize(
    ("name", "extra", "words"),
    [
        ("records/b-01/2.JSON", b"", f"2.JSON: where capitals do not count it is {NAME}"),
        ("data/a.txt", struct.pack("<2HBL", 0x7075, 10, 1, 0) + b"b.txt", "differs from the list"),
    ],
)
def test_names_that_are_another_elsewhere_are_told(
    verify, keys_file, whole, tmp_path, name, extra, words
):
    file = bundle(tmp_path / "bundle.zip", whole)
    with zipfile.ZipFile(file, "a") as archive:
        told = zipfile.ZipInfo(name)
        told.extra = extra
        archive.writestr(told, b"{}")
    said = verify("--keys", keys_file, file)
    assert said.status == 1
    assert words in said


def test_whatever_the_standard_library_writes_is_read_in_one_way(
    verify, keys_file, whole, tmp_path
):
    """In 64 bits, and as a stream, whose sizes stand behind."""
    file, listed = tmp_path / "wide.zip", bundle(tmp_path / "bundle.zip", whole)
    with (
        zipfile.ZipFile(listed) as known,
        file.open("wb") as stream,
        zipfile.ZipFile(Forward(stream), "w", zipfile.ZIP_DEFLATED) as archive,
    ):
        for each in known.namelist():
            with archive.open(each, "w", force_zip64=True) as member_:
                member_.write(known.read(each))
    assert verify("--keys", keys_file, file).status == 0


class Forward:
    """A stream that nobody seeks in."""

    def __init__(self, stream):
        self.write, self.flush = stream.write, stream.flush
