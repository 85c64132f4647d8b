"""Spreadsheets of stations and equipment: template, columns, preview, and writing with progress."""

from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import F
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.utils.http import content_disposition_header
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from records import permissions
from records.documents import labels
from records.documents.shown import Shown
from records.documents.tables import TITLES, columns_of, one_of
from records.documents.template_workbook import NAME, template
from records.errors import BookError, ConfirmationNeeded, NotFound, SecondFactorNeeded
from records.ids import identity
from records.models import Import, ImportLine
from records.models.base import new_id
from records.pages import changes
from records.pages.base import inside, show
from records.pages.paging import listed
from records.permissions import Actor
from records.services.importing import imports, progress
from records.services.importing.sheets import MOST_BYTES, MOST_ROWS, letter

LINES_AT_ONCE = 200
LOOK_AGAIN = 2  # s
_XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
VERDICTS = {
    "refused": "refused", "created": "to be added", "changed": "to be changed",
    "same": "left as they are",
}  # fmt: skip
_WRITTEN = VERDICTS | {"created": "added", "changed": "changed", "refused": "left out"}


@require_safe
@inside
def blank(request: HttpRequest, actor: Actor, units: str) -> HttpResponse:
    """The template, in metric or US units."""
    permissions.require(actor, "register.import")
    if units not in ("si", "us"):
        raise NotFound()
    name = content_disposition_header(True, NAME)
    headers = {"Content-Disposition": name or "attachment"}
    content = template(units)  # type: ignore[arg-type]
    return HttpResponse(content, content_type=_XLSX, headers=headers)


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
@inside
def start(request: HttpRequest, actor: Actor) -> HttpResponse:
    """A template to take, a file to send, and what was sent before."""
    permissions.require(actor, "register.import")
    if request.method != "POST":
        return _started(request, actor)
    try:
        with transaction.atomic():
            return redirect("import", id=_take(request, actor).id)
    except BookError as error:
        return _started(request, actor, told=error.detail, status=error.status)


def _take(request: HttpRequest, actor: Actor) -> Import:
    file: Any = request.FILES.get("file")
    if file is None:
        raise BookError("Choose a file first.")
    if file.size > MOST_BYTES:
        raise BookError(f"The file is larger than {MOST_BYTES // 1_000_000} MB: part it.")
    wanted = identity(request.POST["id"]) if request.POST.get("id") else new_id()
    return imports.take(actor, file.name or "", file.read(), UUID(str(wanted)))


def _started(request: HttpRequest, actor: Actor, told: str = "", status: int = 200) -> HttpResponse:
    part = listed(request, "page", imports.rows(actor).annotate(by=F("created_by__full_name")), 50)
    first = progress.first_of(imports.rows(actor))
    for each in part.page:
        each.ahead = first if imports.is_under_way(each) and first != each else None
    answer = show(request, actor, "import/start", part=part, id=new_id(), told=told,
                  most=MOST_BYTES // 1_000_000, rows=MOST_ROWS,
                  days=imports.KEPT_FOR.days)  # fmt: skip
    answer.status_code = status
    return answer


@require_safe
@never_cache
@inside
def one(request: HttpRequest, actor: Actor, id: str) -> HttpResponse:  # noqa: A002
    """One file: its columns, its progress, its preview, or what became of it."""
    return _shown(request, actor, imports.get(actor, identity(id)))


def _shown(
    request: HttpRequest, actor: Actor, of: Import, told: str = "", status: int = 200,
    typed: QueryDict | None = None,
) -> HttpResponse:  # fmt: skip
    if imports.is_under_way(of) and typed is None:
        return _working(request, actor, of, told, status)
    wants_columns = of.state == "columns" or "columns" in request.GET or typed is not None
    if wants_columns and of.state != "written":
        context = {"of": of, "told": told or of.problem, "pages": _pages(of.layout, typed),
                   "under_way": imports.is_under_way(of)}  # fmt: skip
        answer = show(request, actor, "import/columns", kinds=TITLES, **context)
    elif of.state == "stopped":
        answer = show(request, actor, "import/stopped", of=of, told=told or of.problem)
    else:
        answer = show(request, actor, "import/preview", told=told, **_preview(request, of))
    answer.status_code = status
    return answer


def _working(
    request: HttpRequest, actor: Actor, of: Import, told: str, status: int
) -> HttpResponse:
    counts = of.counts if of.state == "to write" else {}
    total = counts.get("created", 0) + counts.get("changed", 0)
    ahead = progress.ahead_of(of, imports.rows(actor))
    context = {"of": of, "total": total, "told": told, "look_again": LOOK_AGAIN,
               "ahead": ahead, "waits": ahead or of.held_since}  # fmt: skip
    answer = show(request, actor, "import/working", **context)
    answer.status_code = status
    return answer


