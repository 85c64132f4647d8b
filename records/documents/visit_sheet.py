"""The visit sheet: what to expect of a pump set, with blanks to fill in by hand."""

from datetime import UTC, datetime
from typing import Any

from records.documents import texts, typesetting
from records.documents.blocks import Block
from records.documents.contents import cautions, judged
from records.documents.papers import PAPERS
from records.documents.visit import before, closing, expected, on_site
from records.documents.visit.visit import Known, Visit

TEMPLATE = "visit_sheet"

# The order of work: read, make safe, compare, test, switch on, set, run, prove, sign.
SECTIONS = (
    before.first,
    lambda visit: cautions.cautions(visit.source),
    before.the_visit,
    before.instruments,
    before.installed,
    lambda visit: judged.limits_changed(visit.source),
    on_site.mechanical,
    on_site.electrical,
    expected.settings,
    expected.values,
    expected.points,
    on_site.duty_points,
    on_site.sensors,
    on_site.protections,
    on_site.levels,
    on_site.vessels,
    closing.closing,
    expected.lacking,
    lambda visit: judged.derived(visit.source),
)


def render(known: Known, printed_at: datetime, paper: str) -> bytes:
    """The PDF of a visit sheet on one of `PAPERS`; the same input, the same bytes all day."""
    visit = Visit.of(known, printed_at)
    day = visit.printed_at.replace(hour=0, minute=0, second=0, microsecond=0)
    return typesetting.pdf(TEMPLATE, sheet_of(visit, paper), b"", day.astimezone(UTC))


def sheet_of(visit: Visit, paper: str) -> dict[str, Any]:
    """Everything that is printed, in order, as the template takes it."""
    blocks: list[Block] = [block for section in SECTIONS for block in section(visit)]
    title = f"{before.title(visit)}, {before.where(visit)}"
    footer = f"As known on {visit.printed_at:%Y-%m-%d}, catalogue {visit.known.catalogue}"
    return {
        "title": texts.plain(title),
        "author": texts.plain(texts.short(str(visit.known.contractor["name"]))),
        "running": texts.runs(title),
        "footer": texts.runs(footer),
        "paper": PAPERS[paper],
        "blocks": blocks,
    }
