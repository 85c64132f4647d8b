"""What a verification task is made of."""

from dataclasses import dataclass
from typing import Literal, get_args

from calculations import due_dates
from calculations.evidence import Evidence

Piece = Literal["pump_set", "pump", "motor", "drive", "sensor", "vessel"]
PIECES: tuple[Piece, ...] = get_args(Piece)

Trait = str
"""A word about a piece and what it belongs to, as `site.lift_station` or `motor.immersed`."""


@dataclass(frozen=True, slots=True)
class Interval:
    """A default interval and its bounds [months], where all of `when` is so and none of `unless`.

    `shortest` and `longest` are those between which history may move it.
    """

    months: int
    when: tuple[Trait, ...] = ()
    unless: tuple[Trait, ...] = ()
    shortest: int = 3
    longest: int = 24
    evidence: Evidence = "common practice"

    def __post_init__(self) -> None:
        """Bounds in order, within those that any interval has."""
        low, high = due_dates.SHORTEST, due_dates.LONGEST
        if not low <= self.shortest <= self.months <= self.longest <= high:
            raise ValueError(f"bounds of {self.months} months are not in order")

    def fits(self, traits: frozenset[Trait]) -> bool:
        """Whether it is that of a piece with these traits."""
        return traits.issuperset(self.when) and traits.isdisjoint(self.unless)


@dataclass(frozen=True, slots=True)
class Task:
    """What must be verified again of a kind of piece, and how often.

    The first of `intervals` that fits a piece is its default. Where none fits, the task belongs to
    a piece only once it was performed there: then `otherwise` is its default.

    `counted` says in words which recorded deeds perform it, `good` and `bad` what one that does,
    and one that does not, came to; `found_bad` how it stood before one that shortens the interval.
    `functions` are the protections whose tests do. A `safety` task's interval may shorten and
    never lengthen. `once` is done once for a piece, and again for the one that replaces it.
    `follows` counts from a start-up, once. `rests_on_drive`: another drive makes it due, too.
    `with_firmware`: so does other firmware. `with_winding`: so does a new winding of the motor.
    """

    id: str
    title: str
    of: Piece
    counted: str
    intervals: tuple[Interval, ...] = ()
    otherwise: Interval = Interval(12)
    functions: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    safety: bool = False
    once: bool = False
    follows: bool = False
    rests_on_drive: bool = False
    with_firmware: bool = False
    with_winding: bool = False
    source: str = "common practice, no source"
    good: str = "Left inside its tolerance"
    bad: str = "Left outside its tolerance"
    found_bad: str = "it was outside its tolerance"

    def default_for(self, traits: frozenset[Trait]) -> Interval | None:
        """The interval of a piece with these traits; None where none fits."""
        return next((each for each in self.intervals if each.fits(traits)), None)

    @property
    def defaults(self) -> tuple[Interval, ...]:
        """Every interval that it may have by default."""
        return (*self.intervals, self.otherwise)
