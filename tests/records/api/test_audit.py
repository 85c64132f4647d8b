"""The audit over the API: what an entry says, narrowing it, paging, who reads it."""

from datetime import UTC, datetime, timedelta
from urllib.parse import parse_qs, urlsplit

import pytest

from tests.calculations.building_plates import q
from tests.records import visits
from tests.records.problems import assert_problem


def newest(orla, query=""):
    return orla.get(f"/audit?limit=1{query}").json["items"][0]


def test_a_change_of_the_register_says_from_what_to_what(orla, station):
    old = orla.get(f"/motors/{station.ids['M-101']}").json["ratings"]
    visits.plate_speed(orla, station, "1742")
    entry = newest(orla)
    assert (entry["action"], entry["subject"]["kind"], entry["subject"]["name"]) == (
        "changed", "motor", "M-101",
    )  # fmt: skip
    assert entry["before"] == {"ratings": old}
    assert entry["after"] == {"ratings": [old[0], old[1] | {"speed": q("1742", "rpm")}, *old[2:]]}
    assert entry["site"] == station.site


def test_a_change_of_an_event_says_from_what_to_what_with_the_digits_as_entered(teo, orla, station):
    event = visits.post(teo, station)
    path = f"/events/{event['id']}"
    old = event["settings"]["as_left"]["minimum_frequency"]
    patch = {"settings": {"as_left": {"minimum_frequency": q("31.50", "Hz")}}, "remarks": "Lower."}
    assert teo.patch(path, patch, teo.get(path).etag).status == 200
    entry = newest(orla, f"&subject={event['id']}")
    assert entry["action"] == "changed"
    assert entry["after"] == patch
    changed = {"settings": {"as_left": {"minimum_frequency": old}}}
    assert entry["before"] == changed | {"remarks": None}


def test_why_stands_beside_it(teo, orla, cast, station):
    event = visits.post(teo, station)
    teo.post(f"/events/{event['id']}/withdrawal", {"reason": "Entered twice."})
    assert newest(orla)["reason"] == "Entered twice."
    wanted = visits.limit(cast.client, "trace.overshoot", "share", "60", "%", reason="Asked for.")
    assert orla.post("/rule-settings", wanted).status == 201
    entry = newest(orla)
    assert (entry["reason"], entry["before"], entry["after"]) == (
        "Asked for.", None, {"value": q("60", "%")},
    )  # fmt: skip


def test_a_second_limit_says_what_applied_before(orla, cast):
    for share in ("20", "15"):
        orla.post(
            "/rule-settings", visits.limit(cast.client, "trace.overshoot", "share", share, "%")
        )
    entry = newest(orla)
    assert (entry["before"], entry["after"]) == ({"value": q("20", "%")}, {"value": q("15", "%")})


def test_an_event_tells_its_whole_story(teo, orla, station):
    record = visits.sealed(teo, orla, station)
    told = orla.get(f"/audit?subject={record['event']}").json["items"]
    actions = [entry["action"] for entry in reversed(told)]
    answers = actions.count("finding answered")
    assert actions == ["added", *["finding answered"] * answers, "signed", "signed", "sealed"]
    assert told[0]["after"] == {
        "record": record["id"], "number": record["number"], "digest": record["seal"]["digest"],
    }  # fmt: skip


def test_a_change_that_voids_a_signature_says_whose(teo, orla, station):
    event = visits.post(teo, station)
    visits.sign(teo, event, "performed")
    path = f"/events/{event['id']}"
    orla.patch(path, {"remarks": "Other words."}, orla.get(path).etag)
    void, changed = orla.get(f"/audit?subject={event['id']}&limit=2").json["items"]
    assert (changed["action"], void["action"]) == ("changed", "signature void")
    assert (void["after"]["by"], void["person"]["name"]) == ("Teo", "Orla")


