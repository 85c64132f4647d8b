"""The benchmark runs from end to end, and both sides send the same rows."""

import json

import pytest

from tests.benchmarks import readings_export

pytestmark = pytest.mark.slow


def test_both_are_measured_and_compared(tmp_path, capsys):
    file = tmp_path / "measured.json"
    readings_export.main(["--rows", "2000", "--rounds", "2", "--json", str(file)])
    told = json.loads(file.read_text(encoding="utf-8"))
    assert told["rows"] >= 2000
    assert told["ratio"] > 0
    assert "service ÷ bare" in capsys.readouterr().out
