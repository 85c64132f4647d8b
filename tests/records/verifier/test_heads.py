"""Rewritten history: what the service itself could do passes alone, not beside a kept head."""

import json

import pytest

from tests.records.verifier.making import (
    OTHER_SITE,
    bundle,
    chain,
    content,
    digest_of,
    head,
    heads,
    members,
    sealed,
)


@pytest.fixture
def genuine(key):
    return chain(key, range(1, 6))


def rewritten(key, documents):
    """The same service writes its history anew: numbers, links and seals fit each other."""
    found = []
    for number, document in enumerate(documents, 1):
        previous = digest_of(found[-1]) if found else None
        found.append(sealed(document | {"number": number, "previous": previous}, key))
    return found


def documents(records):
    return [json.loads(data)["record"] for data in records]


def histories(key, genuine):
    told = documents(genuine)
    dropped = told[:1] + told[2:]
    swapped = [told[0], told[2], told[1], *told[3:]]
    forked = [*told[:3], content(4, None, client={"name": "Another"}), told[4]]
    return {
        "dropped": rewritten(key, dropped), "reordered": rewritten(key, swapped),
        "forked": rewritten(key, forked), "cut": genuine[:4],
    }  # fmt: skip


@pytest.mark.parametrize("kind", ["dropped", "reordered", "forked", "cut"])
@pytest.mark.parametrize("form", ["bundle", "files"])
def test_rewritten_history_fails_against_a_kept_head(
    verify, put, key, keys_file, genuine, tmp_path, kind, form
):
    history = histories(key, genuine)[kind]
    if form == "bundle":
        given = [bundle(tmp_path / "bundle.zip", members(history, key))]
    else:
        given = [put(f"{number}.json", data) for number, data in enumerate(history)]
    assert verify("--keys", keys_file, *given).status == 0
    kept = put("kept.json", heads(genuine[-1]))
    said = verify("--keys", keys_file, "--heads", kept, *given)
    assert said.status == 1
    assert any(line.startswith("station") for line in said.failed)
    assert ("dropped" in said) is (kind in ("dropped", "cut"))
    # A record's JSON that was kept is a head as well.
    kept = put("kept-record.json", genuine[-1])
    assert verify("--keys", keys_file, "--heads", kept, *given).status == 1


@pytest.mark.parametrize("number", range(1, 6))
def test_history_that_went_on_passes_against_any_kept_head(
    verify, put, key, keys_file, genuine, tmp_path, number
):
    kept = put("kept.json", heads(genuine[number - 1]))
    whole = bundle(tmp_path / "bundle.zip", members(genuine, key))
    said = verify("--keys", keys_file, "--heads", kept, whole)
    assert (said.status, said.failed) == (0, [])
    assert "heads that were kept from earlier: 1" in said


def test_the_next_record_alone_leads_to_a_kept_head(verify, put, keys_file, genuine):
    kept = put("kept.json", heads(genuine[2]))
    later = [put(f"{number}.json", genuine[number]) for number in (3, 4)]
    assert verify("--keys", keys_file, "--heads", kept, *later).status == 0
    said = verify("--keys", keys_file, "--heads", kept, later[1])
    assert said.status == 1
    assert "nothing that is given leads to it" in said


def test_beside_a_head_no_number_is_missing(verify, put, keys_file, genuine):
    kept = put("kept.json", heads(genuine[-1]))
    given = [put(f"{number}.json", genuine[number]) for number in (0, 1, 3, 4)]
    assert verify("--keys", keys_file, *given).status == 0
    said = verify("--keys", keys_file, "--heads", kept, *given)
    assert said.status == 1
    assert "are missing or damaged: 3 to 3" in said


def test_a_station_that_vanished_from_a_bundle_is_told(
    verify, put, key, keys_file, genuine, tmp_path
):
    gone = head(genuine[-1]) | {"site": OTHER_SITE}
    kept = put("kept.json", json.dumps({"heads": [head(genuine[-1]), gone]}).encode())
    whole = bundle(tmp_path / "bundle.zip", members(genuine, key))
    said = verify("--keys", keys_file, "--heads", kept, whole)
    assert [line.split(":")[0] for line in said.failed] == [f"station {OTHER_SITE}"]
    # Beside single records it is only said that nothing of it was given.
    files = [put(f"{number}.json", data) for number, data in enumerate(genuine)]
    said = verify("--keys", keys_file, "--heads", kept, *files)
    assert said.status == 0
    assert "Not checked: heads of stations of which nothing is given" in said


def test_a_bundles_own_heads_fit_its_records(verify, key, keys_file, genuine, tmp_path):
    for wrong in (heads(genuine[3]), heads(), json.dumps(
        {"heads": [head(genuine[-1]) | {"digest": "0" * 64}]}
    ).encode()):  # fmt: skip
        content_ = members(genuine, key) | {"heads.json": wrong}
        said = verify("--keys", keys_file, bundle(tmp_path / "bundle.zip", content_))
        assert said.status == 1
        assert said.failed[0].startswith("heads.json")


@pytest.mark.parametrize(
    "kept",
    [
        b"", b"[]", b"{}", b'{"heads": [{}]}', b'{"heads": [{"site":"s","number":"1","digest":1}]}',
        b'{"heads": [{"site":[],"number":1,"digest":""}]}',
        b'{"record":{"event":{"site":"s"},"number":"1"},"seal":{"digest":""}}',
    ],
)  # fmt: skip
def test_a_damaged_list_of_heads_is_told(verify, put, keys_file, genuine, kept):
    words = ("--keys", keys_file, "--heads", put("kept.json", kept), put("1.json", genuine[0]))
    said = verify(*words)
    assert (said.status, said.failed) == (2, [])


def test_a_damaged_list_of_heads_in_a_bundle_is_told(verify, key, keys_file, genuine, tmp_path):
    wrong = {"heads.json": b'{"heads": [{"site":{},"number":1,"digest":""}]}'}
    whole = bundle(tmp_path / "bundle.zip", members(genuine, key) | wrong)
    said = verify("--keys", keys_file, whole)
    assert (said.status, said.failed) == (2, [])
    assert "bundle.zip/heads.json is no list of heads" in said
