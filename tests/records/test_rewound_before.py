"""Stations that were there before know of a new winding once the migration has run."""

from importlib import import_module

import pytest

from tests.records import world as worlds

MIGRATION = import_module("records.migrations.0041_a_new_winding_is_verified_anew")
STANDS = "SELECT rewound_on::text FROM records_piecestanding WHERE kind = 'motor' AND tag = 'M-101'"
NOW = " AND known_until IS NULL AND site_id = (SELECT min(row) FROM records_site)"


@pytest.fixture
def world(stage, signing_key, cleared_afterwards):
    return worlds.of(stage)


def test_what_a_plate_says_already_is_taken_down_once(world, stage):
    with stage.as_owner() as owner:
        owner.execute("ALTER TABLE records_motor DISABLE TRIGGER records_motor_stands")
        owner.execute(
            "UPDATE records_motor SET rewound_on = '2026-06-01' WHERE tag = 'M-101'"
            " AND site_id = (SELECT min(row) FROM records_site)"
        )
        owner.execute("ALTER TABLE records_motor ENABLE TRIGGER records_motor_stands")
        assert owner.execute(STANDS + NOW).fetchall() == [(None,)]
        rows = owner.execute("SELECT count(*) FROM records_piecestanding").fetchone()[0]
        owner.execute(MIGRATION.ANEW)
        owner.execute(MIGRATION.ANEW)
        assert owner.execute(STANDS + NOW).fetchall() == [("2026-06-01",)]
        # One row more, since the row of before has ended; other motors stand as they stood.
        assert owner.execute("SELECT count(*) FROM records_piecestanding").fetchone()[0] == rows + 1
