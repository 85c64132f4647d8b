"""What records of before performed is written by the operator's command, once."""

import pytest

from tests.records import world as worlds

KEPT = (
    "SELECT record_id, task, tag, piece, serial, drive, performed_on, sealed_at, result"
    " FROM records_performedtask ORDER BY record_id, task, tag"
)


@pytest.fixture
def world(stage, signing_key, cleared_afterwards):
    return worlds.of(stage)


def test_what_is_missing_is_written_and_nothing_else(world, stage, cleared_afterwards):
    with stage.as_owner() as owner:
        before = owner.execute(KEPT).fetchall()
        records = {row[0] for row in before}
        assert len(records) == 2
        owner.execute("ALTER TABLE records_performedtask DISABLE TRIGGER USER")
        owner.execute("DELETE FROM records_performedtask WHERE record_id = %s", [min(records)])
        owner.execute("ALTER TABLE records_performedtask ENABLE TRIGGER USER")
        status, words = stage.command("keep_performed_tasks")
        assert (status, words.strip()) == (0, "records whose tasks were written: 1")
        assert owner.execute(KEPT).fetchall() == before
        assert stage.command("keep_performed_tasks")[1].strip().endswith(": 0")
