"""Judging away from the service: a visit pack and what was entered, read as one subject.

The device runs this very package. What only the service has (rows of traces, other records)
is told as waiting, so that silence never reads as approval.
"""

import copy
import json
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from types import ModuleType
from typing import Any

from calculations import judging
from calculations.catalogue import RULES, VERSION, rule
from calculations.findings import NotEvaluated
from calculations.inputs.entered import NumberText
from calculations.inputs.event import AttachmentReference, Event, NotReceived
from calculations.inputs.reading import InvalidDocument, Problem, read
from calculations.inputs.subject import Subject
from calculations.rule import Rule
from calculations.rules import (
    changes,
    counters,
    last_record,
    loop_traces,
    other_than_before,
    records,
    trace_feedback,
)
from calculations.units import to_si

Document = dict[str, Any]

PARTS = ("pump_set", "pump", "motor", "drive")
MOST_REFUSED = 200
"""Values that are left out of one judging at most; a document with more is no document."""


def _ids(module: ModuleType) -> frozenset[str]:
    return frozenset(each.id for each in vars(module).values() if isinstance(each, Rule))


NEEDS_TRACE = _ids(loop_traces) | _ids(trace_feedback)
NEEDS_OTHER_RECORDS = _ids(changes) | _ids(counters) | _ids(last_record) | _ids(other_than_before)


def judged_text(
    pack: str, pump_set: str, event: str, files: str = "[]", answered: str = "[]"
) -> str:
    """`judged` from JSON text to JSON text; no digit of a number is lost on the way."""
    texts = (pack, event, files, answered)
    taken, entered, kept, pairs = (json.loads(text, parse_float=NumberText) for text in texts)
    return json.dumps(judged(taken, pump_set, entered, kept, pairs), ensure_ascii=False)


def judged(
    pack: Mapping[str, Any],
    pump_set: str,
    event: Document,
    files: Iterable[Document] = (),
    answered: Iterable[Sequence[str]] = (),
) -> Document:
    """Everything that can be said of a visit on the device.

    `pump_set` is the id of one in the pack, or "" where the visit is for sensors alone; `files`
    are those that lie on the device or have been sent; `answered` are findings (rule, subject) that
    somebody answered in the book, told by themselves as the service tells them. Values that
    cannot be taken are told in `refused` with their places and left out. `catalogue` differs from
    the pack's where the service has changed its rules since: then nothing of it may be shown.
    """
    document = subject_document(pack, pump_set, event)
    subject, refused = _readable(document)
    held = with_files(subject.event or Event(), [read(AttachmentReference, each) for each in files])
    subject = subject.model_copy(update={"event": held})
    limits = limits_in_si(pack.get("limits_changed") or ())
    pairs = frozenset((each_rule, at) for each_rule, at in answered)
    found = judging.judge(subject, limits, answered=pairs)
    told = {each.rule for each in found.findings} | {each.rule for each in found.not_evaluated}
    lacking = [each for each in found.not_evaluated if not _waits(each, event)]
    waiting = [each for each in found.not_evaluated if _waits(each, event)]
    return {
        "catalogue": VERSION,
        "judged": found.judged,
        "derived": [judging.derived_document(value) for value in found.derived],
        "findings": [
            judging.finding_document(each, f"{each.rule} {each.subject}") for each in found.findings
        ],
        "not_evaluated": [_told(each) for each in lacking],
        "waiting": [
            *(_told(each) for each in waiting),
            *_unseen(pack, pump_set, event),
            *_unread(event, told),
        ],
        "refused": [
            {"pointer": each.pointer.removeprefix("/event"), "code": each.code,
             "detail": each.detail}
            for each in refused
        ],
    }  # fmt: skip


def subject_document(pack: Mapping[str, Any], pump_set: str, event: Document) -> Document:
    """What the service would judge this event against, as a subject's document."""
    sets = {each["pump_set"]["id"]: each for each in pack["pump_sets"]}
    sensors, found = list(pack["sensors"]), Document()
    if pump_set:
        own = sets[pump_set]
        found = _parts(own)
        found["neighbours"] = [_neighbour(sets[each]) for each in own["neighbours"]]
        sensors = [each for each in sensors if each["id"] in own["sensors"]]
    named = instruments_named(event)
    return {
        **found,
        "site": pack["site"],
        "sensors": sensors,
        "vessels": pack["vessels"],
        "instruments": [
            each for each in pack["instruments"] if {each["id"], each.get("serial")} & named
        ],
        "event": event,
    }


def _parts(packed: Mapping[str, Any]) -> Document:
    parts = {name: packed[name] for name in PARTS if packed.get(name)}
    return parts | {"pump_set": {"drive": None, **packed["pump_set"]}}


def _neighbour(packed: Mapping[str, Any]) -> Document:
    left = packed.get("last_settings")
    if not left:
        return _parts(packed)
    points = left.get("duty_points")
    return {
        **_parts(packed),
        "settings": left["as_left"],
        **({"duty_points": points} if points else {}),
    }


