"""POST of a full start-up event, beside bare psycopg and a generic build, measured in turn.

    python -m tests.benchmarks.event_post

All of them write to one embedded PostgreSQL that flushes every commit to disk. Prints a table in
Markdown and writes everything measured as JSON.
"""

import argparse
import json
import statistics
import time
from collections.abc import Sequence
from contextlib import AbstractContextManager, ExitStack
from pathlib import Path

from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.judging import judge
from tests.benchmarks import bare, report, servers, stripped
from tests.benchmarks.clients import Bounds, Opener, Post, poster, run
from tests.benchmarks.documents import Document, head, quantities, relational, slipped, start_up
from tests.benchmarks.report import Round
from tests.benchmarks.servers import Book, Generic
from tests.calculations.building import booster

SERVICE, BARE = "service", "bare psycopg, rows"
PLACE_OF_ID = "00000000-0000-4000-8000-000000000000"


def arguments(words: Sequence[str] | None = None) -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.event_post")
    parser.add_argument("--clients", type=int, nargs="+", default=[1, 8], help="at the same time")
    parser.add_argument("--rounds", type=int, default=5, help="of each, in turn")
    parser.add_argument("--posts", type=int, default=400, help="of a client in a round, at most")
    parser.add_argument("--seconds", type=float, default=3.0, help="of a round, at most")
    parser.add_argument("--json", type=Path, default=servers.DATA / "event_post.json")
    return parser.parse_args(words)


def main(words: Sequence[str] | None = None) -> None:
    """Measure, print the table, write the file."""
    options = arguments(words)
    with ExitStack() as stack:
        running = stack.enter_context(servers.postgres())
        generic = stack.enter_context(servers.generic(running))
        book = stack.enter_context(servers.service(running, max(options.clients)))
        conditions = report.conditions(running.dsn())
        rounds = measure(openers(book, generic), options)
    told = {
        "conditions": conditions,
        "event": about_event(),
        "judge_median_ms": judge_median_ms(),
        "summary": report.summary(rounds, SERVICE),
    }
    print(in_words(told))
    report.write(options.json, told)


def openers(book: Book, generic: Generic) -> dict[str, Opener]:
    """What is compared, by its name."""
    bare.prepare(generic.dsn)
    return {
        SERVICE: lambda number: to_service(book, number),
        "stripped service": lambda number: stripped.posting(book, number),
        BARE: lambda number: bare.rows(generic.dsn),
        "bare psycopg, one document": lambda number: bare.document(generic.dsn),
        "generic build": lambda number: to_generic(generic),
    }


def measure(
    compared: dict[str, Opener], options: argparse.Namespace, warm_up: int = 3
) -> list[Round]:
    """All of them in turn, round after round, so that a slow minute meets all alike."""
    bounds = Bounds(options.posts, options.seconds, warm_up)
    return [
        Round(what, clients, number, run(open_, clients, bounds))
        for clients in options.clients
        for number in range(options.rounds)
        for what, open_ in compared.items()
    ]


def to_service(book: Book, number: int) -> AbstractContextManager[Post]:
    """A technician who goes round the stations of that client."""
    events = [slipped(station.event(id=PLACE_OF_ID)) for station in book.stations[number]]
    return poster(book.address, "/api/v1/events", servers.bearer(book.cast.teo), events)


def to_generic(generic: Generic) -> AbstractContextManager[Post]:
    """The same event, in the parts that the generic build asks for."""
    event = start_up()
    places = {"id": PLACE_OF_ID, "site": "B-01", "pump_set": "PS-101"}
    return poster(
        generic.address, "/visits", generic.headers, [places | head(event) | relational(event)]
    )


def about_event() -> Document:
    """How large the event is, as a document and as rows."""
    event = start_up()
    return {
        "bytes": len(json.dumps(event)),
        "quantities": quantities(event),
        "rows": 1 + sum(map(len, relational(event).values())),
    }


def judge_median_ms(times: int = 50) -> float:
    """What the rules alone take, in this process."""
    subject = read(Subject, booster() | {"event": start_up()})
    durations = []
    for _ in range(times):
        begun = time.perf_counter()
        judge(subject)
        durations.append(time.perf_counter() - begun)
    return statistics.median(durations) * 1e3


def in_words(told: Document) -> str:
    """The report that is printed."""
    event, conditions = told["event"], told["conditions"]
    return "\n".join(
        (
            f"\nPOST of an event of {event['quantities']} quantities, {event['bytes']} bytes,"
            f" {event['rows']} rows in the relational build.",
            f"{conditions['processors']} processors, load {conditions['load_before']:.1f} before;"
            f" Python {conditions['python']}, PostgreSQL"
            f" {conditions['postgresql']['server_version']}, every commit flushed.",
            f"judge() alone: {told['judge_median_ms']:.1f} ms at the median.\n",
            report.table(told["summary"]),
        )
    )


if __name__ == "__main__":
    main()
