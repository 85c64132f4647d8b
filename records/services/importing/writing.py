"""Rows of a spreadsheet are written by the services that the API calls: all of them or none."""

from functools import partial
from uuid import UUID

from django.db.models import Q, QuerySet

from records.errors import BookError, Conflict, Stale
from records.models import Import, ImportLine
from records.permissions import Actor
from records.services import drafts, holding, register
from records.services.importing.progress import Progress
from records.services.kinds import KINDS

_AT_ONCE = 500


def write(actor: Actor, of: Import, lines: QuerySet[ImportLine]) -> None:
    """Write rows that were checked, in their order; `Conflict` names one that no longer fits."""
    brought = lines.filter(kind="sites", verdict="created").order_by()
    clients = brought.values_list("document__client", flat=True).distinct()
    holding.new_stations_of({UUID(client) for client in clients})
    drafts.at_stations(actor, _stations(actor, lines), partial(_write, actor, of, lines))


def _stations(actor: Actor, lines: QuerySet[ImportLine]) -> Q:
    """All that rows are about: held before the first is written, in an order of their own."""
    sites = set(lines.filter(verdict="created").values_list("document__site", flat=True))
    which = Q(id__in=sites - {None})
    changed = lines.filter(verdict="changed")
    for kind in changed.order_by().values_list("kind", flat=True).distinct():
        pieces = register.rows(actor, KINDS[kind])
        subjects = changed.filter(kind=kind).values("subject")
        column = "row" if kind == "sites" else "site"
        which |= Q(row__in=pieces.filter(id__in=subjects).values(column))
    return which


def _write(actor: Actor, of: Import, lines: QuerySet[ImportLine]) -> None:
    with Progress(of) as progress:
        for line in lines.order_by("position").iterator(_AT_ONCE):
            _write_line(actor, line)
            progress.one_more()


def _write_line(actor: Actor, line: ImportLine) -> None:
    kind = KINDS[line.kind]
    place = f"Row {line.number} of “{line.sheet}” ({line.name})"
    try:
        if line.verdict == "created":
            drafts.add_registered(actor, kind, line.document)
        else:
            subject, revision = UUID(str(line.subject)), int(line.revision or 0)
            drafts.change_registered(actor, kind, subject, line.document, revision)
    except Stale:
        raise Conflict(f"{place} was changed by somebody after it was checked: check the file "
                       "again, and look at what it would change now.") from None  # fmt: skip
    except BookError as error:
        details = "; ".join(each.detail for each in error.problems) or error.detail
        raise Conflict(f"{place} no longer fits the book: {details}. Check the file again.") from (
            None
        )
