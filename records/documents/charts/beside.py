"""What charts need beside a record's text, and the text as the calculations read it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

from calculations.case import Case
from calculations.errors import CalculationError
from calculations.inputs.reading import InvalidDocument, read
from calculations.inputs.subject import Subject
from calculations.judging import case_of
from calculations.recordings import Recording
from calculations.units import to_si
from records.documents.charts.visits import Visit

Document = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Beside:
    """Rows of the record's traces by id, and visits of the same pump set that came before.

    `most_rows` is how long a trace may be to be drawn at all, on a page that cannot wait for it.
    """

    recordings: Mapping[str, Recording] = field(default_factory=dict)
    earlier: tuple[Visit, ...] = ()
    most_rows: int | None = None


NOTHING = Beside()


class Plotted:
    """A record to be plotted: its case is read when the first chart asks for it."""

    def __init__(self, record: Document, beside: Beside) -> None:
        self.record = record
        self.beside = beside

    @cached_property
    def case(self) -> Case | None:
        """The record under the limits that applied; None where today's documents refuse it."""
        given = {**(self.record.get("snapshot") or {}), "event": self.record.get("event") or {}}
        try:
            subject = read(Subject, given)
        except InvalidDocument:
            return None
        accepted = frozenset(_accepted(self.record))
        limits = dict(_limits(self.record))
        return case_of(subject, limits, self.beside.recordings, None, accepted)


def _limits(record: Document) -> Iterator[tuple[str, float]]:
    """Limits in SI; one that cannot be read any more leaves the catalogue's."""
    for name, limit in ((record.get("judgement") or {}).get("limits") or {}).items():
        try:
            yield name, to_si(float(limit["value"]), str(limit["unit"]))
        except (CalculationError, ValueError):
            continue


def _accepted(record: Document) -> Iterator[str]:
    """Rules whose findings were accepted as they are, by the last answer to each."""
    latest = {each["finding"]: each.get("accepted") for each in record.get("answers") or ()}
    for finding in (record.get("judgement") or {}).get("findings") or ():
        if latest.get(finding["id"]):
            yield finding["rule"]
