"""Remedies that send somebody to terminals say first what makes that safe."""

import re

import pytest

from calculations.catalogue import RULES

AT_TERMINALS = re.compile(
    r"terminal box|(clean|tighten) (the )?terminals|(look at|check) the links|motor and cable"
    r"|exchange two phases|move the three leads|(blown fuse|loose (connection|joint)|terminal that)"
    r"|wrong connection|dry and clean the winding",
    re.IGNORECASE,
)
AT_TURNING_PARTS = re.compile(
    r"fit the guard|align the coupling|what rubs|rubbing parts|anchor|tighten the bolts", re.I
)
UNDER_PRESSURE = re.compile(
    r"clean the strainer|replace the seal|bring its gas to|gas side again", re.I
)


def leading_to(places: re.Pattern[str]) -> list[tuple[str, str, str]]:
    """Remedies that send somebody there: rule, variant, words."""
    return [
        (rule.id, name, words)
        for rule in RULES
        for name, words in rule.remedies.items()
        if places.search(words)
    ]


REMEDIES = leading_to(AT_TERMINALS)


@pytest.mark.parametrize(("rule", "name", "words"), REMEDIES)
def test_who_is_sent_to_terminals_is_told_to_isolate_first(rule, name, words):
    """Isolation and proof of absence of voltage before work: EN 50110-1, 6.2, from memory."""
    assert re.search(r"\bisolated?\b", words.lower()), (rule, name)


@pytest.mark.parametrize(("rule", "name", "words"), leading_to(AT_TURNING_PARTS))
def test_who_is_sent_to_parts_that_turn_is_told_to_isolate_first(rule, name, words):
    """Energy isolated and locked off before service: 29 CFR 1910.147, from memory."""
    assert re.search(r"\bisolated?\b", words.lower()), (rule, name)


@pytest.mark.parametrize(("rule", "name", "words"), leading_to(UNDER_PRESSURE))
def test_who_opens_what_is_under_pressure_is_told_to_shut_it_off(rule, name, words):
    """Stored pressure relieved before service: 29 CFR 1910.147(d)(5), from memory."""
    assert re.search(r"\b(shut|isolated?)\b", words, re.I), (rule, name)
    assert re.search(r"relieve|drain", words, re.I), (rule, name)


def test_there_are_remedies_that_lead_to_terminals():
    assert {
        "drive.volts-per-hertz", "drive.motor-frequency", "insulation.minimum", "rotation.reversed",
        "winding.current-unbalance", "winding.resistance-unbalance", "supply.unbalance",
    } <= {rule for rule, _, _ in REMEDIES}  # fmt: skip
    assert {rule for rule, _, _ in leading_to(AT_TURNING_PARTS)} >= {"machine.checks"}
    assert {rule for rule, _, _ in leading_to(UNDER_PRESSURE)} == {
        "machine.checks", "vessel.precharge", "vessel.precharge-design"
    }  # fmt: skip
