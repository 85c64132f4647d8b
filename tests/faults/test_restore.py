"""A backup on a machine that has nothing else: every row, every guard, every file is there again.

As DEVELOPERS.md says it is done: "Back up and restore".
"""

import hashlib
import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import psycopg
import pytest
from psycopg.conninfo import make_conninfo

from deploy.embedded_postgres import EmbeddedPostgres
from deploy.postgres_programs import find_programs
from deploy.roles import DATABASE, prepare_server
from records import roles
from records.services import documents
from records.services.files import stored_name
from tests import database
from tests.records import world as worlds
from tests.records.conftest import cast, signing_key, stage, station  # noqa: F401
from tests.records.world import World

pytestmark = [pytest.mark.slow, pytest.mark.commits, pytest.mark.django_db(transaction=True)]

CONTENT = "SELECT md5(string_agg(r::text, E'\\n' ORDER BY r::text)), count(*) FROM {} AS r"
ALIKE = (
    "-c TimeZone=UTC -c DateStyle=ISO -c IntervalStyle=postgres -c bytea_output=hex"
    " -c extra_float_digits=1"
)
FILES = """
SELECT encode(sha256, 'hex') FROM records_recorddocument WHERE sha256 IS NOT NULL
UNION SELECT encode(sha256, 'hex') FROM records_attachment
UNION SELECT encode(sha256, 'hex') FROM records_trace
"""


@pytest.fixture
def world(stage, signing_key, settings) -> World:  # noqa: F811
    """Two contractors' work, committed, with a document made of each record."""
    settings.DOCUMENT_KEY_FILE = None
    made = worlds.of(stage)
    for identity, _ in documents.missing():
        assert documents.make(identity)
    return made


@pytest.fixture
def elsewhere(tmp_path: Path) -> Iterator[EmbeddedPostgres]:
    """A server that has only the roles, an empty database and the queue."""
    with EmbeddedPostgres(tmp_path / "elsewhere" / "postgres", durable=False) as running:
        prepare_server(running.dsn())
        yield running


@pytest.fixture
def restored(world, elsewhere, original, tmp_path) -> str:
    """The book there, from a backup of ours."""
    backup, there = tmp_path / "backup", elsewhere.dsn(database=DATABASE)
    run("pg_dump", "--format=custom", "--schema=public", "--file", backup, original)
    run("pg_restore", "--clean", "--if-exists", "--exit-on-error", "--single-transaction",
        "--dbname", there, backup)  # fmt: skip
    return there


@pytest.fixture
def original(database_name: str) -> str:
    return make_conninfo(os.environ[database.ADMIN], dbname=database_name)


def run(program: str, *words: str | Path) -> None:
    """One of PostgreSQL's programs."""
    command = [find_programs() / program, *words]
    ran = subprocess.run(command, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr


def tables(dsn: str) -> dict[str, tuple[str | None, int]]:
    """Digest and number of each table's rows, said alike whatever the server's own forms are."""
    with psycopg.connect(dsn, options=ALIKE) as admin:
        names = [name for (name,) in admin.execute(database.TABLES)]
        return {name: admin.execute(CONTENT.format(name)).fetchone() for name in names}


def schema(dsn: str, folder: Path) -> list[str]:
    """Every line that makes tables, guards, policies and grants; in no order."""
    file = folder / "schema.sql"
    run("pg_dump", "--schema-only", "--schema=public", "--file", file, dsn)
    # The sign-in library's index: PostgreSQL writes its condition otherwise when it reads it again.
    lines = [
        line for line in file.read_text().splitlines() if "unique_authenticator_type" not in line
    ]
    return sorted(line for line in lines if line and not line.startswith(("--", "\\", "SET ")))


def test_every_row_and_every_guard_is_there_again(original, restored, tmp_path):
    told = tables(original)
    assert tables(restored) == told
    assert told["records_record"][1] == 2
    assert told["records_event"][1] == 4
    assert schema(restored, tmp_path) == schema(original, tmp_path)


def test_what_is_sealed_is_still_guarded(world, elsewhere, restored):
    owner = elsewhere.dsn(user=roles.OWNER, database=DATABASE)
    for change in ("UPDATE records_record SET number = 7", "DELETE FROM records_record",
                   "TRUNCATE records_record CASCADE"):  # fmt: skip
        with (
            pytest.raises(psycopg.errors.IntegrityConstraintViolation),
            psycopg.connect(owner) as connection,
        ):
            connection.execute(change)
    with psycopg.connect(elsewhere.dsn(user=roles.LOGIN, database=DATABASE)) as service:
        service.execute(f"SET ROLE {roles.OFFICE}")
        assert service.execute("SELECT id FROM records_record").fetchall() == []
        service.execute("SELECT set_config('app.org', %s, false)", [world.own.contractor])
        assert service.execute("SELECT id::text FROM records_record").fetchall() == [
            (world.own.record,)
        ]


def test_every_file_that_the_book_names_is_in_a_copy_of_the_folder(restored, settings, tmp_path):
    """Files never change and are written before their row: copied after the dump, all are there."""
    copy = tmp_path / "copy"
    shutil.copytree(settings.STORAGES["default"]["OPTIONS"]["location"], copy)
    with psycopg.connect(restored) as admin:
        named = [digest for (digest,) in admin.execute(FILES)]
    assert len(named) >= 4  # two documents, a note, a trace
    for digest in named:
        content = (copy / stored_name(bytes.fromhex(digest))).read_bytes()
        assert hashlib.sha256(content).hexdigest() == digest
