"""Run the bench: clean sets, single mistakes, both with a share of the fields left blank."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from calculations.findings import Finding

from .blanks import blanked
from .mistakes import Mistake, kinds
from .stand import Entered, enter, findings

BLANK_SHARE = 0.2
ASKS_FOR_MORE = ("record.missing", "protection.missing")
"""Rules that name what is left blank: right where something is."""

Serious = set[tuple[str, str]]


@dataclass
class Kind:
    """What came of one kind of mistake."""

    tried: int = 0
    alone: int = 0
    with_blanks: int = 0
    others_with_blanks: Counter[str] = field(default_factory=Counter)
    others: Counter[str] = field(default_factory=Counter)
    missed: list[int] = field(default_factory=list)

    @property
    def share(self) -> float:
        """Told by the right rule alone [1]."""
        return self.alone / self.tried if self.tried else 0.0


@dataclass
class Result:
    """What came of a run."""

    sets: int = 0
    clean: dict[str, Counter[str]] = field(default_factory=dict)
    drew: Counter[str] = field(default_factory=Counter)
    blank: dict[str, Counter[str]] = field(default_factory=dict)
    blank_drew: Counter[str] = field(default_factory=Counter)
    oddities: Counter[str] = field(default_factory=Counter)
    kinds: dict[str, Kind] = field(default_factory=dict)
    rules: dict[str, str] = field(default_factory=dict)


def serious(found: Iterable[Finding]) -> Serious:
    """Rule and severity of every stop and review."""
    return {(each.rule, each.severity) for each in found if each.severity != "note"}


def told(found: Iterable[Finding], kind: Mistake) -> set[str]:
    """Rules of every stop and review, and the kind's own where it can only note it."""
    return {
        each.rule
        for each in found
        if each.severity != "note" or (kind.by_note and each.rule == kind.rule)
    }


def run(seeds: Iterable[int], mistakes: int = 0) -> Result:
    """Judge the clean set of every seed, then mistakes on it until every kind had `mistakes`."""
    result = Result()
    wanted = kinds() if mistakes else ()
    for each in wanted:
        result.kinds[each.name], result.rules[each.name] = Kind(), each.rule
    for seed in seeds:
        clean = enter(seed)
        before = findings(clean)
        _count_clean(result, clean, serious(before), seed)
        for each in wanted:
            if result.kinds[each.name].tried < mistakes and each.concerns(clean):
                _try(result.kinds[each.name], each, clean, told(before, each), seed)
    return result


def _count_clean(result: Result, clean: Entered, before: Serious, seed: int) -> None:
    result.sets += 1
    result.oddities.update(sorted(clean.station.oddities))
    _add(result.clean, result.drew, before)
    blank = serious(findings(blanked(clean, seed, BLANK_SHARE)))
    _add(result.blank, result.blank_drew, {f for f in blank if f[0] not in ASKS_FOR_MORE})


def _add(by_rule: dict[str, Counter[str]], drew: Counter[str], found: Serious) -> None:
    for rule, severity in sorted(found):
        by_rule.setdefault(severity, Counter())[rule] += 1
    for severity in sorted({severity for _, severity in found}):
        drew[severity] += 1


def _try(kind: Kind, each: Mistake, clean: Entered, before: set[str], seed: int) -> None:
    wrong = clean.copy()
    if each.change(wrong) is False or (each.by_note and each.rule in before):
        return
    kind.tried += 1
    judged = findings(wrong)
    found = told(judged, each)
    new = found - before
    grave = not each.stops or (each.rule, "stop") in serious(judged)
    if each.rule in found and new <= {each.rule} and grave:
        kind.alone += 1
    else:
        kind.missed.append(seed)
        kind.others.update(sorted(new - {each.rule}) or ["nothing" if grave else "no stop"])
    blank = blanked(clean, seed, BLANK_SHARE).copy()
    try:
        applied = each.change(blank)
    except (KeyError, IndexError, TypeError, StopIteration):
        return  # what it would change was left blank
    if applied is not False:
        kind.with_blanks += 1
        others = told(findings(blank), each) - before - {each.rule, *ASKS_FOR_MORE}
        kind.others_with_blanks.update(sorted(others))


def table(result: Result) -> str:
    """The result as text."""
    lines = [f"{result.sets} clean sets; drew a stop {result.drew['stop']}, a review "
             f"{result.drew['review']} ({result.drew['review'] / result.sets:.1%})"]  # fmt: skip
    lines += _by_rule(result.clean)
    stops, reviews = result.blank_drew["stop"], result.blank_drew["review"]
    share = reviews / result.sets
    lines.append(
        f"with {BLANK_SHARE:.0%} left blank: a stop {stops}, a review {reviews} ({share:.1%})"
    )
    lines += _by_rule(result.blank)
    lines.append("ordinary oddities met:")
    lines += [f"  {count:5} {name}" for name, count in result.oddities.most_common()]
    if result.kinds:
        lines.append("mistake (tried, by the right rule alone; others with blanks): others told")
    for name, kind in result.kinds.items():
        others = _most(kind.others)
        lines.append(
            f"  {kind.share:6.1%} {kind.alone:4}/{kind.tried:<4} "
            f"{kind.others_with_blanks.total():3}/{kind.with_blanks:<4} "
            f"{name} -> {result.rules[name]}"
            + (f": {others}; seeds {kind.missed[:5]}" if others else "")
            + (
                f" (with blanks {_most(kind.others_with_blanks)})"
                if kind.others_with_blanks
                else ""
            )
        )
    return "\n".join(lines)


def _most(found: Counter[str]) -> str:
    return ", ".join(f"{rule} {count}" for rule, count in found.most_common(4))


def _by_rule(found: dict[str, Counter[str]]) -> list[str]:
    return [
        f"  {count:5} {severity} {rule}"
        for severity in ("stop", "review")
        for rule, count in found.get(severity, Counter()).most_common()
    ]
