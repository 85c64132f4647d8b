"""The check of migrations names what an older version that still serves would feel."""

from collections.abc import Iterator

import psycopg
import pytest

from deploy.migration_check import LAST_RELEASED, PROJECT, faults, sql_of
from records import roles
from tests import database

FELT = {
    'ALTER TABLE "records_event" DROP COLUMN "kind" CASCADE;': "drops a column",
    'DROP TABLE "records_event" CASCADE;': "drops a table",
    'ALTER TABLE "records_event" RENAME COLUMN "kind" TO "sort";': "renames",
    'ALTER TABLE "records_event" RENAME TO "records_visit";': "renames",
    'ALTER TABLE "records_event" ALTER COLUMN "said" TYPE bigint USING "said"::bigint;': "anew",
    'ALTER TABLE "records_event" ALTER COLUMN "said" SET NOT NULL;': "reads the table",
    'ALTER TABLE "records_event" ADD COLUMN "extra" integer NOT NULL;': "needs a default",
    'CREATE INDEX "event_by_kind" ON "records_event" ("kind");': "stops writing",
    'ALTER TABLE "records_event" ADD CONSTRAINT "c" CHECK ("said" > 0);': "reads the table",
}
NOT_FELT = (
    'ALTER TABLE "records_event" ADD COLUMN "extra" integer NULL;',
    'ALTER TABLE "records_event" ADD COLUMN "extra" integer DEFAULT 0 NOT NULL;',
    'CREATE INDEX CONCURRENTLY "event_by_kind" ON "records_event" ("kind");',
    'ALTER TABLE "records_event" ADD CONSTRAINT "c" CHECK ("said" > 0) NOT VALID;',
    'CREATE TABLE "records_new" ("row" bigint);\nCREATE INDEX "n" ON "records_new" ("row");',
)


@pytest.mark.parametrize(("sql", "words"), FELT.items())
def test_what_would_be_felt_is_named_with_what_to_do(sql, words):
    (found,) = faults(sql)
    assert words in found


@pytest.mark.parametrize("sql", NOT_FELT)
def test_what_only_adds_passes(sql):
    assert list(faults(sql)) == []


def test_the_last_released_migration_is_there():
    assert (PROJECT / "records" / "migrations" / f"{LAST_RELEASED}.py").exists()


def test_an_index_whose_building_gave_up_waiting_is_built_by_the_next_try(as_owner, database_name):
    migration, index = "0025_seldom_events_are_found_at_once", "event_newest_of_state"
    as_owner.execute(f"DROP INDEX {index}")
    with psycopg.connect(database.dsn(roles.OWNER, database_name)) as writing:
        writing.execute("LOCK TABLE records_event IN ROW EXCLUSIVE MODE")
        as_owner.execute("SET lock_timeout = '3s'")  # a vacuum gives way after one
        with pytest.raises(psycopg.errors.LockNotAvailable):
            run(as_owner, migration)
    assert list(half_built(as_owner)) == [index]
    as_owner.execute("RESET lock_timeout")
    run(as_owner, migration)
    assert list(half_built(as_owner)) == []
    assert as_owner.execute("SELECT to_regclass(%s) IS NOT NULL", [index]).fetchone() == (True,)


def run(owner: psycopg.Connection, migration: str) -> None:
    """Each statement by itself, as migrations run that are not atomic."""
    for statement in sql_of(migration).split(";\n"):
        owner.execute(statement.encode())


def half_built(owner: psycopg.Connection) -> Iterator[str]:
    """Indexes that nobody reads."""
    for (name,) in owner.execute(
        "SELECT indexrelid::regclass::text FROM pg_index WHERE NOT indisvalid"
    ):
        yield name
