"""Registering by hand: a station and its equipment are entered, changed, replaced and taken out."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, cast
from uuid import UUID

from django.db import transaction
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from records import natural, permissions
from records.documents.contents.cautions import SHORT
from records.documents.tables import one_of
from records.errors import BookError, NotFound, SameIdOtherContent, Stale
from records.ids import identity
from records.models import Instrument, Site
from records.models.base import new_id
from records.pages import kept
from records.pages.base import inside, show
from records.pages.paging import listed
from records.pages.register_forms import (
    Flat,
    Form,
    Typed,
    errors_of,
    packed,
    same,
    unpacked,
)
from records.pages.register_options import MOST, is_bounded, options_of, units_at
from records.permissions import Actor
from records.services import drafts, register
from records.services.kinds import KINDS, Kind

_NEW = ("sites", "instruments")
_STALE = (
    "Somebody changed it after you opened the form. Nothing of yours is lost: what you changed "
    "stands in the form, and everything else is as it is in the book now. Read it, then send it "
    "again."
)

_SENT_BEFORE = (
    "This form was sent before with other values: those are in the book. Change them there."
)


def kind_of(name: str, among: tuple[str, ...] = tuple(KINDS)) -> Kind:
    """The kind that an address names."""
    if name not in KINDS or name not in among:
        raise NotFound()
    return KINDS[name]


def _page_of_new(kind: str) -> str:
    return reverse("register-new", args=[kind_of(kind, _NEW).name])


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
@kept.keeping(_page_of_new)
@inside
def new(request: HttpRequest, actor: Actor, kind: str) -> HttpResponse:
    """A station or an instrument that is not in the book yet."""
    return _new(request, actor, kind_of(kind, _NEW), None)


def _page_of_piece(id: str, kind: str) -> str:  # noqa: A002
    return reverse("register-piece", args=[identity(id), kind_of(kind).name])


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
@kept.keeping(_page_of_piece)
@inside
def piece(request: HttpRequest, actor: Actor, id: str, kind: str) -> HttpResponse:  # noqa: A002
    """A piece of equipment, or a pump set, at a station."""
    site: Any = register.get(actor, KINDS["sites"], identity(id))
    return _new(request, actor, kind_of(kind, tuple(set(KINDS) - set(_NEW))), site)


@dataclass(frozen=True)
class _On:
    """What is registered: by whom, of which kind, at which station; `row` where it is there."""

    request: HttpRequest
    actor: Actor
    kind: Kind
    site: Site | None
    form: Form
    row: Any = None

    @property
    def typed(self) -> Flat:
        """What came with the form."""
        return self.form.sent(self.request.POST)

    @property
    def was(self) -> Flat:
        """What stood in the form when it was opened."""
        return unpacked(self.request.POST.get("was", ""))


@dataclass(frozen=True)
class _Look:
    """How the form looks; what is None is as the book has it."""

    flat: Flat | None = None
    was: Flat | None = None
    wrong: Mapping[str, str] = field(default_factory=dict)
    now: Flat = field(default_factory=dict)
    told: Sequence[str] = ()
    status: int = 200
    id: str | None = None
    shown: str = ""


def _new(request: HttpRequest, actor: Actor, kind: Kind, site: Site | None) -> HttpResponse:
    permissions.require(actor, kind.write)
    form = Form(kind, {}, options_of(actor, kind, site), system=units_at(site))
    on = _On(request, actor, kind, site, form)
    if request.method != "POST":
        return _opened(on)
    values, wrong = on.form.values(on.typed)
    if wrong:
        return _back(on, wrong)
    try:
        return redirect(_at(_create(on, on.form.document(values))))
    except BookError as error:
        return _refused(on, error)


def _create(on: _On, document: dict[str, Any]) -> Any:
    """Add it; a form that is sent twice adds one."""
    given = document | ({"id": on.request.POST["id"]} if on.request.POST.get("id") else {})
    given |= {"site": str(on.site.id)} if on.site else {}
    with transaction.atomic():
        row, _ = drafts.add_registered(on.actor, on.kind, given)
    return row


def _page_of_change(kind: str, id: str) -> str:  # noqa: A002
    return reverse("register-change", args=[kind_of(kind).name, identity(id)])


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
@kept.keeping(_page_of_change)
@inside
def change(request: HttpRequest, actor: Actor, kind: str, id: str) -> HttpResponse:  # noqa: A002
    """What the book says of something, to be corrected or completed."""
    known = kind_of(kind)
    permissions.require(actor, known.write)
    on = _found(request, actor, known, identity(id))
    return _opened(on) if request.method != "POST" else _changed(on)


def _found(request: HttpRequest, actor: Actor, kind: Kind, id: UUID) -> _On:  # noqa: A002
    row: Any = register.get(actor, kind, id)
    site = getattr(row, "site", None)
    held = register.to_document(kind, row)
    form = Form(kind, held, options_of(actor, kind, site, held), system=units_at(site))
    return _On(request, actor, kind, site, form, row)


def _changed(on: _On) -> HttpResponse:
    typed, stands, was = on.typed, on.form.stands(), on.was
    changed = [n for n, each in typed.items() if not same(each, was.get(n, Typed("")))]
    if all(same(typed[name], stands[name]) for name in changed):
        return redirect(_at(on.row))  # nothing, or sent twice
    if on.request.POST.get("shown") != str(on.row.revision):
        return _stale(on, changed)
    values, wrong = on.form.values(typed)
    if wrong:
        return _back(on, wrong)
    patch = on.form.patch(values, changed)
    try:
        with transaction.atomic():
            drafts.change_registered(on.actor, on.kind, on.row.id, patch, on.row.revision)
    except Stale:
        return _stale(_found(on.request, on.actor, on.kind, on.row.id), changed)
    except BookError as error:
        return _refused(on, error)
    return redirect(_at(on.row))


def _stale(on: _On, changed: list[str]) -> HttpResponse:
    """What its person changed stays as typed; the rest is as the book has it now."""
    typed, stands, was = on.typed, on.form.stands(), on.was
    flat = {n: typed[n] if n in changed else each for n, each in stands.items()}
    others = {n: each for n, each in stands.items() if not same(each, was.get(n, Typed("")))}
    now = {n: each for n, each in others.items() if n in changed and not same(typed[n], each)}
    return _render(on, _Look(flat, now=now, told=[_STALE], status=412))


def _back(
    on: _On, wrong: Mapping[str, str], told: Sequence[str] = (), status: int = 400
) -> HttpResponse:
    """The form with what was typed, and what is wrong at each field."""
    words = list(told)
    if wrong:
        fields = "one field" if len(wrong) == 1 else f"{len(wrong)} fields"
        words.insert(0, f"Nothing was kept yet. What is to be put right in {fields}:")
    form = on.request.POST
    look = _Look(
        on.typed, on.was, wrong, told=words, status=status, id=form.get("id"),
        shown=form.get("shown", ""),
    )  # fmt: skip
    return _render(on, look)


def _refused(on: _On, error: BookError) -> HttpResponse:
    """What a service refused, in its words."""
    if isinstance(error, NotFound):
        raise error
    if isinstance(error, SameIdOtherContent):
        return _back(on, {}, [_SENT_BEFORE], error.status)
    wrong, rest = on.form.wrong(error.problems)
    if not wrong:
        rest = [f"Nothing was kept yet. {words}" for words in rest or [error.detail]]
    return _back(on, wrong, rest, error.status)


def _opened(on: _On) -> HttpResponse:
    """The form as the book has it, or with what was typed before somebody had to sign in."""
    found = kept.entered(on.request)
    look = _Look(told=found.words if found else ())
    if found and found.form:
        form = found.form
        look = _Look(on.form.sent(form), unpacked(form.get("was", "")), told=found.words,
                     id=form.get("id"), shown=form.get("shown", ""))  # fmt: skip
    answer = _render(on, look)
    kept.forget(on.request, answer, on.request.path)
    return answer


def _render(on: _On, look: _Look) -> HttpResponse:
    stands, row = on.form.stands(), on.row
    flat = stands if look.flat is None else look.flat
    groups = on.form.groups(flat, look.wrong, look.now)
    context = {
        "kind": on.kind, "one": one_of(on.kind.name), "site": on.site, "row": row,
        "groups": groups, "was": packed(stands if look.was is None else look.was),
        "shown": look.shown or (row.revision if row else ""), "id": look.id or new_id(),
        "told": look.told, "caution": SHORT, "errors": errors_of(groups),
        "bounded": MOST if is_bounded(on.form.options) else 0,
        "back": _at(row) if row else _station(on.site), "to": on.request.path,
    }  # fmt: skip
    answer = show(on.request, on.actor, "register/form", **context)
    answer.status_code = look.status
    return answer


def _station(site: Site | None) -> str:
    return reverse("register-at", args=[site.id]) if site else reverse("register")


def _at(row: Any) -> str:
    """Where somebody goes on who has entered something."""
    if isinstance(row, Site):
        return reverse("register-at", args=[row.id])
    if not hasattr(row, "site_id"):
        return reverse("instruments")
    return at_piece(row)


def at_piece(row: Any) -> str:
    """Where a piece stands in the list of its station, whichever part that is in."""
    return f"{reverse('register-at', args=[row.site.id])}?piece={row.id}#piece-{row.id}"


@require_safe
@inside
def instruments(request: HttpRequest, actor: Actor) -> HttpResponse:
    """The office's own test instruments."""
    permissions.require(actor, "instruments.read")
    rows = cast("QuerySet[Instrument]", register.rows(actor, KINDS["instruments"]))
    today = timezone.now().date()
    part = listed(
        request, "page", rows.order_by("out_of_service_on", *natural.order("serial"), "row")
    )
    late = rows.filter(due_on__lt=today, out_of_service_on=None).count()
    return show(request, actor, "register/instruments", part=part, today=today, late=late)
