"""What the database's policies take of a request, beside the same requests without them.

    python -m tests.benchmarks.second_wall

One service, asked in turn: with the wall as it is, and while its roles pass by the policies
(BYPASSRLS). What taking a role takes is measured by itself, since both sides take it, and is added.
The machine may be busy: of each side the lower quartile counts, and each round holds both.
"""

import argparse
import http.client
import statistics
import time
from collections.abc import Callable, Sequence
from contextlib import closing
from pathlib import Path
from typing import Any

import psycopg

from deploy.roles import DATABASE
from records import roles
from tests.benchmarks import report, servers
from tests.benchmarks.clients import PATIENCE
from tests.benchmarks.servers import Book, bearer

MOST = 0.3  # ms of a request
ENTER = "SELECT set_config('role', %s, true), set_config('app.org', %s, true)"
WALLED, OPEN = "with the wall", "without"


def arguments(words: Sequence[str] | None = None) -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.second_wall")
    parser.add_argument("--rounds", type=int, default=40, help="of each side, in turn")
    parser.add_argument("--requests", type=int, default=25, help="of each kind, in a round")
    parser.add_argument("--json", type=Path, default=servers.DATA / "second_wall.json")
    return parser.parse_args(words)


def main(words: Sequence[str] | None = None) -> None:
    """Measure, print, write the file."""
    options = arguments(words)
    with servers.postgres() as running, servers.service(running, 2) as book:
        with psycopg.connect(running.dsn(database=DATABASE), autocommit=True) as admin:
            taken = measure(admin, book, options.rounds, options.requests)
        with psycopg.connect(running.dsn(user=roles.LOGIN, database=DATABASE)) as login:
            entering = lower_quartile(
                [timed(lambda: enter(login, book)) for _ in range(options.rounds * 25)]
            )
        conditions = report.conditions(running.dsn())
    told = {"conditions": conditions, "entering_ms": entering, "requests": summary(taken, entering)}
    print(in_words(told))
    report.write(options.json, told)


def paths(book: Book) -> dict[str, str]:
    """One thing, lists, and what takes the longest statement."""
    site = book.stations[0][0].site
    return {
        "one station": f"/api/v1/sites/{site}",
        "stations": "/api/v1/sites?limit=200",
        "pumps": "/api/v1/pumps?limit=200",
        "due items of a station": f"/api/v1/due-items?site={site}&limit=200",
    }


def measure(
    admin: psycopg.Connection[Any], book: Book, rounds: int, requests: int
) -> dict[str, dict[str, list[float]]]:
    """Milliseconds of each request, by what was asked and by side."""
    asked = paths(book)
    taken: dict[str, dict[str, list[float]]] = {
        name: {WALLED: [], OPEN: []} for name in asked
    }  # fmt: skip
    with closing(http.client.HTTPConnection(book.address, timeout=PATIENCE)) as connection:
        for number in range(rounds + 1):
            for side, word in ((WALLED, "NOBYPASSRLS"), (OPEN, "BYPASSRLS")):
                admin.execute(f"ALTER ROLE {roles.OFFICE} {word}")
                for name, path in asked.items():
                    ask(connection, book, path)  # plans are made anew
                    new = [timed(lambda: ask(connection, book, path)) for _ in range(requests)]  # noqa: B023
                    taken[name][side] += new if number else []  # the first round warms up
    return taken


def ask(connection: http.client.HTTPConnection, book: Book, path: str) -> None:
    """One request as the office; it has to succeed."""
    connection.request("GET", path, headers=bearer(book.cast.orla))
    answer = connection.getresponse()
    content = answer.read()
    if answer.status != 200:
        raise RuntimeError(f"{path}: {answer.status} {content[:200]!r}")


def enter(login: psycopg.Connection[Any], book: Book) -> None:
    """Take the office's place, as each request does once."""
    login.execute(ENTER, [roles.OFFICE, str(book.cast.contractor)])


def timed(call: Callable[[], None]) -> float:
    """Milliseconds of a call."""
    began = time.perf_counter()
    call()
    return (time.perf_counter() - began) * 1000


def lower_quartile(values: Sequence[float]) -> float:
    """The lower quartile [ms]."""
    return statistics.quantiles(values, n=4)[0]


def summary(
    taken: dict[str, dict[str, list[float]]], entering: float
) -> dict[str, dict[str, float]]:
    """Of each request both sides, and what the wall takes [ms]."""
    told = {}
    for name, sides in taken.items():
        walled, open_ = (lower_quartile(sides[side]) for side in (WALLED, OPEN))
        told[name] = {WALLED: walled, OPEN: open_, "overhead": walled - open_ + entering}
    return told


def in_words(told: dict[str, Any]) -> str:
    """A table in Markdown."""
    head = f"| request | {WALLED} [ms] | {OPEN} [ms] | wall [ms] |"
    lines = [f"taking a role: {told['entering_ms']:.3f} ms", "", head, "|---|---|---|---|"]
    lines += [
        f"| {name} | {each[WALLED]:.2f} | {each[OPEN]:.2f} | {each['overhead']:.3f} |"
        for name, each in told["requests"].items()
    ]
    most = max(each["overhead"] for each in told["requests"].values())
    verdict = "holds" if most <= MOST else "DOES NOT HOLD"
    return "\n".join([*lines, "", f"at most {MOST} ms of a request: {verdict} ({most:.3f} ms)"])


if __name__ == "__main__":
    main()
