"""What people signed on a device, checked from the record alone, by the file that is handed out."""

import copy

import pytest

from tests.records.devices import Device, digest
from tests.records.verifier.making import chain, content, digests, sealed
from tests.records.weak_keys import WeakDevice, weak_keys

AT = "2026-03-14T15:30:00Z"
NOTE = {"id": "f1", "rule": "motor.slip", "severity": "note", "subject": "/motor",
        "sentence": "≥ 2 %"}  # fmt: skip


def signed_on(device, number=1, previous=None, person="t", **changed):
    """A record whose work was signed as performed on a device; `changed` of its statement."""
    document = content(number, previous)
    neighbour = {"pump_set": {"tag": "P-102"}, "settings": {"set_point": "5 bar"}}
    document["snapshot"]["neighbours"] = [neighbour]
    document["judgement"]["findings"] = [NOTE]
    document["attachments"][0]["sent_sha256"] = "5e" * 32
    resigned(document)
    plates = copy.deepcopy(document["snapshot"])
    del plates["neighbours"][0]["settings"]
    statement = {
        "form": 1, "meaning": "performed", "event": f"e{number}", "key": device.kid,
        "by": {"id": person, "name": "Tovik Harn"}, "signed_at": "2026-03-14T14:00:00-01:00",
        "document": digest(document["event"]), "nameplates": digest(plates),
        "catalogue": "2026-11", "limits_changed": digest([]),
        "findings": [{name: NOTE[name] for name in NOTE if name != "id"}],
        "attachments": [{"id": "e1", "sha256": "5e" * 32}], "traces": [],
    } | changed  # fmt: skip
    document["signatures"][0] |= {
        "at": AT,
        "by": {"id": person, "name": "Tovik Harn"},
        "device": {
            "statement": statement, "digest": digest(statement),
            "signature": device.jws(statement), "public_key": device.jwk,
            "key_since": "2026-03-01T08:00:00Z",
        },
    }  # fmt: skip
    return document


def resigned(document):
    """Digests of what people signed, of the document as it is now."""
    for signature, signed in zip(document["signatures"], digests(document), strict=True):
        signature["digest"] = signed


@pytest.fixture(params=["Ed25519", "ES256"])
def device(request):
    return Device(request.param)


@pytest.fixture
def check(verify, put, keys_file, key):
    def run(*documents):
        files = [put(f"{n}.json", sealed(each, key)) for n, each in enumerate(documents)]
        return verify("--keys", keys_file, *files)

    return run


def test_what_a_device_signed_passes(check, device):
    said = check(signed_on(device))
    assert (said.status, said.failed) == (0, [])
    assert "signatures by a key of a device, over what it showed: 1" in said


def test_a_forged_signature_is_told(check, device):
    document = signed_on(device)
    device_part = document["signatures"][0]["device"]
    device_part["signature"] = Device(device.alg).jws(device_part["statement"])
    assert check(document).status == 1
    header = device_part["signature"].split(".")[0]
    genuine = device.jws(device_part["statement"]).split(".")
    device_part["signature"] = f"{genuine[0]}..{device.jws({'other': 1}).split('.')[2]}"
    assert header != genuine[0]
    assert "device is not of this statement and key" in check(document)


def test_another_key_beside_it_is_told(check, device):
    document = signed_on(device)
    document["signatures"][0]["device"]["public_key"] = Device(device.alg).jwk
    assert "names another key than the one that is beside it" in check(document)
    document = signed_on(device)
    document["signatures"][0]["device"]["public_key"] = device.jwk | {
        "x": Device(device.alg).jwk["x"]
    }
    assert "another fingerprint" in check(document)


@pytest.mark.parametrize("octets", weak_keys(), ids=bytes.hex)
def test_a_key_for_which_anybody_can_sign_is_told(check, octets):
    document = signed_on(WeakDevice(octets))
    assert "one for which anybody can write signatures" in check(document)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"event": "e2"}, "the visit"),
        ({"by": {"id": "o", "name": "Ilse Varn"}}, "the person"),
        ({"document": "0" * 64}, "what was entered"),
        ({"nameplates": "0" * 64}, "the nameplates"),
        ({"catalogue": "2026-10"}, "the catalogue of rules"),
        ({"limits_changed": "0" * 64}, "the client's limits"),
        ({"attachments": []}, "the attached files"),
        ({"traces": ["t1"]}, "the recorded traces"),
        ({"form": 2}, "a form of statement"),
        ({"meaning": "reviewed"}, "the meaning"),
    ],
)
def test_a_statement_of_something_else_is_told(check, device, changed, words):
    said = check(signed_on(device, **changed))
    assert said.status == 1
    assert "what Tovik Harn signed on a device is not this:" in said
    assert words in said


def test_a_changed_draft_is_told_though_the_service_signs_it_anew(check, device):
    document = signed_on(device)
    document["event"]["flow"]["value"] = "999.0"
    resigned(document)
    said = check(document)
    assert said.status == 1
    assert "is not this: what was entered" in said
    assert "signed as performed" not in said


def test_what_neighbours_were_left_with_is_no_nameplate(check, device):
    document = signed_on(device)
    document["snapshot"]["neighbours"][0]["settings"] = {"set_point": "6 bar"}
    resigned(document)
    assert check(document).status == 0


def test_what_it_did_not_show_wants_an_answer(check, device):
    assert check(signed_on(device, findings=[])).status == 0  # f1 is answered
    document = signed_on(device, findings=[])
    document["answers"] = []
    resigned(document)
    said = check(document)
    assert said.status == 1
    assert "motor.slip was found after it was signed on a device, and nobody answered it" in said


def test_a_key_that_was_not_known_then_is_told(check, device):
    document = signed_on(device)
    document["signatures"][0]["device"]["key_since"] = "2026-03-14T15:30:01Z"
    assert "was not known when its signature came" in check(document)


def test_a_key_of_two_people_is_told(check, verify, put, keys_file, key, device):
    first = signed_on(device)
    link = digest(first)
    said = check(first, signed_on(device, 2, link, person="someone else"))
    assert said.status == 1
    assert "signed for another person elsewhere" in said


@pytest.mark.parametrize("device_part", [None, {}, [], {"statement": 1, "public_key": {}}])
def test_no_input_breaks_the_program(check, device, device_part):
    document = signed_on(device)
    document["signatures"][0]["device"] = device_part
    said = check(document)
    assert (said.status, len(said.failed)) == (1, 1)


def test_records_without_a_device_pass_as_before(verify, put, keys_file, key):
    files = [put(f"{n}.json", data) for n, data in enumerate(chain(key, range(1, 3)))]
    said = verify("--keys", keys_file, *files)
    assert said.status == 0
    assert "key of a device" not in said
