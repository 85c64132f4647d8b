"""judge() of a full event, beside the same formulas as bare floats, and beside plain functions.

    python -m tests.benchmarks.judging

Prints a table in Markdown and writes everything measured as JSON. `bare_formulas` says what it
computes and what it leaves out: it comes to no verdict. `bare_rules` does: every sixth rule as a
plain function, beside the same rules as the engine applies them, a new case each time.

Processor time is counted, not the clock on the wall, so that a busy machine disturbs the ratios
less; reading the document is not part of any. Garbage is looked for as seldom as in the service's
web process (`deploy.garbage`), whatever is measured. Calls of Python functions are counted as
well: that figure is the same on every machine.
"""

import argparse
import gc
import os
import platform
import statistics
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from types import FrameType
from typing import Any

from calculations import judging
from calculations.catalogue import RULES
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.judging import judge
from deploy import garbage
from tests.benchmarks import report, servers
from tests.benchmarks.bare_events import event, flat
from tests.benchmarks.bare_formulas import formulas
from tests.benchmarks.bare_numbers import numbers
from tests.benchmarks.bare_rules import PLAIN, plainly
from tests.benchmarks.documents import Document, quantities, start_up
from tests.calculations.building import booster

JUDGE, BARE = "judge()", "the same formulas as bare floats"
ENGINE, PLAINLY = f"{len(PLAIN)} rules by the engine", "the same as plain functions"
HERE = tuple(each for each in RULES if each.id in PLAIN)
CONDITIONS = {each.applies for each in HERE}
WARM_UP = 20

Compared = dict[str, Callable[[], Any]]


def arguments(words: Sequence[str] | None = None) -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.judging")
    parser.add_argument("--rounds", type=int, default=40, help="of each, in turn")
    parser.add_argument("--times", type=int, default=10, help="of judge() in a round")
    parser.add_argument("--json", type=Path, default=servers.DATA / "judging.json")
    return parser.parse_args(words)


def main(words: Sequence[str] | None = None) -> None:
    """Measure, print the table, write the file."""
    options = arguments(words)
    told = measure(options.rounds, options.times)
    print(in_words(told))
    report.write(options.json, told)


def full_event() -> Subject:
    """The booster's complete start-up, with the slips in it."""
    return read(Subject, booster() | {"event": start_up()})


def measure(rounds: int, times: int) -> Document:
    """All in turn, round after round; a ratio compares neighbours in time."""
    subject, complete = full_event(), event("complete")
    values: Compared = {JUDGE: partial(judge, subject), BARE: partial(formulas, numbers(subject))}
    verdicts: Compared = {
        ENGINE: partial(by_the_engine, complete),
        PLAINLY: partial(plainly, flat(complete)),
    }
    compared = values | verdicts
    found: dict[str, list[float]] = {name: [] for name in compared}
    with as_served():
        for _ in range(rounds):
            for name, compute in compared.items():
                found[name].append(milliseconds(compute, times))
    return {
        "at": time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime()),
        "python": platform.python_version(),
        "processors": os.cpu_count(),
        "load": os.getloadavg()[0],
        "quantities": quantities(start_up()),
        "summary": [_line(name, each, calls(compared[name])) for name, each in found.items()],
        "ratio": _ratio(found[JUDGE], found[BARE]),
        "ratio_of_rules": _ratio(found[ENGINE], found[PLAINLY]),
    }


def by_the_engine(subject: Subject) -> judging.Judging:
    """What the rules of `bare_rules` alone say, as judge() applies them to a new case."""
    applied = judging.Judging(judging.case_of(subject), frozenset())
    concerned = {applies for applies in CONDITIONS if applies(applied.case)}
    applied.apply([each for each in HERE if each.applies in concerned])
    applied.case.let_go()
    return applied


def _ratio(ours: Sequence[float], bare: Sequence[float]) -> float:
    return statistics.median(one / other for one, other in zip(ours, bare, strict=True))


@contextmanager
def as_served() -> Iterator[None]:
    """Look for garbage as the service does, and afterwards as before."""
    before = gc.get_threshold()
    garbage.look_seldom()
    try:
        yield
    finally:
        gc.set_threshold(*before)
        gc.unfreeze()


def milliseconds(compute: Callable[[], Any], times: int) -> float:
    """Mean processor time of so many runs, after some that do not count."""
    for _ in range(WARM_UP):
        compute()
    gc.collect()
    begun = time.process_time()
    for _ in range(times):
        compute()
    return (time.process_time() - begun) / times * 1e3


def calls(compute: Callable[[], Any]) -> int:
    """Calls of Python functions in one run; generators count each time that they go on."""
    count = 0

    def called(frame: FrameType, event: str, argument: object) -> None:
        nonlocal count
        count += event == "call"

    gc.disable()  # whoever is told of each collection is called at any time
    sys.setprofile(called)
    try:
        compute()
    finally:
        sys.setprofile(None)
        gc.enable()
    return count


def _line(what: str, found: Sequence[float], calls_: int) -> Document:
    median = statistics.median(found)
    return {"what": what, "median_ms": median, "least_ms": min(found), "calls": calls_}


def in_words(told: Document) -> str:
    """The report that is printed."""
    rows = [("what", "median ms", "least ms", "calls"), ("---", "---", "---", "---")]
    rows += [
        (
            each["what"],
            f"{each['median_ms']:.2f}",
            f"{each['least_ms']:.2f}",
            f"{each['calls']:,}",
        )
        for each in told["summary"]
    ]
    return "\n".join(
        (
            f"\nJudging an event of {told['quantities']} quantities; {told['processors']}"
            f" processors, load {told['load']:.1f}, Python {told['python']}.\n",
            *(f"| {' | '.join(row)} |" for row in rows),
            f"\njudge() ÷ bare floats: {told['ratio']:.1f}",
            f"rules by the engine ÷ plain functions: {told['ratio_of_rules']:.1f}",
        )
    )


if __name__ == "__main__":
    main()
