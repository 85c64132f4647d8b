"""Judge a subject by the catalogue: derived values, findings, and what could not be judged."""

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from functools import cache
from itertools import compress
from operator import attrgetter

from calculations import without_drive
from calculations.beside import NOTHING, Beside
from calculations.case import Case, Formula, Missing, Waits
from calculations.catalogue import RULES, VALUES, VERSION, rule
from calculations.errors import Beyond, InvalidInput
from calculations.findings import Derived, Finding, Judgement, NotEvaluated
from calculations.inputs.subject import Subject
from calculations.recordings import Recording
from calculations.rule import Alike, Rule, Value, always_waits, show
from calculations.told_once import point_of, told_once

Limits = Mapping[str, float]
Accepted = tuple[str, str]
Condition = Callable[[Case], bool]
APPLIES = attrgetter("applies")
CONDITIONS: frozenset[Condition] = frozenset(map(APPLIES, (*RULES, *VALUES)))
"""Each is asked once of a case, however many rules and values apply under it."""
WAITING: Mapping[str, frozenset[str]] = {
    parent: frozenset(each.id for each in RULES if parent in each.waits_for)
    for parent in {parent for each in RULES for parent in each.waits_for}
}
"""By rule: those that wait for it."""
Doubts = dict[str, dict[str, str]]
"""By rule: the elements that it contradicted (or that wait), and the rule that names the cause.

A rule that looks at a subject as a whole has one entry, whatever its name.
"""


def judge(
    subject: Subject,
    limits: Limits | None = None,
    *,
    recordings: Mapping[str, Recording] | None = None,
    earlier: Subject | None = None,
    beside: Beside = NOTHING,
    accepted: Collection[Accepted] = frozenset(),
    answered: Collection[Accepted] = frozenset(),
) -> Judgement:
    """Everything the catalogue says of `subject`.

    `limits` are a client's own, by `rule.limit` (`motor.slip.large`), in SI. `recordings` are the
    rows of the event's traces, by id; `earlier` is the pump set as its first record has it,
    `beside` are other records of it; `accepted` are findings (rule, subject) that somebody
    responsible accepted as they are: they are found again, and what waits for them is judged after
    all. Those that somebody `answered`, whatever was said, are told by themselves as before. A
    rule that lacks data is listed as not evaluated with the places it needs; it never passes.
    """
    before = None if earlier is None else case_of(earlier, limits)
    case = case_of(subject, limits, recordings, before, {rule for rule, _ in accepted}, beside)
    judging = Judging(case, accepted, {*accepted, *answered})
    concerned = {applies for applies in CONDITIONS if applies(case)}
    judging.apply(compress(RULES, map(concerned.__contains__, map(APPLIES, RULES))))
    found, lacking = tuple(judging.findings), tuple(judging.not_evaluated)
    values = compress(VALUES, map(concerned.__contains__, map(APPLIES, VALUES)))
    derived = _derived(case, values)
    case.let_go()
    if before is not None:
        before.let_go()
    return Judgement(VERSION, derived, found, lacking, judging.judged)


def case_of(
    subject: Subject,
    limits: Limits | None = None,
    recordings: Mapping[str, Recording] | None = None,
    earlier: Case | None = None,
    accepted: Collection[str] = frozenset(),
    beside: Beside = NOTHING,
) -> Case:
    """A subject as rules and derived values read it, with the limits that apply."""
    merged = {**_default_limits(), **limits} if limits else _default_limits()
    return Case(subject, _formulas(), merged, recordings, earlier, accepted, beside)