def _pages(layout: Any, typed: QueryDict | None) -> list[dict[str, Any]]:
    """Sheets as the form shows them: each column with the fields to choose from."""
    pages = []
    for index, page in enumerate(layout):
        kind = typed.get(f"kind.{index}", page["kind"]) if typed else page["kind"]
        known = columns_of(page["kind"]) if page["kind"] else ()
        options = [(column.name, column.label) for column in known]
        units = {column.name: column.units for column in known}
        heads = []
        for column, head in enumerate(page["heads"]):
            name = f"{index}.{column}"
            field = typed.get(f"field.{name}", head["field"]) if typed else head["field"]
            unit = typed.get(f"unit.{name}", head["unit"]) if typed else head["unit"]
            heads.append({
                "name": name, "letter": letter(column), "head": head["head"], "field": field,
                "unit": unit, "samples": head["samples"],
                "units": [(u, labels.unit(u) or "1") for u in units.get(field, ())],
            })  # fmt: skip
        pages.append({"index": index, "name": page["name"], "kind": kind, "heads": heads,
                      "options": options, "told": page["told"], "row": page["row"]})  # fmt: skip
    return pages


def _preview(request: HttpRequest, of: Import) -> dict[str, Any]:
    counts = {name: of.counts.get(name, 0) for name in VERDICTS}
    first = next((name for name, count in counts.items() if count), "created")
    wanted = request.GET.get("show", first)
    verdict = wanted if wanted in VERDICTS else first
    rows = ImportLine.objects.filter(of=of, verdict=verdict).order_by("position")
    part = listed(request, "page", rows, LINES_AT_ONCE)
    words = _WRITTEN if of.state == "written" else VERDICTS
    tally = [(name, words[name], count) for name, count in counts.items() if count]
    return {
        "of": of, "tally": tally, "verdict": verdict, "words": words[verdict], "part": part,
        "lines": [_line(each) for each in part.page], "counts": counts,
        "writes": counts["created"] + counts["changed"],
    }  # fmt: skip


def _line(line: ImportLine) -> dict[str, Any]:
    told = line.told if line.verdict == "refused" else []
    changed = []
    if line.verdict == "changed":
        changed = changes.lines(line.told["before"], line.told["after"], Shown())
    return {"row": line, "one": one_of(line.kind), "told": told, "changed": changed}


@require_POST
@inside
def choose(request: HttpRequest, actor: Actor, id: str) -> HttpResponse:  # noqa: A002
    """Say what the columns mean, and have the rows checked; if asked, stop first what goes on."""
    of = imports.get(actor, identity(id))
    form = request.POST
    kinds = {i: form.get(f"kind.{i}", page["kind"]) for i, page in enumerate(of.layout)}
    places = [(i, c) for i, page in enumerate(of.layout) for c in range(len(page["heads"]))]
    fields = {(i, c): form[f"field.{i}.{c}"] for i, c in places if f"field.{i}.{c}" in form}
    units = {(i, c): form[f"unit.{i}.{c}"] for i, c in places if f"unit.{i}.{c}" in form}

    def do() -> None:
        if form.get("stop") == "yes":
            imports.stop(actor, of)
        imports.choose(actor, of, kinds, fields, units)

    return _done(request, actor, of, do)


@require_POST
@inside
def check(request: HttpRequest, actor: Actor, id: str) -> HttpResponse:  # noqa: A002
    """Have the rows checked again, on the book as it is now."""
    of = imports.get(actor, identity(id))
    return _done(request, actor, of, lambda: imports.check_again(actor, of))


@require_POST
@inside
def write(request: HttpRequest, actor: Actor, id: str) -> HttpResponse:  # noqa: A002
    """Have what was checked written."""
    of = imports.get(actor, identity(id))
    without = request.POST.get("without_refused") == "yes"
    return _done(
        request, actor, of, lambda: imports.ask_to_write(actor, of, without_refused=without)
    )


@require_POST
@inside
def stop(request: HttpRequest, actor: Actor, id: str) -> HttpResponse:  # noqa: A002
    """Have what is under way stopped."""
    of = imports.get(actor, identity(id))
    return _done(request, actor, of, lambda: imports.stop(actor, of))


def _done(request: HttpRequest, actor: Actor, of: Import, do: Any) -> HttpResponse:
    try:
        with transaction.atomic():
            do()
    except (ConfirmationNeeded, SecondFactorNeeded):
        raise
    except BookError as error:
        again = imports.get(actor, of.id)
        typed = request.POST if request.path.endswith("/columns") else None
        if again.state == "written":
            typed = None
        return _shown(request, actor, again, labels.sentence(error.detail), error.status, typed)
    return redirect("import", id=of.id)
