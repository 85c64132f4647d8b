"""Remedies that send somebody to terminals say first what makes that safe."""

import re

import pytest

from calculations.catalogue import RULES

AT_TERMINALS = re.compile(
    r"terminal box|clean (the )?terminals|\blook at the links|motor and cable", re.IGNORECASE
)
REMEDIES = [
    (rule.id, name, words)
    for rule in RULES
    for name, words in rule.remedies.items()
    if AT_TERMINALS.search(words)
]


@pytest.mark.parametrize(("rule", "name", "words"), REMEDIES)
def test_who_is_sent_to_terminals_is_told_to_isolate_first(rule, name, words):
    """Isolation and proof of absence of voltage before work: EN 50110-1, 6.2, from memory."""
    assert re.search(r"\bisolated?\b", words.lower()), (rule, name)


def test_there_are_remedies_that_lead_to_terminals():
    assert {"drive.volts-per-hertz", "drive.motor-frequency", "insulation.minimum"} <= {
        rule for rule, _, _ in REMEDIES
    }
