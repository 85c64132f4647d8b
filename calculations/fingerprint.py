"""What a catalogue says of itself, as a few signs that change with it."""

import json
from collections.abc import Iterable
from hashlib import sha256
from typing import Any

from calculations.rule import Limit, Rule, Value

LENGTH = 10
"""Hexadecimal digits that are kept: two catalogues in a million million share them by chance."""


def fingerprint(rules: Iterable[Rule], values: Iterable[Value]) -> str:
    """The beginning of the SHA-256 of all that rules and derived values declare.

    Order, ids, conditions, severities, sources, limits, sentences, what waits for what, formulas.
    The same on every machine; code that computes is not part of it.
    """
    declared = {"rules": [_rule(each) for each in rules], "values": [_value(v) for v in values]}
    text = json.dumps(declared, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return sha256(text.encode()).hexdigest()[:LENGTH]


def _rule(each: Rule) -> dict[str, Any]:
    return {
        "id": each.id,
        "title": each.title,
        "severities": each.severities,
        "condition": each.condition,
        "source": each.source,
        "subject": each.subject,
        "each": each.each,
        "needs": each.needs,
        "waits_for": each.waits_for,
        "limits": {name: _limit(limit) for name, limit in each.limits.items()},
        "scope": each.scope,
        "correct_only": each.correct_only,
        "sentences": dict(each.sentences),
        "remedies": dict(each.remedies),
    }


def _limit(each: Limit) -> list[object]:
    return [each.value, each.unit, each.about, each.tighter, each.evidence, each.source]


def _value(each: Value) -> list[object]:
    return [each.id, each.title, each.formula, each.source, each.subject, each.each,
            each.significant]  # fmt: skip
