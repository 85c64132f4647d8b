"""From a base backup and the archived log the book is there as it was at a chosen commit, ± 0."""

import argparse
import errno
import gzip
import json
import os
import random
import re
import shutil
import subprocess
import sys
import time
from datetime import timedelta
from pathlib import Path

import psycopg
import pytest

from deploy import backup, kept_backups, restore_in_time
from deploy.backup import BackupError
from deploy.embedded_postgres import EmbeddedPostgres, EmbeddedPostgresError
from deploy.postgres_programs import find_programs
from deploy.roles import DATABASE, prepare_server
from records import roles
from tests.database import PROJECT

pytestmark = pytest.mark.slow

COMMITS, BEFORE = 40, 5  # so many were there when the base was taken
SEED = 3741


@pytest.fixture(scope="module")
def lost(tmp_path_factory):
    """A server that archived its log and is gone, with what was noted of each commit."""
    folder = tmp_path_factory.mktemp("lost")
    log = folder / "log"
    log.mkdir()
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PG_BIN", str(find_programs()))
        for name in ("SIGNING_KEY_FILE", "MFA_KEY", "MFA_KEY_FILE", "BACKUP_STATE_FILE"):
            patch.delenv(name, raising=False)
        with EmbeddedPostgres(folder / "postgres") as server:
            archive(server, log)
        with EmbeddedPostgres(folder / "postgres") as server:
            migrate(server)
            noted = commit(server, folder)
            switch(server, log)
        yield folder, log, noted


def archive(server: EmbeddedPostgres, log: Path) -> None:
    """As deploy/README.md says; it counts when the server starts again."""
    with psycopg.connect(server.dsn(), autocommit=True) as admin:
        admin.execute("ALTER SYSTEM SET archive_mode = 'on'")
        command = f"sh {PROJECT}/deploy/archive_wal %p %f {log}"
        admin.execute(f"ALTER SYSTEM SET archive_command = '{command}'")


def migrate(server: EmbeddedPostgres) -> None:
    prepare_server(server.dsn())
    owner = server.url(user=roles.OWNER, database=DATABASE)
    subprocess.run(
        [sys.executable, "manage.py", "migrate", "--database=owner", "--verbosity=0"],
        cwd=PROJECT, env={**os.environ, "OWNER_DATABASE_URL": owner}, check=True,
    )  # fmt: skip


def commit(server: EmbeddedPostgres, folder: Path) -> list[tuple[str, str, object]]:
    """Commits one after the other; of each its transaction, its end in the log, and its time."""
    noted = []
    with psycopg.connect(server.dsn(database=DATABASE), autocommit=True) as admin:
        admin.execute("CREATE TABLE marks (number int)")
        for number in range(1, COMMITS + 1):
            row = "INSERT INTO marks VALUES (%s) RETURNING pg_current_xact_id()::text"
            (xid,) = admin.execute(row, [number]).fetchone()
            (lsn,) = admin.execute("SELECT pg_current_wal_insert_lsn()::text").fetchone()
            (at,) = admin.execute("SELECT clock_timestamp()").fetchone()
            noted.append((xid, lsn, at))
            time.sleep(0.01)
            if number == COMMITS // 2:
                admin.execute("SELECT pg_switch_wal()")  # the log has more than one piece
            if number == BEFORE:
                dsn = server.dsn(user=roles.BACKUP, database=DATABASE)
                backup.take(folder / "backups", dsn, base=True)
                time.sleep(1.1)  # a backup's time is told in parts of a second, its name in whole
    return noted


def switch(server: EmbeddedPostgres, log: Path) -> None:
    """Have the last piece of the log archived."""
    with psycopg.connect(server.dsn(), autocommit=True) as admin:
        (name,) = admin.execute("SELECT pg_walfile_name(pg_switch_wal())").fetchone()
    end = time.monotonic() + 60
    while not (log / f"{name}.gz").exists():
        assert time.monotonic() < end, "the log was not archived"
        time.sleep(0.1)


