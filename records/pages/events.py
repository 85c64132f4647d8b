"""One event: what was set, measured and found, and what is still in the way of sealing it."""

from collections.abc import Iterator
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.views.decorators.cache import never_cache

from calculations.inputs.reading import Problem
from records.documents import labels
from records.documents.blocks import Block, heading, pairs, paragraph
from records.documents.contents import sealed, summary
from records.documents.contents.cautions import SHORT
from records.documents.contents.sections import ANNEX, CLOSING, JUDGED, ON_SITE
from records.documents.contents.source import Source, seriousness
from records.ids import identity
from records.models import Event, Finding
from records.pages import kept
from records.pages.base import inside, show
from records.pages.event_forms import Forms, choices_of
from records.pages.sent import Sent
from records.pages.sheets import Section, anchor_of_finding, sheet
from records.permissions import Actor
from records.selectors import plotted
from records.selectors import sealed as sealed_records
from records.selectors.event_documents import content
from records.services import events, findings, replacements, sealing

Document = dict[str, Any]

_WANTED = {
    "stop": "correction, or the office's reason for accepting it",
    "review": "correction or a written answer",
}


@never_cache
@inside
def event(request: HttpRequest, actor: Actor, id: str) -> HttpResponse:  # noqa: A002
    """One event in the words of its record, sealed or not."""
    row = events.get(actor, identity(id))
    sent = kept.entered(request)
    answer = shown(request, actor, row, sent)
    kept.forget(request, answer, request.path)
    return answer


def shown(request: HttpRequest, actor: Actor, row: Event, sent: Sent | None) -> HttpResponse:
    """The page, with a form that came back as it was sent."""
    choices = choices_of(actor, row)
    found = sorted(findings.present(row), key=lambda each: seriousness(each.document))
    document = content(row, found)
    obstacles = _obstacles(row, found) if row.state == "draft" else []
    beside = plotted.of_event_on_page(actor, row, document, long="long" in request.GET)
    source = Source.of(_with_what_is_wanted(document, found, row), {}, beside=beside)
    forms = Forms(actor, row, found, obstacles, choices, sent)
    parts = sheet(forms.on(_blocks(source, forms)))
    _lead_somewhere(obstacles, parts)
    context = {
        "event": row,
        "sent": sent,
        "sent_at": forms.placed.get(sent.to, "") if sent else "",
        "closed": forms.closed if row.state == "draft" else "",
        "obstacles": obstacles,
        "title": _title(row),
        "lead": f"{summary.who_and_when(source)} {summary.undone(source)}",
        "caution": SHORT,
        "zone": source.shown.zone,
        "replaces": _replaces(actor, row),
        "drawn_up_to": plotted.not_drawn_beyond(document, beside),
        "sheet": parts,
    }
    answer = show(request, actor, "event", **context)
    answer.status_code = sent.status if sent else 200
    return answer


def _replaces(actor: Actor, row: Event) -> Document | None:
    """The record that the visit replaces once it is sealed, and why; what else is to, or has."""
    named = row.document.get("corrects")
    record = sealed_records.rows(actor).filter(id=named).first() if named else None
    if record is None:
        return None
    told = {"record": record, "reason": row.document.get("correction_reason")}
    if row.state != "draft":
        return told
    newer = sealed_records.rows(actor).filter(corrects=record).first()
    others = [] if newer else replacements.drafts_of(actor, record)
    return told | {"newer": newer, "others": [draft for draft in others if draft.id != row.id]}


def _title(row: Event) -> str:
    kind = labels.sentence(labels.word(row.kind))
    return f"{kind} of pump set {row.pump_set.tag}" if row.pump_set else f"{kind} of sensors"


def _blocks(source: Source, forms: Forms) -> Iterator[Block]:
    yield pairs(summary.facts(source))
    for section in (*JUDGED, *ON_SITE, *CLOSING, _signatures):
        yield from section(source)
    yield from forms.to_close()
    for last in ANNEX:
        yield from last(source)
    yield from forms.to_withdraw()


def _signatures(source: Source) -> list[Block]:
    nobody = [heading("Signatures"), paragraph("Nobody has signed yet.")]
    return sealed.signatures(source) or nobody


def _with_what_is_wanted(document: Document, found: list[Finding], row: Event) -> Document:
    """The same, saying of each finding what it still wants, and which answers no longer hold.

    Of what was withdrawn nothing is wanted any more.
    """
    wanting = found if row.state == "draft" else ()
    wanted = {str(finding.id): _wanted(finding) for finding in wanting}
    listed = [finding.document | wanted.get(str(finding.id), {}) for finding in found]
    held = {str(each.id) for finding in found if (each := findings.valid_answer(finding))}
    answers = [each if each["id"] in held else each | _OVERTAKEN for each in document["answers"]]
    judgement = {**document["judgement"], "findings": listed}
    return document | {"judgement": judgement, "answers": answers}


_OVERTAKEN = {"state": "an earlier answer, or one to values that were changed since"}


def _wanted(finding: Finding) -> Document:
    if not findings.is_open(finding):
        return {}
    only = finding.document.get("correct_only")
    return {"still_needed": "correction" if only else _WANTED[finding.severity]}


def _obstacles(row: Event, listed: list[Finding]) -> list[Document]:
    """What stands in the way, findings as they are listed, each with the anchor of its finding."""
    found = [
        {"words": _in_its_place(each), "severity": each.code, "anchor": _anchor(each.pointer)}
        for each in sealing.obstacles(row)
    ]
    places = {anchor_of_finding(str(each.id)): at for at, each in enumerate(listed)}
    return sorted(found, key=lambda each: places.get(each["anchor"], len(places)))


def _in_its_place(problem: Problem) -> str:
    """What is wrong with a value, with the words for where it stands."""
    if not problem.pointer.startswith("/event/") or problem.pointer == "/event/corrects":
        return problem.detail
    return f"{labels.sentence(labels.place(problem.pointer))}: {problem.detail}"


def _anchor(pointer: str) -> str:
    _, part, *steps = pointer.split("/")
    if part == "findings":
        return anchor_of_finding(steps[0])
    return steps[0].replace("_", "-") if part == "event" else part


def _lead_somewhere(obstacles: list[Document], parts: list[Section]) -> None:
    """What has no section of its own on the page leads to its beginning."""
    anchors = {part.anchor for part in parts}
    for each in obstacles:
        if not each["anchor"].startswith("finding-") and each["anchor"] not in anchors:
            each["anchor"] = "content"
