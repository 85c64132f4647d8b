"""The benchmark runs from end to end; what it measures is nobody's to pass or fail."""

import json

import pytest

from tests.benchmarks import bundle

pytestmark = pytest.mark.slow


def test_a_bundle_is_measured_beside_a_copy(tmp_path, capsys):
    file = tmp_path / "measured.json"
    bundle.main(["--records", "3", "--rounds", "1", "--json", str(file)])
    told = json.loads(file.read_text(encoding="utf-8"))
    assert told["records"] == 3
    assert told["bytes"] > 3 * 300_000
    assert "3 records" in capsys.readouterr().out
