"""Benchmarks run from end to end; what they measure is nobody's to pass or fail."""

import json

import pytest

from tests.benchmarks import __main__ as every
from tests.benchmarks import curve

pytestmark = pytest.mark.slow

ROWS = {"curve": 2 * 2, "lists": 2 * 5, "made_documents": 3, "traces": 3}


@pytest.mark.parametrize("name", ROWS)
def test_everything_is_measured_beside_something(name, tmp_path, capsys):
    file = tmp_path / "measured.json"
    every.BENCHMARKS[name][0].main([*every.SMALL[name], "--json", str(file)])
    told = json.loads(file.read_text(encoding="utf-8"))
    found = list(every.rows(name, told))
    assert len(found) == ROWS[name]
    assert all(figure > 0 for _, figure, _ in found)
    assert "| --- |" in capsys.readouterr().out


def test_a_curve_that_falls_is_told():
    rates = {("ours", 1): 20.0, ("ours", 8): 50.0, ("ours", 64): 30.0, ("bare", 1): 9.0}
    lines = [
        {"what": what, "clients": clients, "posts_per_second": rate}
        for (what, clients), rate in rates.items()
    ]
    assert curve.of_the_best(lines)["share"] == {
        "ours": {"1": 0.4, "8": 1.0, "64": 0.6}, "bare": {"1": 1.0},
    }  # fmt: skip
