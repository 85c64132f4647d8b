"""The bugs that `python -m tests.planted_bugs` plants still fit the code and name tests."""

import re

import pytest

from tests.database import PROJECT
from tests.planted_bugs.__main__ import asked_for, main, named_as_failed
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


def test_help_is_printed_and_nothing_runs(capsys):
    with pytest.raises(SystemExit) as ended:
        asked_for(["--help"])
    assert ended.value.code == 0
    assert "WORD" in capsys.readouterr().out


def test_words_are_taken_and_an_option_that_is_not_known_is_refused(capsys):
    assert asked_for(["token", "22"]) == ["token", "22"]
    assert asked_for([]) == []
    with pytest.raises(SystemExit) as ended:
        asked_for(["--numbers"])
    assert ended.value.code == 2
    assert "--numbers" in capsys.readouterr().err


def test_a_word_that_no_promise_holds_is_no_success(capsys):
    assert main(["zzz-no-promise"]) == 1
    assert "No promise" in capsys.readouterr().out


def test_whatever_fails_without_a_bug_is_known_by_its_name_file_or_parameters():
    tests = ["a/test_one.py::test_x", "a/test_one.py::test_xy", "b/test_two.py::test_z",
             "c/test_three.py::test_y"]  # fmt: skip
    said = """1 failed
FAILED tests/a/test_one.py::test_xy[FAILED tests/c] - assert 1 == 2
ERROR tests/b/test_two.py
FAILED to say tests/c/test_three.py::test_y
"""
    assert named_as_failed(said, tests) == ["a/test_one.py::test_xy", "b/test_two.py::test_z"]
