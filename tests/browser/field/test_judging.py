"""In the browser, under its policy, the rules say the very same as here."""

import random

import pytest

from calculations import offline
from tests.calculations.packing import pack_of
from tests.calculations.test_told_once import EACH, currents
from tests.fault_bench import mistakes, stand
from tests.fixtures import subjects

SEED = 9100  # of the bench; nobody has tuned on it
SETS = 40

START = """async () => {
  const { judging, onJudging, startJudging } = await import("/static/field/judge.js");
  const done = new Promise((said) => onJudging((now) => { if (now.is !== "loading") said(now); }));
  await startJudging();
  return judging().is === "loading" ? done : judging();
}"""
JUDGE = """async ([pack, pumpSet, event, answered]) => {
  const { judge } = await import("/static/field/judge.js");
  return judge(pack, pumpSet, event, [], answered);
}"""


def demo():
    for told in subjects.index():
        yield told["file"], subjects.subject(subjects.event(told["file"]))


def bench():
    """Each set once as it is drawn and once with a mistake."""
    kinds = mistakes.kinds()
    for seed in range(SEED, SEED + SETS):
        clean = stand.enter(seed)
        yield f"bench {seed}", clean.document
        for kind in random.Random(seed).sample(kinds, len(kinds)):
            wrong = clean.copy()
            if kind.concerns(clean) and kind.change(wrong) is not False:
                yield f"bench {seed}, {kind.name}", wrong.document
                break


@pytest.fixture
def judge(phone, cast):
    phone.come_in(cast.teo.secret)
    state = phone.page.evaluate(START)
    assert state["is"] == "ready", state
    return lambda *given: phone.page.evaluate(JUDGE, list(given))


def test_of_every_demo_visit_and_of_the_fault_bench(judge):
    different, compared = [], 0
    for name, subject in [*demo(), *bench()]:
        pack, pump_set, event = pack_of(subject)
        compared += 1
        if judge(pack, pump_set, event) != offline.judged(pack, pump_set, event):
            different.append(name)
    assert compared > 2 * SETS
    assert different == []


def test_what_was_answered_in_the_book_is_told_by_itself_here_too(judge):
    given = pack_of(currents(0.5, 0.5, 0.5))
    answered = [["load.current-expected", EACH[1]]]
    assert judge(*given, answered) == offline.judged(*given, answered=answered)
    assert judge(*given, []) == offline.judged(*given) != offline.judged(*given, answered=answered)


def test_rules_of_another_day_judge_nothing(judge):
    pack, pump_set, event = pack_of(subjects.subject(subjects.event(subjects.index()[0]["file"])))
    assert judge(pack | {"catalogue": "2020.1"}, pump_set, event) == {"outdated": True}
