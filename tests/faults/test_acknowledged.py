"""Nothing acknowledged is lost or doubled while processes are killed; the short run.

In full: `python -m tests.faults.acknowledged --posts 10000 --kills 24 --documents 1000`.
"""

import pytest

from tests.faults import acknowledged, done_once

pytestmark = [pytest.mark.slow, pytest.mark.fault]


def test_nothing_acknowledged_is_lost_or_doubled():
    told = acknowledged.run(240, 8, documents=12)
    assert told["acknowledged"] == 240
    assert sum(told["kills"].values()) == 8
    assert told["things"] == 12
    assert {name: told[name] for name in acknowledged.WRONG} == dict.fromkeys(acknowledged.WRONG, 0)
    assert set(told["statuses"]) <= {"200", "201", "503"}  # a database that is away is no error


def test_a_database_that_acknowledges_too_early_is_found_out():
    told = acknowledged.run(120, 2, careless=True, kinds=("database",))
    assert told["lost"] > 0


def test_each_fault_would_be_counted():
    rows = [("a", 1, 1), ("b", 2, 1), ("c", 1, 0), ("a again", 1, 1)]
    assert acknowledged.judged(rows, ["a", "b", "c", "d"]) == {
        "acknowledged": 4, "lost": 1, "doubled": 2, "effects_not_once": 1,
    }  # fmt: skip
    things = [(1, True), (0, False), (2, True), (1, False)]
    assert done_once.judged(things) == {"things": 4, "done_not_once": 2, "not_kept": 2}
