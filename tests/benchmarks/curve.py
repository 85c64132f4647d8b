"""POST of a full event by ever more clients at once, beside bare psycopg, in turn.

    python -m tests.benchmarks.curve

From one client to sixty-four. Once every core is busy, more clients are to wait, and not to slow
the others down or to be refused: the rate stays flat. A post that is not acknowledged ends the run.
"""

import argparse
from collections.abc import Sequence
from contextlib import ExitStack
from pathlib import Path

from tests.benchmarks import bare, event_post, report, servers
from tests.benchmarks.report import Document

CLIENTS = (1, 2, 4, 8, 16, 32, 64)
FLAT = 0.8
"""Of the best rate, what the largest number of clients still has; below, it is no longer flat."""


def arguments(words: Sequence[str] | None = None) -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.curve")
    parser.add_argument("--clients", type=int, nargs="+", default=CLIENTS, help="at the same time")
    parser.add_argument("--rounds", type=int, default=3, help="of each, in turn")
    parser.add_argument("--posts", type=int, default=400, help="of a client in a round, at most")
    parser.add_argument("--seconds", type=float, default=5.0, help="of a round, at most")
    parser.add_argument("--json", type=Path, default=servers.DATA / "curve.json")
    return parser.parse_args(words)


def main(words: Sequence[str] | None = None) -> None:
    """Measure, print the table, write the file."""
    options = arguments(words)
    with ExitStack() as stack:
        running = stack.enter_context(servers.postgres())
        generic = stack.enter_context(servers.generic(running))  # its tables take the bare rows
        book = stack.enter_context(
            servers.service(running, max(options.clients), stations_of_each=2)
        )
        compared = {
            event_post.SERVICE: lambda number: event_post.to_service(book, number),
            event_post.BARE: lambda number: bare.rows(generic.dsn),
        }
        conditions = report.conditions(running.dsn())
        rounds = event_post.measure(compared, options, warm_up=1)
    told = {"conditions": conditions, **of_the_best(report.summary(rounds, event_post.SERVICE))}
    print(in_words(told))
    report.write(options.json, told)


def of_the_best(summary: list[Document]) -> Document:
    """The summary, and of each number of clients the share of the best rate that it has."""
    told: Document = {"summary": summary, "share": {}}
    for what in dict.fromkeys(line["what"] for line in summary):
        rates = {x["clients"]: x["posts_per_second"] for x in summary if x["what"] == what}
        best = max(rates.values())
        told["share"][what] = {str(clients): rate / best for clients, rate in rates.items()}
    return told


def in_words(told: Document) -> str:
    """The report that is printed."""
    shares = told["share"][event_post.SERVICE]
    words = ", ".join(f"with {clients} {share:.2f}" for clients, share in shares.items())
    return f"{report.table(told['summary'])}\n\nOf its best rate the service has {words}"


if __name__ == "__main__":
    main()
