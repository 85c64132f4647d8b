"""Posts events while tables are migrated and the web server is exchanged; prints what came back.

    python -m tests.faults.migrating [--breaking]

As an upgrade goes by deploy/README.md: a copy of the project has one more version; its expanding
migration runs while the old version serves, then the new version takes over the same socket, then a
contracting migration runs. Nobody may notice. --breaking renames in place of expanding: then this
must see failures, or it could see none.
"""

import argparse
import json
import random
import shutil
import subprocess
import sys
import threading
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

from deploy.children import stop_child
from deploy.processes import PYTHON
from deploy.roles import DATABASE
from records import roles
from tests.benchmarks.servers import PROJECT, RemoteApi, bearer
from tests.faults.acknowledged import CLIENTS, SEED, Client, Installation, bodies, installed
from tests.records import stations

PARTS = ("calculations", "deploy", "fixtures", "records", "manage.py")
AT_LEAST = 8  # posts of each client before, between and after
WAITED = 120.0  # s
EXPAND = (
    "ALTER TABLE records_event ADD COLUMN tried text NOT NULL DEFAULT ''",
    "ALTER TABLE records_event ADD CONSTRAINT tried_short CHECK (length(tried) < 9) NOT VALID",
    "ALTER TABLE records_event VALIDATE CONSTRAINT tried_short",
    "CREATE INDEX CONCURRENTLY event_tried ON records_event (tried)",
)
CONTRACT = ("DROP INDEX CONCURRENTLY event_tried", "ALTER TABLE records_event DROP COLUMN tried")
BREAKING = ("ALTER TABLE records_event RENAME COLUMN kind TO sort",)
MIGRATION = """
from django.db import migrations

class Migration(migrations.Migration):
    atomic = False
    dependencies = [("records", {after!r})]
    operations = [migrations.RunSQL(each) for each in {statements!r}]
"""


def add_migration(project: Path, name: str, statements: tuple[str, ...]) -> None:
    """The next migration of a copy of the project."""
    folder = project / "records" / "migrations"
    last = max(path.stem for path in folder.glob("0*.py"))
    number = int(last[:4]) + 1
    text = MIGRATION.format(after=last, statements=statements)
    (folder / f"{number:04}_{name}.py").write_text(text, encoding="utf-8")


def copy_of_the_project(folder: Path) -> Path:
    """Where the next version is made."""
    copy = folder / "next"
    copy.mkdir()
    for part in PARTS:
        if (PROJECT / part).is_dir():
            ignored = shutil.ignore_patterns("__pycache__")
            shutil.copytree(PROJECT / part, copy / part, ignore=ignored)
        else:
            shutil.copy(PROJECT / part, copy / part)
    return copy


def migrate(made: Installation, project: Path) -> None:
    """As the page says: it waits for no lock longer than callers may."""
    owner = made.database.url(user=roles.OWNER, database=DATABASE)
    said = {"OWNER_DATABASE_URL": owner, "PGOPTIONS": "-c lock_timeout=5s"}
    subprocess.run(
        [PYTHON, "manage.py", "migrate", "--database=owner", "--verbosity=0"],
        cwd=project, env=made.environment | said, check=True, capture_output=True,
    )  # fmt: skip


class Load:
    """Clients that post until they are told to stop."""

    def __init__(self, clients: list[Client]) -> None:
        self.clients, self.over = clients, threading.Event()
        for client in clients:
            client.bodies = self._until_over(client.bodies)
            client.start()

    def _until_over(self, given: Iterator[str]) -> Iterator[str]:
        for body in given:
            if self.over.is_set():
                return
            yield body

    def go_on(self) -> None:
        """Wait until each has posted some more; `TimeoutError` where one no longer can."""
        wanted = [len(each.counted.acknowledged) + AT_LEAST for each in self.clients]
        end = time.monotonic() + WAITED
        while any(
            len(each.counted.acknowledged) < least
            for each, least in zip(self.clients, wanted, strict=True)
        ):
            if time.monotonic() > end:
                raise TimeoutError(f"a client posted fewer than {AT_LEAST} in {WAITED:.0f} s")
            time.sleep(0.05)

    def stop(self) -> None:
        self.over.set()
        for client in self.clients:
            client.join()


def exchange_web(made: Installation, project: Path) -> None:
    """The new version takes over the socket, where callers wait meanwhile."""
    assert made.web is not None
    stop_child(made.web, patience=40)
    made.project = project
    made.start_web()


def run(*, breaking: bool = False) -> dict[str, object]:
    """What callers were answered while it was migrated."""
    with installed() as made:
        cast = made.people()
        office = RemoteApi(made.address, cast.orla)
        known = [stations.register(office, cast.client, code=f"M-{n}") for n in range(CLIENTS)]
        load = Load([
            Client(made.address, bearer(cast.teo),
                   bodies([known[n]], sys.maxsize, random.Random(SEED + n)))
            for n in range(CLIENTS)
        ])  # fmt: skip
        try:
            upgrade(made, load, breaking=breaking)
        finally:
            load.stop()
    counted = [client.counted for client in load.clients]
    statuses = sum((each.statuses for each in counted), Counter[int]())
    return {
        "acknowledged": sum(len(each.acknowledged) for each in counted),
        "statuses": {str(status): count for status, count in sorted(statuses.items())},
        "broken_off": sum(each.broken for each in counted),
        "refused": [said for each in counted for said in each.refused],
    }


def upgrade(made: Installation, load: Load, *, breaking: bool) -> None:
    """Each step of it, under load."""
    copy = copy_of_the_project(made.folder)
    load.go_on()
    add_migration(copy, "expand", BREAKING if breaking else EXPAND)
    migrate(made, copy)
    if breaking:
        time.sleep(5)
        return
    load.go_on()
    exchange_web(made, copy)
    load.go_on()
    add_migration(copy, "contract", CONTRACT)
    migrate(made, copy)
    load.go_on()


def main() -> int:
    """Print it; 1 where a caller noticed, or where nobody noticed what breaks."""
    parser = argparse.ArgumentParser(prog="python -m tests.faults.migrating")
    parser.add_argument("--breaking", action="store_true")
    breaking = parser.parse_args().breaking
    told = run(breaking=breaking)
    print(json.dumps(told, indent=2))
    return int(noticed(told) is not breaking)


def noticed(told: dict[str, object]) -> bool:
    """Whether a caller got anything but what a post answers.

    What the old web server was answering as it ended may break off; it is sent again under its id.
    """
    statuses, broken = told["statuses"], told["broken_off"]
    assert isinstance(statuses, dict)
    assert isinstance(broken, int)
    return bool(set(statuses) - {"200", "201"} or broken > CLIENTS)


if __name__ == "__main__":
    sys.exit(main())
