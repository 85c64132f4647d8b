"""What a rule and a derived value are made of."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Literal

from calculations.case import Case, Missing, Waits
from calculations.findings import Compared, Finding, Severity, Shown, digits
from calculations.units import Quantity, kinds_of, scale_of, to_si

Evidence = Literal["retrieved", "reproduced", "derived", "from memory", "common practice"]


@dataclass(frozen=True, slots=True)
class Limit:
    """One limit of a rule; a client may tighten it, a looser one is printed on the record."""

    value: float
    unit: str
    about: str
    tighter: Literal["lower", "higher"]
    evidence: Evidence
    source: str = "common practice, no source"

    @property
    def si(self) -> float:
        """The limit in SI."""
        return to_si(self.value, self.unit)

    def __str__(self) -> str:
        return str(Shown(digits(self.value, 6), self.unit))


Check = Callable[[Case, str], Iterable[Finding]]
Alike = Callable[[Case, Finding], float | None]
"""By how much the element of a finding is off [1]; None where it is told by itself."""


def always(case: Case) -> bool:
    """The rule concerns every subject."""
    return True


def always_waits(case: Case, place: str) -> bool:
    """Every element rests on what the rule waits for."""
    return True


@dataclass(frozen=True, slots=True)
class Rule:
    """One consistency check.

    `needs` are places that must be known before `check` is called, each of them relative to the
    element (`./flow`) where the rule looks at every element of the list `each`. `waits_for` are
    rules whose contradiction would make this one's meaningless: of the same element where both look
    at the same list, of the whole else, and only at places where `waits_at` holds. `applies` is
    False where the rule has nothing to say (a slip of a synchronous motor): silence, not a missing
    value. What `check` yields before it raises `Missing` or `Waits` stays found. What is `alike` at
    several duty points is told once, at their list (`told_once`).
    """

    id: str
    title: str
    severities: tuple[Severity, ...]
    condition: str
    source: str
    check: Check
    sentences: Mapping[str, str]
    subject: str = ""
    each: str = ""
    needs: tuple[str, ...] = ()
    waits_for: tuple[str, ...] = ()
    waits_at: Callable[[Case, str], bool] = always_waits
    applies: Callable[[Case], bool] = always
    alike: Alike | None = None
    limits: Mapping[str, Limit] = field(default_factory=dict)
    scope: Literal["nameplate", "event", "station"] = "event"
    correct_only: bool = False
    remedies: Mapping[str, str] = field(default_factory=dict)

    def finding(
        self,
        variant: str,
        severity: Severity,
        subject: str,
        *,
        compared: Mapping[str, Shown | Quantity],
        limit: str = "",
        **parameters: object,
    ) -> Finding:
        """A finding of this rule; `compared` are parameters of the sentence as well."""
        if severity not in self.severities:
            raise ValueError(f"{self.id} has no severity {severity}")
        values = {name: _shown(value) for name, value in compared.items()}
        words = {name: str(value) for name, value in parameters.items()}
        words |= {name: str(value) for name, value in values.items()}
        return Finding(
            rule=self.id,
            variant=variant,
            severity=severity,
            subject=subject,
            parameters=words,
            compared=tuple([Compared(name, value) for name, value in values.items()]),
            limit=limit,
        )

    def sentence(self, finding: Finding) -> str:
        """The sentence of a finding of this rule."""
        told = self.sentences[finding.variant].format(**finding.parameters)
        return told + finding.parameters.get("also", "")  # where else it is off alike

    def remedy(self, finding: Finding) -> str | None:
        """What would put it right, where that can be said."""
        text = self.remedies.get(finding.variant)
        return text.format(**finding.parameters) if text else None


@dataclass(frozen=True, slots=True)
class Value:
    """A derived value: how it is computed, in which unit it is shown, and where it comes from.

    `compute` returns SI and raises `Missing`; with `each` it is computed for every element of a
    list, whose place it is given. `read_on_site`: an instrument or the drive's display can show it
    on the day, and nothing else asks for it.
    """

    id: str
    title: str
    formula: str
    source: str
    unit: Callable[[Case], str]
    compute: Callable[[Case], float] | None = None
    compute_each: Callable[[Case, str], float] | None = None
    subject: str = ""
    each: str = ""
    significant: int = 4
    applies: Callable[[Case], bool] = always
    read_on_site: bool = False


def fixed(unit: str) -> Callable[[Case], str]:
    """Always shown in this unit."""
    return lambda case: unit


def like(pointer: str, otherwise: str, *also: str) -> Callable[[Case], str]:
    """Shown in the unit of what was entered at `pointer` or `also`, if it is of that kind."""

    places = (pointer, *also)

    def choose(case: Case) -> str:
        for place in places:
            found = case.find(place)
            if isinstance(found, Quantity) and _are_alike(found.unit, otherwise):
                return found.unit
        return otherwise

    return choose


@cache
def _are_alike(one: str, other: str) -> bool:
    """Whether some kind of quantity is written in both units."""
    return one != "%" and not set(kinds_of(one)).isdisjoint(kinds_of(other))


def show(si: float, unit: str, significant: int = 4) -> Shown:
    """A computed SI value in `unit` with so many significant digits."""
    scale = scale_of(unit)  # as `from_si`, asked at every value: no call for it
    return Shown(digits((si - scale.offset) / scale.factor, significant), unit)


def about(si: float, unit: str = "1") -> Shown:
    """A computed SI value with three significant digits, as most are told beside a reading."""
    return show(si, unit, 3)


def roughly(si: float, unit: str) -> Shown:
    """A computed SI value with two significant digits: an estimate, or a rounded limit."""
    return show(si, unit, 2)


def estimate_over(si: float, limit: Quantity) -> Shown:
    """An estimate [SI] above a limit: two digits, or as many as show that it is more."""
    rounded = (show(si, limit.unit, digits) for digits in (2, 3))
    more = (each for each in rounded if float(each.value) > float(limit.value))
    return next(more, show(si, limit.unit))


def rpm(speed: float) -> Shown:
    """A computed speed [SI] to the digits of a plate, which tell the slip."""
    return show(speed, "rpm", 5)


def entered(quantity: Quantity) -> Shown:
    """A value as it was entered."""
    return Shown(quantity.value, quantity.unit)


_HYPHENED = {"start_up": "start-up", "re_verification": "re-verification"}


def spaced(word: str) -> str:
    """A word of a closed list, or the name of a field, as it is read: `air vessel`, `start-up`."""
    return _HYPHENED.get(word) or word.replace("_", " ")


def within(words: str) -> str:
    """Words that may begin a sentence, as they stand inside one."""
    return words[0].lower() + words[1:]


def percent(ratio: float, significant: int = 3) -> str:
    """A ratio as percent in words: `3.3 %`."""
    return f"{digits(100 * ratio, significant)} %"


def rough_percent(ratio: float) -> str:
    """An uncertainty as percent, of which two digits mean something (GUM 7.2.6)."""
    return percent(ratio, 2)


def of_two(one: str, other: str) -> Alike:
    """The ratio of two compared values that stand in one unit; None of a finding without them."""

    def ratio(case: Case, finding: Finding) -> float | None:
        shown = {each.name: each.shown for each in finding.compared}
        if one not in shown or other not in shown or not float(shown[other].value):
            return None
        return float(shown[one].value) / float(shown[other].value)

    return ratio


def each_alone(*parts: Iterable[Finding]) -> Iterator[Finding]:
    """What every part finds; what one of them lacks keeps no other from being judged.

    Raises at the end the first `Waits`, else one `Missing` of all that the parts lack. What the
    parts raised is not kept: it holds this frame, and the frame would hold it.
    """
    lacking: list[tuple[tuple[str, ...], str]] = []
    waits_for = ""
    for part in parts:
        try:
            yield from part
        except Missing as missing:
            lacking.append((missing.places, missing.because))
        except Waits as waits:
            waits_for = waits_for or waits.rule
    if waits_for:
        raise Waits(waits_for)
    if lacking:
        places = dict.fromkeys(place for each, _ in lacking for place in each)
        raise Missing(*places, because=lacking[0][1])


def _shown(value: Shown | Quantity) -> Shown:
    return entered(value) if isinstance(value, Quantity) else value
