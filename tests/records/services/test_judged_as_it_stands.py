"""A draft is judged against the register as it is when the draft is kept, not when it was read."""

from concurrent.futures import ThreadPoolExecutor
from threading import Event as Flag

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from records.services import drafts, event_rows, events, register
from records.services.event_rows import Outcome
from tests.calculations import building_plates
from tests.calculations.building_plates import q
from tests.records import visits
from tests.records.client import Api
from tests.records.services.test_concurrency import posting, rows, together, wait_for_locks

pytestmark = pytest.mark.usefixtures("transactional_db")

CHANGES = {
    "code": ("sites", {"code": "B-91"}),
    "elevation": ("sites", {"elevation": q("71", "m")}),
    "pump set": ("pump-sets", {"group": "another"}),
    "motor": ("motors", {"serial": "another"}),
    "sensor": ("sensors", {"serial": "another"}),
    "vessel": ("vessels", {"serial": "another"}),
    "instrument": ("instruments", {"maker_text": "another"}),
}
TAGS = {"motors": "M-101", "sensors": "PT-101", "vessels": "V-1"}


@pytest.fixture(params=CHANGES)
def changing(request, cast, station):
    """A change of one thing that an event is judged against: the call that makes it."""
    kind, patch = CHANGES[request.param]
    path = f"/{kind}/{identity(kind, station)}"
    tag = Api(cast.orla).get(path).etag
    return lambda: Api(cast.orla).patch(path, patch, tag)


def identity(kind, station):
    if kind == "sites":
        return station.site
    if kind == "pump-sets":
        return station.pump_set
    if kind == "instruments":
        return station.ids[min(events.instruments_named(station.event()))]
    return station.ids[TAGS[kind]]


class Pause:
    """Stops the first call of a function until it is told to go on."""

    def __init__(self, monkeypatch, where, name, *, after=False):
        self.reached, self.go_on, self.calls = Flag(), Flag(), 0
        self.inner, self.after = getattr(where, name), after
        monkeypatch.setattr(where, name, self)

    def __call__(self, *given, **named):
        self.calls += 1
        if self.calls > 1:
            return self.inner(*given, **named)
        done = self.inner(*given, **named) if self.after else None
        self.reached.set()
        assert self.go_on.wait(60)
        return done if self.after else self.inner(*given, **named)


def taking_away(cast, path):
    return lambda: Api(cast.orla).delete(path)


def kept(stage):
    with stage.as_owner() as owner:
        return owner.execute("SELECT snapshot FROM records_event ORDER BY row").fetchall()


def stands(teo, station):
    """The snapshot of a draft that is posted when all is quiet."""
    answer = teo.post("/events", station.event())
    assert answer.status == 201, answer.json
    return answer.json["snapshot"]


def test_what_is_changed_before_a_draft_is_written_is_in_it(
    teo, cast, station, stage, monkeypatch, changing
):
    writing = Pause(monkeypatch, event_rows, "add")
    with ThreadPoolExecutor(1) as pool:
        answered = pool.submit(together, [posting(cast.teo, "/events", station.event())])
        assert writing.reached.wait(60)
        [changed] = together([changing])
        writing.go_on.set()
        [answer] = answered.result()
    assert (changed.status, answer.status) == (200, 201)
    [[snapshot]] = kept(stage)
    assert snapshot == stands(teo, station)


def test_what_is_added_before_a_draft_is_written_is_in_it(teo, cast, station, stage, monkeypatch):
    """A sensor that no pump set holds belongs to every draft of its station."""
    loose = building_plates.sensors()[0] | {"site": station.site, "tag": "PT-9"}
    writing = Pause(monkeypatch, event_rows, "add")
    with ThreadPoolExecutor(1) as pool:
        answered = pool.submit(together, [posting(cast.teo, "/events", station.event())])
        assert writing.reached.wait(60)
        [added] = together([posting(cast.orla, "/sensors", loose)])
        writing.go_on.set()
        [answer] = answered.result()
    assert (added.status, answer.status) == (201, 201)
    [[snapshot]] = kept(stage)
    assert "PT-9" in {each["tag"] for each in snapshot["sensors"]}


@pytest.mark.parametrize("again", [False, True], ids=["set", "taken away"])
def test_a_limit_changed_before_a_draft_is_written_is_what_it_is_judged_by(
    teo, cast, orla, station, monkeypatch, again
):
    wanted = visits.limit(cast.client, "motor.slip", "from-15-kw", "0.1", "%")
    change = posting(cast.orla, "/rule-settings", wanted)
    if again:
        set_before = orla.post("/rule-settings", wanted).json["id"]
        change = taking_away(cast, f"/rule-settings/{set_before}")
    writing = Pause(monkeypatch, event_rows, "add")
    with ThreadPoolExecutor(1) as pool:
        answered = pool.submit(together, [posting(cast.teo, "/events", station.event())])
        assert writing.reached.wait(60)
        [changed] = together([change])
        writing.go_on.set()
        [answer] = answered.result()
    assert (changed.status, answer.status) == (204 if again else 201, 201)
    told = {each["rule"] for each in teo.get(f"/events/{answer.json['id']}").json["findings"]}
    assert ("motor.slip" in told) is not again


