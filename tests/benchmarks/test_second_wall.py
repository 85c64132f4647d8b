"""The benchmark runs from end to end, and says what it measured."""

import json

import pytest

from tests.benchmarks import second_wall

pytestmark = pytest.mark.slow


def test_both_sides_are_measured(tmp_path, capsys):
    file = tmp_path / "measured.json"
    second_wall.main(["--rounds", "2", "--requests", "3", "--json", str(file)])
    told = json.loads(file.read_text(encoding="utf-8"))
    assert set(told["requests"]) >= {"one station", "stations"}
    assert all(each["with the wall"] > 0 for each in told["requests"].values())
    assert 0 < told["entering_ms"] < 1000
    assert "at most 0.3 ms of a request" in capsys.readouterr().out


def test_what_the_wall_takes_is_told_with_what_entering_takes():
    taken = {"a": {"with the wall": [2.0, 2.0, 2.0, 2.0], "without": [1.5, 1.5, 1.5, 1.5]}}
    assert second_wall.summary(taken, 0.125)["a"]["overhead"] == 0.625
