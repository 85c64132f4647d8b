"""Documents of an ordinary, consistent station, to be changed one value at a time.

Everything here is invented. `booster()` is one pump set that keeps 85 psi in a header out of a
main at 30 to 33 psi: 60 hp, 460 V, 60 Hz, pump of 260 ft at no flow and 165 ft at 1000 gpm. Its
readings were computed by hand from curve, affinity laws and plate, and rounded to what gauges
show, so that a rule that fires on it is wrong or finds a slip in this file.
"""

import re
from collections.abc import Iterable, Mapping
from copy import deepcopy
from typing import Any

from calculations.beside import NOTHING, Beside
from calculations.case import Case
from calculations.catalogue import RULES
from calculations.findings import Derived, Finding, Judgement, NotEvaluated
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.judging import case_of, finding_document, judge
from calculations.recordings import Recording
from calculations.units import KINDS, from_si, kinds_of, to_si

from . import building_event, building_plates
from .building_plates import Document, q


def nameplate() -> Document:
    """The motor of the booster: 60 hp, 230/460 V, linked for 460 V."""
    return building_plates.motor()


def booster() -> Document:
    """A complete start-up of one booster pump set, in US units, with nothing wrong."""
    return {
        "site": building_plates.site(),
        "pump_set": building_plates.pump_set(),
        "pump": building_plates.pump(),
        "motor": building_plates.motor(),
        "drive": building_plates.drive(),
        "sensors": building_plates.sensors(),
        "vessels": [building_plates.vessel()],
        "instruments": building_plates.instruments(),
        "event": building_event.start_up(),
    }


# -- changing -----------------------------------------------------------------------------------


def changed(document: Document, changes: Mapping[str, Any]) -> Document:
    """A copy with values put at JSON Pointers; `-` at the end of a list appends."""
    copy = deepcopy(document)
    for pointer, value in changes.items():
        parent, last = _parent(copy, pointer)
        if isinstance(parent, list):
            index = len(parent) if last == "-" else int(last)
            parent[index : index + 1] = [deepcopy(value)]
        else:
            parent[last] = deepcopy(value)
    return copy


def without(document: Document, *pointers: str) -> Document:
    """A copy without what stands at these JSON Pointers."""
    copy = deepcopy(document)
    for pointer in pointers:
        parent, last = _parent(copy, pointer)
        del parent[int(last) if isinstance(parent, list) else last]
    return copy


def _parent(document: Document, pointer: str) -> tuple[Any, str]:
    *steps, last = pointer.split("/")[1:]
    place: Any = document
    for step in steps:
        place = place[int(step)] if isinstance(place, list) else place.setdefault(step, {})
    return place, last


_METRIC = {
    "psi": "bar", "ft": "m", "in": "mm", "gpm": "m3/h", "hp": "kW", "degF": "degC", "gal": "L",
    "lb.ft2": "kg.m2", "lbf.ft": "N.m", "ft/s": "m/s", "in/s": "mm/s", "ft2": "m2",
}  # fmt: skip


def in_metric(document: Any) -> Any:
    """The same document with every US unit converted, with enough digits to stay the same."""
    if isinstance(document, list):
        return [in_metric(each) for each in document]
    if not isinstance(document, dict):
        return document
    if set(document) == {"value", "unit"}:
        return _metric_quantity(document)
    return {name: in_metric(value) for name, value in document.items()}


def _metric_quantity(quantity: dict[str, str]) -> dict[str, str]:
    unit = _METRIC.get(quantity["unit"])
    if unit is None:
        return dict(quantity)
    assert kinds_of(unit)
    value = from_si(to_si(float(quantity["value"]), quantity["unit"]), unit)
    return q(f"{value:.9f}", unit)


def case(document: Document) -> Case:
    """A document as rules read it."""
    return case_of(read(Subject, document))


# -- judging ------------------------------------------------------------------------------------


def judged(
    document: Document,
    limits: Mapping[str, float] | None = None,
    recordings: Mapping[str, Recording] | None = None,
    earlier: Document | None = None,
    beside: Beside = NOTHING,
    accepted: Iterable[tuple[str, str]] = (),
) -> Judgement:
    """What the catalogue says of a document; all of it can be said in words."""
    before = None if earlier is None else read(Subject, earlier)
    subject = read(Subject, document)
    judgement = judge(
        subject, limits, recordings=recordings, earlier=before, beside=beside,
        accepted=frozenset(accepted),
    )  # fmt: skip
    assert_told_whole(judgement)
    return judgement


UNITS = {"", *(unit for units in KINDS.values() for unit in units)}
RULE_IDS = {each.id for each in RULES}
SHORT = ("/settings/", "/rating/", "/regulating_sensor/", "/suction_sensor/", "/level_sensor/")
"""What rules say for a place that stands elsewhere: nobody finds such a field."""


def assert_told_whole(judgement: Judgement) -> None:
    """Everything has its place, its words and its values in known units; nothing is left out."""
    for finding in judgement.findings:
        _assert_finding(finding)
    for lacking in judgement.not_evaluated:
        _assert_lacking(lacking)
    for value in judgement.derived:
        assert value.subject.startswith("/"), value
        assert value.shown.value, value
        assert value.shown.unit in UNITS, value


def _assert_finding(finding: Finding) -> None:
    assert finding.subject.startswith("/"), finding
    told = finding_document(finding, "")
    assert told["sentence"]
    given = [*finding.parameters.values(), *(each.shown.value for each in finding.compared)]
    assert all(isinstance(each, str) for each in given), finding
    assert {each.shown.unit for each in finding.compared} <= UNITS, finding
    words = f"{told['sentence']} {told['remedy'] or ''} {finding.limit}"
    assert not re.search(r"\bNone\b|\{|\}", words), told
    assert not finding.limit[:1].isupper(), finding  # it goes on in a row of other words


def _assert_lacking(lacking: NotEvaluated) -> None:
    assert re.match(r"/\w", lacking.subject), lacking
    assert all(each.startswith("/") for each in lacking.needs), lacking
    assert not any(each.startswith(SHORT) for each in lacking.needs), lacking
    assert lacking.waits_for in RULE_IDS if lacking.waits_for else lacking.needs, lacking


def of_rule(judgement: Judgement, rule: str) -> list[Finding]:
    """The findings of one rule."""
    return [finding for finding in judgement.findings if finding.rule == rule]


def severities(document: Document, rule: str) -> list[str]:
    """The severities of what one rule finds in a document, in order of place."""
    return [finding.severity for finding in of_rule(judged(document), rule)]


def verdicts(document: Document, rule: str) -> list[tuple[str, str]]:
    """Severity and variant of what one rule finds in a document, in order of place."""
    return [(found.severity, found.variant) for found in of_rule(judged(document), rule)]


def serious(judgement: Judgement, prefixes: Iterable[str] = ("",)) -> list[tuple[str, str]]:
    """Rule and severity of every stop and review whose rule begins with one of `prefixes`."""
    return [
        (finding.rule, finding.severity)
        for finding in judgement.findings
        if finding.severity != "note" and finding.rule.startswith(tuple(prefixes))
    ]


def lacking(judgement: Judgement, rule: str) -> list[NotEvaluated]:
    """What one rule says it lacks or waits for."""
    return [each for each in judgement.not_evaluated if each.rule == rule]


def derived(judgement: Judgement, identity: str, subject: str | None = None) -> Derived:
    """One derived value; of the first subject where none is named."""
    for value in judgement.derived:
        if value.id == identity and subject in (None, value.subject):
            return value
    raise LookupError(f"no derived value {identity} of {subject}")
