"""Calendars of due dates: a secret address, shown once, revoked at once; what it holds, read back.

The calendar is read with `icalendar`, which writes it as well; lines, folding and line ends are
therefore checked by hand against RFC 5545 too.
"""

import re
from datetime import date, timedelta

import icalendar
import pytest
from django.test import Client

from tests.records import visits
from tests.records.client import leave
from tests.records.sessions import sign_in


@pytest.fixture
def started(teo, orla, station):
    return visits.sealed(teo, orla, station)


@pytest.fixture
def browser(api, cast):
    def of(name):
        client = Client(raise_request_exception=False)
        sign_in(client, getattr(cast, name))
        leave()
        return client

    return of


def make(browser, name="telephone", **form):
    answer = browser.post("/calendars", {"name": name, **form})
    assert answer.status_code == 201, answer.content
    leave()
    return re.search(r"(/calendar/stc_[\w-]+\.ics)", answer.content.decode())[1]


def read(path, **headers):
    leave()
    answer = Client(raise_request_exception=False).get(path, **headers)
    leave()
    return answer


def dates(items):
    return {(item["site"], item["due_on"]) for item in items if item["due_on"] is not None}


def test_a_form_that_comes_twice_makes_one_address(browser):
    office = browser("orla")
    [identity] = re.findall(
        r'name="id" value="([0-9a-f-]{36})"', office.get("/calendars").content.decode()
    )
    leave()
    assert read(make(office, id=identity)).status_code == 200
    again = office.post("/calendars", {"name": "telephone", "id": identity})
    leave()
    assert again.status_code == 409
    told = again.content.decode()
    assert "/calendar/stc_" not in told
    assert "This form came before, and what it made was shown then" in told
    assert told.count("Revoke telephone") == 1


def test_it_holds_the_dates_that_its_person_sees(started, browser, cleo):
    path = make(browser("cleo"))
    answer = read(path)
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    events = icalendar.Calendar.from_ical(answer.content).walk("VEVENT")
    listed = cleo.get("/due-items?limit=200").json["items"]
    horizon = (date.today() + timedelta(days=731)).isoformat()
    wanted = {each for each in dates(listed) if each[1] <= horizon}
    told = {(str(event["uid"])[:36], str(event.decoded("dtstart"))) for event in events}
    assert told == wanted
    assert len(events) == len(wanted) > 2


def test_an_entry_is_a_whole_day_and_rings_never(started, browser):
    calendar = icalendar.Calendar.from_ical(read(make(browser("orla"))).content)
    for event in calendar.walk("VEVENT"):
        assert type(event.decoded("dtstart")) is date
        assert event.decoded("dtend") - event.decoded("dtstart") == timedelta(days=1)
        assert event["transp"] == "TRANSPARENT"
    assert calendar.walk("VALARM") == []


def test_its_lines_are_those_of_the_standard(started, browser):
    """RFC 5545, 3.1: lines end with CRLF and hold at most 75 octets, folded by a space."""
    content = read(make(browser("orla"))).content
    lines = content.split(b"\r\n")
    assert lines[0] == b"BEGIN:VCALENDAR"
    assert lines[-2:] == [b"END:VCALENDAR", b""]
    assert b"\n" not in content.replace(b"\r\n", b"")
    assert max(map(len, lines)) <= 75
    whole = content.replace(b"\r\n ", b"").decode()
    names = [line.partition(":")[0].partition(";")[0] for line in whole.split("\r\n") if line]
    for name in ("VERSION", "PRODID", "METHOD"):
        assert names.count(name) == 1  # 3.6, 3.7
    assert names.count("UID") == names.count("DTSTAMP") == whole.count("BEGIN:VEVENT")
    assert re.search(r"\r\nDTSTART;VALUE=DATE:20\d{6}\r\n", whole)
    assert re.search(r"\r\nDESCRIPTION:[^\r]*\\n", whole)  # 3.3.11: a line end inside of a text


def test_read_again_it_is_the_same_and_need_not_be_sent(started, browser):
    path = make(browser("orla"))
    first = read(path)
    assert read(path).content == first.content
    known = read(path, HTTP_IF_NONE_MATCH=first["ETag"])
    assert (known.status_code, known.content) == (304, b"")


def test_an_entry_keeps_its_uid_when_its_words_change(started, browser, orla, cast):
    path = make(browser("orla"))

    def told():
        events = icalendar.Calendar.from_ical(read(path).content).walk("VEVENT")
        return {str(event["uid"]): str(event["description"]) for event in events}

    before = told()
    wanted = {"client": str(cast.client), "task": "insulation", "months": 12, "reason": "agreed"}
    assert orla.post("/interval-settings", wanted).status == 201
    after = told()
    assert set(after) == set(before)
    assert after != before


def test_revoked_it_is_gone_with_the_next_request(started, browser, orla):
    own = browser("orla")
    path = make(own)
    assert read(path).status_code == 200
    shown = own.get("/calendars").content.decode()
    assert "Last read" in shown
    assert path.rpartition("/")[2].removesuffix(".ics") not in shown  # once and never again
    leave()
    revoke = re.search(r"/calendars/[\w-]+/revoke", shown)[0]
    assert own.post(revoke).status_code == 302
    answer = read(path)
    assert answer.status_code == 404
    assert b"revoked" in answer.content
    actions = [entry["action"] for entry in orla.get("/audit?limit=5").json["items"]]
    assert actions[:2] == ["calendar revoked", "calendar made"]


def test_nobody_revokes_anothers(started, browser):
    path = make(browser("orla"))
    shown = browser("orla").get("/calendars").content.decode()
    revoke = re.search(r"/calendars/[\w-]+/revoke", shown)[0]
    for name in ("teo", "cleo", "otto"):
        leave()
        assert browser(name).post(revoke).status_code == 404
    assert read(path).status_code == 200


def test_only_a_digest_is_kept(started, browser, stage):
    path = make(browser("orla"))
    secret = path.rpartition("/")[2].removesuffix(".ics")
    leave()
    from records.services import calendars

    assert calendars.subscribed(secret) is not None
    assert calendars.subscribed(calendars.digest_of(secret).hex()) is None
    assert calendars.subscribed(secret[:-1]) is None


def test_whoever_is_let_go_reads_no_more(started, browser, orla, cast):
    path = make(browser("teo"))
    assert read(path).status_code == 200
    assert orla.delete(f"/members/{cast.teo.id}").status == 204
    assert read(path).status_code == 404


def test_of_one_client_alone(started, browser, cast):
    path = make(browser("orla"), client=str(cast.client))
    assert icalendar.Calendar.from_ical(read(path).content).walk("VEVENT")
    leave()
    answer = browser("orla").post("/calendars", {"name": "x", "client": str(cast.other_client)})
    assert answer.status_code == 400
    assert "no such client" in answer.content.decode()


def test_what_is_made_without_a_name_is_refused_in_words(browser):
    answer = browser("orla").post("/calendars", {"name": "  "})
    assert answer.status_code == 400
    assert "What it is for: expected" in answer.content.decode()
