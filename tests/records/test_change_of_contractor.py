"""A station gets another contractor: who sees and does what of it afterwards.

The cast: Orla's booster station goes to Otto's contractor, its records handed on, a draft left
over. Otto's station goes to Orla's, its records not handed on. A third one goes to Otto's and back.
"""

from dataclasses import dataclass

import pytest
from psycopg import errors

from records import permissions, roles
from records.documents import readings_csv
from records.services import files
from tests.calculations.building import booster
from tests.records import stations, visits
from tests.records import world as worlds
from tests.records.client import Api
from tests.records.pages.reading import open_page
from tests.records.pages.sending import forms
from tests.records.problems import assert_problem
from tests.records.services.test_kept import connected
from tests.records.test_isolation import places

BY = ("--by", "Ines of the operator", "--reason", "The client's letter of 3 November.")


@dataclass(frozen=True)
class Changed:
    """The world after the changes, and the third station."""

    world: worlds.World
    third: stations.Station
    refused: str
    told: str


@pytest.fixture(scope="module")
def appoint(stage):
    """Runs the operator's command; what it says, and whether it was done."""

    def run(client, code, contractor, *more):
        words = ("--client", str(client), "--code", code, "--contractor", str(contractor))
        return stage.command("appoint", *words, *BY, *more)

    return run


def third(stage):
    return stage.keep(
        "third", lambda cast: stations.register(Api(cast.orla), cast.client, code="X-33")
    )


@pytest.fixture(scope="module")
def change(stage, appoint, cleared_afterwards):
    """Makes the changes, once the stage is set."""
    done = {}

    def made(world, cast):
        if not done:
            station = third(stage)
            own = (cast.client, _code(stage, world.own.station), cast.other_contractor)
            refused = appoint(*own)
            told = appoint(*own, "--hand-on-records", "--leave-drafts")
            assert (refused[0], told[0]) == (1, 0), (refused, told)
            for there in (
                (cast.other_client, "X-90", cast.contractor, "--leave-drafts"),
                (cast.client, "X-33", cast.other_contractor),
                (cast.client, "X-33", cast.contractor),
            ):
                status, words = appoint(*there)
                assert status == 0, words
            done["made"] = Changed(world, station, refused[1], told[1])
        return done["made"]

    return made


def _code(stage, station):
    with stage.as_owner() as owner:
        query = "SELECT code FROM records_site WHERE id = %s"
        return owner.execute(query, [station.site]).fetchone()[0]


@pytest.fixture
def changed(stage, signing_key, cast, change):
    made = change(worlds.of(stage), cast)
    for content in (worlds.NOTE, worlds.ROWS):
        files.store(content)  # where this test keeps its files
    return made


@pytest.fixture
def side(changed):
    return changed.world.own


@pytest.fixture
def people(changed, api, cast):
    return {name: api(getattr(cast, name)) for name in ("orla", "teo", "cleo", "otto", "tilda")}


@pytest.fixture
def page(changed, api, cast):
    return lambda name, path: open_page(getattr(cast, name), path)


# -- the new contractor -------------------------------------------------------------------------


def test_the_new_one_sees_the_station_and_its_register(people, side):
    listed = [site["id"] for site in people["otto"].get("/sites").json["items"]]
    assert side.station.site in listed
    ids = places(side).ids
    for kind in ("pumps", "motors", "drives", "sensors", "vessels", "pump-sets"):
        assert people["tilda"].get(f"/{kind}/{ids[kind]}").status == 200
    assert people["otto"].get(f"/organizations/{side.client}").status == 200


def test_the_new_one_works_there(people, side):
    visits.plate_speed(people["otto"], side.station, "1742")
    record = visits.sealed(people["tilda"], people["otto"], side.station)
    assert record["number"] == 2  # the station's chain goes on
    assert record["previous_digest"] is not None


def test_the_new_one_reads_the_records_that_the_client_hands_on(people, side):
    listed = people["otto"].get(f"/records?site={side.station.site}").json["items"]
    assert [record["id"] for record in listed] == [side.record]
    path = f"/records/{side.record}"
    for person in ("otto", "tilda"):
        assert people[person].get(path).status == 200
        assert people[person].get(f"{path}/document.pdf").status == 202
        assert people[person].get(f"{path}/files/{side.file}").status == 200
        assert people[person].get(f"/operations/{side.operation}").status == 200
    texts = {people[name].get(f"{path}/data.json").content for name in ("otto", "orla", "cleo")}
    assert len(texts) == 1


