"""Judging without keeping, the catalogue of rules, and units."""

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from calculations.catalogue import RULES, VERSION
from calculations.inputs.subject import Subject
from calculations.units import KINDS, SI_UNITS
from records import permissions
from records.api.base import BookView, filters, id_filter
from records.api.documents import Evaluation
from records.api.rule_documents import RuleAnswer, UnitsOfKind
from records.api.schema import CREATE, READ, page_of
from records.documents.contents import cautions
from records.errors import NotFound
from records.selectors import catalogue, rule_settings
from records.services import judging

CLIENT = OpenApiParameter(
    "client",
    OpenApiTypes.UUID,
    description="Id of a client: the limits set for it are the effective ones.",
)


class Evaluations(BookView):
    """Judging what is known of a pump set."""

    @extend_schema(
        operation_id="evaluate", tags=["rules"], request=Subject,
        responses={200: Evaluation, **CREATE},
    )  # fmt: skip
    def post(self, request: Request) -> Response:
        """Derived values, findings, and what could not be judged; nothing is kept."""
        permissions.require(self.actor, "evaluate")
        given = self.body()
        judged = judging.evaluate(self.actor, given)
        return Response(
            {
                "catalogue": judged.catalogue,
                "cautions": cautions.concerning(given),
                "deference": cautions.DEFERENCE,
                "derived": judged.derived,
                "findings": judged.findings,
                "not_evaluated": judged.not_evaluated,
                "limits_changed": judged.limits_changed,
            }
        )


class RuleList(BookView):
    """The catalogue of rules."""

    @extend_schema(
        operation_id="list_rules", tags=["rules"], parameters=[CLIENT],
        responses={200: page_of(RuleAnswer), **READ},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """Every rule with an example, in the order of trust."""
        permissions.require(self.actor, "rules.read")
        changed = _changed(self, request)
        items = [catalogue.rule_with_example(rule, changed) for rule in RULES]
        return Response({"items": items, "next": None, "catalogue": VERSION})


class RuleDetail(BookView):
    """One rule."""

    @extend_schema(
        operation_id="read_rule", tags=["rules"], parameters=[CLIENT],
        responses={200: RuleAnswer, **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> Response:  # noqa: A002
        """The rule of this id, with an example."""
        permissions.require(self.actor, "rules.read")
        found = next((rule for rule in RULES if rule.id == id), None)
        if found is None:
            raise NotFound()
        return Response(catalogue.rule_with_example(found, _changed(self, request)))


def _changed(view: BookView, request: Request) -> catalogue.Changes:
    """What is set for the client that is asked for."""
    given = filters(request, "client")
    if "client" not in given:
        return {}
    rows = rule_settings.in_force(view.actor, id_filter("client", given["client"]))
    return catalogue.by_limit(rule_settings.changes(rows))


class UnitList(BookView):
    """Units of the trade."""

    @extend_schema(
        operation_id="list_units", tags=["rules"],
        responses={200: page_of(UnitsOfKind), **READ},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """The units that each kind of quantity may be written in."""
        items = [
            {"kind": kind, "units": list(units), "si": SI_UNITS[kind]}
            for kind, units in KINDS.items()
        ]
        return Response({"items": items, "next": None})
