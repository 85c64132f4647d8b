"""Spreadsheets that come in: taken, their columns said, each row tried, then written at once.

What is under way is read from the state: `to check` and `to write` wait for the relay. Both are
done in the place of who asked, in one transaction, and are safe to run twice.
"""

import hashlib
import json
import logging
import tempfile
from collections import Counter
from collections.abc import Iterator, Mapping
from contextlib import suppress
from datetime import datetime, timedelta
from typing import IO
from uuid import UUID

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage
from django.db import IntegrityError, connection, transaction
from django.db.models import F, QuerySet
from django.db.models.functions import Coalesce, Now
from django.utils import timezone

from records import permissions
from records.errors import BookError, Conflict, Invalid, NotFound
from records.json_text import text_of
from records.models import Import, ImportLine
from records.permissions import Actor, Presence
from records.services import audit, holding
from records.services.importing import layouts, writing
from records.services.importing.opening import opened
from records.services.importing.progress import UNDER_WAY, Progress, Stopped
from records.services.importing.sheets import MOST_BYTES, NoSpreadsheet
from records.services.importing.trying import Line, Trying
from records.services.tokens import actor_of_person

log = logging.getLogger(__name__)

LONGEST_NAME = 200
KEPT_FOR = timedelta(days=400)
"""So that the file of the next year is read as last year's was."""
_AT_ONCE = 500
_ATTEMPTS = 3
_FAILED = "Something went wrong on our side; nothing was written. Try it again."


class _TakenBack(Exception):
    """Ends a transaction that only tried."""


def rows(actor: Actor) -> QuerySet[Import]:
    """Every import of the actor's office, newest first."""
    permissions.require(actor, "register.import")
    return permissions.visible(Import.objects.order_by("-row"), actor)


def get(actor: Actor, identity: UUID) -> Import:
    """One of them."""
    found = rows(actor).filter(id=identity).first()
    if found is None:
        raise NotFound()
    return found


def is_under_way(of: Import) -> bool:
    """Whether it waits for the background, or is worked on there."""
    return of.state in UNDER_WAY


def take(actor: Actor, name: str, content: bytes, identity: UUID) -> Import:
    """Keep a file, and say what its columns seem to mean; the same form again changes nothing."""
    permissions.require(actor, "register.import")
    there = rows(actor).filter(id=identity).first()
    if there is not None:
        return there
    try:
        found = opened(content)
        layout = layouts.layout_of(found)
    except NoSpreadsheet as error:
        raise Invalid(str(error)) from None
    digest = layouts.digest_of(layout)
    before = rows(actor).filter(layout_digest=digest).exclude(state="columns").first()
    if before is not None:
        layout = layouts.as_before(layout, before.layout)
    row = Import(
        id=identity, contractor_id=actor.organization_id, created_by_id=actor.user_id,
        name=name[:LONGEST_NAME] or "spreadsheet", sha256=hashlib.sha256(content).digest(),
        size=len(content), layout=layout, layout_digest=digest, notes=list(found.notes),
    )  # fmt: skip
    try:
        with transaction.atomic():
            row.save(force_insert=True)
    except IntegrityError:  # the same form, and quicker
        return get(actor, identity)
    default_storage.save(_place(row.contractor_id, identity), ContentFile(content))
    return row


def _place(contractor: UUID, identity: UUID) -> str:
    """A name in which another office cannot put anything, whatever id its form holds."""
    return f"imports/{contractor}/{identity}"


def choose(
    actor: Actor,
    of: Import,
    kinds: Mapping[int, str],
    fields: Mapping[tuple[int, int], str],
    units: Mapping[tuple[int, int], str],
) -> bool:
    """Say what columns mean, and have every row tried; False where a sheet is looked at anew."""
    of = _locked(actor, of)
    if of.state == "to check" and of.layout == layouts.chosen(of.layout, kinds, fields, units):
        return True  # the form was sent twice
    _refuse_busy(of)
    anew = any(page["kind"] != kinds.get(i, page["kind"]) for i, page in enumerate(of.layout))
    of.layout = layouts.chosen(of.layout, kinds, fields, units)
    wrong = layouts.problems(of.layout) + layouts.without_unit(of.layout, units)
    if wrong and not anew:
        raise Invalid(" ".join(wrong))
    of.state = "columns" if anew else "to check"
    _start(actor, of)
    return not anew


def check_again(actor: Actor, of: Import) -> None:
    """Have every row tried on the book as it is now."""
    of = _locked(actor, of)
    if of.state in UNDER_WAY:
        return
    _refuse_busy(of)
    if layouts.problems(of.layout):
        raise Conflict("say what the columns mean first")
    of.state = "to check"
    _start(actor, of)


def ask_to_write(actor: Actor, of: Import, *, without_refused: bool) -> None:
    """Have what was checked written; rows that were refused are left out by one's own word."""
    of = _locked(actor, of)
    if of.state in ("to write", "written"):
        return  # the form was sent twice
    if of.state != "checked":
        raise Conflict("the file has to be checked first")
    if of.counts.get("refused") and not without_refused:
        raise Invalid("Some rows were refused: say that they are left out, or correct the file.")
    of.state = "to write"
    _start(actor, of)