def test_the_new_one_takes_their_tables(people, side):
    kept = people["cleo"].get(f"/records/{side.record}/readings.csv").content
    for person in ("otto", "tilda"):
        assert people[person].get(f"/records/{side.record}/workbook.xlsx").status == 200
        query = f"?site={side.station.site}"
        assert people[person].get(f"/records/readings.csv{query}").rows() == kept


def test_the_new_one_is_judged_against_the_first_record(people, side):
    later = side.station.event(performed_at="2026-11-20T09:00:00-08:00", performed_until=None)
    posted = people["tilda"].post("/events", later).json
    assert posted["earlier_record"]["record_id"] == side.record


def test_the_new_one_reads_none_where_they_are_not_handed_on(people, changed):
    theirs = changed.world.other
    assert people["orla"].get(f"/sites/{theirs.station.site}").status == 200
    assert people["orla"].get(f"/records?site={theirs.station.site}").json["items"] == []
    assert people["orla"].get(f"/records/{theirs.record}").status == 404
    query = f"?site={theirs.station.site}"
    assert people["orla"].get(f"/records/readings.csv{query}").rows() == readings_csv.head()


WORK = (
    "events/{draft}", "events/{sealed_event}", "events/{draft}/findings",
    "events/{draft}/signatures", "events/{draft}/attachments/{attachment}",
    "events/{draft}/traces/{trace}",
)  # fmt: skip


@pytest.mark.parametrize("route", WORK)
def test_the_new_one_gets_nothing_of_the_old_ones_work(people, side, route):
    path = places(side).path(route)
    assert {people[name].get(path).status for name in ("otto", "tilda")} == {404}
    assert people["teo"].get(path).status == 200


def test_no_list_pack_or_page_tells_of_the_old_ones_drafts(people, side, page):
    site = side.station.site
    for path in (f"/events?site={site}", f"/sites/{site}/visit-pack", "/audit?limit=200"):
        answer = people["otto"].get(path)
        assert answer.status == 200
        assert side.draft not in answer.content.decode()
        assert side.finding not in answer.content.decode()
    told = page("otto", f"/stations/{site}")
    assert side.draft not in told.html
    assert "nothing open" in told.words
    assert "Who changed what of this visit" not in page("otto", f"/records/{side.record}").words


@pytest.mark.parametrize("name", ["otto", "tilda"])
def test_a_forgotten_scope_shows_the_new_one_no_draft(people, side, monkeypatch, name):
    monkeypatch.setattr(permissions, "visible", lambda rows, actor, **_: rows)
    listed = [event["id"] for event in people[name].get("/events?limit=200").json["items"]]
    assert not {side.draft, side.sealed_event} & set(listed)
    assert people[name].get(f"/events/{side.draft}").status == 404


# -- the old one ----------------------------------------------------------------------------------


def test_the_old_one_keeps_its_events_and_records(people, side):
    listed = people["teo"].get(f"/events?site={side.station.site}").json["items"]
    assert {event["id"] for event in listed} == {side.draft, side.sealed_event}
    assert {event["pump_set"] for event in listed} == {side.station.pump_set}
    kept = people["orla"].get(f"/records?site={side.station.site}").json["items"]
    assert [record["id"] for record in kept] == [side.record]
    assert people["orla"].get(f"/records/{side.record}/data.json").status == 200


def test_the_old_one_finds_them_on_pages(changed, side, page):
    path = f"/stations/{side.station.site}"
    assert path in [where for where, _ in page("teo", "/").links]
    told = page("teo", path)
    assert told.status == 200
    assert "Another contractor looks after this station" in told.words
    assert "In service" not in told.words
    for where in (f"/events/{side.draft}", f"/records/{side.record}"):
        assert where in [link for link, _ in told.links]
        assert page("teo", where).status == 200
    assert not told.faults


REGISTER = ("sites", "pumps", "motors", "drives", "sensors", "vessels", "pump-sets")


