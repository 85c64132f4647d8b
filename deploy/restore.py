"""Brings a backup back onto an empty machine: `sh deploy/operator -m deploy.restore`.

    python -m deploy.restore [--folder FOLDER] [--backup NAME]

Before: configuration and keys in their places, and a database server. Makes roles, database and
queue, loads the book, copies the files, brings the tables up to date, and checks every row against
the backup, every seal, every link and every file. Until that is done the database bears a mark, and
nothing serves from it. Stopped in the middle: run it again.
"""

import argparse
import json
import os
import pwd
import shlex
import shutil
import sys
from pathlib import Path
from typing import Any

import psycopg
from psycopg.conninfo import make_conninfo
from psycopg.sql import SQL, Identifier, Literal

from deploy import backup, static_files
from deploy.backup import DUMP, FILES, FORMAT, BackupError, begin_django
from deploy.environment import BadVariableError, secret
from deploy.first_run import FirstRunError, hand_folder_over
from deploy.kept_backups import MANIFEST
from deploy.login_role import RESTORING
from deploy.roles import DATABASE, prepare_server
from records import roles

CONNECTIONS = {
    roles.OWNER: "OWNER_DATABASE_URL",
    roles.LOGIN: "DATABASE_URL",
    roles.QUEUE: "QUEUE_URL",
    roles.BACKUP: "BACKUP_DATABASE_URL",
}


def arguments() -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m deploy.restore", description=__doc__)
    parser.add_argument("--folder", type=Path, default=os.environ.get("BACKUP_FOLDER") or None)
    parser.add_argument("--owner", help="system user who runs the service, and owns its files")
    parser.add_argument("--keys", type=Path, default=Path("/etc/stationbook/keys"))
    parser.add_argument("--backup", help="its name; the newest where nothing is said")
    return parser.parse_args()


def main() -> int:
    """Restore, and say each step."""
    from django.db import Error

    options = arguments()
    try:
        if options.folder is None:
            raise BackupError("set BACKUP_FOLDER, or give --folder")
        admin = secret("ADMIN_DATABASE_URL")
        if not admin:
            raise BackupError("set ADMIN_DATABASE_URL to an administrator of the database server")
        refuse_a_stranger(options.owner)
        restore(Path(options.folder), options.backup, admin)
    except (BackupError, BadVariableError, FirstRunError, OSError, Error, psycopg.Error) as error:
        print(f"Not restored: {backup.with_advice(error)}", file=sys.stderr)
        return 1
    return finish(options.owner, options.keys)


def finish(owner: str | None, keys: Path) -> int:
    """What the service needs besides the book; the book is there whether this goes well or not."""
    from django.conf import settings
    from django.core.management import CommandError

    wrong = 0
    try:
        if where := static_files.gather():
            say(f"static files: {where}")
    except (OSError, CommandError) as error:
        wrong = _lacks(
            f"the static files of the pages are not gathered ({error}): mend that, and run"
            " `sh deploy/operator manage.py collectstatic --no-input`"
        )
    try:
        hand_over(owner, keys)
    except (FirstRunError, OSError) as error:
        wrong = _lacks(
            f"not all keys and files belong to the service yet ({error}): mend that, and run"
            f" `chown -R {owner}: {shlex.join((str(keys), str(settings.FILES_ROOT)))}`"
        )
    if not wrong:
        say("restored: the service may start")
    return wrong


def _lacks(words: str) -> int:
    print(
        f"The book is restored and checked, and need not be again. But {words} before the service"
        " starts.", file=sys.stderr,
    )  # fmt: skip
    return 1


def restore(folder: Path, name: str | None, admin: str) -> None:
    """Everything of a backup, onto the server that an administrator's connection names."""
    chosen = choose(folder, name)
    told = read_manifest(chosen)
    refuse_unfit(told, chosen, admin)
    there = make_conninfo(admin, dbname=DATABASE)
    clear_what_was_begun(admin, there)
    say(f"backup {chosen.name} of {told['finished_at']}: whole, and its keys are these")
    prepare_server(admin, passwords=passwords())
    mark(there, f"{RESTORING} {chosen.name}")
    load(chosen / DUMP, there)
    compare(there, told)
    say(f"book: {len(told['tables'])} tables, every row as in the backup")
    new = copy_files(folder / FILES, there)
    say(f"files: {told['files']}, of them {new} copied")
    bring_up_to_date()
    check_all()
    mark(there, None)


