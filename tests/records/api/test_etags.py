"""ETags: they change with what is told, and what is known already is not sent again."""

import hashlib

import pytest

from tests.records import visits
from tests.records.visits import answer, found, sign

RULE = "drive.volts-per-hertz"


@pytest.fixture
def event(teo, station):
    """A draft with one finding to be answered."""
    return teo.post("/events", visits.wrong_frequency(station)).json


def read(person, event):
    return person.get(f"/events/{event['id']}")


def known(person, path, *tags):
    return person.call("GET", path, If_None_Match=", ".join(tags))


def test_the_tag_of_an_event_follows_what_is_said_of_it(teo, orla, event):
    """Answer, signature, its withdrawal, the seal: each gives another text another tag."""
    seen = {}

    def look():
        told = read(teo, event)
        assert told.etag not in seen, told.etag
        assert told.json not in seen.values()
        seen[told.etag] = told.json
        return told.etag

    look()
    answer(orla, event, found(event, RULE))
    look()
    signature = sign(teo, event, "performed").json
    look()
    teo.delete(f"/events/{event['id']}/signatures/{signature['id']}")
    look()
    sign(teo, event, "performed")
    sign(orla, event, "reviewed")
    look()
    assert orla.post(f"/events/{event['id']}/seal").status == 201
    look()
    assert read(orla, event).etag in seen


def test_an_answer_of_the_office_does_not_stand_in_the_way_of_a_change(teo, orla, event):
    before = read(teo, event).etag
    answer(orla, event, found(event, RULE))
    assert read(teo, event).etag != before
    path = f"/events/{event['id']}"
    changed = teo.patch(path, {"remarks": "more"}, before)
    assert changed.status == 200
    assert changed.etag == read(teo, event).etag
    stale = teo.patch(path, {"remarks": "less"}, before)
    assert (stale.status, stale.etag) == (412, changed.etag)


def test_what_is_known_is_not_sent_again(teo, orla, cleo, station, event):
    record = visits.sealed(teo, orla, station)
    for person, path in (
        (teo, f"/events/{event['id']}"),
        (teo, f"/sites/{station.site}"),
        (cleo, f"/pumps/{station.ids['P-101']}"),
        (cleo, f"/records/{record['id']}"),
        (cleo, f"/records/{record['id']}/data.json"),
    ):
        first = person.get(path)
        assert first.status == 200
        for tags in ([first.etag], [f"W/{first.etag}"], ['"other"', first.etag], ["*"]):
            again = known(person, path, *tags)
            assert (again.status, again.content, again.etag) == (304, b"", first.etag), path
        for tags in (['"other"'], ["nonsense"], [first.etag.strip('"')]):
            assert known(person, path, *tags).content == first.content, path


@pytest.mark.parametrize(
    "path",
    [
        "/rules", "/rules/motor.slip", "/keys", "/units", "/me", "/sites", "/pumps?limit=1",
        "/events", "/records", "/rule-settings", "/organizations",
    ],
)  # fmt: skip
def test_what_has_no_tag_of_its_own_has_the_digest_of_its_text(orla, station, signing_key, path):
    first = orla.get(path)
    assert first.status == 200
    assert first.etag == f'"{hashlib.sha256(first.content).hexdigest()}"'
    assert first.headers["Cache-Control"] == "private, no-cache"
    again = known(orla, path, first.etag)
    assert (again.status, again.content, again.etag) == (304, b"", first.etag)
    assert again.headers["Cache-Control"] == first.headers["Cache-Control"]
    assert known(orla, path, '"other"').content == first.content


def test_a_list_has_another_tag_when_it_tells_something_else(teo, station):
    before = teo.get("/events").etag
    visits.post(teo, station)
    assert known(teo, "/events", before).status == 200
    now = teo.get("/events").etag
    assert known(teo, "/events", now).status == 304
    assert known(teo, "/events?state=sealed", now).status == 200


def test_limits_set_for_a_client_change_the_tag_of_its_rules(orla, cast, station):
    path = f"/rules?client={cast.client}"
    before = orla.get(path).etag
    tighter = visits.limit(cast.client, "trace.overshoot", "share", "20", "%")
    assert orla.post("/rule-settings", tighter).status == 201
    assert known(orla, path, before).status == 200


def test_a_refusal_has_no_tag(teo, station):
    for path in ("/pumps?wrong=1", f"/events/{visits.new_id()}"):
        refused = known(teo, path, "*")
        assert refused.status >= 400
        assert "ETag" not in refused.headers


def test_a_changed_text_is_sent(teo, orla, event):
    path = f"/events/{event['id']}"
    tag = teo.get(path).etag
    answer(orla, event, found(event, RULE))
    assert known(teo, path, tag).status == 200


def test_what_is_anothers_is_not_told_apart_by_its_tag(tilda, teo, event):
    path = f"/events/{event['id']}"
    assert known(tilda, path, teo.get(path).etag).status == 404
