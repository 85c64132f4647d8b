"""Stations that were there before know of a new winding once the migration has run."""

from concurrent.futures import ThreadPoolExecutor
from importlib import import_module

import pytest

from tests.records import world as worlds
from tests.records.services.test_concurrency import wait_for_locks

MIGRATION = import_module("records.migrations.0042_what_was_rewound_before_is_taken_down")
STANDS = "SELECT rewound_on::text FROM records_piecestanding WHERE kind = 'motor' AND tag = 'M-101'"
NOW = " AND known_until IS NULL AND site_id = (SELECT min(row) FROM records_site)"


@pytest.fixture
def world(stage, signing_key, cleared_afterwards):
    return worlds.of(stage)


def rewound_before(owner):
    """The plate of the first station's motor says so, and what stands there does not yet."""
    owner.execute("ALTER TABLE records_motor DISABLE TRIGGER records_motor_stands")
    owner.execute(
        "UPDATE records_motor SET rewound_on = '2026-06-01' WHERE tag = 'M-101'"
        " AND site_id = (SELECT min(row) FROM records_site)"
    )
    owner.execute("ALTER TABLE records_motor ENABLE TRIGGER records_motor_stands")


def taken_down(stage):
    """As the migration does it, in one transaction."""
    [as_written] = MIGRATION.Migration.operations
    with stage.as_owner(autocommit=False) as owner:
        for statement in as_written.sql:
            owner.execute(statement)
        owner.commit()


def test_what_a_plate_says_already_is_taken_down_once(world, stage):
    with stage.as_owner() as owner:
        rewound_before(owner)
        assert owner.execute(STANDS + NOW).fetchall() == [(None,)]
        rows = owner.execute("SELECT count(*) FROM records_piecestanding").fetchone()[0]
        taken_down(stage)
        taken_down(stage)
        assert owner.execute(STANDS + NOW).fetchall() == [("2026-06-01",)]
        # One row more, since the row of before has ended; other motors stand as they stood.
        assert owner.execute("SELECT count(*) FROM records_piecestanding").fetchone()[0] == rows + 1


def test_whoever_changes_something_at_a_station_meanwhile_waits_for_it_and_not_it_for_them(
    world, stage
):
    """Who holds a station goes on to its motor, and to what stands there."""
    with stage.as_owner() as owner:
        rewound_before(owner)
    with ThreadPoolExecutor(1) as pool, stage.as_owner(autocommit=False) as owner:
        owner.execute(
            "SELECT FROM records_site WHERE row = (SELECT min(row) FROM records_site) FOR UPDATE"
        )
        migrated = pool.submit(taken_down, stage)
        wait_for_locks(stage, 1)
        owner.execute("SELECT FROM records_piecestanding FOR UPDATE NOWAIT")
        owner.execute("SELECT FROM records_motor FOR UPDATE NOWAIT")
        owner.commit()
        assert migrated.result() is None
