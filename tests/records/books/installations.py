"""Another installation beside the tests' own: its database, keys, files and people."""

import os
import subprocess
import sys
import uuid
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import dj_database_url
import psycopg
from django.conf import LazySettings
from django.db import connections
from django.db.utils import load_backend
from joserfc.jwk import OKPKey
from psycopg.types.json import Jsonb

from records import roles
from records.services import keys
from tests import database
from tests.records import cast as casting
from tests.records.cast import Person

OWNER = "owner_there"
BY = ("--by", "Ines of the operator", "--reason", "The client's letter of 3 November.")


@dataclass
class Installation:
    """One that begins with a contractor, its people, and a key of its own."""

    database: str
    folder: Path

    def __post_init__(self) -> None:
        """Its people are none of the cast's."""
        self.contractor = uuid.uuid4()
        self.nora = Person("nora", "office", self.contractor)
        self.nils = Person("nils", "technician", self.contractor)
        self.key = OKPKey.generate_key("Ed25519")
        self.key_file = self.folder / "signing_key.pem"
        self.key_file.write_bytes(self.key.as_pem(private=True))
        self._cleaner = database.Cleaner(self.database)

    def begin(self) -> None:
        """As it is before any book comes in."""
        self._cleaner.clear()
        with self.as_owner() as owner:
            self._add_contractor(owner)
            for person in (self.nora, self.nils):
                self.engage(owner, person)
            owner.execute(
                "INSERT INTO records_signingkey (kid, public_jwk, algorithm, valid_from,"
                " endorsement, created_at) VALUES (%s, %s, 'Ed25519', date_trunc('second', now()),"
                " '', now())",
                [keys.key_id(self.key), Jsonb(keys.public_jwk(self.key))],
            )

    def _add_contractor(self, owner: psycopg.Connection) -> None:
        owner.execute(
            "INSERT INTO records_organization (id, name, revision, created_at)"
            " VALUES (%s, 'Brindle Pump Hall', 1, now())",
            [self.contractor],
        )

    def engage(self, owner: psycopg.Connection, person: Person) -> None:
        """Let somebody in, with a token."""
        casting.engage_person(owner, person)

    def as_owner(self) -> psycopg.Connection:
        """A connection of the tables' owner, committing at once."""
        return psycopg.connect(database.dsn(roles.OWNER, self.database), autocommit=True)

    @property
    def environment(self) -> dict[str, str]:
        """With which a command runs there."""
        return os.environ | {
            "DATABASE_URL": database.url(roles.LOGIN, self.database),
            "OWNER_DATABASE_URL": database.url(roles.OWNER, self.database),
            "SECRET_KEY": "of-the-tests-only-" + "x" * 32,
            "SIGNING_KEY_FILE": str(self.key_file),
            "FILES_ROOT": str(self.folder / "files"),
        }

    def command(self, *words: str) -> tuple[int, str]:
        """A command of whoever runs it: its status and its words."""
        ran = subprocess.run(
            [sys.executable, "manage.py", *words], cwd=database.PROJECT,
            env=self.environment, capture_output=True, text=True, check=False,
        )  # fmt: skip
        return ran.returncode, ran.stdout + ran.stderr

    @contextmanager
    def entered(self, settings: LazySettings) -> Iterator[None]:
        """Requests of the tests are answered by this one, for as long, and commit."""
        kept = settings.SIGNING_KEY_FILE, settings.STORAGES
        settings.SIGNING_KEY_FILE = self.key_file
        settings.STORAGES = files_in(settings, self.folder / "files")
        try:
            with served_by(self.database):
                yield
        finally:
            settings.SIGNING_KEY_FILE, settings.STORAGES = kept

    def rows(self, table: str, what: str = "count(*)", where: str = "true") -> Any:
        """One answer of its database."""
        with self.as_owner() as owner:
            [value] = owner.execute(f"SELECT {what} FROM {table} WHERE {where}").fetchone()
        return value


def _wrapper(role: str, name: str, alias: str) -> Any:
    login = dj_database_url.parse(database.url(role, name))
    known = {**connections.settings["default"], **login}
    return load_backend(known["ENGINE"]).DatabaseWrapper(known, alias)


@contextmanager
def served_by(name: str) -> Iterator[None]:
    """Django's own connection is the log-in role's of another database, and commits."""
    before = connections["default"]
    connections["default"] = _wrapper(roles.LOGIN, name, "default")
    try:
        yield
    finally:
        connections["default"].close()
        connections["default"] = before


@contextmanager
def owner_of(name: str) -> Iterator[str]:
    """The alias of a connection of the tables' owner, as commands have one."""
    connections[OWNER] = _wrapper(roles.OWNER, name, OWNER)
    try:
        yield OWNER
    finally:
        connections[OWNER].close()
        del connections[OWNER]


def files_in(settings: LazySettings, folder: Path) -> dict[str, Any]:
    """Django's storages, with files in a folder."""
    options = {"location": folder}
    default = {"BACKEND": "deploy.local_files.LocalFiles", "OPTIONS": options}
    return {**settings.STORAGES, "default": default}


def members(file: Path) -> dict[str, bytes]:
    """Everything in a ZIP."""
    with zipfile.ZipFile(file) as archive:
        return {name: archive.read(name) for name in archive.namelist()}
