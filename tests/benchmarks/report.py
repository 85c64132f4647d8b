"""What was measured: a summary with ratios, as a table for people and as JSON for the rest."""

import json
import os
import platform
import statistics
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import psycopg

from tests.benchmarks.clients import Run

Document = dict[str, Any]
DURABILITY = ("server_version", "fsync", "synchronous_commit", "full_page_writes")
HEADS = ("clients", "what", "posts/s", "median ms", "95th percentile ms", "service ÷ this")


@dataclass(frozen=True)
class Round:
    """One turn of one thing with some clients."""

    what: str
    clients: int
    number: int
    run: Run


def summary(rounds: Sequence[Round], subject: str) -> list[Document]:
    """Medians of everything, and how often as many posts a second `subject` does."""
    groups = dict.fromkeys((each.clients, each.what) for each in rounds)
    return [_line(_of(rounds, *group), _of(rounds, group[0], subject)) for group in groups]


def _of(rounds: Iterable[Round], clients: int, what: str) -> list[Round]:
    return [each for each in rounds if (each.clients, each.what) == (clients, what)]


def _line(own: Sequence[Round], subject: Sequence[Round]) -> Document:
    """Rounds are compared with their neighbours in time: a slow minute slows both."""
    durations = sorted(second * 1e3 for each in own for second in each.run.durations)
    ratios = [ours.run.rate / each.run.rate for ours, each in zip(subject, own, strict=True)]
    return {
        "clients": own[0].clients,
        "what": own[0].what,
        "posts": len(durations),
        "posts_per_second": statistics.median(each.run.rate for each in own),
        "median_ms": statistics.median(durations),
        "percentile_95_ms": durations[int(0.95 * (len(durations) - 1))],
        "service_ratio": statistics.median(ratios),
        "rounds": [each.run.rate for each in own],
    }


def table(lines: Iterable[Document]) -> str:
    """The summary in Markdown."""
    rows = [
        (
            str(line["clients"]),
            line["what"],
            f"{line['posts_per_second']:.0f}",
            f"{line['median_ms']:.1f}",
            f"{line['percentile_95_ms']:.1f}",
            f"{line['service_ratio']:.2f}",
        )
        for line in lines
    ]
    listed = [HEADS, tuple("---" for _ in HEADS), *rows]
    return "\n".join(f"| {' | '.join(row)} |" for row in listed)


def conditions(dsn: str) -> Document:
    """What the figures depend on: machine, versions, and whether commits reach the disk."""
    with psycopg.connect(dsn) as connection:
        said = {name: connection.execute(f"SHOW {name}").fetchone()[0] for name in DURABILITY}
    return {
        "at": time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime()),
        "python": platform.python_version(),
        "processors": os.cpu_count(),
        "load_before": os.getloadavg()[0],
        "postgresql": said,
    }


def write(file: Path, told: Document) -> None:
    """Write everything that was measured."""
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text(json.dumps(told, indent=2, ensure_ascii=False) + "\n", encoding="utf-8")
