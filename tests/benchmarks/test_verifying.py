"""The benchmark's records are genuine ones, and it runs from end to end."""

import json

import pytest

from tests.benchmarks import verifying
from tests.records.verifier.making import SealingKey
from tests.records.verifying import verify


@pytest.mark.parametrize("make", [verifying.short, verifying.start_up])
def test_its_records_are_genuine_and_linked(make):
    one, two = verifying.chain(make(), 2, SealingKey())
    assert (verify(one)["number"], verify(one)["previous"]) == (1, None)
    assert verify(two)["previous"] == json.loads(one)["seal"]["digest"]


def test_both_sides_are_measured_and_compared(tmp_path, capsys):
    file = tmp_path / "measured.json"
    verifying.main(["--records", "20", "--start-ups", "5", "--json", str(file)])
    told = json.loads(file.read_text(encoding="utf-8"))
    for each in told["summary"]:
        assert 0 < each["bare_ms"] < each["ms"]
        assert each["seconds_for_many"] == pytest.approx(each["ms"] * 100)
    short, long = (each["bytes"] for each in told["summary"])
    assert 10_000 < short < 12_000 < 60_000 < long
    assert "verify.py, s for 100,000" in capsys.readouterr().out
