"""One command takes a backup, another brings it back and checks it, or says what does not fit."""

import errno
import hashlib
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import psycopg
import pytest

from deploy import backup, kept_backups, restore
from deploy.backup import DUMP, BackupError
from deploy.embedded_postgres import EmbeddedPostgres
from deploy.kept_backups import BASE, LABEL, MANIFEST
from deploy.keys import DOCUMENT_KEY, MFA_KEY, SECRET_KEY, SIGNING_KEY, make_missing_keys
from deploy.postgres_programs import find_programs
from deploy.roles import DATABASE
from records import roles
from records.whole_files import alone_in
from tests import database
from tests.database import PROJECT
from tests.faults.test_restore import original, tables, world  # noqa: F401
from tests.records.conftest import cast, signing_key, stage, station  # noqa: F401

pytestmark = [pytest.mark.slow, pytest.mark.commits, pytest.mark.django_db(transaction=True)]

WALKED = "UPDATE records_record SET canonical = set_byte(canonical, 40, 120) WHERE number = 1"


@pytest.fixture
def keys(tmp_path, stage) -> Path:  # noqa: F811
    """The installation's keys, with the one that sealed."""
    folder = tmp_path / "keys"
    folder.mkdir()
    shutil.copy(stage.key_file, folder / SIGNING_KEY)
    make_missing_keys(folder)
    return folder


@pytest.fixture
def taken(world, keys, database_name, tmp_path, monkeypatch) -> Path:  # noqa: F811
    """A backup of the world."""
    monkeypatch.setenv("PG_BIN", str(find_programs()))
    monkeypatch.setenv("SIGNING_KEY_FILE", str(keys / SIGNING_KEY))
    monkeypatch.setenv("MFA_KEY_FILE", str(keys / MFA_KEY))
    return backup.take(tmp_path / "backups", database.dsn(roles.BACKUP, database_name))


@pytest.fixture
def empty(tmp_path):
    """A server with nothing in it, as on a machine that has just been installed."""
    with EmbeddedPostgres(tmp_path / "elsewhere" / "postgres", durable=False) as running:
        yield running


def restored(
    server: EmbeddedPostgres, folder: Path, keys: Path, *words: str, program="restore", **said: str
):
    """One of the operator's commands on the empty machine."""
    there = {
        "PATH": os.environ["PATH"], "PG_BIN": str(find_programs()), "ALLOWED_HOSTS": "x",
        "ADMIN_DATABASE_URL": server.url(user="postgres", database="postgres"),
        "OWNER_DATABASE_URL": server.url(user=roles.OWNER, database=DATABASE),
        "DATABASE_URL": server.url(user=roles.LOGIN, database=DATABASE),
        "SECRET_KEY_FILE": str(keys / SECRET_KEY), "MFA_KEY_FILE": str(keys / MFA_KEY),
        "SIGNING_KEY_FILE": str(keys / SIGNING_KEY),
        "DOCUMENT_KEY_FILE": str(keys / DOCUMENT_KEY),
        "FILES_ROOT": str(folder.parent / "restored files"), "BACKUP_FOLDER": str(folder),
        **said,
    }  # fmt: skip
    command = ["-m", "deploy.restore"] if program == "restore" else ["manage.py", program]
    return subprocess.run(
        [sys.executable, *command, *words], cwd=PROJECT, env=there,
        capture_output=True, text=True, check=False,
    )  # fmt: skip


def of_another_country(server: EmbeddedPostgres) -> None:
    """Times, dates and bytes look otherwise there, and nothing in the book is another for that."""
    with psycopg.connect(server.dsn(), autocommit=True) as admin:
        for name, value in (("TimeZone", "Asia/Kathmandu"), ("DateStyle", "ISO, DMY"),
                            ("bytea_output", "escape"), ("IntervalStyle", "iso_8601"),
                            ("extra_float_digits", "-5")):  # fmt: skip
            admin.execute(f"ALTER SYSTEM SET {name} = '{value}'")
        admin.execute("SELECT pg_reload_conf()")


def contents(folder: Path) -> dict[str, str]:
    """Every file below a folder, by its own name, with its digest."""
    return {
        file.name: hashlib.sha256(file.read_bytes()).hexdigest()
        for file in folder.rglob("*") if file.is_file() and not file.name.startswith(".")
    }  # fmt: skip


