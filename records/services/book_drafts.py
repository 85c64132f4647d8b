"""Visits of a book that no seal speaks for, on their way in: checked, and judged here.

No judgement of a file is believed: what is found of a visit is found anew, from its document, its
nameplates, its traces and the limits and records that come along. Findings have the same ids
wherever they are found, so that answers go on to speak of them.
"""

# ruff: noqa: S608  # every name in a statement is of our own declaration

import hashlib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from io import TextIOWrapper
from typing import IO, Any, cast
from uuid import UUID

from psycopg.types.json import Jsonb

from calculations.beside import Sealed
from calculations.errors import CalculationError
from calculations.inputs.event import Event as EventInput
from calculations.inputs.reading import InvalidDocument, Problem, pointer, read
from calculations.inputs.subject import Subject
from calculations.recordings import Recording
from records import permissions
from records.errors import BookError, Conflict, Invalid
from records.models import Attachment, Event, RuleSetting, Signature, Trace
from records.selectors import attachments, other_records, rule_settings
from records.selectors.bases import Basis, Document
from records.selectors.other_records import Records, Standing
from records.services import attachments as event_attachments
from records.services import device_signatures, judging, register, trace_text, traces
from records.services.book_staging import Staging
from records.services.kinds import KINDS
from records.verifier.telling import MALFORMED

UNSEALED = "(SELECT row FROM staged_events WHERE state <> 'sealed')"
_OF_PARTS = ("pump_set", "pump", "motor", "drive")
_LISTED = ("sensors", "vessels", "instruments")
# Roles are those of `other_records`; `before` are all before the visit.
_OF_STATION = f"""
SELECT r.id, r.number, r.performed_at, t.canonical
  FROM staged_records r JOIN staged_texts t ON t.record = r.id
 WHERE r.site_id = %(site)s
   AND {permissions.known_to_sql("r")}
   AND NOT EXISTS (SELECT FROM staged_records c WHERE c.corrects_id = r.row)
   AND r.id IS DISTINCT FROM %(corrected)s
   AND r.performed_at < %(at)s
 ORDER BY r.performed_at, r.row
"""
_AROUND = f"""
WITH read AS (
    SELECT r.row, r.id, r.number, r.performed_at, r.pump_set_id, t.canonical
      FROM staged_records r JOIN staged_texts t ON t.record = r.id
     WHERE {permissions.known_to_sql("r")}
), standing AS (
    SELECT * FROM read
     WHERE pump_set_id = %(pump_set)s
       AND NOT EXISTS (SELECT FROM staged_records c WHERE c.corrects_id = read.row)
       AND id IS DISTINCT FROM %(corrected)s
)
(SELECT 'first', id, number, performed_at, canonical FROM standing
  WHERE performed_at < %(at)s ORDER BY performed_at, row LIMIT 1)
UNION ALL
(SELECT 'last', id, number, performed_at, canonical FROM standing
  WHERE performed_at <= %(at)s ORDER BY performed_at DESC, row DESC LIMIT 1)
UNION ALL
(SELECT 'next', id, number, performed_at, canonical FROM standing
  WHERE performed_at > %(at)s ORDER BY performed_at, row LIMIT 1)
UNION ALL
(SELECT 'corrected', id, number, performed_at, canonical FROM read WHERE id = %(corrected)s)
UNION ALL
(SELECT 'before', id, number, performed_at, canonical FROM standing
  WHERE performed_at < %(at)s ORDER BY performed_at, row)
"""
# What is no longer found keeps the sentence that an answer speaks of.
_NOTHING_FOUND = """
UPDATE staged_findings SET present = false,
       document = jsonb_build_object('sentence', coalesce(document ->> 'sentence', ''))
 WHERE event_id = %s
"""
_ANSWERED = """
SELECT DISTINCT f.rule, f.subject FROM staged_answers a JOIN staged_findings f
    ON f.row = a.finding_id WHERE a.event_id = %s
"""
_FOUND_AGAIN = """
UPDATE staged_findings SET present = true, rule = %s, subject = %s, severity = %s, document = %s,
       compared_digest = %s
 WHERE event_id = %s AND id = %s RETURNING row
"""
_FOUND = """
INSERT INTO staged_findings
  (rule, subject, severity, document, compared_digest, event_id, id, contractor_id, client_id,
   present, row, new_row)
VALUES (%s, %s, %s, %s, %s, %s, %s, %s, %s, true,
        (SELECT coalesce(max(row), 0) + 1 FROM staged_findings),
        nextval(pg_get_serial_sequence('records_finding', 'row')))
"""


