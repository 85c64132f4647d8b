"""What is done on a draft's page: each form is read, handed to its service, and led back.

What a service refuses comes back in that service's words, with what was entered in its form.
"""

from collections.abc import Callable
from functools import wraps
from typing import Any, get_args

from django.db import transaction
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseBase, QueryDict
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from records.errors import BookError, ConfirmationNeeded, NotFound, SecondFactorNeeded
from records.ids import identity
from records.models import Event
from records.models.event import Meaning
from records.pages.base import inside
from records.pages.entrance.ways import to_show_more
from records.pages.event_forms import LABELS, SIGNING
from records.pages.events import shown
from records.pages.kept import keeping
from records.pages.sent import Sent, given_by, text_of
from records.pages.sheets import anchor_of_finding
from records.permissions import Actor
from records.services import events, findings, not_possible, sealing, signatures, withdrawals

Deed = Callable[..., str]
"""Does what a form asks for, and says where its person goes on."""


def deed(do: Deed) -> Callable[..., HttpResponseBase]:
    """The page of a form: sent it is done, opened it leads to the draft."""

    @require_http_methods(["GET", "HEAD", "POST"])
    @never_cache
    @keeping(_page_of)
    @inside
    @wraps(do)
    def page(request: HttpRequest, actor: Actor, id: str, **names: str) -> HttpResponse:  # noqa: A002
        row = events.get(actor, identity(id))
        if request.method != "POST":
            return redirect("event", id=row.id)
        try:
            with transaction.atomic():
                return redirect(do(actor, row, request.POST, **names))
        except NotFound:
            raise
        except (ConfirmationNeeded, SecondFactorNeeded) as error:
            return to_show_more(error, _at(row, SIGNING))
        except BookError as error:
            sent = Sent.refused(
                reverse(_name(request), kwargs=_ids(id, names)), request.POST, error, LABELS
            )
            return shown(request, actor, events.get(actor, row.id), sent)

    return page


def _page_of(id: str, **names: str) -> str:  # noqa: A002
    """The page that a form of a draft is on."""
    return reverse("event", args=[identity(id)])


def _name(request: HttpRequest) -> str:
    assert request.resolver_match is not None  # noqa: S101 - a view was found
    return str(request.resolver_match.view_name)


def _ids(event: str, names: dict[str, str]) -> dict[str, Any]:
    """The ids of an address as the page's forms write them."""
    return {name: identity(text) for name, text in {"id": event, **names}.items()}


def _at(event: Event, anchor: str) -> str:
    return f"{reverse('event', args=[event.id])}#{anchor}"


@deed
def answer(actor: Actor, event: Event, form: QueryDict, finding: str) -> str:
    """Answer a finding."""
    found = identity(finding)
    given = given_by(form, text=text_of(form, "text"), accepted=form.get("accepted") == "yes")
    findings.answer(actor, event, found, given, shown=form.get("shown", ""))
    return _at(event, anchor_of_finding(str(found)))


@deed
def say_not_possible(actor: Actor, event: Event, form: QueryDict, finding: str) -> str:
    """Say of what is missing that it could not be done."""
    given = given_by(form, tasks=form.getlist("tasks"), reason=text_of(form, "reason"))
    revision = form.get("shown", "")
    changed = not_possible.say(
        actor, event, identity(finding), given, int(revision) if revision.isdecimal() else 0
    )
    return _at(changed, "not-possible-on-the-day")


@deed
def sign(actor: Actor, event: Event, form: QueryDict) -> str:
    """Sign what was shown."""
    given = given_by(form, meaning=form.get("meaning", ""), digest=form.get("digest", ""))
    signatures.sign(actor, event, given)
    return _at(event, "signatures")


@deed
def take_back(actor: Actor, event: Event, form: QueryDict, signature: str) -> str:
    """Take an own signature back."""
    withdrawals.withdraw_signature(actor, event, identity(signature))
    return _at(event, "signatures")


@deed
def seal(actor: Actor, event: Event, form: QueryDict) -> str:
    """Seal it, and go to the record."""
    record, _ = sealing.seal(actor, event, shown=form.get("shown", ""))
    return f"{reverse('record', args=[record.id])}#content"  # not where the button stood


@deed
def withdraw(actor: Actor, event: Event, form: QueryDict) -> str:
    """Withdraw the draft."""
    given = {"reason": text_of(form, "reason")}
    withdrawals.withdraw(actor, event, given, shown=form.get("shown", ""))
    return _at(event, "content")


@require_safe
@inside
def text_to_sign(request: HttpRequest, actor: Actor, id: str, meaning: str) -> HttpResponse:  # noqa: A002
    """The text whose digest a signature would cover, to be kept or compared."""
    row = events.get(actor, identity(id))
    if meaning not in get_args(Meaning) or row.state != "draft":
        raise Http404
    text = signatures.text_to_sign(row, meaning)  # type: ignore[arg-type]
    name = f"to-sign-{meaning}.json"
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return HttpResponse(text, content_type="application/json", headers=headers)
