"""A trace of a million samples: kept, judged and read again, each beside the bare work, in turn.

    python -m tests.benchmarks.traces

`kept`: sent as CSV over HTTP and acknowledged; bare: every cell made a number by `csv` and float(),
the same bytes written, hashed and flushed. `judged`: a change to the event whose step test rests on
the trace; bare: every cell made a number. `read`: downloaded; bare: the kept file copied.
"""

import argparse
import csv
import hashlib
import json
import math
import os
import statistics
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import closing
from http.client import HTTPConnection
from pathlib import Path
from typing import Any

from tests.benchmarks import report, servers
from tests.benchmarks.clients import PATIENCE
from tests.benchmarks.report import Document
from tests.benchmarks.servers import Book, RemoteApi, bearer
from tests.records import visits
from tests.records.client import Answer
from tests.records.stations import Station

HEAD = "time [s],set_point [psi],feedback [psi],output_frequency [Hz]\n"
WHAT = ("kept", "judged", "read")
INTERVAL = 0.05  # s
DAMPING, SWING = 0.13, 0.63  # 1/s, rad/s: a loop that swings every ten seconds
PIECE = 1 << 20


def arguments(words: Sequence[str] | None = None) -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.traces")
    parser.add_argument("--samples", type=int, default=1_000_000, help="400 to 1,000,000")
    parser.add_argument("--rounds", type=int, default=3, help="of each, in turn")
    parser.add_argument("--json", type=Path, default=servers.DATA / "traces.json")
    return parser.parse_args(words)


def main(words: Sequence[str] | None = None) -> None:
    """Measure, print, write the file."""
    options = arguments(words)
    with servers.postgres() as running, servers.service(running, 1) as book:
        before = servers.most_memory()
        file = running.data.parent / "bare.csv"
        rounds = [
            _round(book, rows(options.samples, number), book.stations[0][number % 10], file)
            for number in range(options.rounds)
        ]
        told: Document = {
            "conditions": report.conditions(running.dsn()),
            "samples": options.samples,
            "bytes": len(rows(options.samples, 0)),
            "memory_mb": servers.most_memory(),
            "memory_before_mb": before,
        }
    told |= {what: _summary([each[what] for each in rounds]) for what in WHAT}
    print(in_words(told))
    report.write(options.json, told)


def rows(samples: int, number: int) -> bytes:
    """Rest, and after a quarter of the time a step, about which it swings; each number another."""

    def written() -> Iterator[str]:
        for index in range(samples):
            since = (index - samples // 4) * INTERVAL
            aim = 60 if since >= 0 else 50
            swung = math.exp(-DAMPING * since) * math.cos(SWING * since) if since >= 0 else 1
            yield f"{index * INTERVAL:.2f},{aim:.2f},{60 - 10 * swung + number / 100:.3f},48.00\n"

    return (HEAD + "".join(written())).encode()


def _round(book: Book, body: bytes, station: Station, file: Path) -> dict[str, tuple[float, float]]:
    """Seconds of each, ours and bare."""
    teo = RemoteApi(book.address, book.cast.teo)
    event = visits.post(teo, station)
    path = f"/events/{event['id']}"
    posted, kept = _timed(lambda: _sent(book, f"/api/v1{path}/traces", body))
    _, bare_kept = _timed(lambda: _written(body, file))
    step = {"trace": posted["id"], "step_kind": "set_point"}
    etag = teo.get(path).etag
    changed, judged = _timed(lambda: teo.patch(path, {"step_tests": [step]}, etag))
    _rests_on_it(changed)
    _, bare_judged = _timed(lambda: numbers(file))
    read, took = _timed(lambda: teo.get(f"{path}/traces/{posted['id']}").content)
    if read != body:
        raise RuntimeError("the trace came back as another")
    _, bare_read = _timed(lambda: _copied(file))
    return {"kept": (kept, bare_kept), "judged": (judged, bare_judged), "read": (took, bare_read)}


def _rests_on_it(changed: Answer) -> None:
    if changed.status != 200:
        raise RuntimeError(f"{changed.status} {changed.content[:500]!r}")
    if not any(each["id"].startswith("trace.") for each in changed.json["derived"]):
        raise RuntimeError("nothing was derived of the trace")


def _timed(work: Callable[[], Any]) -> tuple[Any, float]:
    begun = time.perf_counter()
    answer = work()
    return answer, time.perf_counter() - begun


def _sent(book: Book, path: str, body: bytes) -> Document:
    headers = bearer(book.cast.teo) | {"Content-Type": "text/csv"}
    with closing(HTTPConnection(book.address, timeout=5 * PATIENCE)) as connection:
        connection.request("POST", path, body, headers)
        answer = connection.getresponse()
        content = answer.read()
    if answer.status != 201:
        raise RuntimeError(f"{answer.status} {content[:500]!r}")
    told: Document = json.loads(content)
    return told


def _written(body: bytes, file: Path) -> None:
    """Every cell a number, and the disk has them, with their digest."""
    for row in csv.reader(body.decode().splitlines()[1:]):
        list(map(float, row))
    hashlib.sha256(body).hexdigest()
    with file.open("wb") as written:
        written.write(body)
        written.flush()
        os.fsync(written.fileno())


def numbers(file: Path) -> int:
    """Every cell of the file a number; how many rows."""
    with file.open(encoding="utf-8") as lines:
        cells = csv.reader(lines)
        next(cells)
        return len([list(map(float, row)) for row in cells])


def _copied(file: Path) -> None:
    with file.open("rb") as source, file.with_suffix(".copy").open("wb") as copy:
        while piece := source.read(PIECE):
            copy.write(piece)


def _summary(rounds: Sequence[tuple[float, float]]) -> Document:
    """Rounds are compared with their neighbours in time: a slow minute slows both."""
    ours, bare = zip(*rounds, strict=True)
    return {
        "s": statistics.median(ours),
        "bare_s": statistics.median(bare),
        "ratio": statistics.median(a / b for a, b in rounds),
    }


def in_words(told: Document) -> str:
    """The report that is printed."""
    lines = [
        f"| {what} | {told[what]['s']:.2f} | {told[what]['bare_s']:.2f} |"
        f" {told[what]['ratio']:.2f} |"
        for what in WHAT
    ]
    return "\n".join((
        f"{told['samples']} samples, {told['bytes'] / 1e6:.0f} MB; a web process had"
        f" {told['memory_mb']:.0f} MB at most ({told['memory_before_mb']:.0f} MB before)\n",
        "| trace | s | bare s | ratio |", "| --- | --- | --- | --- |", *lines,
    ))  # fmt: skip


if __name__ == "__main__":
    main()
