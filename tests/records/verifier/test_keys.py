"""Keys that followed one another: which are trusted, and when each could seal."""

import json

import pytest

from tests.records.verifier.making import (
    SealingKey,
    bundle,
    chain,
    content,
    members,
    published,
    sealed,
)


@pytest.fixture
def keys(key):
    """Four keys, after three exchanges."""
    second = key.next("2026-03-16T16:00:00Z")
    third = second.next("2026-03-17T16:00:00Z")
    return [key, second, third, third.next("2026-03-18T16:00:00Z")]


@pytest.fixture
def records(keys):
    """One by each; `content` seals record n on March 14 + n."""
    found = []
    for number, key in enumerate(keys, 1):
        previous = json.loads(found[-1])["seal"]["digest"] if found else None
        found.append(sealed(content(number, previous), key))
    return found


@pytest.fixture
def files(records, put):
    return [put(f"record-{number}.json", data) for number, data in enumerate(records, 1)]


def test_old_seals_pass_after_three_exchanges(verify, put, keys, files):
    said = verify("--keys", put("keys.json", published(*keys)), *files)
    assert (said.status, said.failed) == (0, [])
    assert "endorsements of keys: 3" in said


def test_a_key_that_was_kept_from_the_beginning_is_enough(
    verify, put, keys, files, records, tmp_path
):
    everything = put("keys.json", published(*keys))
    assert verify("--keys", everything, "--fingerprint", keys[0].kid, *files).status == 0
    # As it stood in the list before any exchange, with a bundle that brings the others along.
    old = put("old.json", published(SealingKey(keys[0].private)))
    whole = bundle(tmp_path / "bundle.zip", members(records, *keys))
    assert verify("--keys", old, whole).status == 0
    assert verify("--fingerprint", keys[0].kid, whole).status == 0
    said = verify("--keys", old, *files)
    assert [line.split(":")[0] for line in said.failed] == [str(file) for file in files[1:]]


def test_trust_does_not_go_back(verify, put, keys, files):
    everything = put("keys.json", published(*keys))
    said = verify("--keys", everything, "--fingerprint", keys[2].kid, *files)
    assert [line.split(":")[0] for line in said.failed] == [str(file) for file in files[:2]]
    assert "which is not trusted" in said
    both = ("--fingerprint", keys[2].kid, "--fingerprint", keys[0].kid)
    assert verify("--keys", everything, *both, *files).status == 0


@pytest.mark.parametrize(
    ("number", "at", "passes"),
    [
        (1, "2026-03-16T16:00:00Z", True),  # its last second
        (1, "2026-03-16T16:00:01Z", False),
        (1, "2025-12-31T23:59:59Z", False),
        (2, "2026-03-16T16:00:00Z", True),  # its first second
        (2, "2026-03-16T15:59:59Z", False),
        (4, "2036-01-01T00:00:00Z", True),
        (4, "no time", False),
        (4, "2036-01-01T00:00:00", False),  # without an offset
        (4, None, False),
    ],
)
def test_a_seal_lies_in_its_keys_time(verify, put, keys, number, at, passes):
    data = sealed(content(1, None, sealed_at=at), keys[number - 1])
    said = verify("--keys", put("keys.json", published(*keys)), put("record.json", data))
    assert said.status == (0 if passes else 1)
    assert passes or "was not valid" in said or "not a record as this program knows it" in said


def test_a_keys_end_is_where_its_endorsement_says(verify, put, keys, files):
    for kept_open in (None, "2030-01-01T00:00:00Z"):
        listed = json.loads(published(*keys))
        listed["items"][0]["valid_until"] = kept_open
        later = put(
            "later.json", sealed(content(1, None, sealed_at="2026-04-01T00:00:00Z"), keys[0])
        )
        file = put("keys.json", json.dumps(listed).encode())
        assert verify("--keys", file, later).status == 1
        assert verify("--keys", file, *files).status == 0


@pytest.mark.parametrize("name", ["valid_from", "endorsement", "endorsed_by"])
def test_a_changed_endorsement_is_told(verify, put, keys, files, name):
    listed = json.loads(published(*keys))
    changed = {"valid_from": "2026-01-02T00:00:00Z", "endorsement": listed["items"][2][name],
               "endorsed_by": keys[3].kid}  # fmt: skip
    listed["items"][1][name] = changed[name]
    said = verify("--keys", put("keys.json", json.dumps(listed).encode()), *files)
    assert said.status == 1
    assert f"key {keys[1].kid}: it is not endorsed by" in said


def test_two_keys_endorsed_by_one_are_told(verify, put, keys, files):
    rival = SealingKey(valid_from="2026-03-16T16:00:00Z", before=keys[0])
    said = verify("--keys", put("keys.json", published(*keys, rival)), *files)
    assert said.status == 1
    assert "it endorses two keys" in said


def test_a_strangers_key_in_a_bundle_is_not_trusted(verify, put, keys, tmp_path):
    stranger = SealingKey()
    whole = bundle(tmp_path / "bundle.zip", members(chain(stranger, (1, 2)), stranger, *keys))
    assert verify("--keys", put("keys.json", published(*keys)), whole).status == 1
    assert verify("--fingerprint", keys[0].kid, whole).status == 1
    said = verify(whole)  # nothing to compare with: people have to
    assert f"Compare with paper, or with keys that you kept: {stranger.kid}" in said
    assert "Not checked: whether the keys in the bundle are the service's own" in said


@pytest.mark.parametrize(
    ("name", "value"),
    [("kid", "0" * 43), ("public_key", {"kty": "OKP"}), ("valid_from", "soon"), ("kid", None),
     ("public_key", "x"), ("valid_until", 7), ("endorsed_by", []), ("valid_from", None),
     ("valid_from", "2026-01-01T00:00:00")],
)  # fmt: skip
def test_a_damaged_list_of_keys_is_told(verify, put, key, files, name, value):
    listed = json.loads(published(key))
    listed["items"][0][name] = value
    said = verify("--keys", put("keys.json", json.dumps(listed).encode()), *files)
    assert (said.status, said.failed) == (2, [])