def stop(actor: Actor, of: Import) -> None:
    """Have the background go on with it no further: all that was done so far is taken back."""
    of = _locked(actor, of)
    if of.state == "written":
        raise Conflict("it was written before it could be stopped")
    if of.state in UNDER_WAY:
        of.state, of.problem = "stopped", f"{actor.name} stopped it. Nothing was written."
        of.save(update_fields=["state", "problem", "changed_at"])


def _locked(actor: Actor, of: Import) -> Import:
    """As it is now; whoever does something with it as well waits until this is done."""
    return rows(actor).select_for_update().get(row=of.row)


def _refuse_busy(of: Import) -> None:
    if of.state in UNDER_WAY or of.state == "written":
        raise Conflict(f"the file is {'written' if of.state == 'written' else 'being worked on'}")


def _start(actor: Actor, of: Import) -> None:
    of.done, of.attempts, of.held_since, of.problem = 0, 0, None, ""
    of.asked_by_id = actor.user_id
    of.save()
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_notify('work_to_do', '')")


# --- in the background -----------------------------------------------------------------------


def missing() -> list[tuple[tuple[UUID, datetime], int]]:
    """Imports that wait for the background, since when, with the attempts so far.

    Of each office the one that has waited longest: its others would only wait for that one.
    """
    with transaction.atomic():
        permissions.enter_as_worker()
        waiting = Import.objects.filter(state__in=UNDER_WAY)
        first = waiting.order_by("contractor", "changed_at", "row").distinct("contractor")
        found = first.values_list("id", "changed_at", "attempts")
        oldest = sorted(found, key=lambda each: each[1])[:100]
        return [((identity, since), attempts) for identity, since, attempts in oldest]


def forget_old() -> int:
    """Drop those that nobody has touched for `KEPT_FOR`, with rows and file; answers how many.

    In the place of the background tasks. What was written stays, and the audit says what it was.
    """
    old = Import.objects.filter(changed_at__lt=timezone.now() - KEPT_FOR)
    over = old.exclude(state__in=UNDER_WAY)
    gone = list(over.values_list("row", "contractor_id", "id")[:_AT_ONCE])
    # Lines go along by their foreign key: a worker sees none.
    Import.objects.filter(row__in=[row for row, *_ in gone])._raw_delete("default")
    for _, contractor, identity in gone:
        _delete_afterwards(_place(contractor, identity))
    return len(gone)


def _delete_afterwards(place: str) -> None:
    """Once the rows are gone; a file that the storage keeps is logged, and keeps no other."""
    transaction.on_commit(lambda: default_storage.delete(place), robust=True)


def go_on(identity: UUID) -> bool:
    """Do what an import waits for; False where there is nothing to do."""
    found = _begun(identity)
    if found is None:
        return False
    contractor, person, state, attempts, asked = found
    actor = actor_of_person(person, contractor, presence=Presence())
    if actor is None:
        _end(contractor, identity, asked, "Whoever asked for it belongs to this office no longer.")
        return False
    try:
        if attempts < _ATTEMPTS:
            return _check(actor, identity) if state == "to check" else _write(actor, identity)
        _end(contractor, identity, asked, _FAILED)
    except holding.Busy as busy:
        _not_begun(contractor, identity, asked, isinstance(busy, holding.BusyElsewhere))
    except Stopped:
        log.info("import %s was stopped", identity)
    except NoSpreadsheet as error:
        _end(contractor, identity, asked, str(error))
    except BookError as error:
        _end(contractor, identity, asked, f"{error.detail} Nothing was written.")
    except Exception:
        log.exception("import %s could not go on", identity)
        if attempts + 1 >= _ATTEMPTS:
            _end(contractor, identity, asked, _FAILED)
    return False


def _begun(identity: UUID) -> tuple[UUID, UUID, str, int, datetime] | None:
    """Whose it is, what it waits for, the attempts before and since when, if nobody is at it.

    An attempt counts from its beginning: one that is killed, or takes too long, ends no more. It
    has not begun while another file of the office is worked on: that would take its time.
    """
    with transaction.atomic():
        permissions.enter_as_worker()
        waiting = Import.objects.filter(id=identity, state__in=UNDER_WAY)
        by = Coalesce("asked_by_id", "created_by_id")  # an older version names nobody
        told = ("row", "contractor_id", by, "state", "attempts", "changed_at")
        found = waiting.values_list(*told).first()
        if found is None or not _taken(found[0]):
            return None
        try:
            holding.imports_of(found[1])
        except holding.Busy:
            return None
        waiting.filter(row=found[0]).update(attempts=F("attempts") + 1)
        permissions.leave()  # who somebody is, is asked from outside
        _, contractor, person, state, attempts, asked = found
        return contractor, person, state, attempts, asked


