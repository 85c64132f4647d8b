"""Many callers at once, with real commits: nothing doubled, nothing lost, no gap in a chain."""

import time
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier, Event

import pytest
from django.db import connection

from records.errors import Unavailable
from records.services import event_rows, summaries
from records.services.tokens import digest_of
from tests.calculations.building_plates import pump, q
from tests.records import stations, visits
from tests.records.client import Answer, Api
from tests.records.devices import Device
from tests.records.verifying import verify
from tests.records.visits import found

pytestmark = pytest.mark.usefixtures("transactional_db")

FREQUENCY = "drive.volts-per-hertz"


def together(calls: list[Callable[[], Answer]]) -> list[Answer]:
    """The answers to calls that are made at the same moment, each from its own connection."""
    barrier = Barrier(len(calls), timeout=120)

    def run(call: Callable[[], Answer]) -> Answer:
        try:
            barrier.wait()
            return call()
        finally:
            connection.close()

    with ThreadPoolExecutor(len(calls)) as pool:
        return list(pool.map(run, calls))


def statuses(answers: list[Answer]) -> dict[int, int]:
    return dict(Counter(answer.status for answer in answers))


def rows(stage, table: str, where: str = "true") -> int:
    with stage.as_owner() as owner:
        return owner.execute(f"SELECT count(*) FROM {table} WHERE {where}").fetchone()[0]


def posting(person, path, document):
    return lambda: Api(person).post(path, document)


def test_nobody_waits_for_another_request_of_the_same_token(cast, stage):
    """Neither who uses it too, nor who notes that they did, nor who revokes it."""
    known = [digest_of(cast.teo.secret)]
    ask, note = "SELECT role FROM find_token(%s)", "SELECT note_use_of_token(%s)"
    noted = "SELECT use_of_token_is_noted(%s)"
    revoke = "UPDATE records_token SET revoked_at = now() WHERE digest = %s"
    with stage.as_owner(autocommit=False) as first, stage.as_owner() as second:
        second.execute("SET lock_timeout = '2s'")
        assert first.execute(ask, known).fetchone() == ("technician",)
        assert second.execute(ask, known).fetchone() == ("technician",)
        assert second.execute(note, known).rowcount == 1
    with stage.as_owner(autocommit=False) as first, stage.as_owner() as second:
        second.execute("SET lock_timeout = '2s'")
        second.execute("UPDATE records_token SET last_used_at = NULL WHERE digest = %s", known)
        first.execute(note, known)
        assert second.execute(note, known).rowcount == 1
        assert second.execute(noted, known).fetchone() == (None,)
    with stage.as_owner(autocommit=False) as first, stage.as_owner() as second:
        second.execute("SET lock_timeout = '2s'")
        first.execute(ask, known)
        assert second.execute(revoke, known).rowcount == 1
        assert second.execute(ask, known).fetchone() is None


# -- duplicates ---------------------------------------------------------------------------------


def test_the_same_event_from_many_phones_is_one(api, cast, station, stage):
    for _ in range(3):
        event = station.event()
        answers = together([posting(cast.teo, "/events", event)] * 8)
        assert statuses(answers) == {201: 1, 200: 7}
        assert all(answer.json == answers[0].json for answer in answers)
    assert rows(stage, "records_event") == 3


def test_of_the_same_id_with_other_content_one_is_kept(api, cast, station, stage):
    event = station.event(id=visits.new_id())
    calls = [posting(cast.teo, "/events", event | {"remarks": str(number)}) for number in range(8)]
    assert statuses(together(calls)) == {201: 1, 409: 7}
    assert rows(stage, "records_event") == 1


