"""Limits of rules for each client over the API."""

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from records.api.base import (
    PAGING,
    BookView,
    paged,
    settings_asked,
)
from records.api.rule_documents import RuleSetting
from records.api.schema import CREATE, READ, page_of
from records.ids import identity
from records.selectors import rule_settings as selector
from records.services import rule_settings
from records.services.rule_settings import RuleSettingInput

FILTERS = [
    OpenApiParameter("client", OpenApiTypes.UUID, description="Id of the client."),
    OpenApiParameter("rule", str, description="Id of the rule."),
    OpenApiParameter(
        "in_force", bool, description="true: what applies now; false: only what has ended."
    ),
    *PAGING,
]


class RuleSettingList(BookView):
    """Limits that were set for clients."""

    @extend_schema(
        operation_id="list_rule_settings", tags=["rules"], parameters=FILTERS,
        responses={200: page_of(RuleSetting), **READ},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """A page of settings, ended ones too: who set which limit, when and why."""
        rows = settings_asked(request, selector.rows(self.actor), "rule")
        return paged(self, rows, selector.document)

    @extend_schema(
        operation_id="set_rule_limit", tags=["rules"], request=RuleSettingInput,
        responses={200: RuleSetting, 201: RuleSetting, **CREATE},
    )  # fmt: skip
    def post(self, request: Request) -> Response:
        """Set a limit for a client, in place of what was set; a looser one needs a reason.

        Unsigned drafts of the client are judged again by it.
        """
        row, created = rule_settings.put(self.actor, self.body())
        headers = {"Location": f"{request.path}/{row.id}"}
        return Response(selector.document(row), status=201 if created else 200, headers=headers)


class RuleSettingDetail(BookView):
    """One limit that was set."""

    @extend_schema(
        operation_id="read_rule_setting", tags=["rules"],
        responses={200: RuleSetting, **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> Response:  # noqa: A002
        """The setting, in force or ended."""
        return Response(selector.document(selector.get(self.actor, identity(id))))

    @extend_schema(
        operation_id="remove_rule_setting", tags=["rules"], responses={204: None, **READ}
    )
    def delete(self, request: Request, id: str) -> Response:  # noqa: A002
        """End it: the catalogue's own limit applies again. The setting stays readable."""
        rule_settings.remove(self.actor, identity(id))
        return Response(status=204)
