"""The page of all stations of a generated book beside bare SQL of the same page in the same run.

    python -m tests.benchmarks.board --stations 5000 --years 20 --keep FOLDER

`ours`: the first page of 200 with its totals, as the office's browser gets it: signed in, in the
walls, with its words and its markup, without a socket; its questions are counted. `selector`: what
of it the selector takes. `bare`: one statement by the tables' owner for the same 200 rows in the
same order with the same totals, from what is kept of each station: no walls, no zones, no state of
due dates. 120 ms are asked of `ours` on a quiet machine; the ratios hold on a busy one as well.
"""

import argparse
import json
import os
import statistics
import subprocess
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import psycopg

from deploy.processes import PYTHON
from tests.benchmarks import report, servers
from tests.generated_book.keeping import Kept, Size

BARE = """
WITH station AS MATERIALIZED (
  SELECT s.row, s.id, s.code, s.name, s.kind, c.name AS client, m.open_stop, m.open_review,
         m.open_note, m.last_event_at, m.last_number, m.due_dates[1] AS next
    FROM records_site s JOIN records_sitesummary m ON m.site_id = s.row
    JOIN records_organization c ON c.id = s.client_id WHERE s.contractor_id = %(party)s)
SELECT (SELECT json_build_object('stations', count(*), 'stop', sum(open_stop),
               'review', sum(open_review), 'records', sum(last_number)) FROM station), station.*
  FROM station ORDER BY open_stop = 0, open_review = 0, code COLLATE "C", row LIMIT 200
"""
PARTS = ("ours", "selector", "bare")
LONGEST = 120  # ms, of the page, on a quiet machine


def arguments(words: Sequence[str] | None = None) -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.board")
    parser.add_argument("--stations", type=int, default=5000)
    parser.add_argument("--years", type=int, default=20)
    parser.add_argument("--keep", type=Path, default=servers.DATA / "generated")
    parser.add_argument("--rounds", type=int, default=20)
    parser.add_argument("--measure", action="store_true", help="in a process of its own")
    parser.add_argument("--json", type=Path, default=servers.DATA / "board.json")
    return parser.parse_args(words)


def main(words: Sequence[str] | None = None) -> None:
    """Measure, print, write the file; or the measurement inside of a process of its own."""
    options = arguments(words)
    if options.measure:
        print(json.dumps(_measured(Kept(options.keep).people, options.rounds)))
        return
    with Kept(options.keep) as book:
        book.fill(Size(options.stations, options.years))
        told = {"conditions": report.conditions(book.running.dsn()), **_apart(book, options)}
    print(
        f"{told['stations']} stations: {told['ours_ms']:.0f} ms with {told['questions']} questions,"
        f" of which the selector {told['selector_ms']:.0f} ms; bare SQL {told['bare_ms']:.0f} ms:"
        f" ratio {told['ratio']:.1f}, of the selector {told['selector_ratio']:.1f}"
    )
    report.write(options.json, told)


def _apart(book: Kept, options: argparse.Namespace) -> dict[str, Any]:
    words = [PYTHON, "-m", "tests.benchmarks.board", "--measure", "--rounds", str(options.rounds),
             "--keep", str(book.folder)]  # fmt: skip
    environment = servers.environment(book.running) | {
        "OWNER_DSN": book.dsn(),
        "ALLOWED_HOSTS": "testserver",
    }
    ran = subprocess.run(
        words, cwd=servers.PROJECT, env=environment, stdout=subprocess.PIPE, text=True, check=True
    )
    told: dict[str, Any] = json.loads(ran.stdout.splitlines()[-1])
    return told


# -- in a process of its own ----------------------------------------------------------------------


def _measured(people: Any, rounds: int) -> dict[str, Any]:
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    from records.services import kept_due_dates

    while kept_due_dates.keep_waiting(older=True):
        pass
    ours, selector = _page(people), _selector(people)
    with CaptureQueriesContext(connection) as asked:
        ours()
    questions = sum(each["sql"].split()[0] in ("SELECT", "WITH") for each in asked)
    with psycopg.connect(os.environ["OWNER_DSN"]) as owner:

        def bare() -> int:
            return len(owner.execute(BARE, {"party": people.contractor}).fetchall())

        taken = [[_milliseconds(run) for run in (ours, selector, bare)] for _ in range(rounds)]
        [(stations,)] = owner.execute("SELECT count(*) FROM records_site").fetchall()
    told: dict[str, Any] = {"stations": stations, "questions": questions}
    for name, values in zip(PARTS, zip(*taken, strict=True), strict=True):
        told[f"{name}_ms"] = statistics.median(values)
    told["ratio"] = statistics.median(a / c for a, _, c in taken)
    told["selector_ratio"] = statistics.median(b / c for _, b, c in taken)
    return told


def _page(people: Any) -> Callable[[], object]:
    from django.test import Client

    from tests.records.sessions import sign_in

    browser = Client()
    sign_in(browser, people.orla)

    def ours() -> None:
        answer = browser.get("/")
        if answer.status_code != 200 or b"station" not in answer.content:
            raise RuntimeError(f"the page answered {answer.status_code}")

    return ours


def _selector(people: Any) -> Callable[[], object]:
    from records import permissions
    from records.selectors import board

    person = people.orla
    actor = permissions.Actor(person.id, "", person.organization, "", person.role,
                              frozenset(["read"]))  # fmt: skip

    def selector() -> int:
        with permissions.inside(actor):
            return len(board.board(actor, board.Wanted()).rows)

    return selector


def _milliseconds(run: Callable[[], object]) -> float:
    begun = time.perf_counter()
    run()
    return (time.perf_counter() - begun) * 1000


if __name__ == "__main__":
    main()
