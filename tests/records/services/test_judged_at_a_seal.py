"""Drafts at a station are judged beside what is sealed there, whatever pump set it was of."""

from concurrent.futures import ThreadPoolExecutor

import pytest

from records.services import drafts
from tests.records import visits
from tests.records.client import Api
from tests.records.services.test_concurrency import posting, together, wait_for_locks
from tests.records.services.test_judged_again import alone, on, read, verified
from tests.records.services.test_judged_as_it_stands import Pause

pytestmark = pytest.mark.usefixtures("transactional_db")


def drift_begins_with(event):
    begun = event["records_beside"]["anew"].get("sensor PT-101 S-3301")
    return begun and begun["record_id"]


def test_a_draft_to_which_a_verification_is_added_during_a_seal_is_judged_beside_it(
    teo, orla, cast, station, stage, monkeypatch
):
    """It verified nothing, and is of no pump set, when the seal took what it has to judge."""
    bare = station.event(**alone(station, "2026-03-14", verified("20.070")))
    added = {"sensor_verifications": bare.pop("sensor_verifications")}
    draft = teo.post("/events", bare)
    path = f"/events/{draft.json['id']}"
    event = visits.signed(teo, orla, station, **on(station, "2024-03-14"))
    done = Pause(monkeypatch, drafts, "around", after=True)
    with ThreadPoolExecutor(2) as pool:
        sealed = pool.submit(together, [posting(cast.orla, f"/events/{event['id']}/seal", None)])
        assert done.reached.wait(60)
        changed = pool.submit(together, [lambda: Api(cast.teo).patch(path, added, draft.etag)])
        wait_for_locks(stage, 1)
        done.go_on.set()
        [record], [answer] = sealed.result(), changed.result()
    assert (record.status, answer.status) == (201, 200), answer.json
    assert drift_begins_with(read(teo, draft.json)) == record.json["id"]


def test_a_draft_is_judged_without_a_verification_that_a_correction_takes_back(teo, orla, station):
    """It was of another sensor: what is left of the record names none."""
    record = visits.sealed(teo, orla, station, **on(station, "2024-03-14"))
    draft = visits.post(teo, station, **alone(station, "2026-03-14", verified("20.070")))
    assert drift_begins_with(draft) == record["id"]
    correction = {
        "sensor_verifications": [], "corrects": record["id"],
        "correction_reason": "The transmitter that was verified is another station's.",
    }  # fmt: skip
    visits.sealed(teo, orla, station, **on(station, "2024-03-14") | correction)
    assert drift_begins_with(read(teo, draft)) is None


def test_a_draft_is_judged_without_a_record_that_a_correction_moves_to_another_pump_set(
    teo, orla, station
):
    """As where a visit was entered at the wrong one of two."""
    record = visits.sealed(teo, orla, station, **on(station, "2024-03-14"))
    bare = station.event(**on(station, "2026-03-14"))
    del bare["sensor_verifications"]
    draft = teo.post("/events", bare).json
    assert draft["earlier_record"]["record_id"] == record["id"]
    correction = {
        "corrects": record["id"], "correction_reason": "It was no visit to this pump set.",
    }  # fmt: skip
    moved = alone(station, "2024-03-14", verified("20.000")) | correction
    visits.sealed(teo, orla, station, **moved)
    assert read(teo, draft)["earlier_record"] is None