# -- what could not have been entered -------------------------------------------------------------


def snapshot_problems(row: Event) -> Iterator[Problem]:
    """What of a visit's nameplates is not of its place, or could not have been entered."""
    try:
        read(Subject, row.snapshot, "/snapshot")
    except InvalidDocument as error:
        yield from error.problems
        return
    snapshot = cast("Document", row.snapshot)
    for name in ("site", "pump_set"):
        if (snapshot.get(name) or {}).get("id") != row.document.get(name):
            yield Problem(f"/snapshot/{name}", "differs", "expected that of the visit")
            return
    if "event" in snapshot:
        yield Problem("/snapshot/event", "unknown_field", "there is no such field here")
    for place, kind, document in _pieces(snapshot):
        try:
            register.refuse_unless_entered(KINDS[kind], document)
        except Invalid as error:
            for each in error.problems:
                yield Problem(f"/snapshot{place}{each.pointer}", each.code, each.detail)


def _pieces(snapshot: Document) -> Iterator[tuple[str, str, Document]]:
    """Every plate, with its place and its kind."""
    yield "/site", "sites", snapshot["site"]
    yield from _parts("", snapshot)
    for name in _LISTED:
        for index, each in enumerate(snapshot.get(name) or ()):
            yield pointer(name, index), name, each
    for index, each in enumerate(snapshot.get("neighbours") or ()):
        yield from _parts(pointer("neighbours", index), each)


def _parts(at: str, holder: Document) -> Iterator[tuple[str, str, Document]]:
    for name in _OF_PARTS:
        if holder.get(name) is not None:
            yield f"{at}/{name}", f"{name}s".replace("_", "-"), holder[name]


def of_signatures(staging: Staging) -> Iterator[tuple[object, Problem]]:
    """What devices have signed of a draft has the form in which it is taken."""
    which = f"device IS NOT NULL AND event_id IN {UNSEALED}"
    for row in staging.rows(Signature, "signatures", which):
        for problem in device_signatures.problems_of(row.device):
            yield row.id, problem


def of_attachments(staging: Staging) -> Iterator[tuple[object, Problem]]:
    """What is told of an attachment could have been said of one."""
    for row in staging.rows(Attachment, "attachments", f"event_id IN {UNSEALED}"):
        for problem in event_attachments.problems_of(row):
            yield row.id, problem


def of_traces(staging: Staging) -> Iterator[tuple[object, Problem]]:
    """What is told of a trace is what its file holds."""
    for row in staging.rows(Trace, "traces", f"event_id IN {UNSEALED}"):
        for problem in traces.problems_of(row):
            yield row.id, problem
        try:
            written, digest = _written(staging, row)
        except Invalid as error:
            problem = error.problems[0]
            yield row.id, Problem(f"/file{problem.pointer}", problem.code, problem.detail)
            continue
        except BookError as error:
            yield row.id, Problem("/file", error.code, error.detail)
            continue
        except UnicodeDecodeError:
            yield row.id, Problem("/file", "text", "expected CSV in UTF-8")
            continue
        columns = [{"name": each.name, "unit": each.unit} for each in written.headings]
        expected = {
            "columns": columns, "rows": written.rows, "sample_interval": written.sample_interval,
            "sha256": digest,
        }  # fmt: skip
        held = {name: getattr(row, name) for name in expected} | {"sha256": bytes(row.sha256)}
        for name in [name for name, value in expected.items() if held[name] != value]:
            yield row.id, Problem(f"/{name}", "differs", "expected what its file holds")


class _Counted:
    """Takes what is written, and keeps its digest alone."""

    def __init__(self) -> None:
        self.digest = hashlib.sha256()

    def write(self, piece: bytes) -> int:
        self.digest.update(piece)
        return len(piece)


