"""What figures rest on beside a record's text: its traces, and visits that may be shown in it."""

import json

import pytest
from django.core.files.storage import default_storage

from records import permissions
from records.models import Record
from records.selectors import plotted, traces
from records.services.files import stored_name
from tests.records import visits
from tests.records.api.test_traces import named, step, upload
from tests.records.client import leave

pytestmark = pytest.mark.django_db


def beside(record):
    """What the worker hands in for a record's document."""
    leave()
    permissions.enter_as_worker()
    row = Record.objects.get(id=record["id"])
    return plotted.of_record(row, json.loads(bytes(row.canonical)))


def numbers(found):
    return [visit.number for visit in found.earlier]


def corrected(teo, orla, station, record):
    again = {"corrects": record["id"], "correction_reason": "the wrong gauge was read"}
    return visits.sealed(teo, orla, station, **again)


def traced(teo, orla, station):
    """A sealed record with a step and its rows."""
    event = visits.post(teo, station)
    trace = upload(teo, event, step()).json["id"]
    named(teo, event, trace)
    visits.sign_both(teo, orla, event)
    sealed = orla.post(f"/events/{event['id']}/seal")
    assert sealed.status == 201, sealed.json
    return sealed.json, trace


# -- visits ---------------------------------------------------------------------------------------


def test_a_record_is_set_beside_those_before_it_and_never_beside_later_ones(teo, orla, station):
    first, second, third = (visits.sealed(teo, orla, station) for _ in range(3))
    assert [numbers(beside(each)) for each in (first, second, third)] == [[], [1], [1, 2]]


def test_a_corrected_record_counts_until_it_was_corrected(teo, orla, station):
    first, second = (visits.sealed(teo, orla, station) for _ in range(2))
    third = corrected(teo, orla, station, first)
    fourth = visits.sealed(teo, orla, station)
    assert numbers(beside(second)) == [1]
    assert numbers(beside(third)) == [2]
    assert sorted(numbers(beside(fourth))) == [2, 3]


def test_a_record_shows_no_visit_that_a_party_to_it_may_not_see(teo, orla, station, cast):
    first, second = (visits.sealed(teo, orla, station) for _ in range(2))
    leave()
    permissions.enter_as_worker()
    rows, row = Record.objects.filter(id=first["id"]), Record.objects.get(id=second["id"])
    assert permissions.beside(rows, row).exists()
    # As if another contractor had made the second one, or another client had got it.
    row.contractor_id = cast.other_contractor
    assert not permissions.beside(rows, row).exists()
    row.contractor_id, row.client_id = cast.contractor, cast.other_client
    assert not permissions.beside(rows, row).exists()


def test_a_record_of_sensors_alone_has_no_visits(teo, orla, station):
    visits.sealed(teo, orla, station)
    row = Record(pump_set_id=None, row=10**6)
    assert not plotted._before(row).exists()


# -- traces ---------------------------------------------------------------------------------------


def test_rows_come_by_the_digest_that_the_record_names(teo, orla, station):
    record, trace = traced(teo, orla, station)
    [(identity, found)] = beside(record).recordings.items()
    assert identity == trace
    # 240 rows from 50 to 60 psi, as `step` writes them.
    assert len(found.times) == 240
    assert found.columns["set_point"].values[-1] == 60
    assert beside(record).most_rows is None


def test_rows_that_are_gone_are_left_out_and_the_document_is_made(teo, orla, station):
    record, trace = traced(teo, orla, station)
    traces._at_hand.cache_clear()
    default_storage.delete(stored_name(_digest(record, trace)))
    assert beside(record).recordings == {}


def _digest(record, trace) -> bytes:
    leave()
    permissions.enter_as_worker()
    content = json.loads(bytes(Record.objects.get(id=record["id"]).canonical))
    [told] = [each for each in content["traces"] if each["id"] == trace]
    return bytes.fromhex(told["sha256"])


def test_a_page_leaves_out_what_takes_too_long(teo, orla, station):
    record, trace = traced(teo, orla, station)
    leave()
    permissions.enter_as_worker()
    content = json.loads(bytes(Record.objects.get(id=record["id"]).canonical))
    assert list(traces.recordings_told(content, 240)) == [trace]
    assert traces.recordings_told(content, 239) == {}
