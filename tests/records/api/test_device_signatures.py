"""Signatures that a device gave without signal: whose key, over what, and whether that stands."""

import hashlib
import json
import uuid
from datetime import UTC, datetime, timedelta

import pytest
import rfc8785
from jsonschema import Draft202012Validator

from records.models import AuditEntry
from records.verifier.keys import Keys
from records.verifier.sealed import check_record
from records.verifier.telling import Told
from tests.calculations.building_plates import q
from tests.records import visits
from tests.records.api.test_attachments import attach, photograph
from tests.records.cast import Person
from tests.records.client import Api
from tests.records.counting import counts
from tests.records.devices import Device, digest
from tests.records.enrolling import make_code
from tests.records.problems import assert_problem
from tests.records.visits import plate_speed
from tests.records.weak_keys import WeakDevice, weak_keys


@pytest.fixture(params=["Ed25519", "ES256"])
def device(request, teo):
    made = Device(request.param)
    assert made.register(teo).status == 201
    return made


@pytest.fixture
def phone(teo):
    made = Device()
    assert made.register(teo).status == 201
    return made


@pytest.fixture
def event(teo, station):
    return visits.post(teo, station)


def by(person):
    return {"id": str(person.id), "name": person.username.title()}


def send(person, event, body):
    return person.post(f"/events/{event['id']}/signatures", body)


# -- keys ----------------------------------------------------------------------------------------


def test_a_device_registers_one_key_of_its_own_and_the_office_sees_it(teo, orla, cast, device):
    answer = device.register(teo)
    assert answer.status == 200
    assert answer.json["kid"] == device.kid
    assert answer.json["public_key"] == device.jwk
    lines = {each["user"]: each["signs_with"] for each in orla.get("/tokens").json["items"]}
    assert lines == {str(cast.teo.id): device.kid, str(cast.orla.id): None}
    entry = AuditEntry.objects.latest("row")
    assert (entry.action, entry.kind, entry.after) == (
        "changed", "token", {"signs_with": device.kid})  # fmt: skip
    assert_problem(Device().register(teo), 409, "/public_key")


def test_a_key_is_one_devices(teo, orla, phone):
    assert_problem(phone.register(orla), 409, "/public_key")


@pytest.mark.parametrize(
    "changed",
    [{"kid": "another"}, {"x": "AAAA"}, {"crv": "P-256"}, {"alg": "ES256"}, {"kty": "EC"}],
)
def test_what_is_no_key_is_refused(teo, changed):
    before = counts()
    refused = teo.call("PUT", "/me/key", {"public_key": Device().jwk | changed})
    assert_problem(refused, 400, "/public_key")
    assert counts() == before


@pytest.mark.parametrize("octets", weak_keys(), ids=bytes.hex)
def test_a_key_for_which_anybody_can_sign_is_refused(teo, octets):
    assert_problem(WeakDevice(octets).register(teo), 400, "/public_key")


def test_a_point_that_is_not_on_the_curve_is_refused(teo):
    device = Device("ES256")
    device.jwk["y"] = device.jwk["x"]
    named = {name: device.jwk[name] for name in ("crv", "kty", "x", "y")}
    device.jwk["kid"] = Device.thumbprint(named)
    assert_problem(device.register(teo), 400, "/public_key")


def test_a_private_key_is_refused(teo):
    refused = teo.call("PUT", "/me/key", {"public_key": Device().jwk | {"d": "AAAA"}})
    assert_problem(refused, 400, "/public_key/d")


# -- signing -------------------------------------------------------------------------------------


