"""Bundles: whole ones pass; what is missing, added, exchanged or dangerous is named."""

import json
import stat
import struct
import tracemalloc
import zipfile

import pytest

from tests.records.verifier.making import (
    FILE,
    SealingKey,
    bundle,
    chain,
    content,
    digest_of,
    heads,
    members,
    package,
    sealed,
    sha,
)


@pytest.fixture
def records(key):
    return chain(key, range(1, 5))


@pytest.fixture
def whole(records, key):
    return members(records, key)


@pytest.fixture
def check(verify, keys_file, tmp_path):
    """What is said of a bundle with these members."""

    def run(content_, listed=None):
        return verify("--keys", keys_file, bundle(tmp_path / "bundle.zip", content_, listed))

    return run


def test_a_whole_bundle_passes(check, whole):
    said = check(whole | {"data/readings.csv": b"flow\n1\n", "verify.py": b"print()\n"})
    assert (said.status, said.failed) == (0, [])
    assert "people signed: 4" in said
    assert "links to the record before: 3" in said
    assert "files that were attached to records: 1" in said
    assert "members as the bundle's own list says: 9" in said


def test_a_changed_member_is_named(check, whole):
    listed = package(whole)
    for name in whole:
        bent = bytearray(whole[name])
        bent[len(bent) // 2] ^= 1
        said = check(whole | {name: bytes(bent)}, listed)
        assert said.status in (1, 2), name
        assert name in said, name


def test_a_changed_member_is_named_though_the_list_was_made_anew(check, whole):
    for name in (each for each in whole if each.startswith(("records/", "files/"))):
        bent = whole[name].replace(b"e", b"i", 1)
        said = check(whole | {name: bent})
        assert said.status == 1
        assert f"bundle.zip/{name}" in [line.split(":")[0] for line in said.failed], name


def test_a_member_that_is_damaged_in_the_zip_is_named_and_the_others_are_checked(
    verify, keys_file, whole, tmp_path
):
    for name in ("records/B-01/2.json", f"files/{sha(FILE)}.txt"):
        file = tmp_path / "bundle.zip"
        with zipfile.ZipFile(file, "w", zipfile.ZIP_STORED) as archive:
            for path, content_ in {**whole, "datapackage.json": package(whole)}.items():
                archive.writestr(path, content_)
        data = file.read_bytes()
        file.write_bytes(data.replace(whole[name][:-5], whole[name][:-6] + b"\0", 1))
        said = verify("--keys", keys_file, file)
        assert said.status == 1
        words = f"it is damaged in the ZIP: Bad CRC-32 for file '{name}'"
        assert f"bundle.zip/{name}: {words}" in said.failed
        assert f"people signed: {3 if name.startswith('records') else 4}" in said


def test_members_that_are_missing_or_not_listed_are_named(check, whole):
    listed = package(whole)
    less = {name: data for name, data in whole.items() if name != "records/B-01/2.json"}
    said = check(less, listed)
    assert said.status == 1
    assert any(
        line.startswith("bundle.zip/records/B-01/2.json: datapackage") for line in said.failed
    )
    assert "are missing or damaged: 2 to 2" in said
    said = check(whole | {"records/B-01/9.txt": b"more"}, listed)
    assert said.failed == ["bundle.zip/records/B-01/9.txt: datapackage.json does not list it"]


def test_numbers_are_left_out_where_the_bundle_says_so(check, whole):
    less = {name: data for name, data in whole.items() if name != "records/B-01/2.json"}
    assert check(less).status == 1
    for numbers in ([1], [1, 2], [3, 4], [4]):
        less = {n: data for n, data in whole.items() if n not in _paths(numbers)}
        said = check(less)
        assert said.status == 1
        assert f"missing or damaged: {numbers[0]} to" in said or (
            f"records {numbers[0]} to 4 are missing" in said
        )
    said = check(less, package(less, every_record=False))
    assert said.status == 0
    less = {name: data for name, data in whole.items() if name not in _paths([2])}
    said = check(less, package(less, every_record=False))
    assert said.status == 0
    assert "Not checked: links to a record before that is not given" in said


def _paths(numbers):
    return [f"records/B-01/{number}.json" for number in numbers]


def test_an_attached_file_is_what_its_name_says(check, whole):
    name = f"files/{sha(FILE)}.txt"
    said = check(whole | {name: FILE + b"!"})
    assert said.failed == [
        f"bundle.zip/{name}: it is not what was attached: its digest is {sha(FILE + b'!')}"
    ]


def test_what_no_seal_speaks_for_is_told(check, whole):
    said = check(whole | {"readings.csv": b"flow\n1\n", "README.txt": b"R"})
    told = "Not checked: by any seal, but by the bundle's own list alone: readings.csv, README.txt"
    assert (said.status, told in said.words.splitlines()) == (0, True)
    assert "no record names" not in said
    many = {f"more/{number}": b"x" for number in range(25)}
    said = check(whole | many | {f"files/{sha(b'x')}": b"x"})
    assert said.status == 0
    assert "more/19 and 5 more" in said
    assert "Not checked: files that no record names, but by the bundle's own list alone" in said
    assert "by any seal" not in check(whole)


def test_two_records_of_one_number_are_told(check, whole, key, records):
    other = sealed(content(3, digest_of(records[1]), client={"name": "Another"}), key)
    said = check(whole | {"records/B-01/3-again.json": other})
    assert said.status == 1
    assert said.failed[0].startswith("bundle.zip/records/B-01/3-again.json: record 3 of station")


@pytest.mark.parametrize("share", [0, 0.1, 0.5, 0.9, 0.999])
def test_a_bundle_that_is_cut_short_is_told(verify, keys_file, whole, tmp_path, share):
    file = bundle(tmp_path / "bundle.zip", whole)
    data = file.read_bytes()
    file.write_bytes(data[: int(share * len(data))])
    for keys in (("--keys", keys_file), ()):
        said = verify(*keys, file)
        assert (said.status, said.failed) == (2, [])
        assert "is no whole ZIP, damaged or cut short" in said
        assert "there are no keys" not in said


def test_no_changed_byte_of_a_bundle_breaks_the_program(verify, keys_file, whole, tmp_path):
    file = bundle(tmp_path / "bundle.zip", whole)
    data = file.read_bytes()
    for at in range(0, len(data), 23):
        bent = bytearray(data)
        bent[at] ^= 0xFF
        file.write_bytes(bent)
        said = verify("--keys", keys_file, file)
        # Bytes that no content rests on (times, attributes) may change.
        assert said.status in (0, 1, 2)
        assert (said.status == 0) is ("All that was checked is right." in said)


@pytest.mark.parametrize(
    "name",
    ["../evil.json", "records/../../evil.json", "/etc/evil", "C:evil", "records\\evil.json", "a\nb",
     "records/"],
)  # fmt: skip
def test_a_path_that_leads_elsewhere_is_refused(check, whole, name):
    said = check({**whole, name: b"x"})
    assert (said.status, said.failed) == (2, [])
    assert "UNUSABLE" in said


def test_a_link_is_refused(verify, keys_file, whole, tmp_path):
    file = bundle(tmp_path / "bundle.zip", whole)
    with zipfile.ZipFile(file, "a") as archive:
        link = zipfile.ZipInfo("records/link.json")
        link.external_attr = (stat.S_IFLNK | 0o777) << 16
        archive.writestr(link, "/etc/passwd")
    said = verify("--keys", keys_file, file)
    assert said.status == 2
    assert "is no plain file" in said


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_name_for_two_members_is_refused(verify, keys_file, whole, tmp_path):
    file = bundle(tmp_path / "bundle.zip", whole)
    with zipfile.ZipFile(file, "a") as archive:
        archive.writestr("keys.json", b"{}")
    said = verify("--keys", keys_file, file)
    assert said.status == 2
    assert "two members" in said


def test_a_bomb_is_refused(verify, keys_file, whole, tmp_path):
    file = bundle(tmp_path / "bundle.zip", whole)
    with (
        zipfile.ZipFile(file, "a", zipfile.ZIP_DEFLATED) as archive,
        archive.open("records/bomb.json", "w", force_zip64=True) as member,
    ):
        for _ in range(128):
            member.write(bytes(1 << 20))
    said = verify("--keys", keys_file, file)
    assert said.status == 2
    assert "unpacks to 134217728 bytes" in said


def test_members_that_lie_over_each_other_are_refused(verify, keys_file, whole, tmp_path):
    file = bundle(tmp_path / "bundle.zip", whole)
    data = bytearray(file.read_bytes())
    # The second entry of the directory points at the first one's bytes.
    first = data.index(b"PK\x01\x02")
    second = data.index(b"PK\x01\x02", first + 4)
    data[second + 42 : second + 46] = struct.pack("<I", 0)
    file.write_bytes(data)
    said = verify("--keys", keys_file, file)
    assert said.status == 2
    assert "lies over another member" in said


@pytest.mark.parametrize("method", [zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_a_member_that_is_packed_otherwise_is_refused(verify, keys_file, whole, tmp_path, method):
    file = bundle(tmp_path / "bundle.zip", whole)
    with zipfile.ZipFile(file, "a") as archive:
        archive.writestr("records/odd.json", b"{}", method)
    said = verify("--keys", keys_file, file)
    assert (said.status, said.failed) == (2, [])
    assert f"records/odd.json is packed by method {method}: expected 0 or 8" in said


def test_a_name_that_cannot_be_read_is_told(verify, keys_file, whole, tmp_path):
    """The name at the member is said to be UTF-8 (bit 11), and is none."""
    file = bundle(tmp_path / "bundle.zip", whole)
    data, name = bytearray(file.read_bytes()), b"records/B-01/2.json"
    at = data.index(name)
    data[at], data[at - 23] = 0xFF, data[at - 23] | 0x08
    file.write_bytes(data)
    said = verify("--keys", keys_file, file)
    assert said.status == 1
    assert said.failed[0].startswith(f"bundle.zip/{name.decode()}: it is damaged in the ZIP: ")


def test_a_member_that_says_less_than_it_holds_is_told(verify, keys_file, whole, tmp_path):
    file = bundle(tmp_path / "bundle.zip", whole)
    data = bytearray(file.read_bytes())
    entry = data.index(b"PK\x01\x02")
    data[entry + 24 : entry + 28] = struct.pack("<I", 10)
    file.write_bytes(data)
    said = verify("--keys", keys_file, file)
    assert said.status != 0


def test_what_is_too_large_for_memory_is_refused_or_read_in_pieces(
    verify, keys_file, whole, tmp_path, program, monkeypatch
):
    chunk = bytes(range(256)) * 4096
    listed = {"data/readings.csv": chunk * 40}
    file = bundle(tmp_path / "bundle.zip", whole | listed)
    tracemalloc.start()
    said = verify("--keys", keys_file, file)
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert said.status == 0
    assert most < 20e6  # bytes, of a member of 42 MB
    monkeypatch.setattr(program, "MOST", 1000)
    assert verify("--keys", keys_file, file).status == 2


@pytest.mark.parametrize(
    "listed",
    [
        b"",
        b"[]",
        b"{}",
        b'{"resources": [{}]}',
        b'{"resources": 1}',
        b'{"resources": [{"path": []}]}',
    ],
)
def test_a_damaged_list_of_members_is_told(check, whole, listed):
    said = check(whole, listed)
    assert (said.status, said.failed) == (2, [])


def test_a_zip_that_is_no_bundle_is_told(verify, keys_file, tmp_path):
    file = tmp_path / "other.zip"
    with zipfile.ZipFile(file, "w") as archive:
        archive.writestr("a.txt", b"a")
    said = verify("--keys", keys_file, file)
    assert said.status == 2
    assert "no datapackage.json" in said
    said = verify("--keys", keys_file, bundle(tmp_path / "empty.zip", {"heads.json": heads()}))
    assert said.status == 2
    assert "there is no record in what was given" in said


def test_without_other_keys_a_bundles_own_are_told(verify, whole, key, tmp_path):
    file = bundle(tmp_path / "bundle.zip", whole)
    said = verify(file)
    assert said.status == 0
    assert f"Compare with paper, or with keys that you kept: {key.kid}" in said
    assert verify("--fingerprint", key.kid, file).status == 0
    other = "0" * 43
    assert verify("--fingerprint", other, file).status == 1
    less = {name: data for name, data in whole.items() if name != "keys.json"}
    said = verify(bundle(tmp_path / "keyless.zip", less))
    assert said.status == 2
    assert "there are no keys" in said
    assert json.loads(whole["keys.json"])["items"][0]["kid"] == key.kid


def test_a_forged_record_is_none_because_it_was_attached_to_one(check, verify, put, key, keys_file):
    forged = sealed(content(2, "0" * 64), SealingKey())
    named = [{"id": "e1", "name": "other.json", "sha256": sha(forged)}]
    record = sealed(content(1, None, attachments=named), key)
    whole = members([record], key)
    said = check(whole | {"records/B-01/2.json": forged})
    assert [line.split(":")[0] for line in said.failed] == ["bundle.zip/records/B-01/2.json"]
    said = check(whole | {f"files/{sha(forged)}.json": forged})
    assert said.status == 0
    assert "people signed: 1" in said
    said = verify("--keys", keys_file, put("1.json", record), put("other.json", forged))
    assert said.status == 0
    assert "people signed: 1" in said