@pytest.mark.parametrize("in_a_batch", [False, True])
@pytest.mark.parametrize(("first_is_kept", "remarks", "second_gets"), [
    (True, "alike", 200), (True, "other", 409), (False, "alike", 201),
])  # fmt: skip
def test_a_post_waits_for_the_one_of_its_id_that_is_being_written(
    api, cast, station, stage, monkeypatch, first_is_kept, remarks, second_gets, in_a_batch
):
    """The second is written while the first is there, and not yet for others to see."""
    first, second = (
        station.event(id="01920000-0000-7000-8000-000000000001", remarks=words)
        for words in ("alike", remarks)
    )
    add, written, go_on = event_rows.add, Event(), Event()

    def held(event, *more):
        added = add(event, *more)
        if not written.is_set():
            written.set()
            assert go_on.wait(120)
            if not first_is_kept:
                raise Unavailable()
        return added

    monkeypatch.setattr(event_rows, "add", held)
    path, sent = ("/events/batch", {"events": [second]}) if in_a_batch else ("/events", second)
    with ThreadPoolExecutor(2) as pool:
        one = pool.submit(together, [posting(cast.teo, "/events", first)])
        assert written.wait(120)
        other = pool.submit(together, [posting(cast.orla, path, sent)])
        wait_for_locks(stage, 1)
        go_on.set()
        [answer_to_first], [answer] = one.result(), other.result()
    assert answer_to_first.status == (201 if first_is_kept else 503)
    [told] = answer.json["results"] if in_a_batch else [answer.json | {"status": answer.status}]
    assert told["status"] == second_gets
    assert rows(stage, "records_event") == 1
    assert rows(stage, "records_auditentry", "kind = 'event'") == 1


def test_the_same_resource_at_once_is_one(api, cast, station, stage):
    document = pump() | {"site": station.site, "tag": "P-7", "id": visits.new_id()}
    assert statuses(together([posting(cast.orla, "/pumps", document)] * 8)) == {201: 1, 200: 7}
    site = Api(cast.orla).get(f"/sites/{station.site}").json
    site = {name: value for name, value in site.items() if value is not None}
    site |= {"id": visits.new_id(), "code": "B-9"}
    assert statuses(together([posting(cast.orla, "/sites", site)] * 8)) == {201: 1, 200: 7}
    client = {"id": visits.new_id(), "name": "Marrow Fen Board"}
    calls = [posting(cast.orla, "/organizations", client)] * 8
    assert statuses(together(calls)) == {201: 1, 200: 7}
    limit = visits.limit(cast.client, "motor.slip", "large", "7", "%", id=visits.new_id())
    calls = [posting(cast.orla, "/rule-settings", limit)] * 8
    assert statuses(together(calls)) == {201: 1, 200: 7}
    assert rows(stage, "records_pump", "tag = 'P-7'") == 1


def test_a_key_that_a_device_registers_many_times_at_once_is_one(api, cast, stage):
    device = Device()
    calls = [lambda: device.register(Api(cast.teo))] * 8
    assert statuses(together(calls)) == {201: 1, 200: 7}
    assert rows(stage, "records_devicekey") == 1


def test_the_same_answer_signature_and_seal_at_once_are_one(teo, orla, cast, station, stage):
    event = teo.post("/events", visits.wrong_frequency(station)).json
    path = f"/events/{event['id']}"
    answer = {"id": visits.new_id(), "text": visits.WORDS}
    place = f"{path}/findings/{found(event, FREQUENCY)['id']}/answer"
    assert statuses(together([posting(cast.orla, place, answer)] * 8)) == {201: 1, 200: 7}
    visits.answer_all(orla, event)
    answered = rows(stage, "records_answer")
    digest = teo.get(f"{path}/signatures").json["to_sign"]["performed"]
    signature = {"id": visits.new_id(), "meaning": "performed", "digest": digest}
    calls = [posting(cast.teo, f"{path}/signatures", signature)] * 8
    assert statuses(together(calls)) == {201: 1, 200: 7}
    assert visits.sign(orla, event, "reviewed").status == 201
    answers = together([posting(cast.orla, f"{path}/seal", None)] * 8)
    assert statuses(answers) == {201: 1, 200: 7}
    assert all(answer.json == answers[0].json for answer in answers)
    assert [rows(stage, f"records_{name}") for name in ("answer", "signature", "record")] == [
        answered, 2, 1,
    ]  # fmt: skip


def test_of_two_corrections_sealed_at_once_one_wins(teo, orla, cast, station, stage):
    old = visits.sealed(teo, orla, station)
    why = {"corrects": old["id"], "correction_reason": "Wrong serial number."}
    drafts = [visits.signed(teo, orla, station, **why) for _ in range(4)]
    answers = together([posting(cast.orla, f"/events/{e['id']}/seal", None) for e in drafts])
    assert statuses(answers) == {201: 1, 409: 3}
    assert rows(stage, "records_record", "corrects_id IS NOT NULL") == 1


# -- lost updates -------------------------------------------------------------------------------


