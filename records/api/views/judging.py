"""Judging without keeping, the catalogue of rules, and units."""

from drf_spectacular.utils import extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from calculations.catalogue import RULES, VERSION
from calculations.findings import digits
from calculations.inputs.subject import Subject
from calculations.rule import Rule
from calculations.units import KINDS, SI_UNITS
from records import permissions
from records.api import documents as told
from records.api.base import BookView
from records.api.schema import CREATE, READ, page_of
from records.errors import NotFound
from records.services import judging


class Evaluations(BookView):
    """Judging what is known of a pump set."""

    @extend_schema(
        operation_id="evaluate", tags=["rules"], request=Subject,
        responses={200: told.Evaluation, **CREATE},
    )  # fmt: skip
    def post(self, request: Request) -> Response:
        """Derived values, findings, and what could not be judged; nothing is kept."""
        permissions.require(self.actor, "evaluate")
        judged = judging.evaluate(self.body())
        return Response(
            {
                "catalogue": judged.catalogue,
                "derived": judged.derived,
                "findings": judged.findings,
                "not_evaluated": judged.not_evaluated,
            }
        )


class RuleList(BookView):
    """The catalogue of rules."""

    @extend_schema(
        operation_id="list_rules", tags=["rules"],
        responses={200: page_of(told.RuleAnswer), **READ},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """Every rule, in the order of trust."""
        permissions.require(self.actor, "rules.read")
        items = [rule_document(rule) for rule in RULES]
        return Response({"items": items, "next": None, "catalogue": VERSION})


class RuleDetail(BookView):
    """One rule."""

    @extend_schema(
        operation_id="read_rule", tags=["rules"],
        responses={200: told.RuleAnswer, **READ},
    )  # fmt: skip
    def get(self, request: Request, id: str) -> Response:  # noqa: A002
        """The rule of this id."""
        permissions.require(self.actor, "rules.read")
        found = next((rule for rule in RULES if rule.id == id), None)
        if found is None:
            raise NotFound()
        return Response(rule_document(found))


def rule_document(rule: Rule) -> dict[str, object]:
    """A rule as it is told."""
    return {
        "id": rule.id,
        "title": rule.title,
        "severities": list(rule.severities),
        "scope": rule.scope,
        "condition": rule.condition,
        "source": rule.source,
        "needs": list(rule.needs),
        "waits_for": list(rule.waits_for),
        "limits": [
            {
                "name": name,
                "value": digits(limit.value, 6),
                "unit": limit.unit,
                "about": limit.about,
                "tighter": limit.tighter,
                "evidence": limit.evidence,
                "source": limit.source,
            }
            for name, limit in rule.limits.items()
        ],
        "correct_only": rule.correct_only,
    }


class UnitList(BookView):
    """Units of the trade."""

    @extend_schema(
        operation_id="list_units", tags=["rules"],
        responses={200: page_of(told.UnitsOfKind), **READ},
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """The units that each kind of quantity may be written in."""
        items = [
            {"kind": kind, "units": list(units), "si": SI_UNITS[kind]}
            for kind, units in KINDS.items()
        ]
        return Response({"items": items, "next": None})