@pytest.mark.parametrize("changing", ["elevation"], indirect=True)
def test_it_is_in_a_draft_of_a_batch_as_well(teo, cast, station, stage, monkeypatch, changing):
    writing = Pause(monkeypatch, event_rows, "add")
    sent = {"events": [station.event()]}
    with ThreadPoolExecutor(1) as pool:
        answered = pool.submit(together, [posting(cast.teo, "/events/batch", sent)])
        assert writing.reached.wait(60)
        [changed] = together([changing])
        writing.go_on.set()
        [answer] = answered.result()
    assert (changed.status, answer.json["results"][0]["status"]) == (200, 201)
    [[snapshot]] = kept(stage)
    assert snapshot == stands(teo, station)


@pytest.mark.parametrize("changing", ["instrument"], indirect=True)
def test_what_a_batch_names_is_held_before_its_first_draft(
    teo, cast, station, stage, monkeypatch, changing
):
    """Whoever changes an instrument wants counts of stations that the batch has by its second."""
    writing = Pause(monkeypatch, event_rows, "add")
    sent = {"events": ["not an event", station.event()]}
    with ThreadPoolExecutor(2) as pool:
        answered = pool.submit(together, [posting(cast.teo, "/events/batch", sent)])
        assert writing.reached.wait(60)
        changed = pool.submit(together, [changing])
        wait_for_locks(stage, 1)
        writing.go_on.set()
        assert [each["status"] for each in answered.result()[0].json["results"]] == [400, 201]
        assert changed.result()[0].status == 200
    [[snapshot]] = kept(stage)
    assert snapshot == stands(teo, station)


def test_what_is_being_changed_is_waited_for(teo, cast, station, stage, monkeypatch, changing):
    """It is not committed yet when the draft is written, and does not see it."""
    writing = Pause(monkeypatch, event_rows, "add")
    done = Pause(monkeypatch, register, "change", after=True)
    with ThreadPoolExecutor(2) as pool:
        answered = pool.submit(together, [posting(cast.teo, "/events", station.event())])
        assert writing.reached.wait(60)
        changed = pool.submit(together, [changing])
        assert done.reached.wait(60)
        writing.go_on.set()
        wait_for_locks(stage, 1)
        done.go_on.set()
        assert changed.result()[0].status == 200
        [answer] = answered.result()
    assert answer.status == 201, answer.json
    assert writing.calls == 2
    [[snapshot]] = kept(stage)
    assert snapshot == answer.json["snapshot"] == stands(teo, station)
    assert rows(stage, "records_auditentry", "action = 'added' AND kind = 'event'") == 2


def test_a_draft_that_is_written_is_waited_for_and_judged_again(
    teo, cast, station, stage, monkeypatch, changing
):
    written = Pause(monkeypatch, event_rows, "add", after=True)
    with ThreadPoolExecutor(2) as pool:
        answered = pool.submit(together, [posting(cast.teo, "/events", station.event())])
        assert written.reached.wait(60)
        changed = pool.submit(together, [changing])
        wait_for_locks(stage, 1)
        written.go_on.set()
        assert answered.result()[0].status == 201
        assert changed.result()[0].status == 200
    [[snapshot]] = kept(stage)
    assert snapshot == stands(teo, station)


def test_an_instrument_that_a_change_of_a_draft_names_is_held_until_it_is_kept(
    teo, orla, cast, station, stage, monkeypatch
):
    named = station.event().get("instruments")
    event = visits.post(teo, station)
    known = orla.get(f"/instruments/{station.ids['I-5']}").json
    copied = {name: value for name, value in known.items() if name != "id" and value is not None}
    made = orla.post("/instruments", copied | {"serial": "N-1"})
    assert made.status == 201, made.json
    path = f"/instruments/{made.json['id']}"

    def calibrated():
        return Api(cast.orla).patch(path, {"maker_text": "another"}, made.etag)

    tag = teo.get(f"/events/{event['id']}").etag

    def naming():
        patch = {"instruments": [*(named or ()), made.json["id"]]}
        return Api(cast.teo).patch(f"/events/{event['id']}", patch, tag)

    keeping = Pause(monkeypatch, events, "_keep")
    with ThreadPoolExecutor(2) as pool:
        answered = pool.submit(together, [naming])
        assert keeping.reached.wait(60)
        changed = pool.submit(together, [calibrated])
        wait_for_locks(stage, 1)
        keeping.go_on.set()
        assert answered.result()[0].status == 200
        assert changed.result()[0].status == 200
    [[snapshot]] = kept(stage)
    assert "another" in {each.get("maker_text") for each in snapshot["instruments"]}


