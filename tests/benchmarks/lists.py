"""Pages of events out of a thousand and out of a million, in turn, with their questions counted.

    python -m tests.benchmarks.lists

Two services, each over a database of its own. Two events are posted to each as always, and copied
in the database until there are so many, two hundred at each station. What was judged of a copy is
left out: no list reads it. How many statements a page asks is counted in a process of its own.
"""

import argparse
import http.client
import json
import statistics
import subprocess
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from uuid import UUID

import psycopg

from deploy.processes import PYTHON
from deploy.roles import DATABASE
from tests.benchmarks import copies, report, servers
from tests.benchmarks.clients import PATIENCE
from tests.benchmarks.report import Document
from tests.benchmarks.servers import RemoteApi
from tests.records import visits

AT_A_STATION = 200
MOST = 1.3
BOOKS = ("few", "many")
LIST = "/api/v1/events"
# What has not happened for years: two events that lie furthest back.
LONG_AGO = """
UPDATE records_event SET state = 'withdrawn', withdrawn_at = created_at, kind = 'investigation',
       withdrawn_by_id = created_by_id, withdrawn_by_name = 'T', withdrawal_reason = 'R'
 WHERE row IN (SELECT row FROM records_event ORDER BY row LIMIT 2)
"""
MIDDLE = "SELECT row FROM records_event ORDER BY row OFFSET %s LIMIT 1"


@dataclass(frozen=True)
class Asked:
    """One of the two books: where it is served, what its service is told, and what is asked."""

    address: str
    environment: Mapping[str, str]
    headers: dict[str, str]
    paths: dict[str, str]
    statements: dict[str, int]


def arguments(words: Sequence[str] | None = None) -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.lists")
    parser.add_argument("--few", type=int, default=1000, help="events")
    parser.add_argument("--many", type=int, default=1_000_000)
    parser.add_argument("--rounds", type=int, default=40, help="of each book, in turn")
    parser.add_argument("--requests", type=int, default=5, help="of each page, in a round")
    parser.add_argument("--count", type=json.loads, help="in a process of its own: statements")
    parser.add_argument("--json", type=Path, default=servers.DATA / "lists.json")
    return parser.parse_args(words)


def main(words: Sequence[str] | None = None) -> None:
    """Measure, print, write the file; or the counting inside of a process of its own."""
    options = arguments(words)
    if options.count:
        print(json.dumps(_counted(**options.count)))
        return
    with ExitStack() as stack:
        books = {name: stack.enter_context(_book(getattr(options, name))) for name in BOOKS}
        conditions = report.conditions(books["many"].environment["OWNER_DSN"])
        taken = _measured(books, options.rounds, options.requests)
    told = {"conditions": conditions, "few": options.few, "many": options.many,
            "pages": _summary(taken, books)}  # fmt: skip
    print(in_words(told))
    report.write(options.json, told)