def test_it_is_the_technicians_signature_with_both_times(teo, cast, device, event):
    minutes_ago = (datetime.now(UTC) - timedelta(minutes=90)).isoformat(timespec="seconds")
    statement = device.state(event, by(cast.teo), signed_at=minutes_ago)
    body = device.signed(statement)
    digest_then = teo.get(f"/events/{event['id']}/signatures").json["to_sign"]["performed"]
    answer = send(teo, event, body)
    assert answer.status == 201, answer.json
    signature = answer.json
    assert signature["digest"] == digest_then
    assert signature["by"] == by(cast.teo)
    assert signature["device"] == {
        "statement": statement,
        "digest": digest(statement),
        "signature": body["device"]["signature"],
        "public_key": device.jwk,
        "key_since": signature["device"]["key_since"],
    }
    assert signature["at"] > minutes_ago
    again = send(teo, event, body)
    assert (again.status, again.json) == (200, signature)


@pytest.mark.parametrize(
    "spoil",
    [
        lambda jws: jws[:-4] + ("AAAA" if jws[-4:] != "AAAA" else "BBBB"),
        lambda jws: "..",
        lambda jws: "",
        lambda jws: Device().jws({"other": "statement"}),
    ],
)
def test_a_forged_signature_is_refused(teo, cast, device, event, spoil):
    body = device.signed(device.state(event, by(cast.teo)))
    body["device"]["signature"] = spoil(body["device"]["signature"])
    before = counts()
    assert_problem(send(teo, event, body), 400, "/device/signature")
    assert counts() == before


def test_a_statement_that_was_changed_afterwards_is_refused(teo, cast, phone, event):
    body = phone.signed(phone.state(event, by(cast.teo)))
    body["device"]["statement"]["findings"] = []
    body["device"]["statement"]["signed_at"] = "2026-03-14T10:00:00Z"
    body["digest"] = digest(body["device"]["statement"])
    assert_problem(send(teo, event, body), 400, "/device/signature")


def test_a_revoked_device_signs_no_more(teo, orla, nobody, cast, event):
    lost, code = Device(), make_code(cast.teo, cast.teo, signs=True)
    enrolled = nobody.post("/enrolments", {"code": code.text, "name": "telephone"})
    assert enrolled.status == 201, enrolled.json
    person = Person("device", "technician", cast.contractor, secret=enrolled.json["token"])
    assert lost.register(Api(person)).status == 201
    body = lost.signed(lost.state(event, by(cast.teo)))
    assert orla.delete(f"/tokens/{enrolled.json['id']}").status == 204
    refused = send(teo, event, body)  # by a token of the same person that is good
    assert_problem(refused, 409, "/device/statement/key")
    assert "revoked" in refused.json["detail"]


def test_nobody_sends_what_another_signed(teo, orla, cast, phone, event):
    body = phone.signed(phone.state(event, by(cast.teo)))
    assert_problem(send(orla, event, body), 409, "/device/statement/key")
    own = Device()
    assert own.register(orla).status == 201
    in_anothers_name = own.signed(own.state(event, by(cast.teo)))
    assert_problem(send(orla, event, in_anothers_name), 409, "/device/statement/by")


def test_a_signature_of_one_visit_is_none_of_another(teo, cast, phone, event, station):
    other = visits.post(teo, station, id=str(uuid.uuid4()))
    body = phone.signed(phone.state(event, by(cast.teo)))
    refused = send(teo, other, body)
    assert_problem(refused, 409, "/device/statement/document", "/device/statement/event")


def test_what_was_changed_meanwhile_is_named(teo, orla, cast, phone, event, station):
    body = phone.signed(phone.state(event, by(cast.teo)))
    path = f"/events/{event['id']}"
    assert teo.patch(path, {"remarks": "later"}, teo.get(path).etag).status == 200
    assert_problem(send(teo, event, body), 409, "/device/statement/document")
    plate_speed(orla, station, "1760")
    places = ["/device/statement/document", "/device/statement/nameplates"]
    assert_problem(send(teo, event, body), 409, *places)
    assert attach(teo, event, photograph("PNG")).status == 201
    places = ["/device/statement/attachments", *places]
    assert_problem(send(teo, event, body), 409, *places)


