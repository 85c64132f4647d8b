"""One piece's values from visit to visit, each beside the first that it can be compared with."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Literal

from calculations.case import Case
from calculations.inputs.subject import Subject
from calculations.judging import case_of

Verdict = Literal["first", "lower", "higher", "noise", "not_compared"]


@dataclass(frozen=True)
class Visit:
    """What a record says, and when it was performed."""

    at: datetime
    subject: Subject

    def case(self, earlier: Case | None = None) -> Case:
        """The visit as formulas read it, beside an earlier one."""
        return case_of(self.subject, earlier=earlier)


@dataclass(frozen=True, slots=True)
class Change:
    """A visit's value beside the first one's.

    visit: its index. place: of the reading. value: as it was read, in SI. at_base: the same brought
    to the first one's speed and flow, or to 40 degC, in SI. change: of that as a share of the
    first [1]. noise: what the readings of both explain [1]. because: why it is not compared.
    """

    visit: int
    place: str = ""
    value: float | None = None
    at_base: float | None = None
    change: float | None = None
    noise: float | None = None
    because: str = ""

    @property
    def verdict(self) -> Verdict:
        """What can be said of it: `lower` and `higher` only beyond the noise."""
        if self.change is None:
            return "not_compared" if self.because else "first"
        if self.noise is None or abs(self.change) <= self.noise:
            return "noise"
        return "lower" if self.change < 0 else "higher"


@dataclass(frozen=True, slots=True)
class Course:
    """Values of one quantity of one thing; the first is what all others are compared with.

    `things` are the pieces that it is of, with their serial numbers as far as they are known;
    `anew` tells that another thing stood there before.
    """

    quantity: str
    things: tuple[tuple[str, str], ...]
    changes: tuple[Change, ...]
    anew: bool = False

    @property
    def last(self) -> Change:
        """The newest that is compared; the first where none is."""
        compared = [each for each in self.changes if each.change is not None]
        return compared[-1] if compared else self.changes[0]


def runs(visits: Sequence[Case], same: Callable[[Case, Case], bool]) -> Iterator[list[int]]:
    """Indexes of visits, as long as the same things stood there.

    A visit at which nobody read a serial number joins none of two that differ.
    """
    held: list[int] = []
    for index, case in enumerate(visits):
        if not all(same(visits[each], case) for each in held):
            yield held
            held = []
        held.append(index)
    if held:
        yield held
