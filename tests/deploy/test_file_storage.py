"""Files are whole or not there: in a folder, and in an S3-compatible store.

The store is a small one of the tests', or the one that TEST_S3_ENDPOINT names, with a bucket
TEST_S3_BUCKET and the keys TEST_S3_ACCESS_KEY and TEST_S3_SECRET_KEY.
"""

import errno
import hashlib
import io
import os
import random
import stat
import time
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.core.files.base import ContentFile, File

from deploy.file_storage import file_storage
from deploy.local_files import LONGEST_WRITTEN, UNFINISHED, LocalFiles
from deploy.object_files import ObjectFiles
from records.errors import Unavailable
from records.services import files
from tests.deploy import object_store

LONG = random.Random(31).randbytes(20 * 1024 * 1024)  # more than goes into one PUT
REAL = os.environ.get("TEST_S3_ENDPOINT")


@pytest.fixture
def local(tmp_path):
    return LocalFiles(location=tmp_path, file_permissions_mode=0o600)


@pytest.fixture
def store():
    with object_store.running() as running:
        yield running


def bucket_of(store, **changes):
    options = {
        "bucket_name": object_store.BUCKET, "endpoint_url": store.endpoint,
        "access_key": object_store.ACCESS_KEY, "secret_key": object_store.SECRET_KEY,
        "region_name": "us-east-1", "location": "book",
    }  # fmt: skip
    return ObjectFiles(**options | changes)


@pytest.fixture
def objects(store):
    if not REAL:
        return bucket_of(store)
    return bucket_of(
        store,
        endpoint_url=REAL,
        bucket_name=os.environ["TEST_S3_BUCKET"],
        access_key=os.environ["TEST_S3_ACCESS_KEY"],
        secret_key=os.environ["TEST_S3_SECRET_KEY"],
    )


@pytest.fixture(params=["local", "objects"])
def storage(request, monkeypatch):
    """Either, in the place of the book's own."""
    chosen = request.getfixturevalue(request.param)
    monkeypatch.setattr(files, "default_storage", chosen)
    return chosen


def read(storage, digest: bytes) -> bytes:
    with storage.open(files.stored_name(digest)) as file:
        return file.read()


# -- either ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("content", [b"", b"A note.\n", LONG], ids=["empty", "short", "long"])
def test_what_is_kept_is_read_back(storage, content):
    digest = files.store(content)
    assert digest == hashlib.sha256(content).digest()
    assert read(storage, digest) == content


def test_what_root_writes_is_whose_the_folder_is(local, tmp_path, monkeypatch):
    """Else what an operator's command has written could be read by no process of the service."""
    given = {}
    monkeypatch.setattr(os, "geteuid", lambda: 0)
    monkeypatch.setattr(os, "chown", lambda path, uid, gid: given.update({path: (uid, gid)}))
    local.save("ab/cd", ContentFile(b"kept"))
    whose = (tmp_path.stat().st_uid, tmp_path.stat().st_gid)
    [written] = given.keys() - {tmp_path / UNFINISHED, tmp_path / "ab"}
    assert written.parent == tmp_path / UNFINISHED
    assert set(given.values()) == {whose}
    given.clear()
    monkeypatch.setattr(os, "geteuid", lambda: 1000)
    local.save("ab/ef", ContentFile(b"kept"))
    assert given == {}


def test_a_file_is_kept_from_its_beginning_and_stays_open(storage):
    spooled = io.BytesIO()
    spooled.write(LONG[:9_000_000])
    digest, size = files.store_file(spooled)
    assert (size, digest) == (9_000_000, hashlib.sha256(LONG[:9_000_000]).digest())
    assert read(storage, digest) == LONG[:9_000_000]
    assert not spooled.closed


def test_the_same_bytes_again_and_at_once_are_one_file(storage, store, tmp_path):
    content = random.Random(7).randbytes(300_000)
    with ThreadPoolExecutor(8) as pool:
        digests = set(pool.map(files.store, [content] * 24))
    [digest] = digests
    assert read(storage, digest) == content
    if not REAL:
        kept = everything(tmp_path) + [name.removeprefix("book/") for name in store.objects]
        assert kept == [files.stored_name(digest)]


def test_what_was_never_kept_is_not_found(storage):
    with pytest.raises(FileNotFoundError):
        storage.open(files.stored_name(hashlib.sha256(b"never").digest()))


def test_lines_and_pieces_can_be_read(storage):
    digest = files.store(b"time [s],flow [gpm]\n0,1\n1,2\n")
    name = files.stored_name(digest)
    with storage.open(name) as file, io.TextIOWrapper(file, encoding="utf-8", newline="") as text:
        assert list(text) == ["time [s],flow [gpm]\n", "0,1\n", "1,2\n"]
    with storage.open(name) as file:
        assert (file.read(4), file.seek(0, 2), file.tell()) == (b"time", 28, 28)


# -- a folder --------------------------------------------------------------------------------------


class Breaking(ContentFile):
    """A file that cannot be written to its end."""

    def chunks(self, chunk_size=None):
        yield b"half"
        raise OSError(errno.ENOSPC, "No space left on device")


def everything(folder) -> list:
    return sorted(str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file())


