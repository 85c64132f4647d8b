"""The bare formulas compute what judge() computes, and the benchmark runs from end to end."""

import gc
import json
from functools import partial

import pytest

from calculations.catalogue import RULES
from calculations.judging import judge
from deploy import web_server
from tests.benchmarks import judging
from tests.benchmarks.bare_events import EVENTS, event, flat
from tests.benchmarks.bare_formulas import formulas
from tests.benchmarks.bare_numbers import numbers
from tests.benchmarks.bare_rules import PLAIN, outcomes, plainly


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


def test_plain_functions_come_in_the_order_of_the_catalogue():
    assert list(PLAIN) == [each.id for each in RULES if each.id in PLAIN]


@pytest.mark.parametrize(("name", "said"), [("complete", 0), ("mistakes", 19), ("blanks", 16)])
def test_plain_functions_say_what_the_rules_say(name, said):
    """Of the whole catalogue, and of these rules alone."""
    assert name in EVENTS
    subject = event(name)
    judged, alone = judge(subject), judging.by_the_engine(subject)
    plain = plainly(flat(subject))
    told = outcomes(plain.findings, plain.lacking)
    assert told == outcomes(judged.findings, judged.not_evaluated)
    assert told == outcomes(alone.findings, alone.not_evaluated)
    assert sum(map(len, told.values())) == said


def test_both_are_measured_and_compared(tmp_path, capsys):
    file = tmp_path / "measured.json"
    judging.main(["--rounds", "2", "--times", "2", "--json", str(file)])
    told = json.loads(file.read_text(encoding="utf-8"))
    assert all(each["median_ms"] > 0 for each in told["summary"])
    assert told["ratio"] > 0
    assert told["ratio_of_rules"] > 0
    # Which takes longer is told by calls, that no other process on the machine changes.
    calls, calls_of_bare, of_engine, of_plain = (each["calls"] for each in told["summary"])
    assert 0 < calls_of_bare < calls
    assert 0 < of_plain < of_engine < calls
    assert calls == judging.calls(partial(judge, judging.full_event()))
    assert "bare floats" in capsys.readouterr().out


def test_garbage_is_looked_for_as_in_the_web_process_while_it_is_measured():
    before = gc.get_threshold(), gc.get_freeze_count()
    with judging.as_served():
        measured = gc.get_threshold(), gc.get_freeze_count() > 0
        web_server.post_worker_init(None)
        assert measured == (gc.get_threshold(), True)
    assert measured[0] != before[0]
    assert (gc.get_threshold(), gc.get_freeze_count()) == before


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
