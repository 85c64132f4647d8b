"""The catalogue of rules as it is told, with the limits that apply to a client."""

from collections.abc import Iterable, Mapping
from typing import Any

from calculations.rule import Limit, Rule
from records.documents.contents.cautions import DEFERENCE
from records.selectors import rule_settings
from records.selectors.rule_examples import examples

Changes = Mapping[tuple[str, str], Mapping[str, Any]]


def by_limit(changed: Iterable[Mapping[str, Any]]) -> Changes:
    """Changed limits by rule and name."""
    return {(each["rule"], each["limit"]): each for each in changed}


def rule_document(rule: Rule, changed: Changes) -> dict[str, object]:
    """A rule as it is told, with the limits that are changed."""
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
            _limit(name, limit, changed.get((rule.id, name))) for name, limit in rule.limits.items()
        ],
        "correct_only": rule.correct_only,
    }


def rule_with_example(rule: Rule, changed: Changes) -> dict[str, object]:
    """The same with the rule's example, judged by the catalogue's own limits."""
    example = examples()[rule.id] | {"deference": DEFERENCE}
    return rule_document(rule, changed) | {"example": example}


def _limit(name: str, limit: Limit, change: Mapping[str, Any] | None) -> dict[str, object]:
    own = rule_settings.limit_value(limit)
    effective = {"value": change["value"], "unit": change["unit"]} if change else own
    return {
        "name": name,
        **own,
        "about": limit.about,
        "tighter": limit.tighter,
        "evidence": limit.evidence,
        "source": limit.source,
        "effective": effective,
        "looser": change["looser"] if change else False,
        "reason": change["reason"] if change else "",
    }