@pytest.mark.parametrize("kind", REGISTER)
def test_the_old_one_neither_sees_nor_changes_the_register(people, side, kind):
    path = f"/{kind}/{places(side).ids[kind]}"
    assert people["orla"].get(path).status == 404
    assert people["orla"].patch(path, {"out_of_service_on": "2026-11-20"}, '"1"').status == 404
    listed = people["orla"].get(f"/{kind}?limit=200").json["items"]
    assert places(side).ids[kind] not in [row["id"] for row in listed]


def test_the_old_one_adds_nothing_there(people, side):
    assert_problem(people["teo"].post("/events", side.station.event()), 400, "/site")
    at = {"site": side.station.site, "tag": "Z-1"}
    for kind in ("pump", "motor", "drive"):
        assert_problem(people["teo"].post(f"/{kind}s", booster()[kind] | at), 400, "/site")


def test_what_is_left_over_can_be_withdrawn_and_nothing_else(people, side):
    teo, path = people["teo"], f"/events/{side.draft}"
    digest = teo.get(f"{path}/signatures").json["to_sign"]["performed"]
    for refused in (
        teo.patch(path, {"remarks": "more"}, teo.get(path).etag),
        teo.post(f"{path}/findings/{side.finding}/answer", {"text": "Is so.", "accepted": False}),
        teo.post(f"{path}/signatures", {"meaning": "performed", "digest": digest}),
        teo.call("POST", f"{path}/attachments?purpose=other&name=b", b"b\n", media="text/plain"),
        teo.delete(f"{path}/attachments/{side.attachment}"),
        teo.post(f"{path}/seal"),
    ):
        assert_problem(refused, 409)
        assert "another contractor" in refused.json["detail"]
    assert teo.post(f"{path}/withdrawal", {"reason": "Is another's now."}).status == 201


def test_what_is_left_over_waits_for_being_withdrawn(side, page):
    told = page("teo", "/visits")
    assert f"/events/{side.draft}" in [link for link, _ in told.links]
    assert "being withdrawn: another contractor looks after the station now" in told.words


def test_what_is_left_over_has_no_form_but_to_withdraw_it(changed, side, page):
    told = page("teo", f"/events/{side.draft}")
    assert "Another contractor looks after this station now" in told.words
    assert [each.path for each in forms(told)] == ["/sign-out", f"/events/{side.draft}/withdraw"]


def test_an_instrument_of_the_old_one_changes_no_draft_left_over(people, side):
    path = f"/instruments/{places(side).ids['instruments']}"
    before = people["teo"].get(f"/events/{side.draft}").content
    changed = people["orla"].patch(path, {"certificate": "C-9"}, people["orla"].get(path).etag)
    assert changed.status == 200
    assert people["teo"].get(f"/events/{side.draft}").content == before


OF_STATION = "site_id = (SELECT row FROM records_site WHERE id = %s)"


def test_the_second_wall_holds_the_old_one_off(changed, side, stage):
    """Without any scope in between: what is seen cannot be written."""
    site = side.station.site
    with connected(stage, roles.OFFICE, side.contractor) as old:
        assert old.execute("SELECT FROM records_site WHERE id = %s", [site]).rowcount == 1
        for statement in (
            "UPDATE records_site SET name = 'mine again' WHERE id = %s",
            f"UPDATE records_pumpset SET tag = 'mine again' WHERE {OF_STATION}",
        ):
            with pytest.raises(errors.InsufficientPrivilege, match="row-level security"):
                old.execute(statement, [site])
            old.rollback()
        for table in ("pump", "motor", "drive", "sensor", "vessel", "sitesummary"):
            seen = old.execute(f"SELECT FROM records_{table} WHERE {OF_STATION}", [site])
            assert seen.rowcount == 0
        with pytest.raises(errors.IntegrityConstraintViolation, match="another contractor"):
            old.execute(f"UPDATE records_event SET said = said + 1 WHERE {OF_STATION}"
                        " AND state = 'draft'", [site])  # fmt: skip
        old.rollback()


