"""The page of a visit: what was set, measured and found, in words, and what is still wanted."""

import html
import re

from tests.calculations.building_plates import q
from tests.records import visits
from tests.records.documents.reading_back import in_print, squeezed


def opened(page, event, name="orla"):
    return page(name, f"/events/{event['id']}")


def test_first_line_says_how_much_stands_before_the_seal(page, teo, station):
    event = visits.post(teo, station, **visits.wrong_frequency(station))
    seen = opened(page, event)
    # The wrong frequency and whatever else is open, and the two signatures.
    count = sum(1 for finding in event["findings"] if finding["open"]) + 2
    assert seen.headings[0] == (
        1, f"Start-up of pump set PS-101: {count} things before it can be sealed",
    )  # fmt: skip
    assert "nobody has signed that the work was performed" in seen.words
    assert seen.faults == []


def test_what_stands_in_the_way_leads_to_the_finding(page, teo, station):
    event = visits.post(teo, station, **visits.wrong_frequency(station))
    finding = visits.found(event, "drive.volts-per-hertz")
    seen = opened(page, event)
    words, *_ = [said for where, said in seen.links if where == f"#finding-{finding['id']}"]
    assert finding["sentence"] in words
    assert "correction, or the office's reason for accepting it" in seen.words


def test_findings_are_told_whole_and_with_printed_units_wherever_they_are_listed(
    page, teo, station
):
    """Also beside the signature; a tag, a day and a number with its unit stay on one line."""
    event = visits.post(teo, station, **visits.damp_winding(station))
    finding = visits.found(event, "insulation.minimum")
    assert " Mohm" in finding["sentence"]
    seen = opened(page, event)
    said = finding["sentence"].replace("Mohm", "MΩ").replace("deg", "°")
    told = [words for where, words in seen.links if where == f"#finding-{finding['id']}"]
    assert len([words for words in told if words.endswith(said)]) == 2
    assert "0.5\N{NO-BREAK SPACE}MΩ" in seen.html
    assert '<span class="one">PS-101</span>' in seen.html
    [listed] = page("orla", f"/stations/{station.site}").to(said)
    assert listed.endswith(f"#finding-{finding['id']}")


def test_a_file_that_was_not_sent_is_named_by_where_it_stands(page, teo, station):
    lacking = {"settings_file": {"name": "drive.txt", "sha256": "ab" * 32}}
    seen = opened(page, visits.post(teo, station, **lacking))
    assert "Settings file, SHA-256: no file of this SHA-256 was sent" in seen.words


def test_a_visit_says_which_record_it_replaces_and_why(page, teo, orla, station):
    first = visits.sealed(teo, orla, station)
    again = {"corrects": first["id"], "correction_reason": "the wrong pump was named"}
    draft = visits.post(teo, station, **again)
    seen = opened(page, draft)
    assert "Sealed, it replaces record 1. Reason: the wrong pump was named" in seen.words
    assert f"/records/{first['id']}" in seen.to("record 1")
    second = visits.sealed(teo, orla, station, **again)
    old = opened(page, {"id": first["event"]})
    assert f"/records/{second['id']}" in old.to("record 2")
    assert "Its record was replaced by record 2" in old.words


def test_places_are_words_and_never_pointers(page, teo, station):
    event = visits.post(teo, station, **visits.wrong_frequency(station))
    seen = opened(page, event)
    assert "settings as left, motor frequency" in seen.words
    assert not re.search(r"/(event|motor|sensors|snapshot|settings)/[a-z0-9]", seen.words)


def test_settings_stand_beside_what_they_are_held_against(page, teo, station):
    seen = opened(page, visits.post(teo, station, **visits.wrong_frequency(station)))
    row = re.search("Motor frequency(.{0,60})", seen.words)
    # 50 Hz was set, the plate of the ordinary station says 60.0 Hz.
    assert row
    assert re.search(r"50.*Hz.*60.*Hz plate", row.group(1))


def test_readings_remarks_signatures_and_formulas_are_shown(page, teo, orla, station):
    remarks = "The check valve closes <hard> & loud."
    event = visits.post(teo, station, remarks=remarks)
    visits.answer_all(orla, event)
    assert visits.sign(teo, event, "performed").status == 201
    seen = opened(page, event)
    titles = [words for _, words in seen.headings]
    for title in ("Findings", "The visit", "Settings of the drive", "Duty points",
                  "Sensor verifications", "Remarks", "Signatures", "Cautions", "Derived values",
                  "Station and nameplates"):  # fmt: skip
        assert title in titles
    assert remarks in seen.words
    assert html.escape(remarks) in seen.html
    assert "Teo, technician, Halvorn Pump Works" in seen.words
    for each in event["derived"]:
        assert in_print(each["formula"]) in squeezed(seen.words)


def test_answers_stand_with_who_gave_them(page, teo, orla, station):
    event = visits.post(teo, station, **visits.wrong_frequency(station))
    finding = visits.found(event, "drive.volts-per-hertz")
    assert visits.answer(orla, event, finding).status == 201
    seen = opened(page, event)
    at = seen.words.index("Answer " + visits.WORDS)
    assert "Orla, office, " in seen.words[at:]
    assert "the office's reason for accepting it" not in seen.words


def test_an_answer_to_values_that_were_changed_is_said_to_be_one(page, teo, orla, station):
    event = visits.post(teo, station, **visits.wrong_frequency(station))
    assert visits.answer(orla, event, visits.found(event, "drive.volts-per-hertz")).status == 201
    settings = visits.wrong_frequency(station, "51")["settings"]
    path = f"/events/{event['id']}"
    changed = teo.patch(path, {"settings": settings}, teo.get(path).etag)
    assert changed.status == 200, changed.json
    assert "an earlier answer, or one to values that were changed since" in (
        opened(page, event).words
    )