def passwords() -> dict[str, str]:
    """Those with which the configuration connects: the roles get them on this server, too."""
    told = {}
    for role, name in CONNECTIONS.items():
        url = secret(name)
        if not url.startswith(("postgresql://", "postgres://")):  # a broker of another kind
            continue
        given = psycopg.conninfo.conninfo_to_dict(url)
        if word := given.get("password"):
            told[role] = str(word)
    return told


def say(words: str) -> None:
    """One line of what was done."""
    print(words, flush=True)


def choose(folder: Path, name: str | None) -> Path:
    """The backup of this name, else the newest whole one."""
    if name is not None:
        return folder / name
    whole = sorted(path.parent for path in folder.glob(f"*/{MANIFEST}"))
    if not whole:
        raise BackupError(f"{folder} holds no whole backup")
    return whole[-1]


def read_manifest(chosen: Path) -> dict[str, Any]:
    """What a backup says of itself; refuses one that is not whole."""
    try:
        told: dict[str, Any] = json.loads((chosen / MANIFEST).read_text(encoding="utf-8"))
    except FileNotFoundError:
        raise BackupError(
            f"{chosen} is no whole backup, it has no {MANIFEST}: it was not finished; take another"
        ) from None
    except ValueError as error:
        raise BackupError(f"{chosen / MANIFEST} cannot be read: {error}; take another") from None
    if told.get("format") != FORMAT:
        raise BackupError(
            f"{chosen} has the format {told.get('format')}, this program reads {FORMAT}:"
            " install the version of Stationbook that took it, or a later one"
        )
    if lacks := {"server_version", "migrations", "tables", "keys", "dump", "files"} - set(told):
        raise BackupError(
            f"{chosen / MANIFEST} does not say its {', '.join(sorted(lacks))}: it was changed;"
            " take another"
        )
    dump = chosen / DUMP
    if not dump.exists() or backup.digest_of(dump) != told["dump"]["sha256"]:
        raise BackupError(f"{dump} is not what the manifest says: it was changed; take another")
    return told


def refuse_unfit(told: dict[str, Any], chosen: Path, admin: str) -> None:
    """Another server, another version, other keys: refused before anything is touched."""
    try:
        with psycopg.connect(admin, connect_timeout=10) as connection:
            version = connection.info.server_version
    except psycopg.Error as error:
        raise BackupError(
            f"ADMIN_DATABASE_URL: the database server does not let us in ({error}): start it, or"
            " put the connection right"
        ) from error
    if version // 10000 < told["server_version"] // 10000:
        raise BackupError(
            f"the backup is of PostgreSQL {told['server_version'] // 10000}, this server is"
            f" {version // 10000}: install {told['server_version'] // 10000} or later"
        )
    if unknown := sorted(set(told["migrations"]) - known_migrations()):
        raise BackupError(
            f"the backup is of a later version of Stationbook (it has {unknown[-1]}):"
            " install that one, and run this again"
        )
    have = backup.fingerprints()
    for name, wanted in told["keys"].items():
        if have.get(name) != wanted:
            raise BackupError(
                f"{name} is not the one of this backup ({chosen.name}): put the keys of that time"
                f" in their place ({name.upper()}_FILE); they are kept apart from the backups"
            )


def known_migrations() -> set[str]:
    """Those of this version of the code."""
    from django.db.migrations.loader import MigrationLoader

    loader = MigrationLoader(None, ignore_no_migrations=True)
    replaced = {old for each in loader.disk_migrations.values() for old in each.replaces}
    return {f"{app}.{name}" for app, name in {*loader.disk_migrations, *replaced}}


