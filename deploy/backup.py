"""Takes one backup of the whole installation, keys apart: `sh deploy/operator -m deploy.backup`.

    python -m deploy.backup [--folder FOLDER] [--base] [--keep N] [--log FOLDER]

FOLDER/NAME/ holds the book as a logical dump, with --base besides a base backup that the archived
log goes on from, and at last `manifest.json`: what has none was never finished. FOLDER/files/ holds
every file that any backup names, under its digest: it only grows, and what is there is not read
again. The queue is not in it: what is still to be done is read from the book. Nor are the keys.
"""

import argparse
import errno
import hashlib
import hmac
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import psycopg
from joserfc.errors import JoseError
from joserfc.jwk import OKPKey
from psycopg.sql import SQL, Identifier, Literal

from deploy.environment import BadVariableError, secret
from deploy.kept_backups import BASE, MANIFEST, drop_old, drop_old_log, whole_ones
from deploy.postgres_programs import PostgresProgramsError
from records.whole_files import alone_in, synchronize_folder, write_whole

FORMAT = 1
DUMP, FILES = "book.dump", "files"
NAME = "%Y%m%dT%H%M%SZ"
PIECE = 1 << 20
KEPT = 30

TABLES = """
SELECT relname FROM pg_class
WHERE relnamespace = 'public'::regnamespace AND relkind = 'r' ORDER BY relname
"""
AS_TEXT = {
    "TimeZone": "UTC", "DateStyle": "ISO, YMD", "IntervalStyle": "postgres",
    "bytea_output": "hex", "extra_float_digits": "1",
}  # fmt: skip
# In no order, and in constant memory however long the table is.
CONTENT = """
SELECT count(*), coalesce(sum(hashtextextended(r::text, 0)::numeric), 0)::text FROM public.{} AS r
"""
# Since its last success: a piece that fails is tried again each minute, and the log grows.
LOG_FAILS = """
SELECT last_failed_wal FROM pg_stat_archiver WHERE current_setting('archive_mode') <> 'off'
   AND last_failed_time > coalesce(last_archived_time, '-infinity')
"""
NAMED_FILES = """
SELECT sha256 FROM records_recorddocument WHERE sha256 IS NOT NULL
UNION SELECT sha256 FROM records_attachment UNION SELECT sha256 FROM records_trace ORDER BY 1
"""


class BackupError(Exception):
    """It cannot go on; the message says what to do."""


def arguments() -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m deploy.backup", description=__doc__)
    parser.add_argument("--folder", type=Path, default=os.environ.get("BACKUP_FOLDER") or None)
    parser.add_argument("--base", action="store_true", help="take a base backup as well")
    parser.add_argument("--keep", type=int, default=KEPT, help="backups; older ones are dropped")
    parser.add_argument(
        "--log", type=Path, help="where archive_wal keeps the log: drop what no kept base needs"
    )
    return parser.parse_args()


def main() -> int:
    """Take it, and say what is in it."""
    options = arguments()
    try:
        if options.folder is None:
            raise BackupError("set BACKUP_FOLDER, or give --folder")
        if options.log and not options.log.is_dir():
            raise BackupError(f"--log: there is no folder {options.log}")
        made = take(Path(options.folder), _dsn(), base=options.base)
    except (BackupError, BadVariableError, PostgresProgramsError, OSError, psycopg.Error) as error:
        print(f"No backup was taken: {with_advice(error)}", file=sys.stderr)
        return 1
    told = json.loads((made / MANIFEST).read_text(encoding="utf-8"))
    rows = sum(table["rows"] for table in told["tables"].values())
    print(
        f"{made}: {rows} rows, {told['records']} records, {told['files']} files"
        f" ({told['new_files']} new){', base backup' if options.base else ''}"
    )
    unkept = _say_unkept(told.get("log_fails_at"))
    log = None if unkept else options.log
    return int(_note(told) | unkept | _forget(Path(options.folder), options.keep, log))


def with_advice(error: Exception) -> str:
    """What went wrong, and of a full disk what to do."""
    said = str(error)
    if os.strerror(errno.ENOSPC) in said:
        said += "; make room and run this again: what was whole before is whole still"
    return said


def _dsn() -> str:
    dsn = secret("BACKUP_DATABASE_URL")
    if not dsn:
        raise BackupError(
            "set BACKUP_DATABASE_URL (or BACKUP_DATABASE_URL_FILE) to the connection of the role"
            " for backups; the first run writes it"
        )
    return dsn


