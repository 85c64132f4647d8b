"""Reports beside what is due: when they are wanted, one of any day, and all that were made."""

from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from calculations.inputs.reading import Problem
from records import permissions
from records.errors import BookError, Invalid
from records.ids import identity
from records.models import Clientele, Organization, ReportSchedule
from records.models.base import new_id
from records.models.report import MOST_ADDRESSES
from records.pages.base import inside, show
from records.pages.paging import listed
from records.pages.sent import Sent
from records.permissions import Actor
from records.selectors import reports as selector
from records.services import report_schedules, reports
from records.services.register_checks import time_zones

AT_ONCE = 20
PERIODS = {"": "Never", "week": "Every week", "month": "Every month"}
LABELS = {
    "/client": "Of", "/period": "How often", "/time_zone": "Time zone", "/day": "Day",
    "/since": "Changes since", "/addresses": "Mail to",
    **{f"/addresses/{number}": f"Mail to, line {number + 1}" for number in range(100)},
}  # fmt: skip


@require_http_methods(["GET", "HEAD", "POST"])
@never_cache
@inside
def reported(request: HttpRequest, actor: Actor) -> HttpResponse:
    """Every report; for the office forms to ask for one, and to set when they are wanted."""
    if request.method != "POST":
        return _shown(request, actor, None)
    permissions.require(actor, "reports.write")
    return _done(request, actor, lambda form: reports.ask(actor, _asked(form)))


@require_POST
@inside
def schedule(request: HttpRequest, actor: Actor) -> HttpResponse:
    """Set when reports of one client, or of all, are wanted."""
    permissions.require(actor, "reports.write")
    return _done(request, actor, lambda form: _set(actor, form))


def _set(actor: Actor, form: QueryDict) -> None:
    chosen = form.get("client", "")
    client = identity(chosen) if chosen else None
    if form.get("period"):
        report_schedules.put(actor, _wanted(form))
        return
    held = selector.schedules(actor).filter(client_id=client, ended_at=None).first()
    if held is None:
        words = "expected every week or every month: no schedule is set that could end"
        raise Invalid(problems=[Problem("/period", "required", words)])
    report_schedules.end(actor, held.id)


def _done(request: HttpRequest, actor: Actor, deed: Any) -> HttpResponse:
    try:
        with transaction.atomic():
            deed(request.POST)
    except BookError as error:
        sent = Sent.refused(request.path, request.POST, error, LABELS)
        return _shown(request, actor, sent)
    return redirect("reports")


def _asked(form: QueryDict) -> dict[str, Any]:
    given: dict[str, Any] = {"day": form.get("day", ""), "addresses": _lines(form)}
    for name in ("id", "client", "since"):
        if form.get(name):
            given[name] = form[name]
    return given


def _wanted(form: QueryDict) -> dict[str, Any]:
    given: dict[str, Any] = {
        "period": form["period"],
        "time_zone": form.get("time_zone", "").strip(),
    }
    for name in ("id", "client"):
        if form.get(name):
            given[name] = form[name]
    return given | {"addresses": _lines(form)}


def _lines(form: Mapping[str, str]) -> list[str]:
    return [line.strip() for line in form.get("addresses", "").splitlines() if line.strip()]


def _shown(request: HttpRequest, actor: Actor, sent: Sent | None) -> HttpResponse:
    of_schedule = sent is not None and sent.to == reverse("report-schedule")
    given: Mapping[str, Any] = sent.form if sent else {}
    context: dict[str, Any] = {"sent": sent, "entered": {} if of_schedule else given}
    rows = selector.rows(actor).order_by("-row")
    part = listed(request, "page", rows, AT_ONCE)
    context |= {"part": part, "reports": [_line(row) for row in part.page]}
    context["unmade"] = any(line["told"]["state"] != "made" for line in context["reports"])
    held = list(selector.schedules(actor).filter(ended_at=None).order_by("client__name"))
    context["schedules"] = [{"row": row, "who": _who(row.client, actor)} for row in held]
    if permissions.may(actor, "reports.write"):
        context |= _forms(request, actor, held, given if of_schedule else {})
    answer = show(request, actor, "reports", **context)
    answer.status_code = sent.status if sent else 200
    return answer


def _line(row: Any) -> dict[str, Any]:
    return {"row": row, "told": selector.document(row), "who": row.client.name if row.client
            else "All clients"}  # fmt: skip


def _who(client: Organization | None, actor: Actor) -> str:
    return client.name if client else "All clients together"


def _forms(
    request: HttpRequest, actor: Actor, held: list[ReportSchedule], given: Mapping[str, Any]
) -> dict[str, Any]:
    pairs = permissions.visible(Clientele.objects.select_related("client"), actor)
    clients = [pair.client for pair in pairs.order_by("client__name")]
    chosen = request.POST.get("client", request.GET.get("client", ""))
    known = chosen if chosen in {str(each.id) for each in clients} else ""
    set_now = next((row for row in held if str(row.client_id or "") == known), None)
    return {
        "clients": clients,
        "chosen": known,
        "set_period": given.get("period", set_now.period if set_now else ""),
        "set_zone": given.get("time_zone") or reports.usual_zone(actor, known or None),
        "set_addresses": given.get("addresses", "\n".join(set_now.addresses) if set_now else ""),
        "zones": sorted(time_zones()),
        "periods": PERIODS,
        "ids": [new_id(), new_id()],
        "most": MOST_ADDRESSES,
    }
