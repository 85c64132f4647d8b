"""Limits of rules for each client: tighter freely, looser with a reason; for the office."""

from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from calculations.catalogue import RULES
from calculations.catalogue import rule as rule_of
from calculations.findings import digits
from calculations.inputs.reading import Problem
from calculations.rule import Limit
from calculations.units import KINDS, kinds_of
from records import permissions
from records.document_style import Units
from records.documents import labels
from records.documents.shown import Shown
from records.documents.unit_systems import instead, unit_in
from records.errors import BookError, Invalid, NotFound
from records.ids import identity
from records.models import Clientele, Organization, RuleSetting
from records.models.base import new_id
from records.pages import kept
from records.pages.base import inside, show
from records.pages.sent import Sent
from records.permissions import Actor
from records.selectors import rule_settings as selector
from records.services import rule_settings
from records.services.entering import NotSo, number

LABELS = {
    "/value": "Limit", "/value/value": "Limit", "/value/unit": "Unit", "/reason": "Reason",
}  # fmt: skip


@inside
def clients(request: HttpRequest, actor: Actor) -> HttpResponse:
    """The clients, with how many limits are set for each."""
    return show(request, actor, "limits", clients=selector.clients(actor))


@inside
def of_client(request: HttpRequest, actor: Actor, id: str) -> HttpResponse:  # noqa: A002
    """Every limit of the catalogue, and what is set in its place for one client."""
    permissions.require(actor, "rules.write")
    client = selector.client(actor, identity(id))
    in_force = {(row.rule, row.limit): row for row in selector.in_force(actor, client.id)}
    units = _units_of(actor, client)
    lines = [
        {
            "rule": each,
            "name": name,
            "limit": limit,
            "own": in_units(limit, units),
            "set": in_force.pop((each.id, name), None),
        }
        for each in RULES
        for name, limit in each.limits.items()
    ]
    changed = [line for line in lines if line["set"]]
    context = {"client": client, "lines": lines, "changed": changed, "gone": in_force.values()}
    return show(request, actor, "limits_of_client", **context)


def _units_of(actor: Actor, client: Organization) -> Units:
    """The units in which that client reads its documents."""
    pairs = permissions.visible(Clientele.objects.filter(client=client), actor)
    pair = pairs.first()
    return pair.style.units if pair else "entered"


def in_units(limit: Limit, units: Units) -> str:
    """The catalogue's own as a client reads it, with what stands there where it differs."""
    value = {"value": digits(limit.value, 6), "unit": limit.unit}
    told = Shown(units=units).quantities([value]) if instead(value, units) else str(limit)
    return labels.with_units(told)


def _page_of(id: str, rule: str, limit: str) -> str:  # noqa: A002
    return reverse("limit", args=[identity(id), rule, limit])


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
@kept.keeping(_page_of)
@inside
def limit(
    request: HttpRequest,
    actor: Actor,
    id: str,  # noqa: A002
    rule: str,
    limit: str,
) -> HttpResponse:
    """One limit for one client: what applies, what applied, and a form to set it."""
    permissions.require(actor, "rules.write")
    client = selector.client(actor, identity(id))
    if selector.known_limit(rule, limit) is None:
        raise NotFound()
    page = _page_of(str(client.id), rule, limit)
    if request.method != "POST":
        answer = _shown(request, actor, client, (rule, limit), kept.entered(request))
        kept.forget(request, answer, page)
        return answer
    try:
        with transaction.atomic():
            _put(request, actor, client, rule, limit)
    except BookError as error:
        sent = Sent.refused(page, request.POST, error, LABELS)
        return _shown(request, actor, client, (rule, limit), sent)
    return redirect(page)


def _put(request: HttpRequest, actor: Actor, client: Organization, rule: str, name: str) -> None:
    form = request.POST
    given = {
        "client": str(client.id),
        "rule": rule,
        "limit": name,
        "value": {"value": _digits(form.get("value", "")), "unit": form.get("unit", "")},
        "reason": form.get("reason", "").replace("\r\n", "\n"),
    }
    given |= {"id": form["id"]} if form.get("id") else {}
    rule_settings.put(actor, given, shown=form.get("shown", ""))


def _digits(text: str) -> str:
    """The number as it is written anywhere else on the pages: with a decimal comma, too."""
    try:
        return number(text)
    except NotSo as error:
        raise Invalid(problems=[Problem("/value", "not_a_number", str(error))]) from None


def _shown(
    request: HttpRequest,
    actor: Actor,
    client: Organization,
    named: tuple[str, str],
    sent: Sent | None,
) -> HttpResponse:
    rule, name = rule_of(named[0]), named[1]
    own = rule.limits[name]
    units = _units_of(actor, client)
    entered = sent.form if sent else {}
    rows = selector.history(actor, client.id, rule.id, name)
    held = next((row for row in rows if row.ended_at is None), None)
    context = {
        "client": client,
        "rule": rule,
        "name": name,
        "limit": own,
        "own": in_units(own, units),
        "held": held,
        "rows": rows,
        "sent": sent,
        "given": sent.form if sent else _usual(held),
        "id": new_id(),
        "units": list(dict.fromkeys(unit for kind in kinds_of(own.unit) for unit in KINDS[kind])),
        "usual_unit": entered.get("unit") or (held.unit if held else unit_in(own.unit, units)),
    }
    answer = show(request, actor, "limit", **context)
    answer.status_code = sent.status if sent else 200
    return answer


def _usual(held: RuleSetting | None) -> dict[str, Any]:
    """What stands there at first. Another value has another reason: none is proposed."""
    return {"value": held.value} if held else {}


@require_POST
@inside
def remove(
    request: HttpRequest,
    actor: Actor,
    id: str,  # noqa: A002
    setting: str,
) -> HttpResponse:
    """Let the catalogue's own limit apply again."""
    permissions.require(actor, "rules.write")
    row = selector.get(actor, identity(setting))
    if row.client_id != identity(id):
        raise NotFound()
    rule_settings.remove(actor, row.id)
    return redirect("limit", id=row.client_id, rule=row.rule, limit=row.limit)