def test_what_could_not_be_judged_says_what_it_needs(page, teo, station):
    event = station.event()
    del event["motor_tests"]["insulation"]["winding_temperature"]
    posted = visits.post(teo, station, **event)
    [lack] = [each for each in posted["not_evaluated"] if each["rule"] == "insulation.minimum"]
    assert lack["needs"] == ["/event/motor_tests/insulation/winding_temperature"]
    words = opened(page, posted).words
    assert "insulation.minimum motor tests, insulation" in words
    assert "motor tests, insulation, winding temperature" in words


def test_times_are_the_stations_and_the_zone_is_named(page, teo, station):
    # 2026-03-14 is after the change to daylight saving time in Chicago: UTC-5 (IANA tz database).
    posted = visits.post(teo, station, performed_at="2026-03-14T14:30:00Z", performed_until=None)
    words = opened(page, posted).words
    assert "Begun 2026-03-14 09:30 UTC−05:00" in words
    assert "Time zone America/Chicago" in words


def test_cautions_come_before_values_to_set(page, teo, station):
    words = opened(page, visits.post(teo, station, **visits.wrong_frequency(station))).words
    caution = words.index("Hazardous voltage and stored energy")
    assert caution < words.index("Before it can be sealed")
    assert "It is not a safety approval and not a certification. All cautions" in words[caution:]


def test_a_sealed_event_leads_to_its_record(page, teo, orla, station):
    record = visits.sealed(teo, orla, station)
    seen = opened(page, {"id": record["event"]})
    assert seen.headings[0] == (1, "Start-up of pump set PS-101: sealed as record 1")
    assert f"/records/{record['id']}" in seen.to("record 1")
    assert seen.faults == []


def test_a_visit_for_sensors_has_its_page(page, teo, station):
    event = station.event()
    head = {name: event[name] for name in ("id", "site", "performed_at")}
    sensor = station.ids["PT-101"]
    posted = teo.post("/events", head | {"kind": "re_verification", "sensors": [sensor]})
    assert posted.status == 201, posted.json
    seen = opened(page, posted.json)
    assert seen.headings[0][1].startswith("Re-verification of sensors:")
    assert seen.faults == []


def test_others_find_no_such_page_and_the_client_may_not_see_it(page, teo, station):
    event = visits.post(teo, station)
    for name in ("otto", "tilda", "cato"):
        assert opened(page, event, name).status in (403, 404)
        assert event["id"] not in opened(page, event, name).html
    # A visit is the contractor's until it is sealed.
    assert opened(page, event, "cleo").status in (403, 404)
    assert opened(page, event, "teo").status == 200


def test_characters_that_steer_writing_are_shown_as_codes(page, teo, station):
    remarks = "水道 \N{GRINNING FACE} \N{RIGHT-TO-LEFT OVERRIDE}evil"
    seen = opened(page, visits.post(teo, station, remarks=remarks))
    assert "水道 \N{GRINNING FACE} ‹U+202E›evil" in seen.words
    assert "\N{RIGHT-TO-LEFT OVERRIDE}" not in seen.html


def test_numbers_meet_at_their_decimal_sign(page, teo, station):
    event = station.event()
    event["settings"]["as_left"] |= {"ramp_up_time": q("10", "s"), "ramp_down_time": q("9.25", "s")}
    seen = opened(page, visits.post(teo, station, **event))
    [spaced] = re.findall(r'Ramp up time</th>\s*<td><span class="q">([^<]*)<', seen.html)
    # Beside other digits: a space as wide as a point and at least two as wide as a figure.
    assert spaced.strip("\u2007\u2008\xa0") == "10"
    assert "\u2008\u2007\u2007" in spaced


def test_a_figure_that_stands_alone_on_a_phone_keeps_its_unit(page, teo, station):
    """Where a row becomes a paragraph, each label bears the unit of its column's head."""
    event = station.event()
    for number, test in enumerate(event["protection_tests"]):
        test |= {"how_provoked": "wordy " * 8, "delay_measured": q(f"{number}.5", "s")}
    seen = opened(page, visits.post(teo, station, **event))
    delays = re.findall(r'data-label="(Delay measured[^"]*)"', seen.html)
    assert delays == ["Delay measured, s"] * len(event["protection_tests"])


def test_what_is_missing_stands_by_itself_after_the_other_findings(page, teo, orla, station):
    """The API keeps its own order; page, numbers and list of obstacles follow the page's."""
    wrong = visits.wrong_frequency(station)
    del wrong["motor_tests"]["insulation"]
    wrong["supply"]["line_voltages"] = [q("460", "V"), q("470", "V"), q("430", "V")]
    event = visits.post(teo, station, **wrong)
    listed = orla.get(f"/events/{event['id']}/findings").json["items"]
    rank = ["stop", "review", "note"].index
    assert [rank(each["severity"]) for each in listed] == sorted(
        rank(each["severity"]) for each in listed
    )
    by_itself = [each for each in listed if each["rule"] == "record.missing"]
    others = [each for each in listed if each["rule"] != "record.missing"]
    assert by_itself
    assert listed[-len(by_itself) :] != by_itself
    seen = opened(page, event)
    assert (2, "What the record does not hold") in seen.headings
    said = seen.words
    at = said.index("What the record does not hold This was looked for and not found.")
    assert all(said.index(f"No. {n} {each['sentence']}") < at for n, each in enumerate(others, 1))
    first = len(others) + 1
    assert all(
        said.index(f"No. {n} {each['sentence']}") > at for n, each in enumerate(by_itself, first)
    )
    led = [where for where, _ in seen.links if where.startswith("#finding-")]
    wanted = [f"#finding-{each['id']}" for each in others + by_itself if each["open"]]
    assert led[: len(wanted)] == wanted
