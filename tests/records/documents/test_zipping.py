"""A ZIP that is written while it is read."""

import hashlib
import io
import tracemalloc
import zipfile
from datetime import UTC, datetime, timedelta, timezone

from records.documents.zipping import Member, zipped

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


def test_a_digest_that_is_known_is_taken():
    written = []
    read([Member("a", [b"one"], AT, sha256="known")], written)
    assert [each.sha256 for each in written] == ["known"]


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
