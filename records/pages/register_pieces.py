"""What stands at a station, to be added to, replaced or taken out of service by hand."""

from collections.abc import Sequence
from itertools import accumulate
from typing import Any

from django.db import transaction
from django.db.models import Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from records import natural, permissions
from records.documents.contents.cautions import SHORT
from records.documents.tables import TITLES, one_of
from records.errors import BookError, NotFound
from records.ids import identity, is_id
from records.models import Site
from records.models.base import new_id
from records.pages import kept
from records.pages.base import inside, show
from records.pages.paging import OneAfterAnother, listed
from records.pages.register_forms import Form, errors_of
from records.pages.register_options import options_of, units_at
from records.pages.registering import at_piece, kind_of
from records.permissions import Actor
from records.services import drafts, register, replacing
from records.services.kinds import KINDS, Kind

_PIECES = tuple(kind for kind in TITLES if kind != "sites")
_REPLACED = tuple(kind for kind in _PIECES if kind != "pump-sets")
_DAY = "in_service_from"
_AT_ONCE = 200


@require_safe
@inside
def at(request: HttpRequest, actor: Actor, id: str) -> HttpResponse:  # noqa: A002
    """What stands at a station, and what can be done with it."""
    permissions.require(actor, "equipment.write")
    site: Any = register.get(actor, KINDS["sites"], identity(id))
    kinds = tuple(reversed(_PIECES))
    standing = OneAfterAnother([_standing(actor, KINDS[kind], site) for kind in kinds])
    counts = dict(zip(kinds, standing.counts, strict=True))
    sought = request.GET.get("piece", "")
    at = _place(standing.lists, standing.counts, sought) if is_id(sought) else 0
    part = listed(request, "page", standing, _AT_ONCE, holding=at)
    rows = [(kinds[index], one_of(kinds[index]), row) for index, row in part.page]
    lacking = [one_of(kind) for kind in ("pumps", "motors") if not counts[kind]]
    words = f"a {' and a '.join(lacking)} must be registered first" if lacking else ""
    context = {
        "site": site, "rows": rows, "kinds": [(kind, one_of(kind)) for kind in _PIECES],
        "caution": SHORT, "lacking": words, "sets": counts["pump-sets"], "part": part,
    }  # fmt: skip
    return show(request, actor, "register/at", **context)


def _place(lists: Sequence[Any], counts: Sequence[int], piece: str) -> int:
    """Where a piece stands in the lists, one after another; at the beginning where it does not."""
    for rows, before in zip(lists, accumulate(counts, initial=0), strict=False):
        row = rows.filter(id=piece).first()
        if row is not None:
            earlier = Q(tag__lt=row.tag) | Q(tag=row.tag, row__lt=row.row)
            return before + int(rows.filter(earlier).count())
    return 0


def _standing(actor: Actor, kind: Kind, site: Site) -> Any:
    rows: Any = register.rows(actor, kind)
    return rows.filter(site=site, out_of_service_on=None).order_by(*natural.order("tag"), "row")


def _page_of_replacing(kind: str, id: str) -> str:  # noqa: A002
    return reverse("register-replace", args=[kind_of(kind, _REPLACED).name, identity(id)])


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
@kept.keeping(_page_of_replacing)
@inside
def replace(request: HttpRequest, actor: Actor, kind: str, id: str) -> HttpResponse:  # noqa: A002
    """Another piece at the same tag, from a day on."""
    known = kind_of(kind, _REPLACED)
    permissions.require(actor, known.write)
    row: Any = register.get(actor, known, identity(id))
    form = Form(known, {}, options_of(actor, known, row.site), apart=("tag", _DAY),
                system=units_at(row.site))  # fmt: skip
    if request.method != "POST":
        found = kept.entered(request)
        answer = _replacing(request, actor, known, form, row, sent=found and found.form,
                            told=list(found.words) if found else [])  # fmt: skip
        kept.forget(request, answer, request.path)
        return answer
    values, wrong = form.values(form.sent(request.POST))
    if wrong:
        return _replacing(request, actor, known, form, row, sent=request.POST, wrong=wrong)
    try:
        with transaction.atomic():
            given = form.document(values) | {"id": request.POST.get("id") or str(new_id())}
            new = replacing.replace(actor, known, row, given, day=request.POST.get("day", ""),
                                    revision=_number(request.POST.get("shown")))  # fmt: skip
    except BookError as error:
        return _replace_refused(request, actor, known, form, row, error)
    return redirect(at_piece(new))