def test_on_an_empty_machine_every_row_seal_and_file_is_there_again(
    taken, empty, keys, original, settings, tmp_path  # noqa: F811
):  # fmt: skip
    of_another_country(empty)
    ran = restored(empty, taken.parent, keys)
    assert ran.returncode == 0, ran.stderr
    assert "All that was checked is right." in ran.stdout
    assert "Checked: records: canonical text, digest, seal" in ran.stdout
    assert "files that were attached to records: " in ran.stdout
    assert ran.stdout.rstrip().endswith("restored: the service may start")
    assert tables(empty.dsn(database=DATABASE)) == tables(original)
    files = contents(Path(settings.STORAGES["default"]["OPTIONS"]["location"]))
    assert contents(tmp_path / "restored files") == files
    assert all(name == digest for name, digest in files.items())
    assert len(files) >= 4
    with psycopg.connect(empty.dsn()) as admin:
        admin.execute(f"ALTER ROLE {roles.LOGIN} CREATEDB")
    again = restored(empty, taken.parent, keys)
    assert again.returncode == 1
    assert "holds a book already, and nothing was touched" in again.stderr
    with psycopg.connect(empty.dsn(database=DATABASE)) as admin:
        asked = "SELECT rolcreatedb FROM pg_roles WHERE rolname = %s"
        assert admin.execute(asked, [roles.LOGIN]).fetchone() == (True,)
        admin.execute("SET session_replication_role = replica")
        admin.execute(WALKED)
    next((tmp_path / "restored files").rglob(sorted(files)[0])).write_bytes(b"another")
    checked = restored(empty, taken.parent, keys, program="verify_book")
    assert checked.returncode == 1
    assert checked.stdout.count("FAILED  ") >= 3  # two records' text, and a file
    assert f"FAILED  file {sorted(files)[0]}: it was changed" in checked.stdout


def test_what_stops_in_the_middle_serves_nobody_and_goes_on(taken, empty, keys, tmp_path):
    file = next(path for path in (taken.parent / "files").rglob("*") if path.is_file())
    hidden = tmp_path / "hidden"
    file.rename(hidden)
    ran = restored(empty, taken.parent, keys)
    assert ran.returncode == 1
    assert f"the backup lacks the file {file.parent.name}/{file.name}" in ran.stderr
    asked = "SELECT shobj_description(oid, 'pg_database') FROM pg_database WHERE datname = %s"
    with psycopg.connect(empty.dsn()) as admin:
        assert admin.execute(asked, [DATABASE]).fetchone()[0].startswith("stationbook: restoring")
    with psycopg.connect(empty.dsn(database=DATABASE)) as admin:  # it was brought up to date
        admin.execute("CREATE TABLE of_a_later_version (record bigint REFERENCES records_record)")
    shutil.copy(hidden, file)
    with file.open("r+b") as damaged:
        damaged.write(b"!")
    ran = restored(empty, taken.parent, keys)
    assert f"{file} was changed" in ran.stderr
    hidden.replace(file)
    ran = restored(empty, taken.parent, keys)
    assert ran.returncode == 0, ran.stderr
    with psycopg.connect(empty.dsn()) as admin:
        assert admin.execute(asked, [DATABASE]).fetchone() == (None,)


def test_what_does_not_fit_is_refused_with_what_to_do(taken, keys, tmp_path, monkeypatch):
    admin = os.environ[database.ADMIN]
    told = restore.read_manifest(taken)
    restore.refuse_unfit(told, taken, admin)
    with pytest.raises(BackupError, match=r"PostgreSQL 99, this server.* install 99 or later"):
        restore.refuse_unfit(told | {"server_version": 990001}, taken, admin)
    later = told | {"migrations": [*told["migrations"], "records.9999_later"]}
    with pytest.raises(BackupError, match=r"later version of Stationbook .*9999_later"):
        restore.refuse_unfit(later, taken, admin)
    for name, variable in (("signing_key", "SIGNING_KEY_FILE"), ("mfa_key", "MFA_KEY_FILE")):
        others = tmp_path / name
        others.mkdir()
        make_missing_keys(others)
        with monkeypatch.context() as patch:
            patch.setenv(
                variable, str(others / (SIGNING_KEY if name == "signing_key" else MFA_KEY))
            )
            with pytest.raises(BackupError, match=f"{name} is not the one of this backup"):
                restore.refuse_unfit(told, taken, admin)


