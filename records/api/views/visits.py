"""Preparing a visit over the API: everything to take along, as data and on paper."""

from django.http import HttpResponse
from django.utils import timezone
from django.utils.decorators import method_decorator
from django.views.decorators.gzip import gzip_page
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from records.api import visit_documents as told
from records.api.base import BookView, choice_filter, filters
from records.api.downloads import pdf_to_show
from records.api.schema import READ, READ_OR_CONFLICT
from records.documents import papers
from records.ids import identity
from records.selectors.visit_packs import known_before_a_visit, visit_pack

PAPER = OpenApiParameter(
    "paper",
    str,
    enum=tuple(papers.PAPERS),
    description="letter where North American practice holds, else a4.",
)


def paper_of(request: Request) -> str | None:
    """The paper that is asked for, if one is."""
    given = filters(request, "paper").get("paper")
    return None if given is None else choice_filter("paper", given, papers.PAPERS)


@method_decorator(gzip_page, name="dispatch")
class VisitPack(BookView):
    """What a technician takes along to a station; small, for where there is little signal."""

    @extend_schema(
        operation_id="read_visit_pack", tags=["visits"], responses={200: told.VisitPack, **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> Response:  # noqa: A002
        """Site, equipment in service, last settings as left, values to expect, rules and limits."""
        return Response(visit_pack(self.actor, identity(id)))


class VisitSheet(BookView):
    """What a technician takes along on paper."""

    @extend_schema(
        operation_id="read_visit_sheet", tags=["visits"], parameters=[PAPER],
        responses={(200, "application/pdf"): OpenApiTypes.BINARY, **READ_OR_CONFLICT},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> HttpResponse:  # noqa: A002
        """Cautions, values to expect, and blanks for what is found, left and measured."""
        # The typesetter is large: a process that prints no sheet does not load it.
        from records.documents import visit_sheet

        paper = paper_of(request)
        row, known = known_before_a_visit(self.actor, identity(id))
        content = visit_sheet.render(known, timezone.now(), paper or papers.usual(known.snapshot))
        return pdf_to_show(content, f"visit-sheet-{row.site.code}-{row.tag}.pdf")