def _replace_refused(
    request: HttpRequest, actor: Actor, kind: Kind, form: Form, row: Any, error: BookError
) -> HttpResponse:
    if isinstance(error, NotFound):
        raise error
    days = ("/in_service_from", "/out_of_service_on")
    day = next((each.detail for each in error.problems if each.pointer in days), "")
    wrong, told = form.wrong(each for each in error.problems if each.pointer not in days)
    if not (wrong or told or day):
        told = [error.detail]
    return _replacing(request, actor, kind, form, row, sent=request.POST, wrong=wrong, told=told,
                      day_error=day, status=error.status)  # fmt: skip


def _replacing(
    request: HttpRequest,
    actor: Actor,
    kind: Kind,
    form: Form,
    row: Any,
    *,
    sent: Any = None,
    wrong: dict[str, str] | None = None,
    told: list[str] | None = None,
    day_error: str = "",
    status: int = 0,
) -> HttpResponse:
    groups = form.groups(form.sent(sent) if sent else {}, wrong or {}, {})
    row = register.get(actor, kind, row.id)
    context = {
        "kind": kind, "one": one_of(kind.name), "site": row.site, "row": row, "groups": groups,
        "sets": [each.tag for each in replacing.holding(actor, kind, row)],
        "errors": errors_of(groups),
        "told": told or [], "day_error": day_error, "shown": row.revision, "caution": SHORT,
        "id": (sent or {}).get("id") or new_id(), "day": (sent or {}).get("day", ""),
        "back": reverse("register-at", args=[row.site.id]), "to": request.path,
    }  # fmt: skip
    answer = show(request, actor, "register/replace", **context)
    answer.status_code = status or (400 if wrong else 200)
    return answer


def _number(text: str | None) -> int:
    return int(text) if text and text.isdecimal() and len(text) < 10 else 0


def _page_of_ending(kind: str, id: str) -> str:  # noqa: A002
    return reverse("register-end", args=[kind_of(kind).name, identity(id)])


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
@kept.keeping(_page_of_ending)
@inside
def end(request: HttpRequest, actor: Actor, kind: str, id: str) -> HttpResponse:  # noqa: A002
    """Take something out of service with a day."""
    known = kind_of(kind)
    permissions.require(actor, known.write)
    row: Any = register.get(actor, known, identity(id))
    if request.method != "POST":
        found = kept.entered(request)
        told = list(found.words) if found else []
        day = found.form.get("day", "") if found else timezone.now().date().isoformat()
        answer = _ending(request, actor, known, row, day, told, 200)
        kept.forget(request, answer, request.path)
        return answer
    day = request.POST.get("day", "")
    if row.out_of_service_on and row.out_of_service_on.isoformat() == day:
        return redirect(_where(row))  # sent twice
    try:
        with transaction.atomic():
            patch = {"out_of_service_on": day}
            shown = _number(request.POST.get("shown"))
            drafts.change_registered(actor, known, row.id, patch, shown)
    except BookError as error:
        told = [each.detail for each in error.problems] or [error.detail]
        told = [f"Nothing was changed: {words}." for words in told]
        return _ending(request, actor, known, register.get(actor, known, row.id), day, told,
                       error.status)  # fmt: skip
    return redirect(_where(row))


def _where(row: Any) -> str:
    if isinstance(row, Site):
        return reverse("station", args=[row.id])
    if not hasattr(row, "site_id"):
        return reverse("instruments")
    return reverse("register-at", args=[row.site.id])


def _ending(
    request: HttpRequest, actor: Actor, kind: Kind, row: Any, day: str, told: list[str], status: int
) -> HttpResponse:
    site = row if isinstance(row, Site) else getattr(row, "site", None)
    sets = replacing.holding(actor, kind, row) if kind.name in _REPLACED else []
    back = reverse("register-at", args=[site.id]) if site else reverse("instruments")
    context = {
        "kind": kind, "one": one_of(kind.name), "site": site, "row": row, "day": day,
        "sets": [each.tag for each in sets], "told": told, "shown": row.revision,
        "back": back, "to": request.path,
    }  # fmt: skip
    answer = show(request, actor, "register/end", **context)
    answer.status_code = status
    return answer
