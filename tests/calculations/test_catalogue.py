"""The catalogue of rules in itself: complete, in order, each rule in whole sentences."""

from importlib import import_module
from pkgutil import iter_modules

from calculations import rules
from calculations.catalogue import RULES, rule
from calculations.rule import Rule
from tests.calculations.test_whole_stations import MISTAKES


def test_every_mistake_is_of_a_rule_in_the_catalogue():
    assert {each[4] for each in MISTAKES} <= {each.id for each in RULES}


def test_rules_wait_for_rules_that_come_before_them():
    seen: set[str] = set()
    for each in RULES:
        later = [parent for parent in each.waits_for if parent not in seen]
        assert not later, f"{each.id} waits for {later}, which come after it"
        seen.add(each.id)


def test_every_rule_is_listed():
    modules = [
        import_module(f"{rules.__name__}.{each.name}") for each in iter_modules(rules.__path__)
    ]
    made = [each for module in modules for each in vars(module).values() if isinstance(each, Rule)]
    assert {each.id for each in made} == {each.id for each in RULES}


def test_ids_are_unique():
    assert len({each.id for each in RULES}) == len(RULES)


def test_every_sentence_is_a_sentence():
    for each in RULES:
        assert rule(each.id) is each
        for words in each.sentences.values():
            assert words.endswith((".", "?")), f"{each.id}: {words}"


def test_what_no_signature_accepts():
    """Stops that can only be corrected: what would hurt somebody, or a loop that cannot work."""
    assert {each.id for each in RULES if each.correct_only} == {
        "drive.bypass",
        "drive.motor-kind",
        "drive.output-capacitors",
        "earth.continuity",
        "insulation.minimum",
        "loop.action",
        "loop.kinds",
        "motor.single-phase-on-drive",
        "rotation.bypass",
        "rotation.reversed",
    }
    assert all("stop" in each.severities for each in RULES if each.correct_only)
