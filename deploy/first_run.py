"""Makes everything that an installation needs before it serves; again it makes what is missing.

    python -m deploy.first_run --email ADDRESS --name NAME --organization NAME --address https://…

Keys and passwords, roles, the database, its tables, the queue, the signing key's place in the book,
static files, and the first person of the office. Says what it did. The link with which that person
chooses a password goes into a file that its owner alone reads, and is never printed.
"""

import argparse
import io
import os
import secrets
import shutil
import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

import psycopg
from psycopg.conninfo import conninfo_to_dict

from deploy import static_files
from deploy.environment import BadVariableError, secret
from deploy.keys import make_missing_keys
from deploy.production import faults
from deploy.roles import DATABASE, PASSWORDS, prepare_server
from records import roles
from records.whole_files import write_whole

OLDEST_SERVER = 150000
LINK = "first_office_link"
# Which connection lies where: what serves reads the first two, what the operator runs the others.
URLS = {
    roles.LOGIN: "database_url",
    roles.QUEUE: "queue_url",
    roles.OWNER: "owner_database_url",
    roles.BACKUP: "backup_database_url",
}
OF_THE_SERVICE = (roles.LOGIN, roles.QUEUE)


class FirstRunError(Exception):
    """It cannot go on; the message says what to do."""


@dataclass(frozen=True)
class Folders:
    """Where keys lie: what serves reads the one, whoever runs the service the other."""

    keys: Path
    operator: Path

    def of(self, role: str) -> Path:
        """Where the password of a role lies."""
        return self.keys if role in OF_THE_SERVICE else self.operator


def arguments() -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m deploy.first_run", description=__doc__)
    parser.add_argument("--keys", type=Path, default=Path("/etc/stationbook/keys"))
    parser.add_argument("--operator", type=Path, default=Path("/etc/stationbook/operator"))
    parser.add_argument("--owner", help="system user who runs the service, and owns its keys")
    parser.add_argument("--email", help="of the first person of the office")
    parser.add_argument("--name", help="that person's full name")
    parser.add_argument("--organization", help="the contractor's name")
    parser.add_argument("--address", help="https://… that the service is at")
    return parser.parse_args()


def main() -> int:
    """Do each step in turn."""
    options = arguments()
    folders = Folders(options.keys, options.operator)
    try:
        admin = _admin()
        make_keys(folders, options.owner)
        make_database(admin, folders)
        say_connections(admin, folders, options.owner)
        take_in(folders)
        prepare_book(folders, options)
    except (FirstRunError, BadVariableError, OSError, psycopg.Error) as error:
        print(
            f"Not finished: {error}\nPut it right and run the same command again.", file=sys.stderr
        )
        return 1
    return 0


def _admin() -> str:
    """An administrator's connection; refuses a server that is too old or not there."""
    dsn = secret("ADMIN_DATABASE_URL")
    if not dsn:
        raise FirstRunError(
            "set ADMIN_DATABASE_URL (or ADMIN_DATABASE_URL_FILE) to a connection of an"
            " administrator of the database server"
        )
    try:
        with psycopg.connect(dsn, connect_timeout=10) as connection:
            version = connection.info.server_version
    except psycopg.OperationalError as error:
        raise FirstRunError(f"the database server does not let us in: {error}") from error
    if version < OLDEST_SERVER:
        raise FirstRunError(f"PostgreSQL {version // 10000} is too old: install 15 or later")
    return dsn


def make_keys(folders: Folders, owner: str | None) -> None:
    """Make keys and passwords that are missing; what is there is never touched."""
    for folder in (folders.keys, folders.operator):
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    before = set(folders.keys.iterdir()) | set(folders.operator.iterdir())
    make_missing_keys(folders.keys)
    for role, name in PASSWORDS.items():
        file = folders.of(role) / name.lower()
        if not file.exists():
            write_whole(file, secrets.token_urlsafe(32).encode())
    if not (folders.keys / "metrics_token").exists():
        write_whole(folders.keys / "metrics_token", secrets.token_urlsafe(32).encode())
    hand_folder_over(folders.keys, owner)
    made = (set(folders.keys.iterdir()) | set(folders.operator.iterdir())) - before
    names = ", ".join(sorted(file.name for file in made))
    print(f"keys and passwords: made {names}" if made else "keys and passwords: were there")


def hand_folder_over(folder: Path, owner: str | None) -> None:
    """Give a folder of keys, and what lies in it, to whoever runs the service."""
    if owner is None:
        return
    for path in (folder, *folder.iterdir()):
        try:
            shutil.chown(path, owner, owner)
        except (LookupError, PermissionError) as error:
            raise FirstRunError(f"{path} cannot be given to the user {owner}: {error}") from error


def make_database(admin: str, folders: Folders) -> None:
    """Roles, database, queue."""
    passwords = {role: _read(folders, role) for role in PASSWORDS}
    prepare_server(admin, passwords=passwords)
    print(f"database: {DATABASE} with its roles and its queue is ready")


