"""The page of rules: each with its example, in the units and words that are printed."""

import re

from calculations.catalogue import RULES

# A plate of 68.7 A, entered as 86.7 A: what the page is to say of it.
SWAPPED = (
    "Example: Two digits of the plate’s current are swapped. "
    "Booster that keeps 85 psi in a header: 60 hp, 460 V, 60 Hz, 1000 gpm at 165 ft. "
    "Motor, rating 2, current 86.7 A (would agree: 68.7 A) Motor, rating 2, power 60 hp"
)


def test_each_rule_stands_with_its_example(page):
    found = page("teo", "/rules")
    assert (found.status, found.faults) == (200, [])
    assert [each for each in found.ids if "." in each] == [rule.id for rule in RULES]
    summaries = re.findall(r"<summary><span class=\"quiet\">Example:</span> ", found.html)
    assert len(summaries) == len(RULES)


def test_an_example_tells_the_mistake_the_sentence_the_values_and_what_puts_it_right(page):
    words = _of_rule(page("cleo", "/rules"), "motor.power-balance")
    assert SWAPPED in words
    assert "Review Probably 68.7 A instead of 86.7 A." in words
    assert "Values compared Power 60 hp Voltage 460 V Current 86.7 A" in words
    assert "Limit 6 % note, 12 % review Put right Read power with its unit" in words


def test_units_and_closed_words_stand_as_they_are_printed(page):
    found = page("teo", "/rules")
    words = _of_rule(found, "supply.voltage-range")
    assert "Supply, line voltages 277 / 278 / 277 V (would agree: 481 / 479 / 478 V)" in words
    words = _of_rule(found, "insulation.polarization")
    assert "Resistance after 10 min 1700 MΩ (would agree: 5000 MΩ)".lower() in words.lower()
    words = _of_rule(found, "drive.overload-class")
    assert "pump, type submersible well" in words.lower()
    assert "settings as left, speed reference signal 4-20 mA (would agree: not entered)" in (
        _of_rule(found, "loop.two-controllers").lower().replace("ma ", "mA ")
    )


def test_the_cautions_stand_with_the_values(page):
    words = page("teo", "/rules").words
    assert "A computed agreement is a check of arithmetic." in words
    assert words.index("Caution.") < words.index("Example:")
    assert "come before anything printed here." in words


def _of_rule(found, rule):
    """The words from a rule's row to the next rule's."""
    start = found.html.index(f'<tr id="{rule}">')
    end = found.html.index("</tbody>", start)
    words = re.sub(r"<[^>]+>", " ", found.html[start:end])
    words = words.replace("\N{NO-BREAK SPACE}", " ").replace("&#x27;", "'")
    return re.sub(r"\s+", " ", words)
