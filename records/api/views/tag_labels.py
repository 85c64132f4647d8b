"""Labels for the tags of a station over the API: codes that lead to what stands there."""

from datetime import datetime
from typing import Any

from django.http import HttpResponse
from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request

from records.api.base import BookView
from records.api.downloads import pdf_to_show
from records.api.schema import READ_OR_CONFLICT
from records.api.views.visits import PAPER, paper_of
from records.documents import papers, shown
from records.errors import Conflict
from records.ids import identity
from records.models import Site
from records.selectors import tags
from records.services import register
from records.services.kinds import KINDS
from records.tag_addresses import has_path, tag_path


class TagLabels(BookView):
    """What to stick on the pieces of a station."""

    @extend_schema(
        operation_id="read_tag_labels", tags=["register"], parameters=[PAPER],
        responses={(200, "application/pdf"): OpenApiTypes.BINARY, **READ_OR_CONFLICT},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> HttpResponse:  # noqa: A002
        """A label with a QR code for each tag in service, to be printed and cut out.

        A code opens `/stations/{id}/tags/{tag}`, which leads to the pump set of the piece that
        stands at the tag then, or to the piece.
        """
        paper = paper_of(request)
        site: Any = register.get(self.actor, KINDS["sites"], identity(id))
        found = tags.in_service(self.actor, site)
        if not found:
            raise Conflict("nothing is in service at this station: there is nothing to label")
        usual = papers.usual({"site": register.to_plate(KINDS["sites"], site)})
        content = _rendered(request, site, found, timezone.now(), paper or usual)
        return pdf_to_show(content, f"labels-{site.code}.pdf")


def _rendered(
    request: Request, site: Site, found: list[tags.Tag], now: datetime, paper: str
) -> bytes:
    # The typesetter is large: a process that prints no sheet does not load it.
    from records.documents import tag_labels

    origin = request.build_absolute_uri("/").rstrip("/")
    labels = [
        tag_labels.Label(
            each.tag,
            each.what,
            origin + tag_path(site.id, each.tag) if has_path(each.tag) else None,
        )
        for each in found
    ]
    sheet = tag_labels.Sheet(
        code=site.code,
        name=site.name,
        contractor=site.contractor.name,
        origin=origin,
        zone=shown.zone(site.time_zone),
        labels=labels,
    )
    return tag_labels.render(sheet, now, paper)
