"""How a pump set or a transmitter moved since its first record: in words, drawn, as a table."""

from collections.abc import Iterator
from typing import Any

from django.http import HttpRequest, HttpResponse

from records.documents.blocks import Block, paragraph
from records.documents.charts import courses, drifts
from records.documents.charts.spec import Figure
from records.documents.figures import figure_block, values
from records.documents.trending import words
from records.documents.trending.told import Trends
from records.ids import identity
from records.pages.base import inside, show
from records.pages.sheets import sheet
from records.permissions import Actor
from records.selectors import trends

_LEFT_OUT = (
    "Of very many records the first ones and the newest are compared, and none that was made in a "
    "form that is not read any more: {count} are left out."
)


@inside
def pump_set(request: HttpRequest, actor: Actor, id: str) -> HttpResponse:  # noqa: A002
    """Head, efficiency and insulation of a pump set."""
    row, found = trends.of_pump_set(actor, identity(id))
    return _shown(request, actor, row, found, courses.figure(found), "Pump set")


@inside
def sensor(request: HttpRequest, actor: Actor, id: str) -> HttpResponse:  # noqa: A002
    """Errors of a transmitter."""
    row, found = trends.of_sensor(actor, identity(id))
    return _shown(request, actor, row, found, drifts.figure(found), "Sensor")


def _shown(
    request: HttpRequest,
    actor: Actor,
    row: Any,
    found: Trends,
    figure: Figure | None,
    kind: str,
) -> HttpResponse:
    context = {
        "site": row.site,
        "kind": kind,
        "tag": row.tag,
        "since": found.records[0].day if found.records else "",
        "lead": words.lead(found),
        "sheet": sheet(_blocks(found, figure)),
        "records": found.records,
    }
    return show(request, actor, "trends", **context)


def _blocks(found: Trends, figure: Figure | None) -> Iterator[Block]:
    for sentence in words.sentences(found):
        yield paragraph(sentence)
    if figure is not None:
        yield figure_block(figure, with_values=False)
        yield values(figure)
    if found.left_out:
        yield paragraph(_LEFT_OUT.format(count=found.left_out), "small")