def moment(**said: object) -> argparse.Namespace:
    return argparse.Namespace(**{"time": None, "xid": None, "lsn": None, "end": False, **said})


def brought_back(lost, where: Path, said: argparse.Namespace, log: Path | None = None) -> list[int]:
    """The commits that a server has which was made anew as of a moment."""
    folder, kept, _ = lost
    base = restore_in_time.choose(folder / "backups", None, said.time)
    restore_in_time.lay_down(base, where, log or kept, restore_in_time.target(said))
    with (
        EmbeddedPostgres(where) as server,
        psycopg.connect(server.dsn(database=DATABASE), autocommit=True) as admin,
    ):
        end = time.monotonic() + 60
        while admin.execute("SELECT pg_is_in_recovery()").fetchone()[0]:
            assert time.monotonic() < end, "it does not serve"
            time.sleep(0.1)
        return [n for (n,) in admin.execute("SELECT number FROM marks ORDER BY number")]


DRAWN = random.Random(SEED).sample(range(BEFORE + 1, COMMITS), 3)


@pytest.mark.parametrize(("kind", "chosen"), list(zip(("xid", "lsn", "time"), DRAWN, strict=True)))
def test_a_chosen_commit_is_the_last_one(lost, tmp_path, kind, chosen):
    xid, lsn, at = lost[2][chosen - 1]
    said = {"xid": moment(xid=int(xid)), "lsn": moment(lsn=lsn), "time": moment(time=at)}[kind]
    assert brought_back(lost, tmp_path / "data", said) == list(range(1, chosen + 1))


def test_as_far_as_the_log_goes_is_all(lost, tmp_path):
    assert brought_back(lost, tmp_path / "data", moment(end=True)) == list(range(1, COMMITS + 1))


def test_without_the_log_the_commit_is_not_there_and_nothing_serves(lost, tmp_path):
    early = tmp_path / "early"
    early.mkdir()
    begins = first_piece(lost)
    shutil.copy(lost[1] / begins, early)
    said = moment(xid=int(lost[2][COMMITS - 1][0]))
    with pytest.raises((EmbeddedPostgresError, psycopg.OperationalError)):
        brought_back(lost, tmp_path / "data", said, early)
    said = "recovery ended before configured recovery target was reached"
    assert said in (tmp_path / "data.log").read_text()


def test_what_does_not_fit_is_refused(lost, tmp_path):
    folder, log, noted = lost
    quoted = tmp_path / "the log's"
    quoted.mkdir()
    early = noted[0][2] - timedelta(hours=1)
    with pytest.raises(BackupError, match="no whole backup with a base of before that moment"):
        restore_in_time.choose(folder / "backups", None, early)
    base = restore_in_time.choose(folder / "backups", None, None)
    with pytest.raises(BackupError, match="is not empty, and nothing was touched"):
        restore_in_time.lay_down(base, folder, log, {})
    with pytest.raises(BackupError, match="name needs no quoting"):
        restore_in_time.lay_down(base, tmp_path / "data", quoted, {})
    assert not (tmp_path / "data").exists()
    with pytest.raises(BackupError, match="there is no folder"):
        restore_in_time.lay_down(base, tmp_path / "data", tmp_path / "nowhere", {})
    damaged = base / "PG_VERSION"
    was = damaged.read_bytes()
    damaged.write_bytes(was + b"\n")
    try:
        with pytest.raises(BackupError, match="is not what was taken"):
            restore_in_time.lay_down(base, tmp_path / "data", log, {})
    finally:
        damaged.write_bytes(was)


def first_piece(lost) -> str:
    """Of the log, where the base begins."""
    label = restore_in_time.choose(lost[0] / "backups", None, None) / "backup_label"
    return re.search(r"file (\w{24})\)", label.read_text())[1] + ".gz"


