"""What records of before performed is written by the operator's command, once."""

from concurrent.futures import ThreadPoolExecutor

import pytest

from tests.records import world as worlds
from tests.records.services.test_concurrency import wait_for_locks

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


def test_a_record_that_is_handed_on_meanwhile_is_handed_on_with_what_it_performed(
    world, stage, cast
):
    """Else whoever looks after the station now would not see what was done last."""
    with stage.as_owner() as owner:
        owner.execute("ALTER TABLE records_performedtask DISABLE TRIGGER USER")
        owner.execute("DELETE FROM records_performedtask")
        owner.execute("ALTER TABLE records_performedtask ENABLE TRIGGER USER")
    with ThreadPoolExecutor(1) as pool, stage.as_owner(autocommit=False) as owner:
        owner.execute("UPDATE records_record SET handed_to = ARRAY[%s]", [cast.other_client])
        made = pool.submit(stage.command, "keep_performed_tasks")
        wait_for_locks(stage, 1)
        owner.commit()
        assert made.result()[1].strip().endswith(": 2")
        kept = owner.execute("SELECT DISTINCT handed_to FROM records_performedtask").fetchall()
    assert kept == [([cast.other_client],)]