def clear_what_was_begun(admin: str, there: str) -> None:
    """Only an empty database is written to; of one that a restore has begun with nothing is kept.

    It may be half of another version, which no dump can be laid over.
    """
    with psycopg.connect(admin, autocommit=True) as connection:
        found = connection.execute(
            "SELECT coalesce(shobj_description(oid, 'pg_database'), '') FROM pg_database"
            " WHERE datname = %s", [DATABASE],
        ).fetchone()  # fmt: skip
        if found is None:
            return
        if str(found[0]).startswith(RESTORING):
            connection.execute(SQL("DROP DATABASE {} WITH (FORCE)").format(Identifier(DATABASE)))
            return
    with psycopg.connect(there) as connection:
        tables = connection.execute(backup.TABLES).fetchall()
    if tables:
        raise BackupError(
            f"the database {DATABASE} holds a book already, and nothing was touched: rename it"
            f" (ALTER DATABASE {DATABASE} RENAME TO …) or give another server, and run this again"
        )


def mark(there: str, words: str | None) -> None:
    """The mark that nothing serves from this database yet; None takes it away."""
    with psycopg.connect(there) as connection:
        statement = SQL("COMMENT ON DATABASE {} IS {}")
        connection.execute(statement.format(Identifier(DATABASE), Literal(words)))


def load(dump: Path, there: str) -> None:
    """The book, whole or not at all."""
    backup.run("pg_restore", "--clean", "--if-exists", "--exit-on-error", "--single-transaction",
               dump, dsn=there)  # fmt: skip
    with psycopg.connect(there, autocommit=True) as connection:
        connection.execute("ANALYZE")


def compare(there: str, told: dict[str, Any]) -> None:
    """Every table has the rows that it had, and they say what they said."""
    with psycopg.connect(there) as connection:
        found = backup.tables_of(connection)
    if wrong := [name for name, table in told["tables"].items() if found.get(name) != table]:
        raise BackupError(f"these tables are not what they were: {', '.join(wrong)}")


def copy_files(kept: Path, there: str) -> int:
    """Copy what the book names and the storage lacks; the number of those."""
    from django.core.files.base import File
    from django.core.files.storage import default_storage

    from records.services.files import keep, stored_name

    new = 0
    with psycopg.connect(there) as connection:
        named = [bytes(sha256) for (sha256,) in connection.execute(backup.NAMED_FILES)]
    for digest in named:
        name = stored_name(digest)
        if default_storage.exists(name):
            continue
        file = kept / name
        if not file.exists():
            raise BackupError(f"the backup lacks the file {name}: copy {kept} whole, and run again")
        if bytes.fromhex(backup.digest_of(file)) != digest:
            raise BackupError(f"{file} was changed: take it from another copy, and run again")
        with file.open("rb") as opened:
            keep(digest, File(opened))
        new += 1
    return new


def refuse_a_stranger(owner: str | None) -> None:
    """Said before hours of work, and not after."""
    try:
        if owner is not None:
            pwd.getpwnam(owner)
    except KeyError:
        raise BackupError(
            f"--owner {owner}: this machine has no such user; make it as for an installation"
        ) from None


def hand_over(owner: str | None, keys: Path) -> None:
    """What root has brought back belongs to the service: its files, and its keys."""
    from django.conf import settings

    if owner is None:
        return
    if keys.is_dir():
        hand_folder_over(keys, owner)
    root: Path = settings.FILES_ROOT
    if root.exists():
        for path in (root, *root.rglob("*")):
            shutil.chown(path, owner, owner)


def bring_up_to_date() -> None:
    """An older backup's tables become those of this version."""
    from django.core.management import call_command

    call_command("migrate", database="owner", verbosity=0, interactive=False)
    say("tables: up to date")


def check_all() -> None:
    """Every seal, link and file; what is wrong is printed."""
    from records.services import whole_book

    if wrong := whole_book.verify("owner"):
        raise BackupError(f"{wrong} checks failed: what is printed above says which")


if __name__ == "__main__":
    begin_django()
    sys.exit(main())