def test_a_log_that_would_be_taken_for_its_end_is_refused(lost, tmp_path):
    base, log = restore_in_time.choose(lost[0] / "backups", None, None), tmp_path / "log"
    log.mkdir()
    data = tmp_path / "data"
    for name in ("000000010000000000000000.gz", "00000002.history.gz", "of somebody else"):
        (log / name).touch()
    with pytest.raises(BackupError, match=f"holds no piece of the log from {base.parent.name} on"):
        restore_in_time.lay_down(base, data, log, {})
    shutil.copy(lost[1] / first_piece(lost), log)
    plain = log / "0000000100000000000000F0"
    for name in (plain, plain.with_suffix(".zst")):
        name.touch()
        with pytest.raises(BackupError, match=f"{name.name} is not as deploy/archive_wal keeps"):
            restore_in_time.lay_down(base, data, log, {})
        name.unlink()
    assert not data.exists()
    plain.with_suffix(".partial").touch()
    restore_in_time.refuse_a_log_that_cannot_be_read(base, log)


def test_a_gap_in_the_log_is_not_taken_for_its_end(lost, tmp_path):
    log = tmp_path / "log"
    shutil.copytree(lost[1], log)
    pieces = sorted(p for p in log.glob("*.gz") if p.name >= first_piece(lost))
    assert len(pieces) >= 3, "nothing can be missing in between"
    base = restore_in_time.choose(lost[0] / "backups", None, None)
    brought = max(p.name for p in (base / "pg_wal").iterdir() if p.is_file())
    assert brought == pieces[0].stem, "the base brings the first piece alone"
    for missing in (pieces[1], pieces[0]):  # the base has the first one, which is no bridge
        missing.unlink()
        with pytest.raises(
            BackupError, match=f"lacks what comes after the piece …{pieces[0].stem[8:]}"
        ):
            brought_back(lost, tmp_path / "data", moment(end=True), log)
    assert not (tmp_path / "data").exists()
    shutil.copy(lost[1] / pieces[0].name, log)
    for piece in pieces[2:]:
        piece.unlink()
    restore_in_time.refuse_a_gap(base, log)


def flipped(whole: bytes, place: int) -> bytes:
    """With one bit of one byte turned round."""
    return whole[:place] + bytes([whole[place] ^ 4]) + whole[place + 1 :]


