"""Another installation's book of one client comes in: by whoever runs this one.

Everything is checked first and written in one transaction. What was sealed stays as it is, with
the keys of the service that sealed it; numbers go on from its heads with our own key. Events and
records stay with who performed them; the stations go to the contractor that is appointed here.
"""

# ruff: noqa: S608  # every name in a statement is of our own declaration

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any
from uuid import UUID

import psycopg
from django.contrib.auth.hashers import make_password
from django.core.files.base import File
from django.db import DataError, IntegrityError, transaction
from django.db.models.expressions import RawSQL

from records.errors import Conflict
from records.models import AuditEntry, Organization, Site
from records.selectors.book_tables import OF_EVENTS
from records.services import (
    appointments,
    audit,
    book_derived,
    book_drafts,
    book_inputs,
    book_keys,
    files,
    summaries,
)
from records.services.book_files import BookFile
from records.services.book_staging import Staging
from records.services.times import instant

# COPY goes past Django, which gives the others its own names.
_REFUSALS = (
    IntegrityError, DataError, psycopg.IntegrityError, psycopg.DataError,
    psycopg.errors.StatementTooComplex,  # a line nested too deep
)  # fmt: skip
_REGISTER = (
    "sites", "pumps", "motors", "drives", "sensors", "vessels", "pump_sets", "instruments",
    "appointments", "standing", "rule_settings",
)  # fmt: skip
_SUMMARIES = """
INSERT INTO records_sitesummary
  (site_id, contractor_id, client_id, open_stop, open_review, open_note, drafts, last_number,
   due_edition)
SELECT new_row, contractor_id, client_id, 0, 0, 0, 0, 0, '' FROM staged_sites
"""
_HEADS = """
UPDATE records_sitesummary s
   SET last_number = r.number, last_digest = r.digest, last_sealed_at = r.sealed_at
  FROM (SELECT DISTINCT ON (site_id) site_id, number, digest, sealed_at FROM records_record
         WHERE row IN (SELECT new_row FROM staged_records) ORDER BY site_id, number DESC) AS r
 WHERE s.site_id = r.site_id
"""
_RECORDS = """
INSERT INTO records_record
  (row, id, contractor_id, client_id, site_id, event_id, pump_set_id, number, kind, performed_at,
   sealed_at, format, canonical, digest, previous_digest, signature, key_id, corrects_id, handed_to)
SELECT r.new_row, r.id, r.contractor_id, r.client_id, s.new_row, e.new_row, p.new_row, r.number,
       r.kind, r.performed_at, r.sealed_at, r.format, t.canonical, t.digest,
       decode(convert_from(t.canonical, 'UTF8')::jsonb ->> 'previous', 'hex'), t.signature, t.key,
       c.new_row, r.handed_to
  FROM staged_records r
  JOIN staged_texts t ON t.record = r.id
  JOIN staged_sites s ON s.row = r.site_id
  JOIN staged_events e ON e.row = r.event_id
  LEFT JOIN staged_pump_sets p ON p.row = r.pump_set_id
  LEFT JOIN staged_records c ON c.row = r.corrects_id
 ORDER BY r.site_id, r.number
"""
# As it was found, not as it is told.
_CRC_32 = (
    "(SELECT t.crc32 FROM staged_texts t WHERE t.pdf = s.sha256 AND t.record = of_record_id.id)"
)
# What would be sealed here is signed here: nothing proves the signatures of a draft.
_VOID = (
    "CASE of_event_id.state WHEN 'draft' THEN coalesce(s.void_since, now()) ELSE s.void_since END"
)
# Nobody here has accepted what a draft's finding says.
_NOT_ACCEPTED = "s.accepted AND of_event_id.state <> 'draft'"
# Stations that are here already, and their counts, in the order in which everybody holds them.
_HOLD = (
    "SELECT FROM records_site WHERE row IN (SELECT new_row FROM staged_sites)"
    " ORDER BY row FOR UPDATE",
    "SELECT FROM records_sitesummary WHERE site_id IN (SELECT new_row FROM staged_sites)"
    " ORDER BY site_id FOR UPDATE",
)
_OF_PART = {"signatures": {"void_since": _VOID}, "answers": {"accepted": _NOT_ACCEPTED}}
_FROZEN = "s.snapshot_frozen AND s.state <> 'draft'"
_OWN = {
    "limits": "SELECT contractor_id, array_agg(rule || ', ' || \"limit\" || ': ' || value || ' '"
              " || unit ORDER BY row) FROM staged_rule_settings WHERE ended_at IS NULL GROUP BY 1",
    "intervals": "SELECT contractor_id, array_agg(task || ': ' || months || ' months' ORDER BY row)"
                 " FROM staged_interval_settings WHERE ended_at IS NULL GROUP BY 1",
    "instruments": "SELECT contractor_id, array_agg(serial ORDER BY row) FROM staged_instruments"
                   " WHERE new_row IN (SELECT row FROM records_instrument) GROUP BY 1",
    "answers_not_accepted": "SELECT a.contractor_id, count(*) FROM staged_answers a"
                            " JOIN staged_events e ON e.row = a.event_id"
                            " WHERE a.accepted AND e.state = 'draft' GROUP BY 1",
}  # fmt: skip
_PROPOSAL = (
    "(SELECT h.row FROM staged_performed_tasks p JOIN records_performedtask h ON h.id = p.id"
    " WHERE p.row = s.proposal_id)"
)


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which contractor looks after the stations here, on whose word; how much to believe.

    `fingerprints`: keys that are trusted (none: those that the file brings); `heads`: what the
    client kept. With `only_check` nothing is written.
    """

    contractor: UUID
    operator: str
    reason: str
    fingerprints: tuple[str, ...] = ()
    heads: Path | None = None
    only_check: bool = False


@dataclass(slots=True)
class Taken:
    """What became of it: rows added, and rows that were here, by table."""

    client: str
    service: str
    counts: Mapping[str, tuple[int, int]]
    checked: str
    before: datetime | None = None
    sites: list[str] = field(default_factory=list)
    not_accepted: int = 0  # answers of drafts that accept a finding there, and not here


def take_in(path: Path, wanted: Wanted, using: str) -> Taken:
    """Check a book and write all of it; `using` is the tables' owner's connection.

    `Conflict` says in words what is not right, or does not fit what is here; nothing is written
    then. The same file again changes nothing.
    """
    book = BookFile(path)
    checked = book.check(wanted.fingerprints, wanted.heads)
    try:
        with transaction.atomic(using=using, durable=True):
            taken = _TakingIn(book, wanted, using).run(checked)
            if wanted.only_check:
                transaction.set_rollback(True, using=using)
    except (*_REFUSALS, UnicodeDecodeError) as error:
        raise Conflict(f"nothing is taken in, since the database refuses it: {error}") from error
    return taken


class _TakingIn:
    """One book, inside of one transaction."""

    def __init__(self, book: BookFile, wanted: Wanted, using: str) -> None:
        self.book, self.wanted, self.using = book, wanted, using
        self.staging = Staging(book, using)

    def run(self, checked: str) -> Taken:
        """Everything in its order: each row after those that it names."""
        self.staging.execute("SELECT pg_advisory_xact_lock(hashtext('take_in_book'))")
        taken = Taken("", self.book.service, {}, checked, self._taken_before())
        if taken.before:
            return taken
        self.staging.load()
        self.staging.refuse_contradictions()
        book_inputs.refuse(self.staging)
        book_drafts.judge(self.staging)
        keys = book_keys.Coming(self.book.keys() if self.book.has_records else [], self.using)
        self._refuse_conflicts(keys)
        taken.counts = self.staging.counts()
        self._write(keys)
        client = Organization.objects.using(self.using).get(id=self.book.client)
        taken.client, taken.sites = client.name, self._appoint()
        self._write_down(client, taken)
        if not self.wanted.only_check:
            self._keep_files()
        return taken

    def _taken_before(self) -> datetime | None:
        entries = AuditEntry.objects.using(self.using).filter(
            action="book taken in", contractor_id=self.book.client
        )
        found = entries.filter(after__book=self.book.digest).first()
        return found.at if found else None

    def _refuse_conflicts(self, keys: "book_keys.Coming") -> None:
        sealing = [key for [key] in self.staging.execute("SELECT DISTINCT key FROM staged_texts")]
        found = [*keys.unasked(sealing), *keys.conflicts(), *self.staging.conflicts()]
        if not self._contractor_is_known():
            found.append(f"contractor: {self.wanted.contractor} is neither here nor in the file")
        if self.wanted.contractor == self.book.client:
            found.append("contractor: expected another organization than the client")
        if found:
            raise Conflict("nothing is taken in, since it does not fit:\n" + "\n".join(found))

    def _contractor_is_known(self) -> bool:
        query = (
            "SELECT 1 FROM records_organization WHERE id = %s"
            " UNION SELECT 1 FROM staged_organizations WHERE id = %s"
        )
        return bool(self.staging.execute(query, [self.wanted.contractor] * 2))

    # -- rows

    def _write(self, keys: "book_keys.Coming") -> None:
        for statement in _HOLD:
            self.staging.execute(statement)
        self._follow_the_register(False)
        self._write_parties()
        keys.write(self.book.service)
        for name in _REGISTER:
            self.staging.insert(name)
            if name == "sites":
                self.staging.execute(_SUMMARIES)
        self._write_events()
        self.staging.execute(_RECORDS)
        self.staging.execute(_HEADS)
        self.staging.insert("documents", crc32=_CRC_32)
        self.staging.insert("audit")
        book_derived.write(self.using)
        self.staging.insert("interval_settings", proposal_id=_PROPOSAL)
        self._follow_the_register(True)

    def _follow_the_register(self, follow: bool) -> None:
        """What stood when comes along: what is written of the register here is no news."""
        taking_in = "off" if follow else "on"
        self.staging.execute("SELECT set_config('app.taking_in', %s, true)", [taking_in])

    def _write_parties(self) -> None:
        """People are names here: nobody signs in as them, and nobody is invited as them."""
        nobody = make_password(None).replace("'", "''")
        self.staging.insert("organizations")
        self.staging.insert(
            "people", username="'taken-in-' || s.id", password=f"'{nobody}'", is_active="false",
            is_staff="false", is_superuser="false", email="''", first_name="''", last_name="''",
            date_joined="now()",
        )  # fmt: skip
        self.staging.insert("clienteles")

    def _write_events(self) -> None:
        """Each contractor's own while it looks after the stations, as it once was.

        The database takes events from whoever is appointed, and parts of drafts alone.
        """
        performed = "SELECT DISTINCT contractor_id FROM staged_events"
        for [contractor] in self.staging.execute(performed):
            self._set_contractor("%s::uuid", [contractor])
            theirs = f"s.contractor_id = '{contractor}'"
            self.staging.insert("events", theirs, state="'draft'", snapshot_frozen=_FROZEN)
            for name in OF_EVENTS:
                self.staging.insert(name, theirs, **_OF_PART.get(name, {}))
            self.staging.execute(
                "UPDATE records_event e SET state = s.state FROM staged_events s"
                " WHERE e.row = s.new_row AND s.state <> 'draft' AND s.contractor_id = %s",
                [contractor],
            )
        self._set_contractor("s.contractor_id")

    def _set_contractor(self, whose: str, parameters: Any = ()) -> None:
        self.staging.execute(
            f"UPDATE records_site h SET contractor_id = {whose} FROM staged_sites s"
            " WHERE h.row = s.new_row",
            parameters,
        )

    # -- afterwards

    def _appoint(self) -> list[str]:
        """The codes of the book's stations, each looked after by the contractor that is wanted."""
        came = RawSQL("SELECT new_row FROM staged_sites", [])
        sites = Site.objects.using(self.using).filter(row__in=came).order_by("code")
        for site in sites:
            if site.contractor_id == self.wanted.contractor:
                summaries.refresh(site.row, self.using)
                continue
            change = appointments.Change(
                client=self.book.client,
                code=site.code,
                contractor=self.wanted.contractor,
                operator=self.wanted.operator,
                reason=self.wanted.reason,
                hand_on_records=True,
                leave_drafts=True,
            )
            appointments.appoint(change, self.using)
        return [site.code for site in sites]

    def _write_down(self, client: Organization, taken: Taken) -> None:
        about = audit.About("organization", client.id, client.name, client=client.id)
        told = {
            "service": self.book.service,
            "book": self.book.digest,
            "written_at": instant(self.book.written_at),
            "records": taken.counts["records"][0],
            "stations": len(taken.sites),
        }
        brought = self._brought()
        taken.not_accepted = sum(each.get("answers_not_accepted", 0) for each in brought.values())
        for organization in {client.id: 0, self.wanted.contractor: 0, **brought}:
            after = told | brought.get(organization, {})
            audit.write_by_operator(
                organization, self.wanted.operator, "book taken in", about,
                change=audit.Change(after=after), reason=self.wanted.reason, using=self.using,
            )  # fmt: skip

    def _brought(self) -> dict[UUID, dict[str, Any]]:
        """What came in of each organization's own, which nobody of it has entered here."""
        found: dict[UUID, dict[str, Any]] = {}
        for told, query in _OWN.items():
            for organization, names in self.staging.execute(query):
                found.setdefault(organization, {})[told] = names
        return found

    def _keep_files(self) -> None:
        """Before the rows that name them are committed; what is there already stays."""
        for digest, _, name in self.book.files():
            with self.book.bundle.zip.open(self.book.bundle.members[name]) as content:
                files.keep(digest, File(content, name))
