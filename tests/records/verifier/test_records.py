"""Single records: what is genuine passes, and whatever was changed is named with its place."""

import json
import random
import shutil
import subprocess
from pathlib import Path

import pytest
import rfc8785
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

from tests.records.verifier.making import (
    FILE,
    SealingKey,
    b64,
    chain,
    content,
    digest_of,
    published,
    sealed,
)

GOLDEN = Path(__file__).parent.parent / "golden" / "format_1.json"


@pytest.fixture
def record(key):
    return sealed(content(1, None), key)


def test_a_genuine_record_passes(verify, put, keys_file, record):
    said = verify("--keys", keys_file, put("record.json", record))
    assert (said.status, said.failed) == (0, [])
    assert "people signed: 1" in said
    assert "attached to records and are not given" in said
    assert "All that was checked is right." in said


def test_a_golden_record_passes_by_its_fingerprint(verify):
    seal = json.loads(GOLDEN.read_bytes())["seal"]
    said = verify("--fingerprint", seal["key"], GOLDEN)
    assert (said.status, said.failed) == (0, [])
    assert "when key" in said  # its validity is told as not checked
    other = verify("--fingerprint", SealingKey().kid, GOLDEN)
    assert (other.status, len(other.failed)) == (1, 1)


@pytest.mark.parametrize("seed", range(10))
def test_of_a_thousand_changed_bits_each_record_is_named(verify, put, keys_file, key, seed):
    # Promise: 1,000 random byte flips, every row named. 100 for each seed.
    chance = random.Random(seed)
    genuine = [*chain(key, range(1, 5)), GOLDEN.read_bytes()]
    trusted = ("--keys", keys_file, "--fingerprint", key.kid,
               "--fingerprint", json.loads(genuine[-1])["seal"]["key"])  # fmt: skip
    both = put("both.json", json.dumps({"items": [key.published(), _golden_key()]}).encode())
    trusted = ("--keys", both, *trusted[2:])
    files = [put(f"record-{number}.json", data) for number, data in enumerate(genuine)]
    assert verify(*trusted, *files).status == 0
    for _ in range(100):
        at = chance.randrange(len(files))
        bent = bytearray(genuine[at])
        bent[chance.randrange(len(bent))] ^= 1 << chance.randrange(8)
        files[at].write_bytes(bent)
        said = verify(*trusted, *files)
        assert said.status == 1
        assert [line.split(":")[0] for line in said.failed] == [str(files[at])]
        files[at].write_bytes(genuine[at])


def _golden_key():
    public = json.loads(GOLDEN.read_bytes())["seal"]["public_key"]
    return {"kid": public["kid"], "algorithm": "Ed25519", "public_key": public,
            "endorsement": "", "endorsed_by": None,
            "valid_from": "2026-01-01T00:00:00Z", "valid_until": None}  # fmt: skip


def test_what_was_signed_and_changed_is_told(verify, put, keys_file, key):
    document = content(1, None)
    document["event"]["flow"]["value"] = "999.0"
    said = verify("--keys", keys_file, put("record.json", sealed(document, key)))
    assert said.status == 1
    assert "what Tovik Harn signed as performed is not this: event, nameplates" in said
    document = content(1, None)
    document["answers"][0]["text"] = "Changed afterwards."
    said = verify("--keys", keys_file, put("record.json", sealed(document, key)))
    assert said.status == 1
    assert "what Ilse Varn signed as reviewed is not this" in said
    assert "signed as performed" not in said


def test_a_changed_text_is_told_with_its_digest_and_its_number(verify, put, keys_file, record):
    bent = record.replace(b"Tresk Water", b"Fresk Water")
    said = verify("--keys", keys_file, put("record.json", bent))
    assert said.status == 1
    assert "its text has the digest" in said
    assert "its seal's signature is not of this text and key" in said
    assert "it calls itself record 1, id 00000000-0000-0000-0000-000000000001" in said
    assert "signed as" not in said  # the client's name is not what people signed


