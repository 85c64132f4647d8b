"""The record's text: verified with nothing of ours, tampering seen, values rebuilt from it."""

import json
import random
from pathlib import Path

import pytest

from records import permissions
from records.documents.record_pdf import render
from records.models import Record, RecordedValue, SigningKey
from records.selectors import sealed
from records.services import recorded_values
from tests.records import visits
from tests.records.verifying import NotGenuine, verify

GOLDEN = Path(__file__).parent.parent / "golden"
FORMATS = sorted(GOLDEN.glob("format_*.json"))


@pytest.fixture
def record(teo, orla, station):
    return visits.sealed(teo, orla, station)


def data(person, record):
    return person.get(f"/records/{record['id']}/data.json").content


# -- verified offline ---------------------------------------------------------------------------


def test_a_record_is_verified_with_nothing_of_ours(teo, orla, cleo, record):
    text = verify(data(cleo, record))
    assert (text["format"], text["number"], text["previous"]) == (1, 1, None)
    assert text["record_id"] == record["id"]
    event = teo.get(f"/events/{record['event']}").json
    assert {name: event[name] for name in text["event"]} == text["event"]
    assert text["snapshot"] == event["snapshot"]
    assert text["signatures"] == event["signatures"]
    assert text["judgement"]["derived"] == event["derived"]


def test_each_record_holds_the_digest_of_the_one_before(teo, orla, cleo, station):
    records = [visits.sealed(teo, orla, station) for _ in range(3)]
    listed = cleo.get(f"/records?site={station.site}&after_number=0").json["items"]
    assert [each["id"] for each in listed] == [each["id"] for each in records]
    texts = [verify(data(cleo, each)) for each in listed]
    digests = [each["seal"]["digest"] for each in listed]
    assert [text["previous"] for text in texts] == [None, *digests[:2]]


def test_every_changed_byte_is_seen(cleo, record):
    genuine = data(cleo, record)
    verify(genuine)
    chance = random.Random(7)
    for _ in range(300):
        place = chance.randrange(len(genuine))
        bent = bytearray(genuine)
        bent[place] ^= 1 << chance.randrange(8)
        with pytest.raises(NotGenuine):
            verify(bytes(bent))


def test_what_is_added_or_left_out_is_seen(cleo, record):
    genuine = data(cleo, record)
    for bent in (
        genuine[:-1],
        genuine + b" ",
        genuine.replace(b'{"record":', b'{ "record":', 1),
        genuine.replace(b'"number":1', b'"number":1.0', 1),
        genuine.replace(b'"number":1', b'"number":1,"number":1', 1),
        genuine.replace(b"First technician", b"Other technician", 1),
    ):
        assert bent != genuine
        with pytest.raises(NotGenuine):
            verify(bent)


def test_the_key_of_the_seal_is_one_that_the_service_publishes(cleo, record):
    published = {key["kid"]: key["public_key"] for key in cleo.get("/keys").json["items"]}
    seal = json.loads(data(cleo, record))["seal"]
    assert published[seal["key"]] == seal["public_key"]
    assert "d" not in seal["public_key"]


def test_measured_values_stand_in_the_text_as_they_were_entered(cleo, record):
    numbers = set(_numbers(json.loads(data(cleo, record))["record"]))
    assert not {number for number in numbers if isinstance(number, float)}


def _numbers(value):
    if isinstance(value, dict):
        for each in value.values():
            yield from _numbers(each)
    elif isinstance(value, list):
        for each in value:
            yield from _numbers(each)
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        yield value


# -- values rebuilt from the text ---------------------------------------------------------------


@pytest.mark.parametrize("moment", ["2026-03-14T09:30:00-05:00", "2026-03-14t14:30:00.5z"])
def test_recorded_values_are_those_rebuilt_from_the_text(teo, orla, station, moment):
    visits.sealed(teo, orla, station, performed_at=moment)
    permissions.enter_as_worker()
    [row] = Record.objects.all()
    kept = _told(RecordedValue.objects.filter(record=row))
    rebuilt = _told(recorded_values.values(row, json.loads(bytes(row.canonical))))
    assert kept == rebuilt
    assert len(kept) > 20
    assert {value[4] for value in kept if value[2].startswith("protection.")} == {"passed"}


def _told(values):
    names = ("tag", "serial", "name", "si", "word", "subject", "at", "site_id", "client_id")
    return sorted((tuple(getattr(value, name) for name in names) for value in values), key=str)


# -- golden records -----------------------------------------------------------------------------


def test_there_is_a_golden_record_of_every_format():
    assert [path.stem for path in FORMATS] == ["format_1"]


@pytest.mark.parametrize("path", FORMATS, ids=lambda path: path.stem)
def test_a_golden_record_stays_genuine_and_readable(path):
    golden = path.read_bytes()
    content = verify(golden)
    seal = json.loads(golden)["seal"]
    record = Record(
        canonical=golden[len(b'{"record":') : golden.rindex(b',"seal":')],
        digest=bytes.fromhex(seal["digest"]),
        signature=seal["signature"],
    )
    values = recorded_values.values(record, content)
    derived = [each["id"] for each in content["judgement"]["derived"]]
    tested = [f"protection.{each['function']}" for each in content["event"]["protection_tests"]]
    assert sorted(value.name for value in values) == sorted(derived + tested)
    assert all(value.at.isoformat() == content["event"]["performed_at"] for value in values)
    record.key = SigningKey(kid=seal["key"], public_jwk=seal["public_key"])
    assert sealed.data(record) == golden
    assert render(content, seal, golden).startswith(b"%PDF-")
