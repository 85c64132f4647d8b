"""Readings that are missing, or of an older edition, are made anew by the operator's command."""

from concurrent.futures import ThreadPoolExecutor

import pytest

from records.documents.readings_csv import EDITION
from tests.records import world as worlds
from tests.records.services.test_concurrency import wait_for_locks


@pytest.fixture
def world(stage, signing_key, cleared_afterwards):
    return worlds.of(stage)


@pytest.fixture
def rewrite(stage):
    def run():
        status, said = stage.command("rewrite_readings")
        assert status == 0, said
        return int(said.rpartition(" ")[2])

    return run


KEPT = "SELECT record_id, contractor_id, client_id, edition, lines FROM records_recordreadings"


def test_what_is_stale_or_missing_is_made_anew_and_nothing_else(world, stage, rewrite):
    with stage.as_owner() as owner:
        before = owner.execute(f"{KEPT} ORDER BY 1").fetchall()
        assert [each[3] for each in before] == [EDITION] * 2
        assert rewrite() == 0
        first, second = (each[0] for each in before)
        owner.execute("DELETE FROM records_recordreadings WHERE record_id = %s", [first])
        change = "UPDATE records_recordreadings SET edition = 0, lines = '' WHERE record_id = %s"
        owner.execute(change, [second])
        owner.commit()
        assert rewrite() == 2
        assert owner.execute(f"{KEPT} ORDER BY 1").fetchall() == before
        assert rewrite() == 0


def test_a_record_that_is_handed_on_meanwhile_is_handed_on_with_its_readings(
    world, stage, rewrite, cast
):
    with ThreadPoolExecutor(1) as pool, stage.as_owner(autocommit=False) as owner:
        owner.execute("UPDATE records_recordreadings SET edition = 0")
        owner.commit()
        for table in ("records_record", "records_recordreadings"):
            owner.execute(f"UPDATE {table} SET handed_to = ARRAY[%s]", [cast.other_client])
        made = pool.submit(rewrite)
        wait_for_locks(stage, 1)
        owner.commit()
        assert made.result() == 2
        kept = owner.execute("SELECT edition, handed_to FROM records_recordreadings").fetchall()
        assert kept == [(EDITION, [cast.other_client])] * 2