def test_a_new_seal_by_nobody_known_is_refused(verify, put, keys_file, record):
    forged = sealed(json.loads(record)["record"], SealingKey())
    said = verify("--keys", keys_file, put("record.json", forged))
    assert said.status == 1
    assert "which is none of those given: another service's" in said


def test_a_seal_that_brings_its_own_key_under_a_known_name_is_refused(verify, put, keys_file, key):
    other = SealingKey()
    data = json.loads(sealed(content(1, None), other))
    data["seal"]["key"] = key.kid
    data["seal"]["public_key"] |= {"kid": key.kid}
    text = rfc8785.dumps(data["record"])
    beside = json.dumps(data["seal"], sort_keys=True, separators=(",", ":")).encode()
    forged = b'{"record":' + text + b',"seal":' + beside + b"}"
    for trusted in (("--keys", keys_file), ("--fingerprint", key.kid)):
        assert verify(*trusted, put("record.json", forged)).status == 1


@pytest.mark.parametrize(
    ("find", "by"),
    [
        (b'{"record":', b'{ "record":'),
        (b'"number":1,', b'"number":1,"number":1,'),
        (b'"number":1,', b'"number":1.0,'),
        (b'"format":1,', b'"format" :1,'),
    ],
)
def test_what_is_written_otherwise_is_told(verify, put, keys_file, key, record, find, by):
    assert verify("--keys", keys_file, put("record.json", record.replace(find, by, 1))).status == 1
    # Not even if the service itself had sealed it so.
    text = record[len(b'{"record":') : record.rindex(b',"seal":')].replace(find, by, 1)
    if text.startswith(b'{"a') and by.startswith(b'"'):
        said = verify("--keys", keys_file, put("record.json", sealed({}, key, text)))
        assert said.status == 1
        assert "canonical JSON" in said


@pytest.mark.parametrize("end", [b"", b" ", b"}}", b',"more":1}'])
def test_what_is_added_or_cut_off_at_the_end_is_told(verify, put, keys_file, record, end):
    said = verify("--keys", keys_file, put("record.json", record[:-1] + end))
    assert said.status == 1
    assert "its seal is damaged" in said


@pytest.mark.parametrize(
    "data",
    [b"", b"{}", b"null", b"\0" * 100, b'{"record":{},"seal":{}}', b'{"record":{"a":1},"seal":[]}',
     b'{"record":' + b"[" * 100_000 + b',"seal":{}}', b'{"record":1,"seal":' + b"[" * 100_000,
     b'{"record":{"a":1},"seal":{"digest":1,"key":[],"public_key":null,"signature":{}}}',
     b'{"record":{"sealed_at":"x","number":"1","previous":1,"signatures":{},"judgement":1,'
     b'"attachments":[]},"seal":{"digest":"","key":"","public_key":{},"signature":"a.b"}}'],
)  # fmt: skip
def test_no_input_breaks_the_program(verify, put, keys_file, data):
    said = verify("--keys", keys_file, put("record.json", data))
    assert said.status == 1
    assert len(said.failed) == 1


def test_words_of_strangers_do_not_reach_the_terminal_as_they_are(verify, put, keys_file, key):
    document = content(1, None)
    document["signatures"][0] |= {"digest": "0", "by": {"name": "\x1b[2J\u202eevil"}}
    said = verify("--keys", keys_file, put("record.json", sealed(document, key)))
    assert said.status == 1
    assert "?[2J?evil" in said
    assert "\x1b" not in said.words


@pytest.mark.parametrize(
    ("number", "previous"), [(1, "0" * 64), (2, None), (0, None), (-1, "0" * 64), (True, "0" * 64)]
)
def test_a_number_fits_its_link(verify, put, keys_file, key, number, previous):
    data = sealed(content(1, None) | {"number": number, "previous": previous}, key)
    assert verify("--keys", keys_file, put("record.json", data)).status == 1


