"""Readings of many records over HTTP, beside COPY of a plain table of the same rows, in turn.

    python -m tests.benchmarks.readings_export

One record is sealed over the API and copied in the database until there are so many rows; a plain
table gets exactly what goes out. Prints a table in Markdown and writes what was measured as JSON.
"""

import argparse
import statistics
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from http.client import HTTPConnection
from pathlib import Path

import psycopg

from deploy.embedded_postgres import EmbeddedPostgres
from deploy.roles import DATABASE
from records.documents import readings_csv
from tests.benchmarks import copies, report, servers
from tests.benchmarks.report import Document
from tests.benchmarks.servers import Book, RemoteApi
from tests.records import visits
from tests.records.cast import Person

SERVICE, BARE = "service, over HTTP", "bare COPY of a plain table"
PATH = "/api/v1/records/readings.csv"
PIECE = 1 << 16

PLAIN = """
CREATE TABLE plain (record_id uuid, record_number integer, site_code text, performed_at text,
    tag text, serial text, place text, words text, measured_at text, state text, value text,
    unit text, si_value double precision, si_unit text)
"""
COPY = "COPY plain TO STDOUT (FORMAT csv, HEADER)"


def arguments(words: Sequence[str] | None = None) -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.readings_export")
    parser.add_argument("--rows", type=int, default=1_000_000, help="at least so many")
    parser.add_argument("--rounds", type=int, default=5, help="of each, in turn")
    parser.add_argument("--json", type=Path, default=servers.DATA / "readings_export.json")
    return parser.parse_args(words)


def main(words: Sequence[str] | None = None) -> None:
    """Measure, print the table, write the file."""
    options = arguments(words)
    with servers.postgres() as running, servers.service(running, 1) as book:
        rows = fill(running, book, options.rows)
        conditions = report.conditions(running.dsn())
        compared: dict[str, Callable[[], int]] = {
            SERVICE: lambda: served(book, book.cast.cleo),
            BARE: lambda: bare(running),
        }
        before = servers.most_memory()
        rounds = [(what, *timed(read)) for _ in range(options.rounds) for what, read in
                  compared.items()]  # fmt: skip
        told = summary(rounds) | {
            "conditions": conditions,
            "rows": rows,
            "memory_mb": servers.most_memory(),
            "memory_before_mb": before,
            "sizes_kb": sizes(running),
        }
    print(in_words(told))
    report.write(options.json, told)


def fill(running: EmbeddedPostgres, book: Book, wanted: int) -> int:
    """As many records as make so many rows, and the plain table; how many rows there are."""
    people = book.cast
    technician, office = (RemoteApi(book.address, each) for each in (people.teo, people.orla))
    visits.sealed(technician, office, book.stations[0][0])
    head = readings_csv.head()
    one = b"".join(pieces(book, people.cleo)).removeprefix(head)
    with psycopg.connect(running.dsn(database=DATABASE), autocommit=True) as owner:
        more = -(-wanted // one.count(b"\r\n")) - 1
        copies.like_the_first(owner, more)
        owner.execute(PLAIN)
        with owner.cursor().copy("COPY plain FROM STDIN (FORMAT csv)") as copy:
            for _ in range(more + 1):
                copy.write(one)
        owner.execute("VACUUM ANALYZE")
        return int(owner.execute("SELECT count(*) FROM plain").fetchone()[0])


def pieces(book: Book, person: Person) -> Iterator[bytes]:
    """What the service sends, as it comes."""
    with closing(HTTPConnection(book.address, timeout=120)) as connection:
        connection.request("GET", PATH, headers=servers.bearer(person))
        answer = connection.getresponse()
        if answer.status != 200:
            raise RuntimeError(f"{answer.status}: {answer.read()!r}")
        while piece := answer.read(PIECE):
            yield piece


def served(book: Book, person: Person) -> int:
    """Read all of it; how many lines."""
    return sum(piece.count(b"\n") for piece in pieces(book, person))


def bare(running: EmbeddedPostgres) -> int:
    """The same of the plain table, with nothing in between."""
    with (
        psycopg.connect(running.dsn(database=DATABASE)) as connection,
        connection.cursor().copy(COPY) as copy,
    ):
        return sum(bytes(piece).count(b"\n") for piece in copy)


def timed(read: Callable[[], int]) -> tuple[int, float]:
    """How many lines, and in how many seconds."""
    begun = time.perf_counter()
    lines = read()
    return lines, time.perf_counter() - begun


def summary(rounds: Sequence[tuple[str, int, float]]) -> Document:
    """Medians; rounds are compared with their neighbours in time: a slow minute slows both."""
    ours, theirs = ([s for what, _, s in rounds if what == name] for name in (SERVICE, BARE))
    lines = {count for _, count, _ in rounds}
    if len(lines) != 1:
        raise RuntimeError(f"not the same rows: {sorted(lines)}")
    return {
        "seconds": {SERVICE: statistics.median(ours), BARE: statistics.median(theirs)},
        "ratio": statistics.median(a / b for a, b in zip(ours, theirs, strict=True)),
        "rounds": {SERVICE: ours, BARE: theirs},
    }


def sizes(running: EmbeddedPostgres) -> dict[str, int]:
    """What either takes on disk [kB]."""
    query = "SELECT pg_total_relation_size(%s) / 1024"
    with psycopg.connect(running.dsn(database=DATABASE)) as connection:
        return {
            table: int(connection.execute(query, [table]).fetchone()[0])
            for table in ("records_recordreadings", "plain")
        }


def in_words(told: Document) -> str:
    """The report that is printed."""
    rows = [f"| {what} | {seconds:.2f} |" for what, seconds in told["seconds"].items()]
    size = told["sizes_kb"]
    return "\n".join((
        f"\n{told['rows']} rows, load {told['conditions']['load_before']:.1f} before.\n",
        "| what | median s |", "| --- | --- |", *rows,
        f"\nservice ÷ bare: {told['ratio']:.2f}. A web process had {told['memory_mb']:.0f} MB at"
        f" most ({told['memory_before_mb']:.0f} MB before). On disk"
        f" {size['records_recordreadings']} kB, as a plain table {size['plain']} kB.",
    ))  # fmt: skip


if __name__ == "__main__":
    main()