def test_visits_posted_at_once_are_all_counted_at_their_station(
    api, cast, station, stage, monkeypatch
):
    """Each adds to what is there when it has the row, which the one before it keeps for a while."""
    add = event_rows.add

    def keep(*given):
        added = add(*given)
        time.sleep(0.3)
        return added

    monkeypatch.setattr(event_rows, "add", keep)
    people = (cast.teo, cast.orla)  # two requests with one token wait for each other
    calls = [posting(person, "/events", visits.wrong_frequency(station)) for person in people]
    assert statuses(together(calls)) == {201: 2}
    with stage.as_owner() as owner:
        counted = owner.execute("SELECT drafts, open_stop FROM records_sitesummary").fetchall()
    assert counted == [(2, 2)]


@pytest.mark.parametrize(
    "slow", [(event_rows, "add"), (summaries, "refresh")], ids=["post", "change"]
)
def test_a_visit_posted_while_another_is_changed_is_counted(
    api, teo, cast, station, stage, monkeypatch, slow
):
    """Whichever holds the row first: one adds to it, the other counts anew."""
    draft = visits.post(teo, station)
    holds = getattr(*slow)
    held = Event()

    def keep(*given):
        done = holds(*given)
        held.set()
        time.sleep(0.3)
        return done

    def change():
        settings = {"as_left": {"motor_frequency": q("50", "Hz")}}
        return Api(cast.orla).patch(f"/events/{draft['id']}", {"settings": settings}, '"1.0"')

    def wait_for(call):
        def waited():
            assert held.wait(120)
            return call()

        return waited

    monkeypatch.setattr(*slow, keep)
    calls = [posting(cast.teo, "/events", visits.wrong_frequency(station)), change]
    first = 0 if slow[1] == "add" else 1
    calls[1 - first] = wait_for(calls[1 - first])
    assert statuses(together(calls)) == {201: 1, 200: 1}
    with stage.as_owner() as owner:
        counted = owner.execute("SELECT drafts, open_stop FROM records_sitesummary").fetchall()
    assert counted == [(2, 2)]


def test_batches_for_the_same_stations_do_not_wait_for_each_other(
    orla, cast, station, stage, monkeypatch
):
    """Each holds the count of a station to its end; they name the two in opposite orders."""
    other = stations.register(orla, cast.client, code="B-90")
    add = event_rows.add

    def keep(*given):
        added = add(*given)
        time.sleep(0.3)
        return added

    monkeypatch.setattr(event_rows, "add", keep)
    batches = [[station.event(), other.event()], [other.event(), station.event()]]
    people = (cast.teo, cast.orla)
    calls = [posting(who, "/events/batch", {"events": events})
             for who, events in zip(people, batches, strict=True)]  # fmt: skip
    for answer, sent in zip(together(calls), batches, strict=True):
        assert answer.status == 200, answer.json
        told = answer.json["results"]
        assert [each["status"] for each in told] == [201, 201]
        assert [each["event"]["id"] for each in told] == [each["id"] for each in sent]
    with stage.as_owner() as owner:
        counted = owner.execute("SELECT drafts FROM records_sitesummary").fetchall()
    assert counted == [(2,), (2,)]


def test_of_sixteen_writers_one_wins_each_round(teo, cast, station):
    event = visits.post(teo, station)
    path, tag = f"/events/{event['id']}", '"1"'
    for round_ in range(4):

        def writing(number, tag=tag, round_=round_):
            words = f"round {round_}, writer {number}"
            return lambda: Api(cast.teo).patch(path, {"remarks": words}, tag)

        answers = together([writing(number) for number in range(16)])
        assert statuses(answers) == {200: 1, 412: 15}
        [won] = [answer for answer in answers if answer.status == 200]
        now = teo.get(path)
        assert (now.json, now.etag) == (won.json, won.etag)
        assert {answer.etag for answer in answers} == {won.etag}
        tag = won.etag


def test_of_eight_writers_of_a_plate_one_wins(orla, cast, station):
    path = f"/pumps/{station.ids['P-101']}"
    calls = [
        lambda stages=stages: Api(cast.orla).patch(path, {"stages": stages}, '"1"')
        for stages in range(3, 11)
    ]
    answers = together(calls)
    assert statuses(answers) == {200: 1, 412: 7}
    assert {answer.etag for answer in answers} == {'"2"'}
    [won] = [answer for answer in answers if answer.status == 200]
    assert orla.get(path).json == won.json


# -- chains -------------------------------------------------------------------------------------


