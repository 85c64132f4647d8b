"""The check of migrations names what an older version that still serves would feel."""

import pytest

from deploy.migration_check import LAST_RELEASED, PROJECT, faults

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