def _written(staging: Staging, row: Trace) -> tuple[trace_text.Written, bytes]:
    kept = _Counted()
    with _text(staging, row) as text:
        written = trace_text.write_csv(text, cast("IO[bytes]", kept))
    return written, kept.digest.digest()


@contextmanager
def _text(staging: Staging, row: Trace) -> Iterator[TextIOWrapper]:
    name = staging.book.member_of(bytes(row.sha256))
    with (
        staging.book.bundle.zip.open(name) as file,
        TextIOWrapper(file, encoding="utf-8", newline="") as text,
    ):
        yield text


# -- what is found here ---------------------------------------------------------------------------


def judge(staging: Staging) -> None:
    """Put in place of what a file says was found what is found here; after every check."""
    staging.execute("CREATE INDEX ON staged_findings (event_id)")
    for event in staging.rows(Event, "events", "state <> 'sealed'"):
        try:
            judged = _judged(staging, event)
        except (*MALFORMED, ArithmeticError, CalculationError) as error:
            words = f"nothing is taken in, since visit {event.id} cannot be judged"
            raise Conflict(f"{words}: {type(error).__name__}: {error}") from error
        staging.execute(
            "UPDATE staged_events SET catalogue = %s, judgement = %s WHERE row = %s",
            [judged.catalogue, Jsonb(judged.without_findings()), event.row],
        )
        _keep(staging, event, judged.findings)


def _keep(staging: Staging, event: Event, found: list[Document]) -> None:
    staging.execute(_NOTHING_FOUND, [event.row])
    for document in found:
        told = [document["rule"], document["subject"], document["severity"], Jsonb(document),
                judging.compared_digest(document), event.row, document["id"]]  # fmt: skip
        if not staging.execute(_FOUND_AGAIN, told):
            staging.execute(_FOUND, [*told, event.contractor_id, event.client_id])


def _judged(staging: Staging, event: Event) -> judging.Judged:
    parsed = read(EventInput, event.document)
    return judging.judge(event.id, event.snapshot, parsed, _basis(staging, event, parsed))


def _basis(staging: Staging, event: Event, parsed: EventInput) -> Basis:
    """What the file brings of it. Nobody here has accepted anything."""
    of_this = f"event_id = {event.row}"
    limits = f"ended_at IS NULL AND contractor_id = '{event.contractor_id}'"
    return Basis(
        limits_changed=rule_settings.changes(staging.rows(RuleSetting, "rule_settings", limits)),
        records=_records(staging, event, parsed),
        recordings=_recordings(staging, of_this, parsed),
        files=tuple(map(attachments.as_kept, staging.rows(Attachment, "attachments", of_this))),
        answered=frozenset(staging.execute(_ANSWERED, [event.row])),
    )


def _records(staging: Staging, event: Event, parsed: EventInput) -> Records:
    """Records of the pump set that still stand, by what they are to this visit."""
    asked = {
        "site": event.site_id, "pump_set": event.pump_set_id, "contractor": event.contractor_id,
        "corrected": UUID(parsed.corrects) if parsed.corrects else None, "at": event.performed_at,
    }  # fmt: skip
    rows = staging.execute(_AROUND, asked)
    by_role = {role: _standing(*row) for role, *row in rows if role != "before"}
    before = [row for role, *row in rows if role == "before"]
    return other_records.gathered(
        by_role,
        parsed,
        event.snapshot,
        lambda: [_standing(*row) for row in before],
        lambda tags: [_standing(*row) for row in staging.execute(_OF_STATION, asked)],
    )


def _standing(identity: UUID, number: int, at: datetime, text: bytes) -> Standing:
    subject = other_records.subject_of(bytes(text))
    sealed = None if subject is None else Sealed(subject, number)
    return Standing(other_records.record_told(identity, number, at), sealed)


def _recordings(staging: Staging, of_this: str, parsed: EventInput) -> Mapping[str, Recording]:
    named = {test.trace for test in parsed.step_tests or () if test.trace}
    found: dict[str, Any] = {}
    for row in staging.rows(Trace, "traces", of_this) if named else ():
        if str(row.id) in named:
            with _text(staging, row) as text:
                found[str(row.id)] = trace_text.recording(text)
    return found
