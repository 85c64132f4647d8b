"""What a report is made of, however long: lines on the disk, counts and what is printed in memory.

Memory grows with the number of stations and tasks, and not with that of the lines.
"""

import heapq
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import orjson

Line = dict[str, Any]

STATES = ("overdue", "due_soon", "never_verified", "current")
LISTED = ("overdue", "due_soon", "never_verified")
CHANGES = ("outside", "done", "sealed", "intervals", "pieces")
MOST_PRINTED = 1000
"""Lines of a section that are printed: those that are due longest, or the first."""


@dataclass
class Section:
    """Lines of one kind: all of them on the disk, some to be printed."""

    name: str
    path: Path
    by_date: bool = False
    count: int = 0
    _printed: list[tuple[Any, ...]] = field(default_factory=list)

    def fill(self, lines: Iterable[Line]) -> None:
        """Write all lines of it."""
        with self.path.open("wb") as file:
            for line in lines:
                self.add(line, file)

    def add(self, line: Line, file: Any) -> None:
        """Write one more."""
        file.write(orjson.dumps(line) + b"\n")
        self.count += 1
        # The heap's least is the one that is let go: the latest date, or the last that came.
        urgent = -_ordinal(line) if self.by_date else 0
        kept = (urgent, -self.count, line)
        if len(self._printed) < MOST_PRINTED:
            heapq.heappush(self._printed, kept)
        elif kept > self._printed[0]:
            heapq.heapreplace(self._printed, kept)

    def printed(self) -> list[Line]:
        """What is printed, in the order in which it came."""
        return [line for _, _, line in sorted(self._printed, key=lambda kept: -kept[1])]

    def lines(self) -> Iterator[bytes]:
        """All lines, as JSON."""
        with self.path.open("rb") as file:
            for line in file:
                yield line.rstrip(b"\n")


def _ordinal(line: Line) -> int:
    return int((line["due_on"] or "9999-12-31").replace("-", ""))


Counts = dict[str, int]


@dataclass
class Gathered:
    """A report's head, counts, heads of records and sections."""

    head: Line
    names: Mapping[str, str]
    sections: dict[str, Section]
    heads: list[Line] = field(default_factory=list)
    counts: Counts = field(default_factory=lambda: dict.fromkeys(STATES, 0))
    not_possible: int = 0
    became_overdue: int = 0
    by: dict[str, dict[str, Counts]] = field(
        default_factory=lambda: {"client": {}, "station": {}, "task": {}}
    )
    stations: dict[str, Line] = field(default_factory=dict)

    @classmethod
    def within(cls, folder: Path, head: Line, names: Mapping[str, str]) -> "Gathered":
        """Nothing yet; lines will go into files of a folder."""
        sections = {
            name: Section(name, folder / f"{name}.jsonl", by_date=name in LISTED)
            for name in (*LISTED, *CHANGES)
        }
        return cls(head, names, sections)

    def take(self, items: Iterable[tuple[str, Line]]) -> Iterator[str]:
        """Count and keep every due item; tells the station of each."""
        files = {name: self.sections[name].path.open("wb") for name in LISTED}
        try:
            for site, line in items:
                self._count(site, line)
                if line["state"] in files:
                    self.sections[line["state"]].add(line, files[line["state"]])
                yield site
        finally:
            for file in files.values():
                file.close()

    def _count(self, site: str, line: Line) -> None:
        state = line["state"]
        self.counts[state] += 1
        self.not_possible += line["not_possible"] is not None
        self.became_overdue += line["new"]
        if site not in self.stations:
            self.stations[site] = {"station": line["station"], "client": line["client"]}
        for kind, key in (("client", line["client"]), ("station", site), ("task", line["task"])):
            counted = self.by[kind].setdefault(key, dict.fromkeys(STATES, 0))
            counted[state] += 1

    def changes(self) -> Counts:
        """How much changed: what became overdue, and each section."""
        listed = {name: self.sections[name].count for name in CHANGES}
        return {"became_overdue": self.became_overdue} | listed