def _read(folders: Folders, role: str) -> str:
    return (folders.of(role) / PASSWORDS[role].lower()).read_text(encoding="utf-8").strip()


def say_connections(admin: str, folders: Folders, owner: str | None) -> None:
    """Write the connection of each role beside its password."""
    where = where_passwords_count(
        {name: str(value) for name, value in conninfo_to_dict(admin).items()},
        _read(folders, roles.LOGIN),
    )
    for role, name in URLS.items():
        content = connection_url(where, role, _read(folders, role)).encode()
        file = folders.of(role) / name
        if not file.exists() or file.read_bytes() != content:
            write_whole(file, content)
    hand_folder_over(folders.keys, owner)
    print(f"connections: in {folders.keys} and {folders.operator}")


def where_passwords_count(admin: dict[str, str], password: str) -> dict[str, str]:
    """The administrator's server; by TCP where its socket asks who the system's user is."""
    by_tcp = {**admin, "host": "127.0.0.1"}
    refused = []
    for each in (admin, by_tcp) if admin.get("host", "/").startswith("/") else (admin,):
        try:
            psycopg.connect(connection_url(each, roles.LOGIN, password), connect_timeout=10).close()
        except psycopg.OperationalError as error:
            refused.append(str(error))
        else:
            return each
    raise FirstRunError(
        f"the server lets the role {roles.LOGIN} in by no password, see its pg_hba.conf: "
        + "; ".join(refused)
    )


def connection_url(admin: Mapping[str, str], role: str, password: str) -> str:
    """The administrator's server, as another role; over its socket with a password as well.

    What else stands in the administrator's connection (sslmode and the like) goes along, but not
    for the queue, which takes that from PGSSLMODE and so on.
    """
    host = quote(admin.get("host", "localhost"), safe="")
    login = f"{quote(role, safe='')}:{quote(password, safe='')}"
    url = f"postgresql://{login}@{host}:{admin.get('port', '5432')}/{DATABASE}"
    kept = ("sslmode", "sslrootcert", "target_session_attrs")
    more = "&".join(f"{name}={quote(admin[name], safe='')}" for name in kept if name in admin)
    return f"{url}?{more}" if more and role != roles.QUEUE else url


def take_in(folders: Folders) -> None:
    """Let this process know what was made, where its environment does not say so already."""
    of_files = {
        "SECRET_KEY": folders.keys / "secret_key",
        "MFA_KEY": folders.keys / "mfa_key",
        "DATABASE_URL": folders.keys / URLS[roles.LOGIN],
        "QUEUE_URL": folders.keys / URLS[roles.QUEUE],
        "OWNER_DATABASE_URL": folders.operator / URLS[roles.OWNER],
    }
    for name, file in of_files.items():
        if not os.environ.get(name):
            os.environ.setdefault(f"{name}_FILE", str(file))
    os.environ.setdefault("SIGNING_KEY_FILE", str(folders.keys / "signing_key.pem"))
    os.environ.setdefault("DOCUMENT_KEY_FILE", str(folders.keys / "document_key.pem"))


def prepare_book(folders: Folders, options: argparse.Namespace) -> None:
    """Tables, signing key, static files, the first person."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    import django

    django.setup()
    from django.core.management import CommandError, call_command
    from django.db import Error

    if found := faults():
        raise FirstRunError("the configuration is not whole: " + "; ".join(found))
    try:
        call_command("migrate", database="owner", verbosity=0, interactive=False)
        print("tables: up to date")
        call_command("register_signing_key")
        if where := static_files.gather():
            print(f"static files: {where}")
        print(f"first office: {_first_office(folders, options)}")
    except (CommandError, Error) as error:
        raise FirstRunError(str(error)) from error


def _first_office(folders: Folders, options: argparse.Namespace) -> str:
    """Invite the first person of the office, unless somebody was invited before."""
    from django.core.management import call_command

    from records.models import Membership

    offices = Membership.objects.using("owner").filter(role="office")
    if offices.exists():
        return "somebody was let in before; nobody else was invited"
    given = {name: getattr(options, name) for name in ("email", "name", "organization", "address")}
    if missing := [f"--{name}" for name, value in given.items() if not value]:
        return f"nobody yet; run again with {', '.join(missing)}"
    told = io.StringIO()
    call_command(
        *("invite_person", given["email"], "--role", "office", "--name", given["name"]),
        *("--new-organization", given["organization"], "--address", given["address"]),
        *("--by", "first run", "--reason", "the first person of this installation"),
        stdout=told,
    )
    file = folders.operator / LINK
    write_whole(file, told.getvalue().encode())
    return f"{given['email']} is invited; the link, good once and for a week, is in {file}"


if __name__ == "__main__":
    sys.exit(main())