def take(folder: Path, dsn: str, *, base: bool = False) -> Path:
    """Take a backup into a folder of its own; one at a time in a folder."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    try:
        with alone_in(folder):
            begun = datetime.now(UTC)
            refuse_later(folder, begun)
            made = folder / begun.strftime(NAME)
            made.mkdir(mode=0o700)
            try:
                _fill(made, dsn, begun, base=base)
            except BaseException:
                shutil.rmtree(made, ignore_errors=True)
                raise
    except BlockingIOError:
        raise BackupError(
            f"another backup into {folder} is under way: let it finish, or end it"
        ) from None
    return made


def refuse_later(folder: Path, now: datetime) -> None:
    """By a clock that is behind, the new backup would be the oldest, and dropped at once."""
    if (whole := whole_ones(folder)) and whole[-1].name >= now.strftime(NAME):
        raise BackupError(
            f"it is {now:%Y-%m-%d %H:%M:%S} UTC by this machine's clock, and {whole[-1]} is there"
            " already: set the clock, or move that one away if it was taken by a wrong one"
        )


def _fill(made: Path, dsn: str, begun: datetime, *, base: bool) -> None:
    """Everything of one backup; the manifest comes last."""
    with psycopg.connect(dsn) as connection:
        connection.isolation_level = psycopg.IsolationLevel.REPEATABLE_READ
        connection.read_only = True
        told = _told(connection) | {"format": FORMAT, "begun_at": begun.isoformat()}
        (snapshot,) = _one(connection, "SELECT pg_export_snapshot()")
        _dump(dsn, made / DUMP, str(snapshot))
        digests = [bytes(sha256) for (sha256,) in connection.execute(NAMED_FILES)]
    if base:
        _base(dsn, made / BASE)
    new = _files(made.parent / FILES, digests)
    told |= {
        "dump": {"size": (made / DUMP).stat().st_size, "sha256": digest_of(made / DUMP)},
        "base": base,
        "files": len(digests),
        "new_files": new,
        "files_sha256": hashlib.sha256(b"".join(digests)).hexdigest(),
        "finished_at": datetime.now(UTC).isoformat(),
    }
    write_whole(made / MANIFEST, json.dumps(told, indent=2).encode())
    synchronize_folder(made.parent)


def _one(connection: psycopg.Connection, query: str) -> tuple[Any, ...]:
    row = connection.execute(query.encode()).fetchone()
    assert row is not None  # noqa: S101  # an aggregate, or a function
    return row


def _told(connection: psycopg.Connection) -> dict[str, Any]:
    """What a restore holds itself against, all of one moment."""
    (sees_all,) = _one(
        connection, "SELECT rolbypassrls OR rolsuper FROM pg_roles WHERE rolname = current_user"
    )
    if not sees_all:
        raise BackupError(
            "the policies of the book hold this role back, so that rows would be missing:"
            " BACKUP_DATABASE_URL needs the role for backups, or an administrator"
        )
    (records,) = _one(connection, "SELECT count(*) FROM records_record")
    (last,) = _one(connection, "SELECT coalesce(max(row), 0) FROM records_record")
    migrations = connection.execute("SELECT app, name FROM django_migrations ORDER BY app, name")
    return {
        "server_version": connection.info.server_version,
        "migrations": [f"{app}.{name}" for app, name in migrations],
        "records": records,
        "last_record_row": last,
        "tables": tables_of(connection),
        "keys": fingerprints(),
        "log_fails_at": next((piece for (piece,) in connection.execute(LOG_FAILS)), None),
    }


def tables_of(connection: psycopg.Connection) -> dict[str, dict[str, Any]]:
    """Of each table its number of rows, and a digest of what they say.

    Said alike on every server: its own zone and forms of times are another machine's tomorrow.
    """
    for name, value in AS_TEXT.items():
        connection.execute(SQL("SET LOCAL {} TO {}").format(Identifier(name), Literal(value)))
    told = {}
    for (name,) in connection.execute(TABLES).fetchall():
        row = connection.execute(SQL(CONTENT).format(Identifier(name))).fetchone()
        assert row is not None  # noqa: S101  # an aggregate
        told[name] = {"rows": row[0], "digest": row[1]}
    return told


def fingerprints() -> dict[str, str]:
    """By which a restore sees whether the keys are those of the backup; they tell nothing of them.

    A key that is not set has none.
    """
    told = {}
    if file := os.environ.get("SIGNING_KEY_FILE"):
        try:
            told["signing_key"] = OKPKey.import_key(Path(file).read_bytes()).thumbprint()
        except (OSError, ValueError, JoseError) as error:
            raise BackupError(
                f"SIGNING_KEY_FILE: {file} is no key that can be read ({error}): put the"
                " installation's own back in its place"
            ) from error
    if mfa := secret("MFA_KEY").split():
        told["mfa_key"] = hmac.new(mfa[-1].encode(), b"stationbook backup", "sha256").hexdigest()
    return told


def program(name: str) -> str:
    """One of PostgreSQL's programs: from PG_BIN, else the system's."""
    if folder := os.environ.get("PG_BIN"):
        return str(Path(folder) / name)
    found = shutil.which(name)
    if found is None:
        raise BackupError(f"{name} is not installed: install PostgreSQL's client, or set PG_BIN")
    return found


def run(name: str, *words: str | Path, dsn: str) -> None:
    """Run one of them; the connection's password stays off the command line."""
    named = psycopg.conninfo.conninfo_to_dict(dsn)
    given = {"PGPASSWORD": str(named.pop("password", "") or os.environ.get("PGPASSWORD", ""))}
    where = psycopg.conninfo.make_conninfo(**{k: str(v) for k, v in named.items()})
    ran = subprocess.run(
        [program(name), *map(str, words), f"--dbname={where}"],
        env={**os.environ, **given}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    if ran.returncode != 0:
        raise BackupError(f"{name} failed: {ran.stderr.strip()[-800:]}")


def _dump(dsn: str, file: Path, snapshot: str) -> None:
    run("pg_dump", "--format=custom", "--schema=public", f"--snapshot={snapshot}",
        f"--file={file}", dsn=dsn)  # fmt: skip
    _synchronize(file)


def _base(dsn: str, folder: Path) -> None:
    """A copy of the whole server's data, with the log that it needs to be whole."""
    named = {k: str(v) for k, v in psycopg.conninfo.conninfo_to_dict(dsn).items() if k != "dbname"}
    run("pg_basebackup", f"--pgdata={folder}", "--format=plain", "--checkpoint=fast",
        "--wal-method=stream", "--manifest-checksums=SHA256", "--no-password",
        dsn=psycopg.conninfo.make_conninfo(**named))  # fmt: skip


def _files(folder: Path, digests: list[bytes]) -> int:
    """Copy what is not there yet, each held against its digest; the number of new ones."""
    from django.core.files.storage import default_storage

    from records.services.files import stored_name

    new = 0
    for digest in digests:
        name = stored_name(digest)
        kept = folder / name
        if kept.exists():
            continue
        try:
            with default_storage.open(name) as file:
                _keep(kept, file.chunks(PIECE), digest)
        except FileNotFoundError:
            raise BackupError(
                f"the book names the file {name}, and it is not among the files: see"
                " `manage.py verify_book`"
            ) from None
        new += 1
    return new


def _keep(kept: Path, pieces: Iterator[bytes], digest: bytes) -> None:
    kept.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
    unfinished, counted = kept.with_name(f".{kept.name}"), hashlib.sha256()
    try:
        with unfinished.open("wb") as copy:
            for piece in pieces:
                counted.update(piece)
                copy.write(piece)
            copy.flush()
            os.fsync(copy.fileno())
        if counted.digest() != digest:
            raise BackupError(
                f"the file {kept.name} is not what the book says, it was changed: see"
                " `manage.py verify_book`"
            )
        unfinished.replace(kept)
    finally:
        unfinished.unlink(missing_ok=True)
    synchronize_folder(kept.parent)


def digest_of(file: Path) -> str:
    """SHA-256 of a file, as text."""
    with file.open("rb") as opened:
        return hashlib.file_digest(opened, "sha256").hexdigest()


def _synchronize(file: Path) -> None:
    with file.open("rb") as opened:
        os.fsync(opened.fileno())


def _note(told: dict[str, Any]) -> bool:
    """For who watches: when the last whole backup was finished. It holds no secret."""
    if file := os.environ.get("BACKUP_STATE_FILE"):
        try:
            write_whole(Path(file), json.dumps({"finished_at": told["finished_at"]}).encode())
            Path(file).chmod(0o644)
        except OSError as error:
            words = f"BACKUP_STATE_FILE cannot be written ({error}). Give its folder to who runs"
            return _told_after(f"/metrics will not say so: {words} this.")
    return False


def _say_unkept(piece: str | None) -> bool:
    """Of a log that the server cannot put away: its disk fills, and no moment is brought back."""
    if piece is None:
        return False
    return _told_after(
        f"the log of the database is not kept from {piece} on: archive_command fails, and"
        " PostgreSQL's own log says why. `holds something else`: the folder has the log of another"
        " server; move that away, and make an empty one as when installing"
    )


def _forget(folder: Path, keep: int, log: Path | None) -> bool:
    """Drop what is older than those that are kept, and its log."""
    wrong = False
    try:
        with suppress(BlockingIOError), alone_in(folder):  # another one drops when it ends
            drop_old(folder, keep)
    except OSError as error:
        wrong = _told_after(f"older ones that should have gone stay: {error}")
    if log:
        try:
            drop_old_log(folder, log)
        except OSError as error:
            wrong = _told_after(f"the log of before stays: {error}")
    return wrong


def _told_after(words: str) -> bool:
    """What did not go well once the backup was there."""
    print(f"The backup is whole, and {words}", file=sys.stderr)
    return True


def begin_django() -> None:
    """Files and records are reached through the service's own code."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    import django

    django.setup()


if __name__ == "__main__":
    begin_django()
    sys.exit(main())