def _taken(row: int) -> bool:
    """Whether nobody else works on it: until the end of the transaction."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_xact_lock(hashtext('import'), %s)", [row])
        return bool(cursor.fetchone()[0])


def _not_begun(contractor: UUID, identity: UUID, asked: datetime, elsewhere: bool) -> None:
    """An attempt that found somebody else at what it needs is none: it comes back later."""
    with transaction.atomic():
        permissions.enter_as_worker()
        of = Import.objects.filter(contractor=contractor, id=identity, changed_at=asked)
        since = Coalesce("held_since", Now()) if elsewhere else F("held_since")
        of.filter(attempts__gt=0).update(attempts=F("attempts") - 1, held_since=since)


def _claimed(actor: Actor, identity: UUID, state: str) -> Import | None:
    """The import, if nobody else works on it: until the end of the transaction.

    `Busy` where another file of the office is worked on.
    """
    of = rows(actor).filter(id=identity, state=state).first()
    if of is None or not _taken(of.row):
        return None
    holding.imports_of(of.contractor_id)
    return of


def _check(actor: Actor, identity: UUID) -> bool:
    """Try every row, take it all back, and keep what would become of each."""
    with tempfile.TemporaryFile("w+", encoding="utf-8") as spool:
        counts: Counter[str] = Counter()
        of = _tried(actor, identity, spool, counts)
        spool.seek(0)
        return of is not None and _keep(actor, of, spool, counts)


def _tried(actor: Actor, identity: UUID, spool: IO[str], counts: Counter[str]) -> Import | None:
    """The import of which every row was tried and taken back, if nobody else works on it."""
    of = None
    with suppress(_TakenBack), permissions.inside(actor):
        of = _claimed(actor, identity, "to check")
        if of is not None:
            _try(actor, of, spool, counts)
            raise _TakenBack
    return of


def _try(actor: Actor, of: Import, spool: IO[str], counts: Counter[str]) -> None:
    try:
        with default_storage.open(_place(of.contractor_id, of.id)) as file:
            content = file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        raise NoSpreadsheet("The file is no longer here: send it again.") from None
    with Progress(of) as progress:
        for line in Trying(actor).lines(opened(content), of.layout):
            spool.write(_packed(line))
            counts[line.verdict] += 1
            progress.one_more()


def _packed(line: Line) -> str:
    read = line.read
    told = [read.sheet, read.number, read.kind, line.name, line.verdict,
            str(line.subject) if line.subject else None, line.revision, line.document,
            line.told]  # fmt: skip
    return text_of(told).decode() + "\n"


def _keep(actor: Actor, of: Import, spool: IO[str], counts: Counter[str]) -> bool:
    with permissions.inside(actor):
        of = _still_wanted(actor, of)
        ImportLine.objects.filter(of=of).delete()
        for part in _parts(_lines(of, spool)):
            ImportLine.objects.bulk_create(part)
        of.state, of.counts, of.done = "checked", dict(counts), counts.total()
        of.save(update_fields=["state", "counts", "done", "changed_at"])
    return True


def _still_wanted(actor: Actor, of: Import) -> Import:
    """The import as it was when this attempt began; whoever would stop it waits from here on."""
    same = rows(actor).filter(row=of.row, state=of.state, changed_at=of.changed_at)
    found = same.select_for_update().first()
    if found is None:
        raise Stopped
    return found


def _lines(of: Import, spool: IO[str]) -> Iterator[ImportLine]:
    names = ("sheet", "number", "kind", "name", "verdict", "subject", "revision", "document",
             "told")  # fmt: skip
    for position, text in enumerate(spool):
        told = dict(zip(names, json.loads(text), strict=True))
        yield ImportLine(of=of, contractor_id=of.contractor_id, position=position, **told)


def _parts(lines: Iterator[ImportLine]) -> Iterator[list[ImportLine]]:
    part: list[ImportLine] = []
    for line in lines:
        part.append(line)
        if len(part) == _AT_ONCE:
            yield part
            part = []
    if part:
        yield part


def _write(actor: Actor, identity: UUID) -> bool:
    """Write every row that was checked, or none."""
    with permissions.inside(actor):
        of = _claimed(actor, identity, "to write")
        if of is None:
            return False
        lines = ImportLine.objects.filter(of=of, verdict__in=("created", "changed"))
        writing.write(actor, of, lines)
        of = _still_wanted(actor, of)
        of.state, of.done = "written", of.counts.get("created", 0) + of.counts.get("changed", 0)
        of.save(update_fields=["state", "done", "changed_at"])
        told = {"file": of.name, "sha256": bytes(of.sha256).hex(), "rows": of.counts}
        about = audit.About("spreadsheet", of.id, of.name)
        audit.write(actor, "spreadsheet imported", about, audit.Change(after=told))
    return True


def _end(contractor: UUID, identity: UUID, asked: datetime, problem: str) -> None:
    """Tell why it ends, unless it was stopped meanwhile, or asked for anew."""
    with transaction.atomic():
        permissions.enter_as_worker()
        waiting = Import.objects.filter(contractor=contractor, id=identity, state__in=UNDER_WAY)
        waiting.filter(changed_at=asked).update(state="stopped", problem=problem[:2000])
