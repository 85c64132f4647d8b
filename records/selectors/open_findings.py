"""Findings that stand in the way of sealing a station's drafts."""

from records import permissions
from records.models import Finding, Site
from records.permissions import Actor
from records.services import findings, signatures


def of_site(actor: Actor, site: Site) -> list[Finding]:
    """Those that want an answer and have none that holds, the gravest first."""
    rows = Finding.objects.filter(event__site=site, event__state="draft", present=True)
    wanting = permissions.visible(rows, actor).exclude(severity="note")
    found = wanting.select_related("event__pump_set").prefetch_related("answers")
    return signatures.in_order(each for each in found if findings.is_open(each))