class Judging:
    """Rules applied to one case, one after the other, and what they have said so far."""

    __slots__ = (
        "accepted", "answered", "case", "doubts", "findings", "judged", "not_evaluated", "waiting",
    )  # fmt: skip

    def __init__(
        self, case: Case, accepted: Collection[Accepted], answered: Collection[Accepted] = ()
    ) -> None:
        self.case = case
        self.accepted = accepted
        self.answered = answered
        self.findings: list[Finding] = []
        self.not_evaluated: list[NotEvaluated] = []
        self.doubts: Doubts = {}
        self.waiting: set[str] = set()
        self.judged = 0

    def apply(self, rules: Iterable[Rule]) -> None:
        """Apply each rule in turn at every place that it looks at, unless it waits there."""
        case, find, findings, judged = self.case, self.case.find, self.findings, 0
        for each in rules:
            places: Iterable[str]
            if each.each:  # the list itself where it has no elements
                places = case.elements(each.each) or (case.place(each.each),)
            else:
                places = (case.place(each.subject),)
            if each.id in self.waiting:
                places = self._where_nothing_holds(each, places)
            for place in places:
                try:
                    needs = _at(place, each.needs) if each.each else each.needs
                    if needs and not all(map(find, needs)):
                        case.require(*needs)
                    for finding in each.check(case, place):
                        findings.append(finding)  # found before something lacks, it stays found
                        if self._is_open(finding):
                            self._doubt(each, place, each.id)
                    judged += 1
                except (Missing, Waits, InvalidInput, ArithmeticError) as reason:
                    self._could_not(each, place, reason)
            if each.alike and findings and findings[-1].rule == each.id:
                self._tell_once(each, each.alike)
        self.judged += judged

    def _tell_once(self, each: Rule, alike: Alike) -> None:
        """Put one finding in place of those off alike; nothing waits for it once it is accepted."""
        alone = [found for found in self.findings if found.rule == each.id]
        told = told_once(self.case, alone, alike, self.answered)
        if told == alone:
            return
        self.findings[-len(alone) :] = {id(found): found for found in told}.values()
        still = {point_of(one) for one, it in zip(alone, told, strict=True) if self._is_open(it)}
        doubts = self.doubts.pop(each.id, {})
        for place, cause in doubts.items():
            if place in still or cause != each.id:
                self._doubt(each, place, cause)

    def _where_nothing_holds(self, each: Rule, places: Iterable[str]) -> Iterator[str]:
        """The places where nothing that a rule waits for is in doubt; at the others it waits."""
        whole, at = self._held(each)
        if whole and each.waits_at is always_waits:
            self._wait(each, self.case.place(each.subject or each.each), whole)
            self._doubt(each, "", whole)
            return
        for place in places:
            blocker = at.get(place) or (whole if whole and self._rests(each, place) else "")
            if blocker:
                self._wait(each, place, blocker)
                self._doubt(each, place, blocker)
            else:
                yield place

    def _doubt(self, each: Rule, place: str, cause: str) -> None:
        if each.id not in self.doubts:
            self.doubts[each.id] = {}
            self.waiting |= WAITING.get(each.id, frozenset())
        self.doubts[each.id][place] = cause

    def _rests(self, each: Rule, place: str) -> bool:
        """Whether what is doubted as a whole matters here: never to a list without an element."""
        empty = bool(each.each) and place == self.case.place(each.each)
        return not empty and each.waits_at(self.case, place)

    def _could_not(self, each: Rule, place: str, reason: Exception) -> None:
        """Note why a rule could not come to a verdict at a place."""
        if isinstance(reason, Waits):
            self._wait(each, place, reason.rule)
        elif isinstance(reason, Missing):
            self.not_evaluated.append(_lacks(each, place, self._supposing(reason)))
        else:
            because = str(reason if isinstance(reason, InvalidInput) else Beyond())
            self.not_evaluated.append(_lacks(each, place, Missing(place, because=because)))

    def _supposing(self, missing: Missing) -> Missing:
        """With the reason where a drive is asked about that may not be there at all."""
        asks_of_it = any(map(without_drive.concerns, missing.places))
        if missing.because or not asks_of_it:
            return missing
        if not without_drive.is_open(self.case.subject, self.case.find):
            return missing
        return Missing(*missing.places, because=SUPPOSED)

    def _wait(self, each: Rule, place: str, blocker: str) -> None:
        self.not_evaluated.append(NotEvaluated(each.id, place, (), blocker))

    def _is_open(self, found: Finding) -> bool:
        return found.severity != "note" and (found.rule, found.subject) not in self.accepted

    def _held(self, each: Rule) -> tuple[str, dict[str, str]]:
        """What a rule waits for as a whole, and what by element of the list that both look at."""
        whole, at = "", dict[str, str]()
        for parent in filter(self.doubts.__contains__, each.waits_for):
            doubted = self.doubts[parent]
            if "" in doubted or not each.each or rule(parent).each != each.each:
                whole = whole or next(iter(doubted.values()))
            else:
                at = doubted | at
        return whole, at


SUPPOSED = "no drive is named, and none is ruled out (null); judged as with one"


def _lacks(each: Rule, place: str, missing: Missing) -> NotEvaluated:
    return NotEvaluated(each.id, place, missing.places, because=missing.because)


@cache
def _at(place: str, needs: tuple[str, ...]) -> tuple[str, ...]:
    """Places that a rule needs of an element; `Missing` at the list itself, which has none."""
    if not place.rsplit("/", 1)[-1].isdigit():
        raise Missing(place)
    return tuple(place + need[1:] if need.startswith("./") else need for need in needs)


def _derived(case: Case, values: Iterable[Value]) -> tuple[Derived, ...]:
    found = []
    for each in values:
        compute, unit = each.compute_each, ""
        places = case.elements(each.each) if compute else (case.place(each.subject),)
        for place in places:
            try:
                si = compute(case, place) if compute else case.value(each.id)
                unit = unit or each.unit(case)
                shown = show(si, unit, each.significant)  # refuses what is not finite in its unit
            except (Missing, Waits, InvalidInput, ArithmeticError):
                continue
            found.append(Derived(each.id, place, si, shown, each.formula, each.source))
    return tuple(found)


@cache
def _formulas() -> dict[str, Formula]:
    return {each.id: Formula(each.compute, each.subject) for each in VALUES if each.compute}


@cache
def _default_limits() -> dict[str, float]:
    return {f"{each.id}.{name}": limit.si for each in RULES for name, limit in each.limits.items()}


def finding_document(finding: Finding, identity: str) -> dict[str, object]:
    """A finding as it stands in documents."""
    source = rule(finding.rule)
    return {
        "id": identity,
        "rule": finding.rule,
        "severity": finding.severity,
        "subject": finding.subject,
        "sentence": source.sentence(finding),
        "compared": [{"name": c.name, **c.shown.as_document()} for c in finding.compared],
        "limit": finding.limit,
        "source": source.source,
        "remedy": source.remedy(finding),
        "correct_only": source.correct_only and finding.severity == "stop",
    }


def derived_document(value: Derived) -> dict[str, str]:
    """A derived value as it stands in documents."""
    return {
        "id": value.id,
        "subject": value.subject,
        **value.shown.as_document(),
        "formula": value.formula,
        "source": value.source,
    }


def not_evaluated_document(lacking: NotEvaluated) -> dict[str, object]:
    """What could not be judged, as it stands in documents."""
    document: dict[str, object] = {"rule": lacking.rule, "subject": lacking.subject}
    if lacking.waits_for:
        return document | {"waits_for": lacking.waits_for}
    document["needs"] = list(lacking.needs)
    return document | ({"because": lacking.because} if lacking.because else {})