def test_links_and_gaps_are_told(verify, put, keys_file, key):
    one, two, three = (put(f"{n}.json", data) for n, data in enumerate(chain(key, (1, 2, 3)), 1))
    assert "links to the record before: 2" in verify("--keys", keys_file, three, one, two)
    said = verify("--keys", keys_file, one, three)
    assert said.status == 0
    assert "Not checked: links to a record before that is not given" in said
    another = put("another.json", sealed(content(2, digest_of(one.read_bytes()), client={}), key))
    said = verify("--keys", keys_file, one, another, three)
    assert said.status == 1
    assert said.failed[0].startswith(f"{three}: record 3 of station")
    said = verify("--keys", keys_file, one, two, another)
    assert said.status == 1
    assert said.failed[0].startswith(f"{another}: record 2 of station")


def test_a_record_that_replaces_another_says_so(verify, put, keys_file, key):
    old = sealed(content(1, None), key)
    named = {"record_id": json.loads(old)["record"]["record_id"], "number": 1, "reason": "A slip."}
    new = sealed(content(2, digest_of(old), corrects=named), key)
    files = put("old.json", old), put("new.json", new)
    assert f"{files[1]} replaces {files[0]}" in verify("--keys", keys_file, *files)


def test_attached_files_are_held_against_their_digest(verify, put, keys_file, record):
    file = put("record.json", record)
    said = verify("--keys", keys_file, file, put("whatever.txt", FILE))
    assert said.status == 0
    assert "files that were attached to records: 1" in said
    for name in ("settings.txt", "settings.json", "settings.pdf"):
        bent = put(name, FILE[:-1])
        said = verify("--keys", keys_file, file, bent)
        assert said.status == 1
        assert said.failed[0].startswith(str(bent))
        bent.write_bytes(FILE)  # of whatever kind it looks
        assert verify("--keys", keys_file, file, bent).status == 0


def test_what_cannot_be_read_is_told(verify, put, keys_file, record, tmp_path):
    file = put("record.json", record)
    for words in (
        ("--keys", tmp_path / "none.json", file),
        ("--keys", put("bad.json", b"{"), file),
        ("--keys", put("empty.json", b'{"items": []}'), file),
        ("--keys", put("page.json", b'{"items": [], "next": "more"}'), file),
        ("--keys", keys_file, tmp_path),
        ("--keys", keys_file, file, tmp_path / "none.json"),
        (file,),
    ):
        said = verify(*words)
        assert (said.status, said.failed) == (2, [])
        assert "UNUSABLE" in said.words


@pytest.mark.skipif(shutil.which("openssl") is None, reason="openssl is not installed")
@pytest.mark.parametrize("source", ["golden", "made"])
def test_openssl_agrees(verify, put, key, source, tmp_path):
    data = GOLDEN.read_bytes() if source == "golden" else sealed(content(1, None), key)
    seal = json.loads(data)["seal"]
    assert verify("--fingerprint", seal["key"], put("record.json", data)).status == 0
    text = data[len(b'{"record":') : data.rindex(b',"seal":')]
    protected, _, signature = seal["signature"].split(".")
    # SubjectPublicKeyInfo of an Ed25519 key (RFC 8410): a fixed beginning, then the key.
    start = bytes.fromhex("302a300506032b6570032100")
    public = put("public.der", start + _octets(seal["public_key"]["x"]))
    if source == "made":
        spki = key.private.public_key().public_bytes(
            Encoding.DER, PublicFormat.SubjectPublicKeyInfo
        )
        assert public.read_bytes() == spki
    signed = put("signature", _octets(signature))
    for message, agrees in ((text, True), (text.replace(b"1", b"2", 1), False)):
        said = subprocess.run(
            ["openssl", "pkeyutl", "-verify", "-pubin", "-keyform", "DER", "-inkey", public,
             "-rawin", "-in", put("message", protected.encode() + b"." + message),
             "-sigfile", signed],
            capture_output=True, check=False,
        )  # fmt: skip
        assert (said.returncode == 0) is agrees, said


def _octets(text):
    import base64

    found = base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))
    assert b64(found) == text
    return found


def test_published_keys_are_made_as_the_service_makes_them(key):
    from joserfc.jwk import OKPKey

    [item] = json.loads(published(key))["items"]
    assert OKPKey.import_key(item["public_key"]).thumbprint() == item["kid"]