def instruments_named(document: Mapping[str, Any]) -> set[str]:
    """Every instrument that an event's document refers to, by id or serial number."""
    named = set(document.get("instruments") or ())
    for point in document.get("duty_points") or ():
        named |= set(point.get("instruments") or ())
    for verification in document.get("sensor_verifications") or ():
        if verification.get("instrument"):
            named.add(verification["instrument"])
    return named


def limits_in_si(changed: Iterable[Mapping[str, Any]]) -> dict[str, float]:
    """Changed limits as judging takes them: SI by `rule.limit`."""
    return {
        f"{each['rule']}.{each['limit']}": to_si(float(each["value"]), each["unit"])
        for each in changed
    }


# -- values that cannot be taken -------------------------------------------------------------------


def _readable(document: Document) -> tuple[Subject, list[Problem]]:
    """The subject without what cannot be taken of its event, and what that was."""
    refused: list[Problem] = []
    kept: Document = document | {"event": copy.deepcopy(document["event"])}
    while True:
        try:
            return read(Subject, kept), refused
        except InvalidDocument as error:
            own = [each for each in error.problems if each.pointer.startswith("/event/")]
            if len(own) < len(error.problems) or len(refused) > MOST_REFUSED:
                raise
            refused += own
            gone = ":"  # what was taken out last, with whatever else is wrong in it
            for each in reversed(own):  # elements before one that is taken out keep their places
                if not each.pointer.startswith(gone):
                    gone = _leave_out(kept, each) + "/"


def _leave_out(document: Document, problem: Problem) -> str:
    """Take a field that cannot be taken out, or the whole that it belongs to; answers its place.

    A quantity goes with its unit, a list of values as one, an element that lacks what it must
    have as well.
    """
    path: list[tuple[Any, Any]] = [(document, "event")]
    for step in problem.pointer.split("/")[2:]:
        held, at = path[-1]
        inside = held[at] if isinstance(held, list) or at in held else None
        if not isinstance(inside, (dict, list)) or _is_quantity(inside):
            break
        path.append((inside, _step(inside, step)))
    if problem.code == "required":
        path.pop()
    while isinstance(path[-1][0], list) and problem.code != "required":
        path.pop()
    held, at = path[-1]
    if isinstance(held, list):
        del held[at]
    else:
        held.pop(at, None)
    return "/".join(problem.pointer.split("/")[: len(path) + 1])


def _is_quantity(held: Any) -> bool:
    return isinstance(held, dict) and bool(held) and set(held) <= {"value", "unit"}


def _step(held: Any, step: str) -> Any:
    return int(step) if isinstance(held, list) else step.replace("~1", "/").replace("~0", "~")


# -- files -----------------------------------------------------------------------------------------


def with_files(event: Event, held: Iterable[AttachmentReference]) -> Event:
    """The event as if it named every file that is at hand, and told apart which is not."""
    files = list(held)
    named = [_received(each, files) for each in event.attachments or ()] + files
    saved = _received(event.settings_file, files) if event.settings_file else None
    return event.model_copy(update={"attachments": named or None, "settings_file": saved})


def _received(named: AttachmentReference, files: list[AttachmentReference]) -> AttachmentReference:
    if any(is_named_by(each, named) for each in files):
        return named
    return NotReceived.model_construct(**dict(named))


def is_named_by(
    file: AttachmentReference, named: AttachmentReference, sent: str | None = None
) -> bool:
    """Whether a file is the one that is named: by id, by digest, else by name or purpose.

    `sent` is the digest of its bytes as they were sent, where they are kept in another form.
    """
    if named.id or named.sha256:
        digest = (named.sha256 or "").lower()
        return named.id == file.id or digest in (file.sha256, sent)
    return file.name == named.name or file.purpose == named.purpose


# -- what waits for signal -------------------------------------------------------------------------


def _waits(each: NotEvaluated, event: Document) -> bool:
    return each.rule in NEEDS_TRACE and bool(event.get("step_tests")) and not each.waits_for


def _unseen(pack: Mapping[str, Any], pump_set: str, event: Document) -> Iterator[Document]:
    """Rules that only the service can apply, since it has the other records."""
    own = next((each for each in pack["pump_sets"] if each["pump_set"]["id"] == pump_set), None)
    if own is None or not own.get("first_record"):
        return
    checked = {records.TOO_PERFECT.id} if event.get("sensor_verifications") else set()
    yield from _of_the_service(
        NEEDS_OTHER_RECORDS | checked, "other records of the pump set stay with it"
    )


def _unread(event: Document, told: Collection[str]) -> Iterator[Document]:
    """Rules about rows of a trace that judging passes over in silence where it has no rows."""
    if event.get("step_tests"):
        yield from _of_the_service(NEEDS_TRACE - set(told), "it reads the rows of a trace")


def _of_the_service(rules: Collection[str], because: str) -> Iterator[Document]:
    for each in RULES:
        if each.id in rules:
            yield {"title": each.title, "rule": each.id, "subject": "/event", "needs": [],
                   "because": f"the service judges it: {because}"}  # fmt: skip


def _told(each: NotEvaluated) -> Document:
    return {"title": rule(each.rule).title, **judging.not_evaluated_document(each)}
