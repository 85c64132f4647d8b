"""The migration that takes indexes away, undone and done again on a book with rows in it."""

import os
import subprocess
import sys
from collections.abc import Iterator
from importlib import import_module

import psycopg
import pytest
from joserfc.jwk import OKPKey
from psycopg.conninfo import make_conninfo

from records import roles
from tests import database
from tests.generated_book.filling import Size, fill
from tests.records import cast as casting

BEFORE = "0032"
written = import_module("records.migrations.0033_no_index_repeats_the_beginning_of_another")
NAMES = {index for _, _, index, _ in written.KEYS} | {
    written.OF_PATTERNS, "site_by_client_and_code",
}  # fmt: skip

INDEXES = """
SELECT relname, pg_get_indexdef(indexrelid), indisvalid AND indisready
  FROM pg_index JOIN pg_class ON oid = indexrelid
 WHERE starts_with(indrelid::regclass::text, 'records_')
"""


@pytest.fixture(scope="module")
def book(worker_id: str) -> Iterator[str]:
    """The name of a database of its own, with some stations of two years."""
    name = f"{database.template()}_{worker_id}_undone"
    database.copy_template(name)
    try:
        with psycopg.connect(database.dsn(roles.OWNER, name)) as owner:
            key = OKPKey.generate_key("Ed25519")
            counts = fill(owner, casting.make(), key, Size(stations=3, years=2, seed=5))
        assert counts
        yield name
    finally:
        database.drop(name)


def migrate(name: str, *to: str) -> subprocess.CompletedProcess[str]:
    owner = database.url(roles.OWNER, name)
    return subprocess.run(
        [sys.executable, "manage.py", "migrate", "records", *to, "--database=owner", "-v0"],
        cwd=database.PROJECT, env={**os.environ, "OWNER_DATABASE_URL": owner},
        capture_output=True, text=True, check=False,
    )  # fmt: skip


def looked(name: str) -> tuple[dict[str, str], set[str], dict[str, int]]:
    """Indexes with their definitions, those that are half made, and rows of each table."""
    with psycopg.connect(database.dsn(roles.OWNER, name)) as owner:
        found = owner.execute(INDEXES).fetchall()
        tables = [table for (table,) in owner.execute(database.TABLES)
                  if table.startswith("records_")]  # fmt: skip
        rows = {
            each: owner.execute(f"SELECT count(*) FROM {each}").fetchone()[0] for each in tables
        }
    return {name: text for name, text, _ in found}, {n for n, _, whole in found if not whole}, rows


def leave_half(name: str, index: str, on: str) -> None:
    """As an undoing leaves it that was ended while it waited."""
    where = make_conninfo(os.environ[database.ADMIN], dbname=name)
    with psycopg.connect(where, autocommit=True) as admin:
        admin.execute(f"CREATE INDEX {index} ON {on}")
        admin.execute(
            "UPDATE pg_index SET indisvalid = false WHERE indexrelid = %s::regclass", [index]
        )


def test_undone_every_index_is_whole_again_and_done_again_none_is_left(book):
    first, half, rows = looked(book)
    assert not half
    assert not NAMES & set(first)
    assert rows["records_record"] > 3
    leave_half(book, "records_event_contractor_id_ec4ae111", "records_event (contractor_id)")
    leave_half(book, "site_by_client_and_code", "records_site (client_id)")
    leave_half(book, written.OF_PATTERNS, "records_signingkey (endorsed_by_id)")
    undone = migrate(book, BEFORE)
    assert undone.returncode == 0, undone.stderr
    there, half, same = looked(book)
    assert not half
    assert set(there) - set(first) == NAMES
    for model, name, index, _ in written.KEYS:
        assert there[index].endswith(f"ON public.records_{model} USING btree ({name}_id)")
    assert there[written.OF_PATTERNS].endswith("(endorsed_by_id text_pattern_ops)")
    assert there["site_by_client_and_code"].endswith("(client_id, code)")
    done = migrate(book)  # to the last: the template holds all that came since
    assert done.returncode == 0, done.stderr
    assert looked(book) == (first, set(), rows) == (first, set(), same)