def test_what_is_not_whole_is_refused(taken):
    with (taken / DUMP).open("r+b") as dump:
        dump.seek(2000)
        dump.write(b"\0")
    with pytest.raises(BackupError, match="is not what the manifest says"):
        restore.read_manifest(taken)
    told = json.loads((taken / MANIFEST).read_text())
    (taken / MANIFEST).write_text((taken / MANIFEST).read_text()[:-7])
    with pytest.raises(BackupError, match="cannot be read"):
        restore.read_manifest(taken)
    (taken / MANIFEST).write_text(json.dumps({k: v for k, v in told.items() if k != "keys"}))
    with pytest.raises(BackupError, match="does not say its keys: it was changed; take another"):
        restore.read_manifest(taken)
    (taken / MANIFEST).write_text(json.dumps({"format": 2}))
    with pytest.raises(BackupError, match="has the format 2"):
        restore.read_manifest(taken)
    (taken / MANIFEST).unlink()
    with pytest.raises(BackupError, match="is no whole backup"):
        restore.read_manifest(taken)


def test_files_only_grow_and_are_copied_once(taken, database_name, monkeypatch):
    kept = contents(taken.parent / "files")
    assert kept
    before = {path: path.stat().st_mtime_ns for path in (taken.parent / "files").rglob("*")}
    monkeypatch.setattr(backup, "datetime", Later)
    again = backup.take(taken.parent, database.dsn(roles.BACKUP, database_name))
    assert json.loads((again / MANIFEST).read_text())["new_files"] == 0
    assert {p: p.stat().st_mtime_ns for p in (taken.parent / "files").rglob("*")} == before
    (again / MANIFEST).unlink()
    kept_backups.drop_old(taken.parent, 1)
    assert taken.exists()
    assert again.exists()  # newer than the last whole one: perhaps under way


class Later:
    """A clock that is ahead, so that the second backup has another name."""

    @staticmethod
    def now(zone):
        import datetime

        return datetime.datetime.now(zone) + datetime.timedelta(hours=1)


def test_a_role_that_policies_hold_back_takes_no_backup(world, database_name, tmp_path):  # noqa: F811
    with pytest.raises(BackupError, match="the policies of the book hold this role back"):
        backup.take(tmp_path / "backups", database.dsn(roles.LOGIN, database_name))
    assert not list((tmp_path / "backups").rglob(MANIFEST))


def test_no_key_and_no_password_is_in_a_backup(taken, keys):
    whole = b"".join(path.read_bytes() for path in taken.rglob("*") if path.is_file())
    for name in (SIGNING_KEY, MFA_KEY, SECRET_KEY, DOCUMENT_KEY):
        for line in (keys / name).read_bytes().splitlines()[:2]:
            assert line.startswith(b"-----") or line not in whole


def test_one_backup_at_a_time(taken, database_name):
    with (
        alone_in(taken.parent),
        pytest.raises(BackupError, match=r"another backup into .* is under way: let it finish"),
    ):
        backup.take(taken.parent, database.dsn(roles.BACKUP, database_name))
    assert kept_backups.whole_ones(taken.parent) == [taken]


def test_by_a_clock_that_is_behind_none_is_taken_and_none_dropped(taken, database_name):
    ahead = taken.rename(taken.with_name("29990101T000000Z"))
    with pytest.raises(BackupError, match="set the clock, or move that one away"):
        backup.take(taken.parent, database.dsn(roles.BACKUP, database_name))
    assert list(taken.parent.glob("2*")) == [ahead]


def test_a_disk_that_is_full_leaves_nothing_half_and_is_told(
    world, keys, database_name, tmp_path  # noqa: F811
):  # fmt: skip
    (tmp_path / "bin").mkdir()
    full = tmp_path / "bin" / "pg_dump"
    full.write_text('#!/bin/sh\ncase "$*" in *--file=*book.dump*) '
                    'echo x >"$(echo "$*" | sed "s/.*--file=\\([^ ]*\\).*/\\1/")"; esac\n'
                    "echo 'pg_dump: error: No space left on device' >&2; exit 1\n")  # fmt: skip
    full.chmod(0o755)
    ran = backed_up(tmp_path, keys, database_name, PG_BIN=str(full.parent))
    assert ran.returncode == 1
    assert "No space left on device; make room and run this again" in ran.stderr
    assert not list((tmp_path / "backups").rglob("book.dump"))
    assert not list((tmp_path / "backups").glob("2*"))


