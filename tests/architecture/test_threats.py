"""The table of threats in the guide: each line names tests, and they are there."""

import re

import pytest

from tests.database import PROJECT

GUIDE = (PROJECT / "DEVELOPERS.md").read_text(encoding="utf-8")
TABLE = GUIDE.partition("## Threats\n")[2].partition("\n## ")[0]
LINES = [line.strip("| ").split(" | ") for line in TABLE.splitlines() if line.startswith("| ")][1:]
NAMED = re.compile(r"`([\w/]+\.py)::(test_\w+)`")


def test_there_is_a_table():
    assert len(LINES) > 20
    assert {len(line) for line in LINES} == {3}


@pytest.mark.parametrize("line", LINES, ids=lambda line: line[0][:60])
def test_each_line_names_tests_that_are_there(line):
    named = NAMED.findall(line[2])
    assert named
    for path, name in named:
        text = (PROJECT / "tests" / path).read_text(encoding="utf-8")
        assert re.search(rf"^def {name}\(", text, re.MULTILINE), f"{path}::{name}"
