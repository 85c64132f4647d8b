"""The register over the API: one pair of views for every kind of resource."""

from typing import Any, ClassVar

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from records import permissions
from records.api import documents as told
from records.api.base import PAGING, BookView, choice_filter, etag, filters, id_filter, paged
from records.api.schema import CHANGE, CREATE, READ, page_of, registered, to_add
from records.ids import identity
from records.models import Clientele, Organization
from records.permissions import Actor
from records.selectors import organizations as organizations_selector
from records.services import drafts, organizations, register
from records.services.kinds import KINDS, Kind
from records.services.organizations import OrganizationInput

IN_SERVICE = OpenApiParameter(
    "in_service", bool, description="true: only what is in service; false: only what is not."
)
SITE = OpenApiParameter("site", OpenApiTypes.UUID, description="Id of the site.")
TAG = OpenApiParameter("tag", str, description="Tag, exactly.")
CODE = OpenApiParameter("code", str, description="Code, exactly.")


class ResourceList(BookView):
    """Every resource of one kind that the caller may see."""

    kind: ClassVar[Kind]

    def get(self, request: Request) -> Response:
        """A page of resources."""
        rows = register.rows(self.actor, self.kind)
        return paged(self, _filtered(rows, request), self._show)

    def post(self, request: Request) -> Response:
        """Add one; the same id with the same content again answers 200 and changes nothing."""
        row, created = drafts.add_registered(self.actor, self.kind, self.body())
        document = register.to_document(self.kind, row)
        headers = etag(row) | {"Location": f"{request.path}/{row.id}"}
        return Response(document, status=201 if created else 200, headers=headers)

    def _show(self, row: Any) -> dict[str, Any]:
        return register.to_document(self.kind, row)


class ResourceDetail(BookView):
    """One resource."""

    kind: ClassVar[Kind]

    def get(self, request: Request, id: str) -> Response:  # noqa: A002
        """The resource, with its ETag."""
        row = register.get(self.actor, self.kind, identity(id))
        return Response(register.to_document(self.kind, row), headers=etag(row))

    def patch(self, request: Request, id: str) -> Response:  # noqa: A002
        """Change it by a merge patch; drafts that rest on it are judged again."""
        wanted = identity(id), self.body(), self.revision()
        row = drafts.change_registered(self.actor, self.kind, *wanted)
        return Response(register.to_document(self.kind, row), headers=etag(row))


def _filtered(rows: Any, request: Request) -> Any:
    """Those that were asked for, by parameters that the list is described with."""
    given = filters(request, "site", "tag", "code", "in_service")
    if "site" in given:
        rows = rows.filter(site__id=id_filter("site", given["site"]))
    for name in ("tag", "code"):
        if name in given:
            rows = rows.filter(**{name: given[name]})
    if "in_service" in given:
        word = choice_filter("in_service", given["in_service"], ("true", "false"))
        rows = rows.filter(out_of_service_on__isnull=word == "true")
    return rows


def views(kind: Kind) -> tuple[type[BookView], type[BookView]]:
    """The list and detail views of one kind, described for the OpenAPI document."""
    return _list_view(kind), _detail_view(kind)


def _list_view(kind: Kind) -> type[BookView]:
    own = {"sites": [CODE], "instruments": []}.get(kind.name, [SITE, TAG])
    parameters = [*own, IN_SERVICE, *PAGING]
    document = registered(kind.document)

    class Listed(ResourceList):
        @extend_schema(
            operation_id=f"list_{_id(kind)}", tags=["register"], parameters=parameters,
            description=ResourceList.get.__doc__, summary=f"List {_words(kind)}",
            responses={200: page_of(document), **READ},
        )  # fmt: skip
        def get(self, request: Request) -> Response:
            return super().get(request)

        @extend_schema(
            operation_id=f"add_{_id(kind)}", tags=["register"], request=to_add(kind.document),
            description=ResourceList.post.__doc__, summary=f"Add one of the {_words(kind)}",
            responses={200: document, 201: document, **CREATE},
        )  # fmt: skip
        def post(self, request: Request) -> Response:
            return super().post(request)

    Listed.kind = kind
    return Listed


