"""The bare formulas compute what judge() computes, and the benchmark runs from end to end."""

import gc
import json
from functools import partial

import pytest

from calculations.judging import judge
from tests.benchmarks import judging
from tests.benchmarks.bare_formulas import formulas
from tests.benchmarks.bare_numbers import numbers


def test_the_bare_formulas_give_every_derived_value():
    subject = judging.full_event()
    bare = formulas(numbers(subject))
    for value in judge(subject).derived:
        assert bare[value.id, value.subject] == pytest.approx(value.si, rel=1e-9, abs=1e-12), value


def test_they_give_the_figures_that_findings_compare():
    subject = judging.full_event()
    bare, found = formulas(numbers(subject)), {each.rule: each for each in judge(subject).findings}
    scaling = float(found["loop.scaling"].parameters["error"].split()[0])
    assert 100 * bare["loop.scaling", ""] == pytest.approx(scaling, abs=0.05)
    assert set(found) == {"loop.scaling", "drive.motor-speed", "drive.overload-setting"}


def test_both_are_measured_and_compared(tmp_path, capsys):
    file = tmp_path / "measured.json"
    judging.main(["--rounds", "2", "--times", "2", "--json", str(file)])
    told = json.loads(file.read_text(encoding="utf-8"))
    ours, bare = (each["median_ms"] for each in told["summary"])
    assert 0 < bare < ours
    assert told["ratio"] > 1
    calls, calls_of_bare = (each["calls"] for each in told["summary"])
    assert 0 < calls_of_bare < calls
    assert calls == judging.calls(partial(judge, judging.full_event()))
    assert "bare floats" in capsys.readouterr().out


def test_collections_are_not_counted_as_calls():
    """Whoever listens to them in the same process is called at any time."""
    gc.callbacks.append(listener := lambda *_: None)
    try:
        counted = {judging.calls(partial(boxes, number)) for number in (1, 50_000)}
    finally:
        gc.callbacks.remove(listener)
    assert len(counted) == 1


def boxes(number):
    """Things that are collected."""
    return [[] for _ in range(number)]