def test_eight_that_seal_at_one_site_leave_no_gap(teo, orla, cleo, cast, station):
    events = [visits.signed(teo, orla, station) for _ in range(8)]
    calls = [posting(cast.orla, f"/events/{event['id']}/seal", None) for event in events]
    assert statuses(together(calls)) == {201: 8}
    listed = cleo.get(f"/records?site={station.site}&after_number=0").json["items"]
    assert [record["number"] for record in listed] == list(range(1, 9))
    digests = [record["seal"]["digest"] for record in listed]
    assert [record["previous_digest"] for record in listed] == [None, *digests[:-1]]
    for record in listed:
        text = verify(cleo.get(f"/records/{record['id']}/data.json").content)
        assert (text["number"], text["previous"]) == (record["number"], record["previous_digest"])


def test_what_comes_while_it_is_sealed_is_in_the_record_or_refused(teo, orla, cast, station):
    for _ in range(4):
        event = teo.post("/events", visits.wrong_frequency(station)).json
        path = f"/events/{event['id']}"
        visits.answer_all(orla, event)
        for person, meaning in ((teo, "performed"), (orla, "reviewed")):
            assert visits.sign(person, event, meaning).status == 201
        place = f"{path}/findings/{found(event, FREQUENCY)['id']}/answer"
        tag = teo.get(path).etag
        answers = together(
            [
                posting(cast.orla, f"{path}/seal", None),
                posting(cast.orla, place, {"text": "One word more."}),
                lambda path=path, tag=tag: Api(cast.teo).patch(path, {"remarks": "more"}, tag),
            ]
        )
        seal, answer, change = answers
        assert {each.status for each in answers} <= {200, 201, 409, 412}
        now = teo.get(path).json
        if seal.status == 201:
            assert (now["state"], answer.status, change.status) == ("sealed", 409, change.status)
            assert change.status in (409, 412)
            text = orla.get(f"/records/{seal.json['id']}/data.json").json["record"]
            assert {name: now[name] for name in text["event"]} == text["event"]
            assert text["answers"][-1]["text"] == visits.WORDS
        else:
            assert (now["state"], now["record"]) == ("draft", None)


def test_a_plate_that_changes_while_it_is_signed_is_not_signed_unseen(teo, orla, cast, station):
    path = f"/motors/{station.ids['M-101']}"
    for speed in ("1600", "1610", "1620", "1630"):
        event = visits.post(teo, station)
        at = f"/events/{event['id']}/signatures"
        digest = teo.get(at).json["to_sign"]["performed"]
        motor = orla.get(path)
        ratings = motor.json["ratings"]
        ratings[1]["speed"] = q(speed, "rpm")
        signed, changed = together(
            [
                posting(cast.teo, at, {"meaning": "performed", "digest": digest}),
                lambda r=ratings, t=motor.etag: Api(cast.orla).patch(path, {"ratings": r}, t),
            ]
        )
        assert changed.status == 200
        now = teo.get(at).json
        if signed.status == 201:
            assert now["signatures"] == [signed.json]
            assert now["to_sign"]["performed"] == digest
        else:
            assert (signed.status, now["signatures"]) == (409, [])


# -- people -------------------------------------------------------------------------------------


def test_of_two_offices_that_remove_each_other_one_stays(api, cast, stage):
    """Each waits for the same first row; who was removed meanwhile removes nobody."""
    remove = [(cast.orla, cast.teo), (cast.teo, cast.orla)]
    with stage.as_owner() as owner:
        for table in ("records_membership", "records_token"):
            owner.execute(f"UPDATE {table} SET role = 'office' WHERE user_id = %s", [cast.teo.id])
    with ThreadPoolExecutor(1) as pool, stage.as_owner(autocommit=False) as owner:
        owner.execute("SELECT FROM records_membership FOR UPDATE")
        answers = pool.submit(together, [removing(*each) for each in remove])
        wait_for_locks(stage, 2)
        owner.rollback()
        assert statuses(answers.result()) == {204: 1, 403: 1}
    left = f"organization_id = '{cast.contractor}' AND ended_at IS NULL"
    assert rows(stage, "records_membership", left) == 1


def removing(office, member):
    return lambda: Api(office).delete(f"/members/{member.id}")


HERE = "(SELECT pid FROM pg_stat_activity WHERE datname = current_database())"


def wait_for_locks(stage, count):
    deadline = time.monotonic() + 120
    while rows(stage, "pg_locks", f"NOT granted AND pid IN {HERE}") < count:
        assert time.monotonic() < deadline, "nobody waits"
        time.sleep(0.02)