def test_the_second_wall_lets_the_new_one_only_read_what_was_handed_on(changed, side, stage, cast):
    with connected(stage, roles.OFFICE, str(cast.other_contractor)) as new:
        for table in (
            "records_record",
            "records_recorddocument",
            "records_recordedvalue",
            "records_recordreadings",
        ):
            seen = new.execute(f"SELECT FROM {table} WHERE contractor_id = %s", [side.contractor])
            assert seen.rowcount > 0
            with pytest.raises(errors.InsufficientPrivilege):
                new.execute(f"UPDATE {table} SET handed_to = '{{}}'")
            new.rollback()
        for table in ("event", "finding", "answer", "signature", "attachment", "auditentry"):
            query = f"SELECT FROM records_{table} WHERE contractor_id = %s"
            assert new.execute(query, [side.contractor]).rowcount == 0


# -- the client, the way back, and what is written down -------------------------------------------


def test_the_client_sees_what_it_saw(people, side):
    assert people["cleo"].get(f"/sites/{side.station.site}").status == 200
    listed = people["cleo"].get(f"/records?site={side.station.site}").json["items"]
    assert [record["id"] for record in listed] == [side.record]


def test_a_contractor_that_comes_back_works_as_before(people, changed, page):
    station = changed.third
    assert people["teo"].post("/events", station.event()).status == 201
    assert people["otto"].get(f"/sites/{station.site}").status == 404
    assert f"/stations/{station.site}" in [where for where, _ in page("otto", "/").links]
    assert "In service" in page("teo", f"/stations/{station.site}").words


@pytest.mark.parametrize("name", ["orla", "otto"])
def test_neither_renames_the_client_that_both_have_worked_for(people, side, name):
    """The other one's next record would bear the name, and the client's own pages would."""
    where = f"/organizations/{side.client}"
    before = people[name].get(where)
    answer = people[name].patch(where, {"name": "Somebody else"}, before.etag)
    assert_problem(answer, 409, "/name")
    assert people["cleo"].get(where).json["name"] == before.json["name"]
    same = people[name].patch(where, {"name": before.json["name"]}, before.etag)
    assert same.status == 200


def test_both_audits_say_who_and_why(people, side):
    for name, action in (("orla", "appointment ended"), ("otto", "contractor appointed")):
        [entry] = [
            entry
            for entry in people[name]
            .get(f"/audit?site={side.station.site}&limit=200")
            .json["items"]
            if entry["person"]["id"] is None
        ]
        assert (entry["action"], entry["person"]["name"]) == (action, BY[1])
        assert (entry["reason"], entry["before"]) == (BY[3], {"contractor": "Halvorn Pump Works"})
        assert entry["after"]["contractor"] == "Ostrel Field Service"


def test_drafts_are_left_only_when_that_is_said(changed):
    assert "not sealed yet: 1. Seal or withdraw them first" in changed.refused
    assert "1 records handed on, 1 drafts left" in changed.told


@pytest.mark.parametrize(
    ("code", "contractor", "words"),
    [
        ("X-99", "contractor", "no station of this code"),
        ("X-33", "contractor", "looks after this station already"),
        ("X-33", None, "no organization of this id"),
    ],
)
def test_the_command_says_what_is_wrong(changed, appoint, cast, code, contractor, words):
    nobody = "00000000-0000-4000-8000-000000000000"
    who = getattr(cast, contractor) if contractor else nobody
    status, told = appoint(cast.client, code, who)
    assert status == 1
    assert words in told


def test_handing_on_changes_nothing_else_of_a_record(changed, side, stage):
    with stage.as_owner(autocommit=False) as owner:
        for statement in (
            "UPDATE records_record SET handed_to = '{}'",
            "UPDATE records_record SET handed_to = handed_to",
            "UPDATE records_record SET handed_to = array_append(handed_to, id), number = 9",
        ):
            with pytest.raises(errors.IntegrityConstraintViolation, match="kept as it is"):
                owner.execute(statement)
            owner.rollback()


@pytest.mark.parametrize("name", ["otto", "orla"])
def test_the_search_finds_records_by_number_that_are_ones_own_or_handed_on(side, page, name):
    assert f"/records/{side.record}" in [link for link, _ in page(name, "/search?q=1").links]


def test_who_was_handed_records_is_told_to_that_house_alone(changed, stage, cast):
    for house, handed in ((cast.other_contractor, True), (cast.contractor, False)):
        with connected(stage, roles.OFFICE, str(house)) as inside:
            assert inside.execute("SELECT was_handed_records()").fetchone() == (handed,)
