"""Preparing a visit over the API: everything to take along, in one document."""

import hashlib

from django.http import HttpResponse
from django.utils.http import parse_etags
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework.request import Request

from records.api import visit_documents as told
from records.api.base import BookView
from records.api.json_bodies import JsonRenderer
from records.api.schema import READ
from records.ids import identity
from records.selectors.visit_packs import visit_pack

IF_NONE_MATCH = OpenApiParameter(
    "If-None-Match", str, OpenApiParameter.HEADER, description="ETags that are at hand already."
)
UNCHANGED = OpenApiResponse(None, "What is at hand is still so.")


class VisitPack(BookView):
    """What a technician takes along to a station."""

    @extend_schema(
        operation_id="read_visit_pack", tags=["visits"], parameters=[IF_NONE_MATCH],
        responses={200: told.VisitPack, 304: UNCHANGED, **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> HttpResponse:  # noqa: A002
        """Site, equipment in service, last settings as left, values to expect, rules and limits."""
        content = JsonRenderer().render(visit_pack(self.actor, identity(id)))
        tag = f'"{hashlib.sha256(content).hexdigest()}"'
        if _is_at_hand(tag, request.headers.get("If-None-Match", "")):
            answer = HttpResponse(status=304)
        else:
            answer = HttpResponse(content, content_type="application/json")
        answer["ETag"], answer["Cache-Control"] = tag, "private, no-cache"
        return answer


def _is_at_hand(tag: str, given: str) -> bool:
    """Whether If-None-Match names this state, by weak comparison (RFC 9110, 13.1.2)."""
    tags = parse_etags(given)
    return "*" in tags or tag in {each.removeprefix("W/") for each in tags}
