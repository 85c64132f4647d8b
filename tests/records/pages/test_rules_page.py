"""The page of rules: each with its example, in the units and words that are printed."""

import re

from calculations.catalogue import RULES
from tests.records import visits

# A plate of 68.7 A, entered as 86.7 A: what the page is to say of it.
SWAPPED = (
    "Example: Two digits of the plate’s current are swapped. "
    "Booster that keeps 85 psi in a header: 60 hp, 460 V, 60 Hz, 1000 gpm at 165 ft. "
    "Motor, rating 2, current 86.7 A (would agree: 68.7 A) Motor, rating 2, power 60 hp"
)


def test_each_rule_stands_with_its_example(page):
    found = page("teo", "/rules")
    assert (found.status, found.faults) == (200, [])
    first = {}
    for rule in RULES:
        first.setdefault(rule.id.partition(".")[0], len(first))
    grouped = sorted((rule.id for rule in RULES), key=lambda each: first[each.partition(".")[0]])
    assert [each for each in found.ids if "." in each] == grouped
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


def test_an_example_stands_in_the_units_that_are_asked_for_with_what_was_entered(page):
    found = page("teo", "/rules?units=si&rule=motor.power-balance")
    assert found.faults == []
    # 1 hp is 0.7457 kW (550 ft lbf/s, NIST SP 811), 1 ft is 0.3048 m.
    words = _of_rule(found, "motor.power-balance")
    assert "Motor, rating 2, power 44.7 kW (60 hp)" in words
    assert "Current 86.7 A" in words
    words = _of_rule(found, "site.elevation")
    assert "Site, elevation 4920 m (would agree: 1500 m (4920 ft))" in words
    [si] = found.to("in SI units")
    assert si == "?units=si&rule=motor.power-balance"  # kept, whatever else is asked
    american = page("teo", "/rules?units=us")
    assert "Site, elevation 16142 ft (4920 m)" in _of_rule(american, "site.elevation")
    assert 'href="?units=us" aria-current="true"' in american.html


def test_a_limit_stands_in_the_units_that_are_asked_for(page):
    own, american = (_of_rule(page("teo", f"/rules{query}"), "machine.bearing-temperature")
                     for query in ("", "?units=us"))  # fmt: skip
    assert ": 95 °C (" in own
    assert ": 203 °F (95 °C) (" in american  # 95 × 9 / 5 + 32


def test_limits_that_are_about_the_same_are_told_apart(page):
    said = page("orla", "/rules").words
    assert "outside the site's range, note: 2 K" in said.replace("\N{NO-BREAK SPACE}", " ")
    assert "outside the site's range, review: 10 K" in said.replace("\N{NO-BREAK SPACE}", " ")


def test_units_are_at_first_those_in_which_the_client_reads_its_documents(page, orla, cast):
    path = f"/organizations/{cast.client}"
    kept = orla.get(path)
    assert "Power 60 hp" in _of_rule(page("cleo", "/rules"), "motor.power-balance")
    assert orla.patch(path, {"units": "si"}, kept.etag).status == 200
    for name in ("cleo", "orla"):  # the office has this client alone
        found = page(name, "/rules")
        assert "Power 44.7 kW (60 hp)" in _of_rule(found, "motor.power-balance")
        assert 'href="?units=si" aria-current="true"' in found.html
    entered = page("cleo", "/rules?units=entered")
    assert "44.7 kW" not in _of_rule(entered, "motor.power-balance")


def test_the_rule_that_is_asked_for_is_open(page):
    opened = "<details open><summary>"
    assert opened not in page("teo", "/rules").html
    assert opened not in page("teo", "/rules?rule=no.such-rule").html
    found = page("teo", "/rules?rule=drive.volts-per-hertz")
    assert found.html.count(opened) == 1
    row = found.html.index('<tr id="drive.volts-per-hertz">')
    assert row < found.html.index(opened) < found.html.index("</tbody>", row)


def _open_groups(found):
    return re.findall(r'<details class="rules-of" id="(\w+)" open>', found.html)


def test_groups_are_closed_until_one_is_asked_for(page):
    found = page("teo", "/rules")
    assert _open_groups(found) == []
    every = [each for each in found.ids if each in {rule.id.partition(".")[0] for rule in RULES}]
    assert every[:3] == ["site", "system", "main"]
    assert _open_groups(page("teo", "/rules?rule=loop.action")) == ["loop"]
    [to] = found.to("Open all groups")
    assert _open_groups(page("teo", f"/rules{to}")) == every
    assert _open_groups(page("teo", "/rules?rule=no.such-rule")) == []


def test_rules_are_found_by_words_without_a_script(page):
    found = page("cleo", "/rules?words=Volts++hertz&units=si")
    assert found.faults == []
    shown = [each for each in found.ids if "." in each]
    assert "drive.volts-per-hertz" in shown
    assert len(shown) < len(RULES) / 4
    for each in shown:
        assert {"volts", "hertz"} <= set(re.findall(r"\w+", _of_rule(found, each).lower()))
    assert f"{len(shown)} of {len(RULES)} rules hold “Volts hertz” in what they say." in found.words
    assert set(_open_groups(found)) == {each.partition(".")[0] for each in shown}
    assert found.to("All rules") == ["/rules?units=si"]
    none = page("cleo", "/rules?words=%3Cb%3E")
    assert (none.faults, [each for each in none.ids if "." in each]) == ([], [])
    assert f"0 of {len(RULES)} rules hold “<b>”" in none.words


def test_a_finding_leads_to_its_rule_opened(page, teo, orla, station):
    event = visits.post(teo, station, **visits.wrong_frequency(station))
    rules = {each["rule"] for each in event["findings"]}
    where = {f"/rules?rule={rule}#{rule}" for rule in rules}
    assert where <= {to for to, _ in page("teo", f"/events/{event['id']}").links}
    visits.sign_both(teo, orla, event)
    record = orla.post(f"/events/{event['id']}/seal").json
    found = page("cleo", f"/records/{record['id']}")
    assert where <= {to for to, _ in found.links}
    assert found.faults == []
    ids = page("cleo", f"/rules?rule={min(rules)}").ids
    assert rules <= set(ids)


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