def test_photographs_are_signed_as_they_were_sent(teo, cast, phone, event):
    sent = photograph("PNG")
    file = attach(teo, event, sent).json
    now = teo.get(f"/events/{event['id']}").json
    stated = [{"id": file["id"], "sha256": hashlib.sha256(sent).hexdigest()}]
    statement = phone.state(now, by(cast.teo), attachments=stated)
    assert send(teo, event, phone.signed(statement)).status == 201


@pytest.mark.parametrize(
    ("changes", "given", "status", "places"),
    [
        ({}, {"digest": "0" * 64}, 400, ["/digest"]),
        ({}, {"meaning": "reviewed"}, 400, ["/meaning"]),
        ({"form": 2}, {}, 400, ["/device/statement/form"]),
        ({"meaning": "reviewed"}, {}, 400, ["/device/statement/meaning"]),
        ({"more": 1}, {}, 400, ["/device/statement/more"]),
        ({"signed_at": "2020-01-01T00:00:00Z"}, {}, 400, ["/device/statement/signed_at"]),
        ({"signed_at": "2099-01-01T00:00:00Z"}, {}, 400, ["/device/statement/signed_at"]),
        ({"key": "unknown"}, {}, 409, ["/device/statement/key"]),
        ({"catalogue": "2020-01"}, {}, 409, ["/device/statement/catalogue"]),
        ({"limits_changed": "0" * 64}, {}, 409, ["/device/statement/limits_changed"]),
        ({"traces": [str(uuid.uuid4())]}, {}, 409, ["/device/statement/traces"]),
    ],
)
def test_what_else_does_not_fit_is_named(teo, cast, phone, event, changes, given, status, places):
    body = phone.signed(phone.state(event, by(cast.teo), **changes), **given)
    before = counts()
    assert_problem(send(teo, event, body), status, *places)
    assert counts() == before


def test_a_later_change_makes_it_void(teo, cast, phone, event):
    assert send(teo, event, phone.signed(phone.state(event, by(cast.teo)))).status == 201
    path = f"/events/{event['id']}"
    assert teo.patch(path, {"hours_run": q("12", "h")}, teo.get(path).etag).status == 200
    assert teo.get(f"{path}/signatures").json["signatures"] == []


def test_canonical_texts_of_signs_from_everywhere(teo, cast, phone, station):
    """RFC 8785 orders names by UTF-16, and writes signs as they are."""
    event = visits.post(teo, station, remarks='Ω – 泵站 \U0001f6b0 \u2028 "quoted" \\ läuft')
    statement = phone.state(event, by(cast.teo))
    assert "泵站".encode() in rfc8785.dumps(event)
    assert send(teo, event, phone.signed(statement)).status == 201


# -- sealing -------------------------------------------------------------------------------------


def test_what_the_device_did_not_show_wants_an_answer(teo, orla, cast, phone, station):
    plate_speed(orla, station, "1799")  # a note
    event = visits.post(teo, station)
    note = visits.found(event, "motor.slip")
    assert note["severity"] == "note"
    statement = phone.state(event, by(cast.teo))
    statement["findings"] = [each for each in statement["findings"] if each["rule"] != "motor.slip"]
    assert send(teo, event, phone.signed(statement)).status == 201
    visits.answer_all(orla, event)
    assert visits.sign(orla, event, "reviewed").status == 201
    refused = orla.post(f"/events/{event['id']}/seal")
    assert_problem(refused, 409, f"/findings/{note['id']}")
    assert visits.answer(orla, event, note).status == 201
    assert visits.sign(orla, event, "reviewed").status == 201
    sealed = orla.post(f"/events/{event['id']}/seal")
    assert sealed.status == 201
    data = orla.get(f"/records/{sealed.json['id']}/data.json").content
    schema = Draft202012Validator(orla.get("/record-schema.json").json)
    assert [each.message for each in schema.iter_errors(json.loads(data))] == []
    keys = Keys(Told())
    keys.trust(keys.take(orla.get("/keys").content, "keys"))
    found, wrong = check_record(data, "record", keys)
    assert wrong == []
    assert found.signers == ((phone.kid, str(cast.teo.id)),)
