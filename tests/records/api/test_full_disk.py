"""Where files cannot be kept: a problem that says so, nothing half-written, the event as it was."""

import errno
import os
import subprocess
from contextlib import contextmanager
from tempfile import SpooledTemporaryFile

import psycopg
import pytest
from django.db import OperationalError

from records.services import attachments, event_files
from tests.deploy import object_store
from tests.records import uploading as in_parts
from tests.records import visits
from tests.records.api.test_attachments import PDF, attach, kept, photograph
from tests.records.counting import counts
from tests.records.problems import assert_problem
from tests.records.visits import new_id
from tests.records.world import ROWS


@pytest.fixture
def draft(teo, station):
    return visits.post(teo, station)


@contextmanager
def small_disk(path, kilobytes: int):
    """A disk of its own; only root can make one."""
    path.mkdir()
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={kilobytes}k", "tmpfs", str(path)],
        capture_output=True, check=False,
    )  # fmt: skip
    if made.returncode:
        pytest.skip("a small disk takes root")
    try:
        yield path
    finally:
        subprocess.run(["umount", str(path)], check=True)


def keep_in(settings, folder) -> None:
    default = settings.STORAGES["default"]
    options = default["OPTIONS"] | {"location": folder}
    settings.STORAGES = {**settings.STORAGES, "default": default | {"OPTIONS": options}}


def files_below(folder) -> list:
    return [path for path in folder.rglob("*") if path.is_file()]


def post_rows(person, event, rows: bytes):
    return person.call("POST", f"/events/{event['id']}/traces", rows, media="text/csv")


def test_on_a_full_disk_nothing_changes_and_what_was_kept_is_read(teo, draft, settings, tmp_path):
    with small_disk(tmp_path / "small", 128) as disk:
        keep_in(settings, disk)
        held = attach(teo, draft, PDF, name="a.pdf")
        assert held.status == 201
        before, event = counts(), teo.get(f"/events/{draft['id']}")
        large = os.urandom(200_000)
        rows = ROWS + b"".join(b"%d,%d.5\n" % (n, n % 7) for n in range(2, 30_000))
        for refused in (
            attach(teo, draft, large, purpose="settings_file", name="d.bin"),
            post_rows(teo, draft, rows),
        ):
            assert assert_problem(refused, 507)["type"] == "/problems/no-space"
        assert counts() == before
        assert teo.get(f"/events/{draft['id']}").content == event.content
        assert len(files_below(disk)) == 1
        assert teo.get(held.headers["Location"]).rows() == PDF
        assert attach(teo, draft, b"A note.\n", name="n.txt", purpose="other").status == 201


@pytest.mark.parametrize("why", ["withdrawn", "full"])
def test_what_an_event_does_not_take_is_not_kept(teo, draft, settings, tmp_path, monkeypatch, why):
    keep_in(settings, tmp_path)
    for taken in (attach(teo, draft, PDF, id=new_id()), post_rows(teo, draft, ROWS)):
        assert taken.status == 201
    before = files_below(tmp_path)
    if why == "withdrawn":
        reason = {"reason": "Posted for the wrong pump."}
        assert teo.post(f"/events/{draft['id']}/withdrawal", reason).status == 201
    else:
        monkeypatch.setattr(event_files, "MOST", 1)
    assert_problem(attach(teo, draft, photograph()), 409)
    assert_problem(post_rows(teo, draft, ROWS + b"2,62\n"), 409)
    assert files_below(tmp_path) == before
    [held] = kept(teo, draft)
    again = attach(teo, draft, PDF, id=held["id"])
    assert (again.status, again.json) == (200, held)


def test_an_upload_that_finds_no_space_is_completed_later(teo, draft, settings, tmp_path):
    content = os.urandom(200_000)
    path = in_parts.begin(teo, draft, content)
    assert in_parts.append(teo, path, content[:1000], 0).status == 204
    with small_disk(tmp_path / "small", 64) as disk:
        elsewhere = settings.STORAGES["default"]["OPTIONS"]["location"]
        keep_in(settings, disk)
        refused = in_parts.append(teo, path, content[1000:], 1000)
        assert_problem(refused, 507)
        assert "Upload-Complete" not in refused.headers  # it may go well when tried again
        assert in_parts.state(teo, path) == (len(content), "?0")
        assert files_below(disk) == []
        keep_in(settings, elsewhere)
    assert in_parts.append(teo, path, b"", len(content)).status == 201


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EDQUOT])
def test_a_full_disk_for_what_is_being_read_is_told_as_well(teo, draft, monkeypatch, number):
    class Full(SpooledTemporaryFile):
        def write(self, *_):
            raise OSError(number, os.strerror(number))

    monkeypatch.setattr(attachments, "SpooledTemporaryFile", Full)
    assert_problem(attach(teo, draft, photograph()), 507)
    assert kept(teo, draft) == []


def test_another_fault_of_the_disk_is_a_fault(teo, draft, monkeypatch):
    def broken(*_):
        raise OSError(errno.EIO, "Input/output error")

    monkeypatch.setattr("records.services.files.keep", broken)
    assert_problem(attach(teo, draft, PDF), 500)


def test_a_full_disk_of_the_database_is_told_as_one(teo, draft, monkeypatch):
    def full(*_, **__):
        try:
            raise psycopg.errors.DiskFull("could not extend file")
        except psycopg.Error as cause:
            raise OperationalError("could not extend file") from cause

    monkeypatch.setattr("records.services.judging.again", full)
    assert_problem(attach(teo, draft, PDF), 507)
    assert kept(teo, draft) == []


# -- in an object store ----------------------------------------------------------------------------


@pytest.fixture
def store(draft, settings):
    with object_store.running() as running:
        options = {
            "bucket_name": object_store.BUCKET, "endpoint_url": running.endpoint,
            "region_name": "here", "location": "", "access_key": object_store.ACCESS_KEY,
            "secret_key": object_store.SECRET_KEY,
        }  # fmt: skip
        default = {"BACKEND": "deploy.object_files.ObjectFiles", "OPTIONS": options}
        settings.STORAGES = {**settings.STORAGES, "default": default}
        yield running


def test_files_come_and_go_over_a_store_as_over_a_folder(teo, draft, store):
    held = attach(teo, draft, PDF, name="a.pdf")
    assert list(store.objects) == [f"{held.json['sha256'][:2]}/{held.json['sha256']}"]
    read = teo.get(held.headers["Location"])
    assert (read.status, read.rows()) == (200, PDF)
    assert read.headers["Content-Length"] == str(len(PDF))
    trace = post_rows(teo, draft, ROWS).json
    etag = teo.get(f"/events/{draft['id']}").etag
    named = {"trace": trace["id"], "step_kind": "set_point"}
    patched = teo.patch(f"/events/{draft['id']}", {"step_tests": [named]}, etag)
    assert patched.status == 200  # its rows were read again
    path = in_parts.begin(teo, draft, in_parts.BACKUP)
    made = in_parts.append(teo, path, in_parts.BACKUP, 0)
    assert teo.get(made.headers["Location"]).rows() == in_parts.BACKUP


@pytest.mark.parametrize(
    ("failure", "status"), [((507, "InsufficientStorage"), 507), ((403, "AccessDenied"), 503)]
)
def test_a_store_that_takes_nothing_changes_nothing(teo, draft, store, failure, status):
    before, event = counts(), teo.get(f"/events/{draft['id']}")
    store.failure = failure
    assert_problem(attach(teo, draft, PDF, name="a.pdf"), status)
    assert counts() == before
    assert teo.get(f"/events/{draft['id']}").content == event.content
