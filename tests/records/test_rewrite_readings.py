"""Readings that are missing, or of an older edition, are made anew by the operator's command."""

import os
import subprocess
import sys

import pytest

from records import roles
from records.documents.readings_csv import EDITION
from tests import database
from tests.records import world as worlds


@pytest.fixture
def world(stage, signing_key, cleared_afterwards):
    return worlds.of(stage)


@pytest.fixture
def rewrite(database_name):
    environment = {
        **os.environ,
        "DATABASE_URL": database.url(roles.LOGIN, database_name),
        "OWNER_DATABASE_URL": database.url(roles.OWNER, database_name),
    }

    def run():
        command = [sys.executable, "manage.py", "rewrite_readings"]
        ran = subprocess.run(command, env=environment, capture_output=True, text=True, check=True)
        return int(ran.stdout.rpartition(" ")[2])

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