def backed_up(folder: Path, keys: Path, name: str, *words: str, **said: str):
    """The operator's command, over the suite's own database."""
    there = {
        "PATH": os.environ["PATH"], "PG_BIN": str(find_programs()),
        "BACKUP_DATABASE_URL": database.url(roles.BACKUP, name),
        "BACKUP_FOLDER": str(folder / "backups"), "SIGNING_KEY_FILE": str(keys / SIGNING_KEY),
        "MFA_KEY_FILE": str(keys / MFA_KEY), "FILES_ROOT": str(folder / "no files"), **said,
    }  # fmt: skip
    return subprocess.run(
        [sys.executable, "-m", "deploy.backup", *words], cwd=PROJECT, env=there,
        capture_output=True, text=True, check=False,
    )  # fmt: skip


def test_the_last_backup_is_noted_and_what_hinders_it_is_told(stage, keys, database_name, tmp_path):  # noqa: F811
    state = tmp_path / "last"
    ran = backed_up(tmp_path, keys, database_name, BACKUP_STATE_FILE=str(state))
    assert ran.returncode == 0, ran.stderr
    [whole] = kept_backups.whole_ones(tmp_path / "backups")
    finished = json.loads((whole / MANIFEST).read_text())["finished_at"]
    assert json.loads(state.read_text()) == {"finished_at": finished}
    shutil.rmtree(whole)
    ran = backed_up(tmp_path, keys, database_name, BACKUP_STATE_FILE="/nowhere/last")
    assert ran.returncode == 1
    assert "The backup is whole, and /metrics will not say so" in ran.stderr
    assert kept_backups.whole_ones(tmp_path / "backups")


def test_a_folder_of_the_log_that_is_not_there_is_named_before_anything(keys, tmp_path):
    ran = backed_up(tmp_path, keys, "of no matter", "--log", str(tmp_path / "nowhere"))
    assert ran.returncode == 1
    assert f"--log: there is no folder {tmp_path / 'nowhere'}" in ran.stderr
    assert not (tmp_path / "backups").exists()


@pytest.fixture
def whole_with_log(tmp_path, monkeypatch) -> tuple[Path, Path]:
    """A backup that the command is to have taken, and its folder of the log."""
    made, log = tmp_path / "20310504T023000Z", tmp_path / "log"
    (made / BASE).mkdir(parents=True)
    (made / BASE / LABEL).write_text(
        "START WAL LOCATION: 0/2000028 (file 000000010000000000000002)\n"
    )
    (made / BASE / "global").mkdir()
    (made / BASE / "global" / "pg_control").write_bytes(b"server 1 and more")
    told = {"tables": {}, "records": 0, "files": 0, "new_files": 0}
    (made / MANIFEST).write_text(json.dumps(told))
    log.mkdir()
    monkeypatch.setenv("BACKUP_DATABASE_URL", "postgresql://nobody@nowhere/none")
    monkeypatch.setattr(backup, "take", lambda *words, **options: made)
    words = ["deploy.backup", "--folder", str(tmp_path), "--log", str(log)]
    monkeypatch.setattr(sys, "argv", words)
    return made, log


def test_a_log_that_cannot_be_dropped_does_not_deny_the_backup(whole_with_log, capsys):
    made, log = whole_with_log
    (log / "000000010000000000000001.gz").mkdir()  # no file: it cannot be unlinked
    assert backup.main() == 1
    out, err = capsys.readouterr()
    assert out.startswith(f"{made}: 0 rows")
    assert err.startswith("The backup is whole, and the log of before stays: ")


def test_the_log_of_a_server_that_was_brought_back_outlives_bases_of_before(whole_with_log):
    made, log = whole_with_log
    before = made.parent / "20310427T023000Z"
    shutil.copytree(made, before)
    (before / BASE / "global" / "pg_control").write_bytes(b"server 0 and more")
    label = before / BASE / LABEL
    label.write_text(
        label.read_text().replace("000000010000000000000002", "0000000100000000000000F0")
    )
    for number in (1, 2, 3):
        (log / f"00000001000000000000000{number}.gz").touch()
    assert backup.main() == 0
    assert sorted(piece.name[23:] for piece in log.iterdir()) == ["2.gz", "3.gz"]