def test_a_damaged_piece_is_not_taken_for_the_end_of_the_log(lost, tmp_path):
    log = tmp_path / "log"
    shutil.copytree(lost[1], log)
    pieces = sorted(p for p in log.glob("*.gz") if p.name >= first_piece(lost))
    for piece in (pieces[0], pieces[1], pieces[-1]):  # the last has nothing after it to tell
        whole = piece.read_bytes()
        kept = gzip.decompress(whole)
        shorter = gzip.compress(kept[: len(kept) // 2])
        for damaged, words in (
            (b"", r"unpacked \(it is empty\)"),
            (gzip.compress(b""), r"unpacked \(it is empty\)"),
            (whole[: len(whole) // 2], "cannot be unpacked"),
            (whole[:-1], "cannot be unpacked"),
            (flipped(whole, 40), "cannot be unpacked"),
            (flipped(whole, len(whole) - 6), "CRC"),  # among the zeros, many flips change nothing
            (b"no gzip", "cannot be unpacked"),
            (shorter, f"bytes where a piece has {len(kept)}"),
        ):
            piece.write_bytes(damaged)
            with pytest.raises(BackupError, match=f"{piece.name} .*{words}.*by --time"):
                brought_back(lost, tmp_path / "data", moment(end=True), log)
            assert not (tmp_path / "data").exists()
        piece.write_bytes(whole)
    restore_in_time.refuse_a_gap(restore_in_time.choose(lost[0] / "backups", None, None), log)


def test_a_piece_that_holds_another_is_not_taken_for_the_end_of_the_log(lost, tmp_path):
    log = tmp_path / "log"
    shutil.copytree(lost[1], log)
    pieces = sorted(p for p in log.glob("*.gz") if p.name >= first_piece(lost))
    whole = {piece: piece.read_bytes() for piece in pieces}
    contents = {piece: gzip.decompress(packed) for piece, packed in whole.items()}
    zeros = gzip.compress(bytes(len(contents[pieces[0]])))
    for piece, packed, words in (
        (pieces[1], whole[pieces[2]], f"from 0/{pieces[2].stem[-2:].lstrip('0')}000000 on"),
        (pieces[-1], whole[pieces[0]], "holds another piece"),  # nothing comes after it to tell
        (pieces[1], gzip.compress(timeline(contents[pieces[1]], 7)), "timeline 7"),
        (pieces[1], gzip.compress(server(contents[pieces[1]])), "is of another server"),
        (pieces[1], zeros, "is of another server"),
    ):
        piece.write_bytes(packed)
        with pytest.raises(BackupError, match=f"{piece.name} .*{words}.*by --time"):
            brought_back(lost, tmp_path / "data", moment(end=True), log)
        assert not (tmp_path / "data").exists()
        piece.write_bytes(whole[piece])
    restore_in_time.refuse_a_gap(restore_in_time.choose(lost[0] / "backups", None, None), log)


def timeline(piece: bytes, number: int) -> bytes:
    """As if of another timeline: xlp_tli is in bytes 4 to 7."""
    return piece[:4] + number.to_bytes(4, sys.byteorder) + piece[8:]


def server(piece: bytes) -> bytes:
    """As if of another server: xlp_sysid is in bytes 24 to 31."""
    return flipped(piece, 30)


@pytest.mark.parametrize("words", [("--format=tar", "--gzip"), ("--format=tar",)])
def test_a_base_of_another_form_is_refused_and_serves_as_the_sentence_says(lost, tmp_path, words):
    base = restore_in_time.choose(lost[0] / "backups", None, None)
    other = tmp_path / "other" / "base"
    shutil.copytree(lost[0] / "postgres", tmp_path / "running")
    with EmbeddedPostgres(tmp_path / "running") as server:
        backup.run("pg_basebackup", f"--pgdata={other}", *words, "--checkpoint=fast",
                   "--manifest-checksums=SHA256", dsn=server.dsn())  # fmt: skip
    with pytest.raises(BackupError, match=r"is packed \(base\.tar[.gz]*, pg_wal\.tar[.gz]*\)"):
        restore_in_time.lay_down(other, tmp_path / "data", lost[1], {})
    for name, where in (("base", other), ("pg_wal", other / "pg_wal")):
        [packed] = other.glob(f"{name}.tar*")
        subprocess.run(["tar", "-xf", packed, "-C", where], check=True)
        packed.unlink()
    restore_in_time.refuse_other_forms(other)
    assert restore_in_time.changed(other) == ""
    (other / "base" / "1" / "INCREMENTAL.1259").touch()
    with pytest.raises(BackupError, match="pg_combinebackup"):
        restore_in_time.refuse_other_forms(other)
    (other / "base" / "1" / "INCREMENTAL.1259").unlink()
    (other / "pg_tblspc" / "16384").symlink_to(base)
    with pytest.raises(BackupError, match="has tablespaces"):
        restore_in_time.refuse_other_forms(other)


def test_a_full_disk_says_what_is_half(lost, tmp_path, monkeypatch):
    base = restore_in_time.choose(lost[0] / "backups", None, None)

    def full(*words, **options):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(restore_in_time.shutil, "copytree", full)
    data = tmp_path / "data"
    with pytest.raises(BackupError, match=f"{data} is half a copy, on which no server starts"):
        restore_in_time.lay_down(base, data, lost[1], {})


def test_half_a_copy_does_not_start(lost, tmp_path, monkeypatch):
    folder, log, _ = lost
    base = restore_in_time.choose(folder / "backups", None, None)

    def copied_and_killed(*words, **options):
        monkeypatch.undo()  # the folders within are copied by the same function
        shutil.copytree(*words, **options)
        raise KeyboardInterrupt

    monkeypatch.setattr(restore_in_time.shutil, "copytree", copied_and_killed)
    with pytest.raises(KeyboardInterrupt):
        restore_in_time.lay_down(base, tmp_path / "data", log, {})
    # The server ends with "must specify restore_command" where the signal stands alone.
    assert (tmp_path / "data" / restore_in_time.SIGNAL).exists()
    assert "restore_command" not in (tmp_path / "data" / "postgresql.auto.conf").read_text()


def test_of_the_log_goes_what_no_kept_base_needs(lost, tmp_path):
    folder, log, _ = lost
    label = restore_in_time.choose(folder / "backups", None, None) / "backup_label"
    begins = re.search(r"file (\w{24})\)", label.read_text())[1]
    needed = sorted(path.name for path in log.iterdir() if path.name[:24] >= begins)
    copy = tmp_path / "log"
    shutil.copytree(log, copy)
    for name in ("000000010000000000000000.gz", "00000002.history.gz", "of somebody else"):
        (copy / name).touch()
    kept_backups.drop_old_log(tmp_path / "no backups", copy)
    assert (copy / "000000010000000000000000.gz").exists()
    kept_backups.drop_old_log(folder / "backups", copy)
    kept = {path.name for path in copy.iterdir()}
    assert kept == {*needed, "00000002.history.gz", "of somebody else"}
    said = moment(end=True)
    assert brought_back(lost, tmp_path / "data", said, copy) == list(range(1, COMMITS + 1))


def test_a_backup_notes_that_the_log_of_another_server_lies_in_the_way(tmp_path, monkeypatch):
    log = tmp_path / "log"
    log.mkdir()
    for name in ("SIGNING_KEY_FILE", "MFA_KEY", "MFA_KEY_FILE"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("PG_BIN", str(find_programs()))
    with EmbeddedPostgres(tmp_path / "postgres") as server:
        archive(server, log)
    with EmbeddedPostgres(tmp_path / "postgres") as server:
        migrate(server)
        dsn = server.dsn(user=roles.BACKUP, database=DATABASE)
        switch(server, log)
        assert noted_of_the_log(tmp_path / "backups", dsn) is None
        with psycopg.connect(server.dsn(), autocommit=True) as admin:
            (name,) = admin.execute("SELECT pg_walfile_name(pg_current_wal_lsn())").fetchone()
            (log / f"{name}.gz").write_bytes(gzip.compress(b"of the server that was lost"))
            admin.execute("CREATE TABLE more (number int)")
            admin.execute("SELECT pg_switch_wal()")
            end = time.monotonic() + 60
            failed = "SELECT last_failed_wal FROM pg_stat_archiver"
            while admin.execute(failed).fetchone()[0] != name:
                assert time.monotonic() < end, "it was archived"
                time.sleep(0.1)
        time.sleep(1.1)  # a backup's name is told in whole seconds
        assert noted_of_the_log(tmp_path / "backups", dsn) == name


def noted_of_the_log(folder: Path, dsn: str) -> str | None:
    manifest = backup.take(folder, dsn) / kept_backups.MANIFEST
    return json.loads(manifest.read_text())["log_fails_at"]


def test_a_piece_of_the_log_is_never_written_over(tmp_path):
    piece, log = tmp_path / "piece", tmp_path / "log"
    log.mkdir()
    command = ["sh", str(PROJECT / "deploy" / "archive_wal"), str(piece), "0001", str(log)]
    for content, status in ((b"one", 0), (b"one", 0), (b"two", 1)):
        piece.write_bytes(content)
        assert subprocess.run(command, capture_output=True, check=False).returncode == status
    assert [gzip.decompress(path.read_bytes()) for path in log.iterdir()] == [b"one"]
