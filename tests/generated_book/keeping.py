"""A generated book in a folder: its database, its keys, its people."""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path
from types import TracebackType
from typing import Any
from uuid import UUID

import psycopg
from joserfc.jwk import OKPKey

from deploy.embedded_postgres import EmbeddedPostgres
from deploy.roles import DATABASE, prepare_server
from records import roles
from tests.benchmarks import servers
from tests.generated_book.filling import Size, fill
from tests.records import cast as casting
from tests.records.cast import Cast, Person

KNOWN = "people.json"


class Kept:
    """The folder's database runs while this is entered."""

    def __init__(self, folder: Path) -> None:
        folder.mkdir(parents=True, exist_ok=True)
        self.folder = folder
        self.running = EmbeddedPostgres(folder / "postgres", durable=True)

    def __enter__(self) -> "Kept":
        self.running.__enter__()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.running.__exit__(kind, error, trace)

    def dsn(self, user: str = roles.OWNER) -> str:
        """How to reach the book's database as somebody."""
        return self.running.dsn(user=user, database=DATABASE)

    @property
    def people(self) -> Cast:
        """Who is in it."""
        held = json.loads((self.folder / KNOWN).read_text())
        told = {
            name: Person(value["username"], value["role"], UUID(value["organization"]),
                         UUID(value["id"]), value["secret"])
            if isinstance(value, dict) else UUID(value)
            for name, value in held.items()
        }  # fmt: skip
        return Cast(**told)  # type: ignore[arg-type]

    def fill(self, size: Size) -> dict[str, Any]:
        """Write the book where there is none yet; answers the rows that each table got."""
        if (self.folder / KNOWN).exists():
            return {"there already": str(self.folder)}
        prepare_server(self.running.dsn())
        environment = servers.environment(self.running)
        owner = self.running.url(user=roles.OWNER, database=DATABASE)
        servers.run(["manage.py", "migrate", "--database=owner", "--verbosity=0"],
                    environment | {"OWNER_DATABASE_URL": owner})  # fmt: skip
        key = OKPKey.import_key(Path(environment["SIGNING_KEY_FILE"]).read_bytes())
        people = casting.make()
        begun = self.folder / f"{KNOWN}.begun"
        begun.write_text(json.dumps(asdict(people), default=str))
        with psycopg.connect(self.dsn()) as connection:
            counts = fill(connection, people, key, size)
        begun.rename(self.folder / KNOWN)
        return counts

    @contextmanager
    def serving(self) -> Iterator[str]:
        """The service's web server over the book; answers its address."""
        environment = servers.environment(self.running) | {"SECOND_FACTOR": "offered"}
        with servers.serving("deploy.wsgi", environment, self.running) as address:
            yield address
