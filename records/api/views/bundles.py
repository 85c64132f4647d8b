"""Many records as one file."""

from uuid import UUID

from django.http import StreamingHttpResponse
from django.utils.http import content_disposition_header
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request

from calculations.inputs.reading import Problem
from records import permissions
from records.api import record_schema
from records.api.base import BookView, choice_filter, day_filter, filters, id_filter
from records.api.schema import READ
from records.errors import Invalid
from records.models import Organization, Site
from records.selectors import organizations
from records.selectors.bundles import Bundle, Wanted

PARAMETERS = [
    OpenApiParameter("client", OpenApiTypes.UUID, description="Whose records; or name a site."),
    OpenApiParameter("site", OpenApiTypes.UUID, description="Of this site alone."),
    OpenApiParameter(
        "performed_from", OpenApiTypes.DATE, description="First day of the work, at the station."
    ),
    OpenApiParameter(
        "performed_until", OpenApiTypes.DATE, description="Last day of the work, at the station."
    ),
    OpenApiParameter(
        "files",
        str,
        enum=["true", "false"],
        description="true: with photographs, documents and traces as well.",
    ),
]


class RecordBundle(BookView):
    """Sealed records of one client, with everything to check them, as one ZIP."""

    @extend_schema(
        operation_id="download_bundle", tags=["records"], parameters=PARAMETERS,
        responses={(200, "application/zip"): OpenApiTypes.BINARY, **READ},
    )  # fmt: skip
    def get(self, request: Request) -> StreamingHttpResponse:
        """Begins at once and is written while it is read; `datapackage.json` comes last.

        A ZIP that was cut short has no list of its members: load it again.
        """
        permissions.require(self.actor, "records.read")
        client, wanted = self._wanted(request)
        bundle = Bundle(self.actor, client, wanted, record_schema.as_text())
        named = content_disposition_header(True, f"records-{client.name}.zip") or "attachment"
        return StreamingHttpResponse(
            bundle.stream(),
            content_type="application/zip",
            headers={"ETag": f'"{bundle.tag}"', "Content-Disposition": named},
        )

    def _wanted(self, request: Request) -> tuple[Organization, Wanted]:
        given = filters(request, *(each.name for each in PARAMETERS))
        site = self._site(id_filter("site", given["site"])) if "site" in given else None
        client = self._client(given.get("client"), site)
        begin, end = (
            day_filter(name, given[name]) if name in given else None
            for name in ("performed_from", "performed_until")
        )
        if begin and end and end < begin:
            words = "expected a day that is not before performed_from"
            raise Invalid(problems=[Problem("/performed_until", "order", words)])
        files = choice_filter("files", given.get("files", "false"), ("true", "false")) == "true"
        return client, Wanted(site, begin, end, files)

    def _site(self, identity: UUID) -> Site:
        rows, actor = Site.objects.all(), self.actor
        seen = permissions.visible(rows, actor) | permissions.formerly(rows, actor)
        site = seen.filter(id=identity).first()
        if site is None:
            raise Invalid(problems=[Problem("/site", "unknown", "no such site is known here")])
        return site

    def _client(self, given: str | None, site: Site | None) -> Organization:
        """The client that is named, whose site it is, or who asks."""
        if given is None and site is None and self.actor.role != permissions.CLIENT:
            words = "name a client or a site: a bundle has the records of one client"
            raise Invalid(problems=[Problem("/client", "required", words)])
        identity = id_filter("client", given) if given else self.actor.organization_id
        if given is None and site is not None:
            identity = site.client_id
        client = organizations.rows(self.actor).filter(id=identity).first()
        if client is None:
            words = "no such client is known here"
            raise Invalid(problems=[Problem("/client", "unknown", words)])
        if site is not None and site.client_id != client.id:
            raise Invalid(problems=[Problem("/site", "mismatch", "it is another client's site")])
        return client