def sealing(cast, teo, orla, station):
    """Seals a record of the pump set, performed before all that is posted here."""
    event = visits.signed(teo, orla, station, performed_at="2026-03-10T09:30:00Z")
    return posting(cast.orla, f"/events/{event['id']}/seal", None)


def earlier(teo, identity):
    told = teo.get(f"/events/{identity}").json["earlier_record"]
    return told and told["number"]


def test_a_record_sealed_before_a_draft_is_written_is_what_it_is_judged_beside(
    teo, orla, cast, station, monkeypatch
):
    seal = sealing(cast, teo, orla, station)
    writing = Pause(monkeypatch, event_rows, "add")
    with ThreadPoolExecutor(1) as pool:
        answered = pool.submit(together, [posting(cast.teo, "/events", station.event())])
        assert writing.reached.wait(60)
        [sealed] = together([seal])
        writing.go_on.set()
        [answer] = answered.result()
    assert (sealed.status, answer.status) == (201, 201)
    assert writing.calls == 2
    assert earlier(teo, answer.json["id"]) == 1


def test_so_is_one_that_is_being_sealed(teo, orla, cast, station, stage, monkeypatch):
    """It is not committed yet when the draft is written, and does not see it."""
    seal = sealing(cast, teo, orla, station)
    writing = Pause(monkeypatch, event_rows, "add")
    done = Pause(monkeypatch, drafts, "around", after=True)
    with ThreadPoolExecutor(2) as pool:
        answered = pool.submit(together, [posting(cast.teo, "/events", station.event())])
        assert writing.reached.wait(60)
        sealed = pool.submit(together, [seal])
        assert done.reached.wait(60)
        writing.go_on.set()
        wait_for_locks(stage, 1)
        done.go_on.set()
        assert sealed.result()[0].status == 201
        [answer] = answered.result()
    assert answer.status == 201, answer.json
    assert earlier(teo, answer.json["id"]) == 1


def test_a_draft_that_is_written_while_another_is_sealed_is_judged_again(
    teo, orla, cast, station, stage, monkeypatch
):
    seal = sealing(cast, teo, orla, station)
    written = Pause(monkeypatch, event_rows, "add", after=True)
    with ThreadPoolExecutor(2) as pool:
        answered = pool.submit(together, [posting(cast.teo, "/events", station.event())])
        assert written.reached.wait(60)
        sealed = pool.submit(together, [seal])
        wait_for_locks(stage, 1)
        written.go_on.set()
        assert sealed.result()[0].status == 201
        [answer] = answered.result()
    assert earlier(teo, answer.json["id"]) == 1


def test_a_change_of_a_draft_that_waited_for_the_first_seal_is_judged_beside_it(
    teo, orla, cast, station, stage, monkeypatch
):
    event = visits.post(teo, station)
    seal = sealing(cast, teo, orla, station)
    path = f"/events/{event['id']}"
    tag = Api(cast.teo).get(path).etag
    done = Pause(monkeypatch, drafts, "around")
    with ThreadPoolExecutor(2) as pool:
        sealed = pool.submit(together, [seal])
        assert done.reached.wait(60)
        changed = pool.submit(
            together, [lambda: Api(cast.teo).patch(path, {"remarks": "Dry."}, tag)]
        )
        wait_for_locks(stage, 1)
        # As where the seal did not judge the draft again.
        monkeypatch.setattr(done, "inner", lambda *_: None)
        done.go_on.set()
        assert sealed.result()[0].status == 201
        assert changed.result()[0].status == 200, changed.result()[0].json
    assert earlier(teo, event["id"]) == 1


def test_a_register_that_does_not_come_to_rest_is_told_and_nothing_is_kept(
    teo, station, stage, monkeypatch
):
    asked = []
    monkeypatch.setattr(event_rows, "add", lambda *_: asked.append(1) or Outcome.MOVED)
    answer = teo.post("/events", station.event())
    assert (answer.status, len(asked)) == (409, events.TRIES)
    assert "send it again" in answer.json["detail"]
    assert rows(stage, "records_event") == 0


def test_it_costs_no_statement_where_nothing_is_changed(teo, station):
    with CaptureQueriesContext(connection) as captured:
        assert teo.post("/events", station.event()).status == 201
    asked = [each["sql"] for each in captured if "records_" in each["sql"]]
    assert len(asked) == 2  # what stands around, and one that writes