def _detail_view(kind: Kind) -> type[BookView]:
    document = registered(kind.document)

    class Detail(ResourceDetail):
        @extend_schema(
            operation_id=f"read_{_id(kind)}", tags=["register"],
            description=ResourceDetail.get.__doc__, summary=f"Read one of the {_words(kind)}",
            responses={200: document, **READ},
        )  # fmt: skip
        def get(self, request: Request, id: str) -> Response:  # noqa: A002
            return super().get(request, id)

        @extend_schema(
            operation_id=f"change_{_id(kind)}", tags=["register"],
            description=ResourceDetail.patch.__doc__, summary=f"Change one of the {_words(kind)}",
            request={"application/merge-patch+json": document},
            responses={200: document, **CHANGE},
        )  # fmt: skip
        def patch(self, request: Request, id: str) -> Response:  # noqa: A002
            return super().patch(request, id)

    Detail.kind = kind
    return Detail


def _id(kind: Kind) -> str:
    return kind.name.replace("-", "_")


def _words(kind: Kind) -> str:
    return kind.name.replace("-", " ")


VIEWS = {name: views(kind) for name, kind in KINDS.items()}


class OrganizationView(BookView):
    """What both views of organizations tell of one."""

    def told(self, organization: Organization) -> dict[str, str | None]:
        """The organization as the caller's own sees it."""
        pair = organizations_selector.pair(self.actor, organization)
        return _organization(self.actor, organization, pair)


class OrganizationList(OrganizationView):
    """Organizations that the caller's own one works with."""

    @extend_schema(
        operation_id="list_organizations", tags=["register"],
        responses={200: page_of(told.OrganizationAnswer), **READ},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """The caller's own organization and its partners."""
        permissions.require(self.actor, "register.read")
        pairs = organizations_selector.pairs(self.actor)
        rows = organizations_selector.rows(self.actor)
        items = [_organization(self.actor, each, pairs.get(each.id)) for each in rows]
        return Response({"items": items, "next": None})

    @extend_schema(
        operation_id="add_organizations", tags=["register"],
        request=OrganizationInput,
        responses={200: told.OrganizationAnswer, 201: told.OrganizationAnswer, **CREATE},
    )  # fmt: skip
    def post(self, request: Request) -> Response:
        """Add a client."""
        organization, created = organizations.create(self.actor, self.body())
        return Response(
            self.told(organization),
            status=201 if created else 200,
            headers=etag(organization) | {"Location": f"{request.path}/{organization.id}"},
        )


class OrganizationDetail(OrganizationView):
    """One organization."""

    @extend_schema(
        operation_id="read_organizations", tags=["register"],
        responses={200: told.OrganizationAnswer, **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> Response:  # noqa: A002
        """The organization."""
        permissions.require(self.actor, "register.read")
        organization = organizations_selector.get(self.actor, identity(id))
        return Response(self.told(organization), headers=etag(organization))

    @extend_schema(
        operation_id="change_organizations", tags=["register"],
        request={"application/merge-patch+json": OrganizationInput},
        responses={200: told.OrganizationAnswer, **CHANGE},
    )  # fmt: skip
    def patch(self, request: Request, id: str) -> Response:  # noqa: A002
        """Another name, or style of its documents; what is sealed and printed keeps what it had."""
        patch, revision = self.body(), self.revision()
        organization = organizations.change(self.actor, identity(id), patch, revision)
        return Response(self.told(organization), headers=etag(organization))


def _organization(
    actor: Actor, organization: Organization, pair: Clientele | None
) -> dict[str, str | None]:
    partner = "contractor" if actor.role == permissions.CLIENT else "client"
    relation = "own" if organization.id == actor.organization_id else partner
    return {
        "id": str(organization.id),
        "name": organization.name,
        "relation": relation,
        "units": pair.units if pair else None,
        "paper": pair.paper if pair else None,
    }
