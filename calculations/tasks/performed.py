"""What an event did of one task, and what the rules said of it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

Result = Literal["inside", "outside", "not_judged", "not_possible", "begun"]
AsFound = Literal["inside", "outside"]


@dataclass(frozen=True, slots=True)
class Thing:
    """A piece as an event names it: its place, its id and serial number, empty where not known."""

    tag: str
    id: str = ""
    serial: str = ""
    firmware: str = ""


@dataclass(frozen=True, slots=True)
class Performed:
    """One task of one piece at one event.

    `drive` is the one that the result rests on besides. `ratio` is the worst error as found over
    the tolerance [1], where it was measured. `reason` says why it was not possible. `place` is a
    JSON Pointer into the subject. `taken_out`: of a piece that another one stands for since.
    """

    task: str
    thing: Thing
    place: str
    result: Result
    as_found: AsFound | None = None
    ratio: float | None = None
    reason: str = ""
    drive: Thing | None = None
    taken_out: bool = False


@dataclass(frozen=True, slots=True)
class Verdicts:
    """What the rules said: places of findings that need an answer, of the unjudged, of notes."""

    found: Mapping[str, tuple[str, ...]]
    stops: tuple[str, ...]
    silent: Mapping[str, tuple[str, ...]]
    notes: Mapping[str, tuple[str, ...]]

    @classmethod
    def of(
        cls, findings: Iterable[tuple[str, str, str]], not_evaluated: Iterable[tuple[str, str]]
    ) -> "Verdicts":
        """From (rule, severity, subject) of findings and (rule, subject) of the rest."""
        told = list(findings)
        listed = [each for each in told if each[1] != "note"]
        return cls(
            _by_rule((rule, subject) for rule, _, subject in listed),
            tuple(subject for _, severity, subject in listed if severity == "stop"),
            _by_rule(not_evaluated),
            _by_rule((rule, subject) for rule, severity, subject in told if severity == "note"),
        )

    def against(self, place: str, *rules: str) -> bool:
        """Whether one of these rules found something at a place or inside of it."""
        return any(is_inside(at, place) for rule in rules for at in self.found.get(rule, ()))

    def unjudged(self, place: str, *rules: str) -> bool:
        """Whether one of these rules could not judge there."""
        return any(is_inside(at, place) for rule in rules for at in self.silent.get(rule, ()))

    def waits(self, listed: str, rule: str) -> bool:
        """Whether a rule could not judge a list as a whole, for it waits for another one."""
        return listed in self.silent.get(rule, ())


def _by_rule(pairs: Iterable[tuple[str, str]]) -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for rule, subject in pairs:
        found[rule] = (*found.get(rule, ()), subject)
    return found


def is_inside(at: str, place: str) -> bool:
    """Whether a place is another one, or a part of it."""
    return at == place or at.startswith(f"{place}/")


def verdict(*, judged: bool, outside: bool) -> Literal["inside", "outside", "not_judged"]:
    if outside:
        return "outside"
    return "inside" if judged else "not_judged"
