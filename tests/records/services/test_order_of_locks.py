"""Who has a station, its count or its drafts waits for nobody who waits for them."""

from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from threading import Event
from uuid import UUID, uuid4

import psycopg
import pytest
from django.db import OperationalError
from django.db.models import Q

from records import permissions
from records.models.base import new_id
from records.services import drafts, holding, kept_due_dates, replacements
from records.services.importing import imports
from records.services.tokens import actor_of_person
from tests.records import stations, visits
from tests.records.client import Api, leave
from tests.records.enrolling import by_token
from tests.records.services.test_concurrency import posting, rows, together, wait_for_locks

pytestmark = pytest.mark.usefixtures("transactional_db")


def sealing(cast, teo, orla, station):
    event = visits.signed(teo, orla, station, performed_at="2026-03-10T09:30:00Z")
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
    hold, held, posted, asked = holding.stations, Event(), Event(), []

    def rename():
        return Api(cast.orla).patch(path, {"code": "B-91"}, tag)

    def after_a_post(*words):
        asked.append(words)
        held.set()
        assert posted.wait(120)
        return hold(*words)

    monkeypatch.setattr(holding, "stations", after_a_post)
    with ThreadPoolExecutor(1) as pool, stage.as_owner(autocommit=False) as owner:
        answered = pool.submit(together, [rename])
        assert held.wait(120)
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


def test_a_seal_lets_everything_go_where_a_draft_posted_meanwhile_is_held(
    teo, orla, cast, station, stage, monkeypatch
):
    """It was not there when the drafts of the pump set were taken; its holder wants the count."""
    seal = sealing(cast, teo, orla, station)
    held, posted = Event(), Event()
    inner = holding.drafts_first

    def after_a_post(these, others, change):
        def hold():
            if not posted.is_set():
                held.set()
                assert posted.wait(120)
            others()

        return inner(these, hold, change)

    monkeypatch.setattr(holding, "drafts_first", after_a_post)
    with ThreadPoolExecutor(1) as pool, stage.as_owner(autocommit=False) as owner:
        answered = pool.submit(together, [seal])
        assert held.wait(120)
        event = visits.post(teo, station)
        owner.execute("SELECT FROM records_event WHERE id = %s FOR UPDATE", [event["id"]])
        posted.set()
        wait_for_locks(stage, 1)
        owner.execute("SELECT FROM records_sitesummary FOR UPDATE NOWAIT")
        owner.commit()
        [answer] = answered.result()
    assert answer.status == 201
    assert teo.get(f"/events/{event['id']}").json["earlier_record"]["number"] == 1


def test_a_lock_that_a_change_could_not_have_in_time_is_told_and_not_asked_for_again(
    teo, cast, station
):
    """Only a draft that somebody else holds is a reason to begin anew."""
    visits.post(teo, station)
    tries = []

    def give_up():
        tries.append(1)
        assert len(tries) == 1
        raise OperationalError("too late") from psycopg.errors.LockNotAvailable("too late")

    def change():
        actor = by_token(cast.orla)
        with permissions.inside(actor):
            drafts.at_stations(actor, Q(id=station.site), give_up)

    with pytest.raises(OperationalError, match="too late"):
        together([change])
    assert tries == [1]


# -- several stations -------------------------------------------------------------------------


@pytest.fixture
def two(orla, cast, station):
    """Two stations: the id of the one that was registered later comes first."""
    other = stations.register(orla, cast.client, code="B-02", id=str(UUID(int=1)))
    assert other.site < station.site
    return station, other


@contextmanager
def while_the_first_is_held(stage, table, call, still_free):
    """A call that waits for the row of the station that was registered first, and has no other."""
    column = "row" if table == "records_site" else "site_id"
    with ThreadPoolExecutor(1) as pool, stage.as_owner(autocommit=False) as owner:
        first = owner.execute("SELECT min(row) FROM records_site").fetchone()
        owner.execute(f"SELECT FROM {table} WHERE {column} = %s FOR UPDATE", first)
        answered = pool.submit(together, [call])
        wait_for_locks(stage, 1)
        owner.execute(f"SELECT FROM {still_free} FOR UPDATE NOWAIT")
        owner.commit()
        yield answered.result()[0]


THE_OTHER = "records_site WHERE row = (SELECT max(row) FROM records_site)"


def test_a_batch_takes_stations_in_the_order_of_all(cast, two, stage):
    sent = {"events": [each.event() for each in reversed(two)]}
    call = posting(cast.teo, "/events/batch", sent)
    with while_the_first_is_held(stage, "records_site", call, THE_OTHER) as answer:
        assert [each["status"] for each in answer.json["results"]] == [201, 201]


COLUMNS = "Station;Tag;Type;Rated speed (rpm);Rated flow (m3/h);Rated head (m)"


def sent_table(person, *lines, columns=COLUMNS):
    """A spreadsheet that came in, and is to be tried."""
    identity = uuid4()
    table = "\r\n".join([columns, *lines]).encode()
    for do in (
        lambda actor: imports.take(actor, "pumps.csv", table, identity),
        lambda actor: imports.choose(actor, imports.get(actor, identity), {}, {}, {}),
    ):
        of_office(person, do)
    return identity


