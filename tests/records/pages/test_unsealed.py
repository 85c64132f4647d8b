"""Visits that are not sealed yet: each is told to wait for what its seal still lacks."""

from urllib.parse import urlsplit

import pytest

from tests.records import visits

FINDINGS = "an answer or a correction"
PERFORMED = "the signature that the work was performed"
REVIEWED = "a second person’s signature"
SEAL = "the seal"


def waiting(page, query="", name="orla"):
    """What each visit waits for, by its id, as the page tells it."""
    seen = page(name, f"/visits{query}")
    assert seen.status == 200
    rows = seen.html.split("<tbody>")[1].split("<tr>")[1:] if "<tbody>" in seen.html else []
    return {
        row.split('href="/events/')[1].split('"')[0]:
        row.split('data-label="Waits for">')[1].split("</td>")[0]
        for row in rows
    }  # fmt: skip


def first_line(page, name="orla"):
    return page(name, "/visits").headings[0][1]


def test_a_visit_waits_for_one_thing_after_the_other(page, orla, teo, station):
    event = visits.post(teo, station, **visits.wrong_frequency(station))
    steps = [waiting(page)[event["id"]]]
    visits.answer_all(orla, event)
    steps.append(waiting(page)[event["id"]])
    assert visits.sign(teo, event, "performed").status == 201
    steps.append(waiting(page)[event["id"]])
    assert visits.sign(orla, event, "reviewed").status == 201
    steps.append(waiting(page)[event["id"]])
    assert steps == [FINDINGS, PERFORMED, REVIEWED, SEAL]
    assert orla.post(f"/events/{event['id']}/seal").status == 201
    assert waiting(page) == {}
    assert first_line(page) == "Every visit is sealed"


def test_who_performed_it_as_well_is_no_second_person(page, orla, teo, station):
    event = visits.signed(teo, orla, station)
    assert waiting(page) == {event["id"]: SEAL}
    assert visits.sign(orla, event, "performed").status == 201
    assert waiting(page) == {event["id"]: REVIEWED}
    refused = orla.post(f"/events/{event['id']}/seal")
    assert "a second person has not signed the review" in str(refused.json)


def test_a_void_signature_counts_no_more(page, orla, teo, station):
    event = visits.signed(teo, orla, station)
    path = f"/events/{event['id']}"
    changed = teo.patch(path, {"remarks": "The gauge was exchanged."}, teo.get(path).etag)
    assert changed.status == 200, changed.json
    assert waiting(page) == {event["id"]: PERFORMED}


def test_an_answer_that_leaves_it_open_changes_nothing(page, orla, teo, station):
    event = visits.post(teo, station, **visits.wrong_frequency(station))
    finding = visits.found(event, "drive.volts-per-hertz")
    assert visits.answer(teo, event, finding, accepted=False).status == 201
    assert waiting(page)[event["id"]] == FINDINGS


def test_an_answer_to_another_comparison_changes_nothing(page, orla, teo, station):
    event = visits.post(teo, station, **visits.wrong_frequency(station))
    visits.answer_all(orla, event)
    assert waiting(page)[event["id"]] == PERFORMED
    path = f"/events/{event['id']}"
    other = {"settings": visits.wrong_frequency(station, "49")["settings"]}
    assert teo.patch(path, other, teo.get(path).etag).status == 200
    assert waiting(page)[event["id"]] == FINDINGS


def test_what_is_withdrawn_waits_for_nothing(page, teo, station):
    event = visits.post(teo, station)
    assert event["id"] in waiting(page)
    reason = {"reason": "It was posted twice."}
    assert teo.post(f"/events/{event['id']}/withdrawal", reason).status in (200, 201)
    assert waiting(page) == {}


def test_those_that_wait_for_one_thing_are_asked_for(page, orla, teo, station):
    lacking = visits.post(teo, station, **visits.wrong_frequency(station))
    ready = visits.signed(teo, orla, station)
    seen = page("orla", "/visits")
    assert seen.headings[0][1] == "2 visits not sealed yet"
    [where] = seen.to(f"1 waits for {SEAL}")
    assert waiting(page, f"?{urlsplit(where).query}") == {ready["id"]: SEAL}
    assert waiting(page, "?waits=findings") == {lacking["id"]: FINDINGS}
    assert waiting(page, "?waits=reviewed") == {}
    assert len(waiting(page, "?waits=what")) == 2  # of none that is known: all


def test_what_lies_longest_comes_first(page, teo, station):
    later = visits.post(teo, station, performed_at="2026-03-11T09:00:00-07:00")
    sooner = visits.post(teo, station, performed_at="2026-02-11T09:00:00-07:00")
    assert list(waiting(page)) == [sooner["id"], later["id"]]


def test_of_one_client(page, cast, teo, station):
    event = visits.post(teo, station)
    assert list(waiting(page, f"?client={cast.client}")) == [event["id"]]
    assert waiting(page, f"?client={visits.new_id()}") == {}


def test_another_house_sees_its_own_alone(page, teo, station):
    visits.post(teo, station)
    assert waiting(page, name="otto") == {}
    assert page("cleo", "/visits").status == 403


@pytest.mark.parametrize("name", ["orla", "teo"])
def test_the_stations_page_counts_them(page, orla, teo, station, name):
    visits.post(teo, station)
    visits.signed(teo, orla, station)
    assert page(name, "/").to("2 visits not sealed yet") == ["/visits"]
