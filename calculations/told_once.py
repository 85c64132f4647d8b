"""What is off alike at several points of a visit is told once, at the list of the points."""

from collections.abc import Collection, Sequence
from dataclasses import replace

from calculations.aspects.duty import POINTS
from calculations.case import Case
from calculations.findings import Compared, Finding
from calculations.rule import Alike

LEAST = 3
"""Points that have to be off alike: two can be so by chance; no source."""

NEAR = 0.05
"""How near the ratios lie of points that are off alike [1]; no source."""


def told_once(
    case: Case, findings: Sequence[Finding], alike: Alike, apart: Collection[tuple[str, str]]
) -> list[Finding]:
    """For each finding of one rule the one that tells it: itself, or one at the list for several.

    alike: by how much a finding's point is off [1]; None where it is told of each by itself.
    apart: findings (rule, subject) that somebody answered by themselves, which stay so.
    Told together are the most of one variant, severity and reading whose ratios lie within `NEAR`.
    An answer makes no others near, nor does a point that is off otherwise part those that are.
    """
    groups: dict[tuple[str, ...], list[Finding]] = {}
    for each in findings:
        _, reading = _at(each)
        groups.setdefault((each.variant, each.severity, reading), []).append(each)
    instead: dict[int, Finding] = {}
    for group in groups.values():
        near = _nearest([alike(case, each) for each in group])
        together = [one for one in map(group.__getitem__, near) if _pair(one) not in apart]
        if len(together) >= LEAST:
            instead |= dict.fromkeys(map(id, together), _one_of(together))
    return [instead.get(id(each), each) for each in findings]


def point_of(finding: Finding) -> str:
    """The point that a finding is about, or about a reading of."""
    index, _ = _at(finding)
    return f"{POINTS}/{index}"


def _at(finding: Finding) -> tuple[str, str]:
    index, _, reading = finding.subject.removeprefix(f"{POINTS}/").partition("/")
    return index, reading


def _pair(finding: Finding) -> tuple[str, str]:
    return finding.rule, finding.subject


def _nearest(ratios: Sequence[float | None]) -> list[int]:
    """Where the most of them lie within `NEAR` of each other: of as many the lowest."""
    known = sorted((each, at) for at, each in enumerate(ratios) if each is not None and each > 0)
    most: list[tuple[float, int]] = []
    for start, (least, _) in enumerate(known):
        near = [each for each in known[start:] if each[0] <= least * (1 + NEAR)]
        most = max(most, near, key=len)
    return sorted(at for _, at in most)


def _one_of(group: Sequence[Finding]) -> Finding:
    """The first of them, at the list, with the points named and what is compared at each."""
    first = group[0]
    numbers = [int(_at(each)[0]) + 1 for each in group]
    *others, last = map(str, numbers[1:])
    also = f" Points {numbers[0]} (told here), {', '.join(others)} and {last} are off alike: "
    compared = tuple(
        Compared(f"{it.name}_at_point_{number}", it.shown)
        for number, each in zip(numbers, group, strict=True)
        for it in each.compared
    )
    parameters = {**first.parameters, "also": f"{also}look for one cause."}
    return replace(first, subject=POINTS, compared=compared, parameters=parameters)