def test_a_log_that_is_not_kept_is_told_and_nothing_of_it_dropped(whole_with_log, capsys):
    made, log = whole_with_log
    (log / "000000010000000000000001.gz").touch()
    told = json.loads((made / MANIFEST).read_text()) | {"log_fails_at": "000000010000000000000003"}
    (made / MANIFEST).write_text(json.dumps(told))
    assert backup.main() == 1
    err = capsys.readouterr().err
    assert "the log of the database is not kept from 000000010000000000000003 on" in err
    assert len(list(log.iterdir())) == 1


def test_older_ones_that_cannot_be_dropped_do_not_deny_the_backup(
    whole_with_log, capsys, monkeypatch
):
    made, log = whole_with_log
    (log / "000000010000000000000001.gz").touch()
    monkeypatch.setattr(kept_backups.shutil, "rmtree", held_fast)
    (made.parent / "20300101T000000Z").mkdir()  # never finished
    assert backup.main() == 1
    out, err = capsys.readouterr()
    assert out.startswith(f"{made}: 0 rows")
    assert err.startswith("The backup is whole, and older ones that should have gone stay: ")
    assert "Operation not permitted" in err
    assert not list(log.iterdir())  # what could be done besides was done
    with alone_in(made.parent):  # another is under way, and drops when it ends
        assert backup.main() == 0


def test_what_is_dropped_halfway_is_no_backup(tmp_path, monkeypatch):
    for name in ("20300101T000000Z", "20310101T000000Z"):
        (tmp_path / name).mkdir()
        (tmp_path / name / MANIFEST).write_text("{}")
    monkeypatch.setattr(kept_backups.shutil, "rmtree", held_fast)
    with pytest.raises(PermissionError):
        kept_backups.drop_old(tmp_path, 1)
    assert [path.name for path in kept_backups.whole_ones(tmp_path)] == ["20310101T000000Z"]


def held_fast(path: Path, *words: object, **options: object) -> None:
    """As of a folder that nobody may change."""
    raise PermissionError(errno.EPERM, os.strerror(errno.EPERM), str(path))


def test_a_book_that_is_back_is_told_where_a_last_step_fails(
    taken, empty, keys, tmp_path, monkeypatch, capsys
):
    (tmp_path / "a file").touch()
    ran = restored(empty, taken.parent, keys, STATIC_ROOT=str(tmp_path / "a file" / "static"))
    assert ran.returncode == 1
    assert "All that was checked is right." in ran.stdout
    assert "the service may start" not in ran.stdout
    assert ran.stderr.startswith("The book is restored and checked, and need not be again. But the")
    assert "sh deploy/operator manage.py collectstatic --no-input" in ran.stderr
    checked = restored(empty, taken.parent, keys, program="verify_book")
    assert checked.returncode == 0, checked.stderr  # it serves
    monkeypatch.setattr(restore.shutil, "chown", held_fast)
    assert restore.finish("nobody", keys) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert "not all keys and files belong to the service yet" in err
    assert f"run `chown -R nobody: {keys} " in err


def test_a_key_that_cannot_be_read_is_named(keys, database_name, tmp_path):
    for wrong in (keys / "nowhere", keys / SECRET_KEY, keys / DOCUMENT_KEY):
        ran = backed_up(tmp_path, keys, database_name, SIGNING_KEY_FILE=str(wrong))
        assert ran.returncode == 1
        assert f"SIGNING_KEY_FILE: {wrong} is no key that can be read" in ran.stderr
        assert "Traceback" not in ran.stderr


def test_an_owner_who_is_not_there_is_refused_before_anything(taken, empty, keys):
    ran = restored(empty, taken.parent, keys, "--owner", "nobody-of-that-name")
    assert ran.returncode == 1
    assert "this machine has no such user" in ran.stderr
    with psycopg.connect(empty.dsn()) as admin:
        asked = "SELECT 1 FROM pg_database WHERE datname = %s"
        assert admin.execute(asked, [DATABASE]).fetchone() is None
