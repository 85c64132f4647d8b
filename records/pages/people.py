"""The people of an organization, for its office: invited, given a role, let go; their devices."""

from collections.abc import Mapping
from typing import Any
from uuid import UUID

from django.conf import settings
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from records import permissions
from records.errors import BookError, Conflict, Invalid
from records.ids import identity
from records.models import Token
from records.pages.base import inside, show
from records.pages.tokens import listed
from records.permissions import Actor
from records.selectors import members
from records.services import people as service
from records.services import tokens

LABELS = {"name": "Name", "email": "E-mail address", "role": "Role"}
NOBODY = {"name": "", "email": "", "role": permissions.TECHNICIAN}
ROLES = {
    permissions.TECHNICIAN: "technician: posts, answers, signs and seals visits",
    permissions.OFFICE: "office: all that, and people, tokens, stations, limits, audit",
}


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
@inside
def people(request: HttpRequest, actor: Actor) -> HttpResponse:
    """List them; invite somebody, whose link is shown this once."""
    if request.method != "POST":
        return _listed(request, actor)
    wanted = _wanted(request.POST)
    try:
        made = service.invite(actor, wanted, request.build_absolute_uri)
    except (Conflict, Invalid) as error:
        problems = _problems(error)
        return _listed(request, actor, error.status, problems=problems, wanted=wanted)
    mailed = settings.EMAIL_BACKEND != settings.NO_MAIL
    return _listed(request, actor, 201, made=made, mailed=mailed)


def _wanted(given: QueryDict) -> dict[str, str]:
    return {name: given.get(name, "") for name in NOBODY}


def _problems(error: BookError) -> list[dict[str, str]]:
    return [
        {"label": LABELS.get(each.pointer.strip("/"), each.pointer), "detail": each.detail}
        for each in error.problems
    ]


def _listed(
    request: HttpRequest,
    actor: Actor,
    status: int = 200,
    wanted: Mapping[str, str] = NOBODY,
    **more: Any,
) -> HttpResponse:
    held: dict[UUID, list[Token]] = {}
    rows = members.rows(actor)
    for token in tokens.every(actor):
        held.setdefault(token.user_id, []).append(token)
    context = {
        "people": [row | _at_work(row, held.get(row["id"], [])) for row in rows],
        "labels": LABELS,
        "choices": [(word, means, word == wanted["role"]) for word, means in ROLES.items()],
        "wanted": wanted,
        "present": permissions.is_present(actor),
    }
    answer = show(request, actor, "people", **context | more)
    answer.status_code = status
    return answer


def _at_work(member: dict[str, Any], held: list[Token]) -> dict[str, Any]:
    """How many tokens and devices work, and when one was last used."""
    live = [each for each in held if _works(each, member)]
    used = [each.last_used_at for each in held if each.last_used_at]
    return {
        "devices": sum(each.device for each in live),
        "scripts": sum(not each.device for each in live),
        "last_used_at": max(used, default=None),
    }


def _works(token: Token, member: dict[str, Any]) -> bool:
    good = token.revoked_at is None and token.expires_at > timezone.now()
    return good and token.role == member["role"]


@require_http_methods(["GET", "HEAD"])
@never_cache
@inside
def person(request: HttpRequest, actor: Actor, id: str) -> HttpResponse:  # noqa: A002
    """One of them, with what speaks in their name, and what can be done."""
    member = members.row(actor, identity(id))
    held = [each for each in tokens.every(actor) if each.user_id == member["id"]]
    others = [name for name in permissions.CONTRACTOR if name != member["role"]]
    context = {
        "person": member,
        "tokens": listed(held, member["role"]),
        "others": others,
        "is_own": member["id"] == actor.user_id,
        "can_have_devices": member["role"] in permissions.CONTRACTOR,
    }
    return show(request, actor, "person", **context)


@require_POST
@inside
def give_role(request: HttpRequest, actor: Actor, id: str) -> HttpResponse:  # noqa: A002
    """Another role; tokens of the former one end with it."""
    user_id = identity(id)
    service.change_role(actor, user_id, request.POST.get("given", ""))
    return _back_to(actor, user_id)


@require_POST
@inside
def end(request: HttpRequest, actor: Actor, id: str) -> HttpResponse:  # noqa: A002
    """Let them go, with effect on the next request."""
    service.end(actor, identity(id))
    return redirect("people" if identity(id) != actor.user_id else "stations")


@require_POST
@inside
def revoke(request: HttpRequest, actor: Actor, id: str, token: str) -> HttpResponse:  # noqa: A002
    """Make one of their tokens worthless from the next request on."""
    tokens.revoke(actor, identity(token))
    return redirect("person", id=identity(id))


def _back_to(actor: Actor, user_id: UUID) -> HttpResponse:
    """To the person; whoever gave the own office away sees people no more."""
    return redirect("stations") if user_id == actor.user_id else redirect("person", id=user_id)