def test_a_session_is_told_from_a_token(orla, cast):
    made = orla.post("/tokens", {"name": "archive", "days": 3}).json
    entry = newest(orla)
    token = next(
        t for t in orla.get("/tokens").json["items"] if t["prefix"] == cast.orla.secret[:12]
    )
    assert entry["device"] == {
        "token": {"id": token["id"], "name": "test", "prefix": cast.orla.secret[:12]},
        "address": "127.0.0.1",
    }
    assert entry["after"]["scopes"] == ["read"]
    assert (entry["subject"]["id"], entry["subject"]["name"]) == (made["id"], "archive")


# -- narrowing and paging -----------------------------------------------------------------------


def test_it_is_narrowed_by_station_thing_and_person(teo, orla, cast, station):
    event = visits.post(teo, station)
    orla.post("/tokens", {"name": "archive"})
    of_site = orla.get(f"/audit?site={station.site}&limit=200").json["items"]
    assert {entry["site"] for entry in of_site} == {station.site}
    of_event = orla.get(f"/audit?subject={event['id']}").json["items"]
    assert {entry["subject"]["id"] for entry in of_event} == {event["id"]}
    by_teo = orla.get(f"/audit?person={cast.teo.id}").json["items"]
    assert by_teo
    assert {entry["person"]["id"] for entry in by_teo} == {str(cast.teo.id)}


@pytest.mark.parametrize(
    ("since", "until", "found"), [(0, 0, True), (1, 2, False), (-2, -1, False)]
)
def test_it_is_narrowed_by_days_of_utc(orla, since, until, found):
    today = datetime.now(UTC).date()
    orla.post("/tokens", {"name": "archive"})
    days = [today + timedelta(days=shift) for shift in (since, until)]
    listed = orla.get(f"/audit?since={days[0]}&until={days[1]}").json["items"]
    assert bool(listed) == found


@pytest.mark.parametrize(
    "query",
    [
        "since=yesterday",
        "since=20260301",
        "until=2026-02-30",
        "site=X-1",
        "subject=1",
        "person=teo",
        "limit=0",
    ],
)
def test_what_cannot_be_read_is_named(orla, query):
    assert_problem(orla.get(f"/audit?{query}"), 400, "/" + query.partition("=")[0])


def test_the_last_day_of_all_is_a_day(orla):
    assert orla.get("/audit?until=9999-12-31&since=0001-01-01").status == 200


@pytest.mark.parametrize("days", ["", "&since=2026-01-01", "&until=9999-12-31"])
def test_pages_follow_each_other_while_entries_are_added(orla, days):
    for name in ("a", "b", "c"):
        orla.post("/tokens", {"name": name})
    first = orla.get(f"/audit?limit=2{days}").json
    orla.post("/tokens", {"name": "d"})
    second = orla.get(first["next"].partition("/api/v1")[2]).json
    names = [entry["subject"]["name"] for entry in (*first["items"], *second["items"])]
    assert names[:3] == ["c", "b", "a"]


def test_a_cursor_is_of_one_order(orla):
    for name in ("a", "b"):
        orla.post("/tokens", {"name": name})
    for made, used in (("", "&since=2026-01-01"), ("&since=2026-01-01", "")):
        following = orla.get(f"/audit?limit=1{made}").json["next"]
        [cursor] = parse_qs(urlsplit(following).query)["cursor"]
        assert_problem(orla.get(f"/audit?limit=1{used}&cursor={cursor}"), 400, "/cursor")
    assert_problem(orla.get("/audit?since=2026-01-01&cursor=x"), 400, "/cursor")


# -- who reads it -------------------------------------------------------------------------------


def test_the_office_alone_reads_it(teo, cleo):
    for person in (teo, cleo):
        assert_problem(person.get("/audit"), 403)


def test_another_office_reads_its_own(orla, otto, station):
    orla.post("/tokens", {"name": "archive"})
    otto.post("/tokens", {"name": "backup"})
    listed = otto.get("/audit?limit=200").json["items"]
    assert {entry["subject"]["name"] for entry in listed} == {"backup"}
    assert otto.get(f"/audit?site={station.site}").json["items"] == []
