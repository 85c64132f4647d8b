"""A person's own tokens: for the devices and scripts that speak in that person's name."""

from typing import Any

from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.utils.http import urlencode
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from records.documents import labels
from records.errors import ConfirmationNeeded, Conflict, Invalid, SecondFactorNeeded
from records.ids import identity
from records.models import Token
from records.models.base import new_id
from records.pages.base import inside, show
from records.pages.entrance.ways import to_show_more
from records.pages.sent import form_id
from records.permissions import Actor
from records.services import tokens

SCOPES = {
    "read": "read",
    "write": "post and change",
    "sign": "sign and seal in your name",
    "manage": "look after tokens, people and audit, as far as your role does",
}

# What the form calls the fields of a wish, and what they hold at first.
LABELS = {"name": "What it is for", "scopes": "It may", "days": "Days until it expires"}
USUAL = {"name": "", "scopes": ["read"], "days": "365"}


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
@inside
def own_tokens(request: HttpRequest, actor: Actor) -> HttpResponse:
    """List them; make one, whose text is shown this once."""
    if request.method != "POST":
        return _shown(request, actor, **_wish_brought_back(request))
    wanted = _wanted(request.POST)
    try:
        token, secret = tokens.issue_own(actor, wanted, identity=form_id(request.POST))
    except (ConfirmationNeeded, SecondFactorNeeded) as error:
        return to_show_more(error, f"{request.path}?{urlencode(wanted, doseq=True)}")
    except Conflict as error:
        told = labels.sentence(error.detail)
        return _shown(request, actor, status=error.status, refused=told, wanted=wanted)
    except Invalid as error:
        problems = [{"label": _label(each.pointer), "detail": each.detail}
                    for each in error.problems]  # fmt: skip
        return _shown(request, actor, status=400, problems=problems, wanted=wanted)
    return _shown(request, actor, status=201, made=token, secret=secret)


def _wish_brought_back(request: HttpRequest) -> dict[str, Any]:
    """What was typed before the person had to confirm who they are."""
    return {"wanted": _wanted(request.GET)} if "name" in request.GET else {}


def _wanted(given: QueryDict) -> dict[str, Any]:
    return {
        "name": given.get("name", ""),
        "scopes": given.getlist("scopes"),
        "days": given.get("days", ""),
    }


def _label(pointer: str) -> str:
    """What the form calls the field that a problem is about."""
    field = pointer.split("/")[1] if "/" in pointer else ""
    return LABELS.get(field, field)


def _shown(request: HttpRequest, actor: Actor, status: int = 200, **more: Any) -> HttpResponse:
    scopes = {name: SCOPES[name] for name in tokens.scopes_of(actor.role)}
    context = {"tokens": listed(tokens.own(actor), actor.role), "scopes": scopes,
               "longest": tokens.LONGEST_DAYS, "labels": LABELS, "wanted": USUAL,
               "id": new_id()}  # fmt: skip
    answer = show(request, actor, "tokens", **context | more)
    answer.status_code = status
    return answer


def listed(held: list[Token], role: str) -> list[dict[str, Any]]:
    """Tokens of somebody in a role: those that were made in another one rest."""
    return [{"token": each, "rests": each.role != role} for each in held]


@require_POST
@inside
def revoke(request: HttpRequest, actor: Actor, id: str) -> HttpResponse:  # noqa: A002
    """Make one worthless from the next request on."""
    tokens.revoke_own(actor, identity(id))
    return redirect("tokens")
