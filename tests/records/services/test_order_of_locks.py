"""Who has a station, its count or its drafts waits for nobody who waits for them."""

from concurrent.futures import ThreadPoolExecutor
from threading import Event

import pytest

from records.services import drafts
from tests.records import visits
from tests.records.client import Api
from tests.records.services.test_concurrency import posting, rows, together, wait_for_locks

pytestmark = pytest.mark.usefixtures("transactional_db")


def sealing(cast, teo, orla, station):
    event = visits.signed(teo, orla, station)
    return posting(cast.orla, f"/events/{event['id']}/seal", None)


def changing(cast, teo, orla, station):
    event = teo.post("/events", station.event())
    path = f"/events/{event.json['id']}"
    return lambda: Api(cast.teo).patch(path, {"remarks": "Dry."}, event.etag)


def while_the_station_is_held(stage, call):
    """The answer to a call that waits for a station, whose count is free meanwhile."""
    with ThreadPoolExecutor(1) as pool, stage.as_owner(autocommit=False) as owner:
        owner.execute("SELECT FROM records_site FOR UPDATE")
        answered = pool.submit(together, [call])
        wait_for_locks(stage, 1)
        owner.execute("SELECT FROM records_sitesummary FOR UPDATE NOWAIT")
        owner.commit()
        return answered.result()[0]


@pytest.mark.parametrize("prepared", [
    lambda cast, teo, orla, station: posting(cast.teo, "/events", station.event()),
    sealing, changing,
], ids=["post", "seal", "change"])  # fmt: skip
def test_nobody_holds_a_count_while_they_wait_for_its_station(
    cast, teo, orla, station, stage, prepared
):
    """Whoever changes the station's contractor or code has it, and wants its count next."""
    call = prepared(cast, teo, orla, station)
    assert while_the_station_is_held(stage, call).status in (200, 201)


def test_a_seal_that_waited_for_a_change_of_the_contractor_is_refused(
    teo, orla, cast, station, stage
):
    seal = sealing(cast, teo, orla, station)
    with ThreadPoolExecutor(1) as pool, stage.as_owner(autocommit=False) as owner:
        owner.execute(
            "UPDATE records_site SET contractor_id = %s, former_contractors = array[contractor_id]",
            [cast.other_contractor],
        )
        answered = pool.submit(together, [seal])
        wait_for_locks(stage, 1)
        owner.commit()
        [answer] = answered.result()
    assert answer.status == 409
    assert "another contractor" in answer.json["detail"]
    assert rows(stage, "records_record") == 0


def test_a_change_of_a_station_takes_its_drafts_before_the_station(teo, cast, station, stage):
    """Whoever changes a draft has it, and wants its station next."""
    visits.post(teo, station)
    path = f"/sites/{station.site}"
    tag = Api(cast.orla).get(path).etag

    def rename():
        return Api(cast.orla).patch(path, {"code": "B-91"}, tag)

    with ThreadPoolExecutor(1) as pool, stage.as_owner(autocommit=False) as owner:
        owner.execute("SELECT FROM records_event FOR UPDATE")
        answered = pool.submit(together, [rename])
        wait_for_locks(stage, 1)
        owner.execute("SELECT FROM records_site FOR KEY SHARE NOWAIT")
        owner.commit()
        [answer] = answered.result()
    assert (answer.status, answer.json["code"]) == (200, "B-91")


def test_a_draft_posted_and_changed_while_its_station_is_changed_keeps_nobody_waiting(
    teo, cast, station, stage, monkeypatch
):
    """It was not there yet when the drafts were taken; whoever changes it wants the station."""
    path = f"/sites/{station.site}"
    tag = Api(cast.orla).get(path).etag
    hold, held, posted, asked = drafts._hold_stations, Event(), Event(), []

    def rename():
        return Api(cast.orla).patch(path, {"code": "B-91"}, tag)

    def after_a_post(*words):
        asked.append(words)
        held.set()
        assert posted.wait(30)
        return hold(*words)

    monkeypatch.setattr(drafts, "_hold_stations", after_a_post)
    with ThreadPoolExecutor(1) as pool, stage.as_owner(autocommit=False) as owner:
        answered = pool.submit(together, [rename])
        assert held.wait(30)
        event = visits.post(teo, station)
        owner.execute("SELECT FROM records_event FOR UPDATE")
        posted.set()
        wait_for_locks(stage, 1)
        owner.execute("SELECT FROM records_site FOR KEY SHARE NOWAIT")
        owner.commit()
        [answer] = answered.result()
    assert (answer.status, answer.json["code"]) == (200, "B-91")
    assert len(asked) == 2  # gone back once, and changed once
    assert rows(stage, "records_auditentry", "action = 'changed'") == 1
    with stage.as_owner() as owner:
        [snapshot] = owner.execute("SELECT snapshot FROM records_event").fetchone()
    assert snapshot["site"]["code"] == "B-91"
    assert teo.get(f"/events/{event['id']}").json["revision"] == 2