def test_a_file_that_cannot_be_written_to_its_end_is_not_there(local, tmp_path):
    with pytest.raises(OSError, match="No space"):
        local.save("ab/abc", Breaking(b""))
    assert everything(tmp_path) == []
    local.save("ab/abc", ContentFile(b"whole"))
    assert everything(tmp_path) == ["ab/abc"]


def test_a_killed_process_leaves_nothing_under_a_name(local, tmp_path, monkeypatch):
    seen = []

    class Watching(ContentFile):
        def chunks(self, chunk_size=None):
            yield b"half"
            seen.extend(everything(tmp_path))
            yield b" and half"

    local.save("ab/abc", Watching(b""))
    assert [name.partition("/")[0] for name in seen] == [UNFINISHED]
    assert everything(tmp_path) == ["ab/abc"]


def test_what_a_killed_process_left_is_dropped_after_a_day(local, tmp_path, monkeypatch):
    local.forget_unfinished()  # nothing is there yet
    local.save("ab/abc", ContentFile(b"x"))
    old, new = tmp_path / UNFINISHED / "old", tmp_path / UNFINISHED / "new"
    for left in (old, new):
        left.write_bytes(b"half")
    day_before = time.time() - LONGEST_WRITTEN - 60
    os.utime(old, (day_before, day_before))
    monkeypatch.setattr(files, "default_storage", local)
    files.forget_unfinished()
    assert everything(tmp_path) == [f"{UNFINISHED}/new", "ab/abc"]


def test_a_file_is_on_the_disk_before_it_has_its_name_and_its_folders_after(
    local, tmp_path, monkeypatch
):
    done = []
    monkeypatch.setattr("os.fsync", lambda handle: done.append(os.fstat(handle).st_ino))
    local.save("ab/abc", ContentFile(b"x"))
    file, *folders = done
    assert file == (tmp_path / "ab" / "abc").stat().st_ino
    assert folders == [(tmp_path / "ab").stat().st_ino, tmp_path.stat().st_ino]


def test_nobody_else_on_the_machine_may_read_it(local, tmp_path):
    local.save("ab/abc", ContentFile(b"x"))
    assert stat.S_IMODE((tmp_path / "ab" / "abc").stat().st_mode) == 0o600


# -- a bucket --------------------------------------------------------------------------------------


def test_a_long_file_is_there_when_all_its_parts_are(store):
    storage = bucket_of(store)
    storage.save("ab/abc", File(io.BytesIO(LONG)))
    assert store.objects == {"book/ab/abc": LONG}
    assert store.parts == {}
    assert sum(method == "PUT" for method, _ in store.asked) == 3  # of 8 MiB


@pytest.mark.parametrize("content", [b"x", LONG], ids=["short", "long"])
def test_a_full_store_is_a_full_disk_and_keeps_nothing(store, content):
    store.failure = (507, "InsufficientStorage")
    with pytest.raises(OSError) as told:
        bucket_of(store).save("ab/abc", File(io.BytesIO(content)))
    assert told.value.errno == errno.ENOSPC
    assert (store.objects, store.parts) == ({}, {})


def test_a_store_that_refuses_is_away_for_the_moment(store):
    storage = bucket_of(store)
    store.failure = (403, "AccessDenied")
    with pytest.raises(Unavailable):
        storage.save("ab/abc", ContentFile(b"x"))
    with pytest.raises(Unavailable):
        bucket_of(store, access_key="another").exists("ab/abc")


def test_a_store_that_does_not_answer_is_away_for_the_moment(store):
    nowhere = bucket_of(store, endpoint_url="http://127.0.0.1:9")
    with pytest.raises(Unavailable):
        nowhere.open("ab/abc")
    with pytest.raises(Unavailable):
        nowhere.save("ab/abc", ContentFile(b"x"))


def test_what_breaks_off_while_it_is_read_is_no_short_file(store):
    storage = bucket_of(store)
    storage.save("ab/abc", ContentFile(bytes(100_000)))
    store.breaks_off = True
    with pytest.raises(Unavailable):
        storage.open("ab/abc")


# -- which of them ---------------------------------------------------------------------------------


def test_without_a_bucket_it_is_the_folder(monkeypatch, tmp_path):
    monkeypatch.delenv("FILES_S3_BUCKET", raising=False)
    assert file_storage(tmp_path)["OPTIONS"]["location"] == tmp_path


def test_a_bucket_comes_from_the_environment_and_its_secret_from_a_file(
    monkeypatch, tmp_path, store
):
    key = tmp_path / "key"
    key.write_text(object_store.SECRET_KEY + "\n")
    for name, value in {
        "BUCKET": object_store.BUCKET, "ENDPOINT": store.endpoint, "REGION": "here",
        "PREFIX": "/one/two/", "ACCESS_KEY": object_store.ACCESS_KEY, "SECRET_KEY_FILE": str(key),
    }.items():  # fmt: skip
        monkeypatch.setenv(f"FILES_S3_{name}", value)
    chosen = file_storage(tmp_path)
    assert chosen["BACKEND"] == "deploy.object_files.ObjectFiles"
    ObjectFiles(**chosen["OPTIONS"]).save("ab/abc", ContentFile(b"x"))
    assert store.objects == {"one/two/ab/abc": b"x"}