@contextmanager
def _book(events: int) -> Iterator[Asked]:
    with servers.postgres() as running, servers.service(running, 1) as book:
        teo, site = RemoteApi(book.address, book.cast.teo), book.stations[0][0].site
        for station in book.stations[0][:2]:
            visits.post(teo, station)
        dsn = running.dsn(database=DATABASE)
        with psycopg.connect(dsn, autocommit=True) as admin:
            copies.events_like_the_first(admin, events, AT_A_STATION)
            admin.execute(LONG_AGO)
            admin.execute("VACUUM ANALYZE")
            [(middle,)] = admin.execute(MIDDLE, [events // 2]).fetchall()
        environment = servers.environment(running) | {"OWNER_DSN": dsn}
        told = _apart(environment, {"secret": book.cast.teo.secret, "site": site, "middle": middle,
                                    "contractor": str(book.cast.contractor)})  # fmt: skip
        headers = servers.bearer(book.cast.teo)
        yield Asked(book.address, environment, headers, told["paths"], told["statements"])


def _apart(environment: Mapping[str, str], given: Document) -> Document:
    words = [PYTHON, "-m", "tests.benchmarks.lists", "--count", json.dumps(given)]
    ran = subprocess.run(
        words, cwd=servers.PROJECT, env={**environment, "ALLOWED_HOSTS": "testserver"},
        stdout=subprocess.PIPE, text=True, check=True,
    )  # fmt: skip
    told: Document = json.loads(ran.stdout.splitlines()[-1])
    return told


# -- in a process of its own ----------------------------------------------------------------------


def _counted(secret: str, site: str, middle: int, contractor: str) -> Document:
    """The pages as this book's service addresses them, and the statements that each asks."""
    from django.db import connection
    from django.test import Client
    from django.test.utils import CaptureQueriesContext

    caller = Client(headers={"Authorization": f"Bearer {secret}"})
    paths = _paths(site, middle, UUID(contractor))
    statements = {}
    for name, path in paths.items():
        with CaptureQueriesContext(connection) as asked:
            answer = caller.get(path)
        if answer.status_code != 200 or not answer.json()["items"]:
            raise RuntimeError(f"{path}: {answer.status_code} {answer.content[:200]!r}")
        statements[name] = len(asked)
    return {"paths": paths, "statements": statements}


def _paths(site: str, middle: int, contractor: UUID) -> dict[str, str]:
    from records import cursors

    begins = cursors.written(middle, f"{LIST} -row {contractor}")
    return {
        "the newest": f"{LIST}?limit=50",
        "in the middle": f"{LIST}?limit=50&cursor={begins}",
        "of a station": f"{LIST}?limit=50&site={site}",
        "of a state, long ago": f"{LIST}?limit=2&state=withdrawn",
        "of a kind, long ago": f"{LIST}?limit=2&kind=investigation",
    }


# -- over HTTP ------------------------------------------------------------------------------------

Taken = dict[str, dict[str, list[float]]]
"""Milliseconds of each round, by page and by book."""


def _measured(books: Mapping[str, Asked], rounds: int, requests: int) -> Taken:
    """Each page of both books in turn; the first round warms up."""
    taken: Taken = {page: {name: [] for name in BOOKS} for page in books["few"].paths}
    for number in range(rounds + 1):
        for page, of_book in taken.items():
            for name, values in of_book.items():
                took = _milliseconds(books[name], page, requests)
                values += [took] if number else []
    return taken


def _milliseconds(book: Asked, page: str, requests: int) -> float:
    """The shortest of some requests: what a busy machine adds, it adds to either book."""
    took = []
    # A line of its own: one that was idle through the other book's turn would have been closed.
    with closing(http.client.HTTPConnection(book.address, timeout=5 * PATIENCE)) as line:
        for _ in range(requests):
            begun = time.perf_counter()
            line.request("GET", book.paths[page], headers=book.headers)
            answer = line.getresponse()
            content = answer.read()
            took.append((time.perf_counter() - begun) * 1000)
            if answer.status != 200:
                raise RuntimeError(f"{book.paths[page]}: {answer.status} {content[:200]!r}")
    return min(took)


def _summary(taken: Taken, books: Mapping[str, Asked]) -> dict[str, Any]:
    return {
        page: {
            **{f"{name}_ms": statistics.median(values) for name, values in of_book.items()},
            **{f"{name}_statements": books[name].statements[page] for name in BOOKS},
            "statements_ratio": books["many"].statements[page] / books["few"].statements[page],
            "ratio": statistics.median(
                many / few for few, many in zip(of_book["few"], of_book["many"], strict=True)
            ),
        }
        for page, of_book in taken.items()
    }


def in_words(told: Document) -> str:
    """The report that is printed."""
    head = f"| events | ms of {told['few']} | of {told['many']} | ratio | statements of either |"
    lines = [
        f"| {page} | {each['few_ms']:.1f} | {each['many_ms']:.1f} | {each['ratio']:.2f} |"
        f" {each['few_statements']}, {each['many_statements']} |"
        for page, each in told["pages"].items()
    ]
    return "\n".join((head, "| --- | --- | --- | --- | --- |", *lines))


if __name__ == "__main__":
    main()
