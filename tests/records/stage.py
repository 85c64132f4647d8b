"""What most tests of the records begin with, committed once and kept while it lasts.

Tests roll back what they do themselves. After a test that commits, the tables are emptied, and
the next one finds the stage set again.
"""

import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any, TypeVar

import psycopg
from django.conf import settings
from joserfc.jwk import OKPKey
from pytest_django import DjangoDbBlocker

from records import roles
from tests import database
from tests.records import cast as casting
from tests.records import stations
from tests.records.cast import Cast
from tests.records.client import Api
from tests.records.stations import Station

Made = TypeVar("Made")


@dataclass
class Stage:
    """The cast and everything that was made ready for it."""

    database: str
    blocker: DjangoDbBlocker
    key: OKPKey
    key_file: Path
    _kept: dict[str, Any] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """The key goes where the service looks for it."""
        self.key_file.write_bytes(self.key.as_pem(private=True))
        self._cleaner = database.Cleaner(self.database)

    def cast(self) -> Cast:
        """Everybody, engaged by the owner."""
        if not self._still_there():
            self._cleaner.clear()
            self._kept = {"cast": casting.make()}
            with self.as_owner() as owner:
                casting.engage(owner, self._kept["cast"], self.key)
        cast: Cast = self._kept["cast"]
        return cast

    def station(self) -> Station:
        """The booster station of Orla's contractor and Cleo's utility."""
        return self.keep("station", lambda cast: stations.register(Api(cast.orla), cast.client))

    def keep(self, name: str, make: Callable[[Cast], Made]) -> Made:
        """What `make` commits, made once; to be asked for before a test's transaction begins."""
        cast = self.cast()
        if name not in self._kept:
            with self.blocker.unblock():
                self._kept[name] = make(cast)
        made: Made = self._kept[name]
        return made

    def fill(self, write: Callable[[psycopg.Connection, Cast, OKPKey], None]) -> None:
        """Another book in place of the cast's: `write` engages its people as well."""
        self.clear()
        people = casting.make()
        with self.as_owner(autocommit=False) as owner:
            write(owner, people, self.key)
        self._kept = {"cast": people}

    def clear(self) -> None:
        """Empty the tables, so that the next test finds cast and station alone."""
        self._cleaner.clear()
        self._kept = {}

    def as_owner(self, *, autocommit: bool = True) -> psycopg.Connection:
        """A connection of the tables' owner, committing at once unless told otherwise.

        One that waits for what its own test holds gives up, and the test fails.
        """
        return psycopg.connect(
            database.dsn(roles.OWNER, self.database),
            autocommit=autocommit,
            options="-c lock_timeout=120s",
        )

    def command(self, *words: str, **more: str) -> tuple[int, str]:
        """A command of whoever runs the service, as the tables' owner: its status and its words.

        `more` of the environment, besides what leads to this database.
        """
        environment = {
            "DATABASE_URL": database.url(roles.LOGIN, self.database),
            "OWNER_DATABASE_URL": database.url(roles.OWNER, self.database),
            "SECRET_KEY": settings.SECRET_KEY,
            **more,
        }
        ran = subprocess.run(
            [sys.executable, "manage.py", *words], cwd=database.PROJECT,
            env=os.environ | environment, capture_output=True, text=True, check=False,
        )  # fmt: skip
        return ran.returncode, ran.stdout + ran.stderr

    def _still_there(self) -> bool:
        if "cast" not in self._kept:
            return False
        station = self._kept.get("station")
        for table, identity in (
            ("records_organization", self._kept["cast"].contractor),
            ("records_pumpset", station and station.pump_set),
        ):
            query = f"SELECT 1 FROM {table} WHERE id = %s"
            if identity and not self._looking.execute(query, [identity]).fetchone():
                return False
        return True

    @cached_property
    def _looking(self) -> psycopg.Connection:
        """Kept open: every test looks whether the stage is still set."""
        return self.as_owner()