def of_office(person, do):
    actor = by_token(person)
    try:
        with permissions.inside(actor):
            return do(actor)
    finally:
        leave()


def asked_to_write(person, identity):
    def ask(actor):
        imports.ask_to_write(actor, imports.get(actor, identity), without_refused=False)

    of_office(person, ask)


def state(person, identity):
    return of_office(person, lambda actor: imports.get(actor, identity).state)


@pytest.fixture
def table(cast, two):
    """Adds a pump at each station, and changes one; the other station's come first."""
    pump = "end suction;1450;45,5;32"
    return sent_table(
        cast.orla, f"B-02;P-901;{pump}", f"B-01;P-901;{pump}", "B-02;P-101;end suction;1455;;"
    )


def test_a_file_that_is_tried_takes_the_stations_that_it_adds_to_in_the_order_of_all(
    cast, table, stage
):
    with while_the_first_is_held(
        stage, "records_site", lambda: imports.go_on(table), THE_OTHER
    ) as done:
        assert done
    assert state(cast.orla, table) == "checked"


def test_a_file_that_is_written_takes_its_stations_in_the_order_of_all(
    teo, cast, two, table, stage
):
    visits.post(teo, two[1])
    assert imports.go_on(table)
    asked_to_write(cast.orla, table)
    with while_the_first_is_held(
        stage, "records_site", lambda: imports.go_on(table), THE_OTHER
    ) as done:
        assert done
    assert state(cast.orla, table) == "written"


def test_a_file_that_is_written_takes_drafts_before_stations(teo, cast, two, table, stage):
    visits.post(teo, two[1])
    assert imports.go_on(table)
    asked_to_write(cast.orla, table)
    with ThreadPoolExecutor(1) as pool, stage.as_owner(autocommit=False) as owner:
        owner.execute("SELECT FROM records_event FOR UPDATE")
        answered = pool.submit(together, [lambda: imports.go_on(table)])
        wait_for_locks(stage, 1)
        owner.execute("SELECT FROM records_site FOR UPDATE NOWAIT")
        owner.commit()
        assert answered.result() == [True]
    assert state(cast.orla, table) == "written"


# -- records ----------------------------------------------------------------------------------


def test_records_are_handed_on_in_the_order_of_all(teo, orla, cast, station, stage):
    """Whoever makes their readings anew holds many of them, in that order."""
    for day in ("10", "11"):
        visits.sealed(teo, orla, station, performed_at=f"2026-03-{day}T09:30:00Z")
    words = ("--client", str(cast.client), "--code", "B-01", "--contractor",
             str(cast.other_contractor), "--by", "Ines of the operator", "--reason", "Her letter.",
             "--hand-on-records")  # fmt: skip
    with stage.as_owner() as owner:  # a table is not read in the order of its rows once changed
        owner.execute(
            "UPDATE records_record SET handed_to = ARRAY[%s]"
            " WHERE row = (SELECT min(row) FROM records_record)",
            [cast.other_client],
        )
    with ThreadPoolExecutor(1) as pool, stage.as_owner(autocommit=False) as owner:
        owner.execute(
            "SELECT FROM records_record WHERE row = (SELECT min(row) FROM records_record)"
            " FOR NO KEY UPDATE"
        )
        appointed = pool.submit(stage.command, "appoint", *words)
        wait_for_locks(stage, 1)
        owner.execute(
            "SELECT FROM records_record WHERE row = (SELECT max(row) FROM records_record)"
            " FOR NO KEY UPDATE NOWAIT"
        )
        owner.commit()
        status, said = appointed.result()
    assert status == 0, said
    assert rows(stage, "records_record", f"'{cast.other_contractor}' = ANY (handed_to)") == 2


def test_due_dates_of_several_stations_are_kept_in_the_order_of_all(two, stage):
    """A table is not read in the order of its rows once some of them have been changed."""
    with stage.as_owner() as owner:
        owner.execute("UPDATE records_sitesummary SET due_dates = NULL")
        owner.execute(
            "UPDATE records_sitesummary SET drafts = 0"
            " WHERE site_id = (SELECT min(row) FROM records_site)"
        )
    free = "records_sitesummary WHERE site_id = (SELECT max(row) FROM records_site)"
    with while_the_first_is_held(
        stage, "records_sitesummary", kept_due_dates.keep_waiting, free
    ) as kept:
        assert kept == 2


def test_who_begins_a_replacement_takes_instruments_before_the_count(
    teo, orla, cast, station, stage
):
    record = visits.sealed(teo, orla, station)["id"]

    def begin():
        actor = actor_of_person(cast.teo.id, presence=permissions.Presence())
        with permissions.inside(actor):
            given = {"id": str(new_id()), "reason": "The clamp meter was on the other range."}
            return replacements.begin(actor, UUID(record), given).state

    with ThreadPoolExecutor(1) as pool, stage.as_owner(autocommit=False) as owner:
        owner.execute("SELECT FROM records_instrument FOR UPDATE")
        answered = pool.submit(together, [begin])
        wait_for_locks(stage, 1)
        owner.execute("SELECT FROM records_sitesummary FOR UPDATE NOWAIT")
        owner.commit()
        assert answered.result() == ["draft"]
