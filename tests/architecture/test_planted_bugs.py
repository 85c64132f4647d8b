"""The bugs that `python -m tests.planted_bugs` plants still fit the code and name tests."""

import re

import pytest

from tests.database import PROJECT
from tests.planted_bugs.all_bugs import ALL
from tests.planted_bugs.promises import PROMISES

# Of whose records these are: identity, both walls, hostile input.
NUMBERED = {*range(5, 29), 30, *range(42, 47), 48}


@pytest.mark.parametrize("bug", ALL, ids=lambda bug: bug.promise)
def test_a_bug_fits_the_code_and_names_tests_that_are_there(bug):
    assert (PROJECT / bug.file).read_text(encoding="utf-8").count(bug.code) == 1
    assert bug.instead != bug.code
    assert bug.tests
    for test in bug.tests:
        path, _, name = test.partition("::")
        text = (PROJECT / "tests" / path).read_text(encoding="utf-8")
        assert re.search(rf"^def {name}\(", text, re.MULTILINE), test


def test_no_promise_is_there_twice():
    promises = [bug.promise for bug in ALL]
    assert len(set(promises)) == len(promises)


def test_each_numbered_promise_has_bugs_that_are_planted():
    assert set(PROMISES) == NUMBERED
    planted = {bug.promise for bug in ALL}
    for number, promise in PROMISES.items():
        assert promise.bugs, number
        assert set(promise.bugs) <= planted, number
