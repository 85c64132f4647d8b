"""What cannot be read is refused in words and not by a traceback, and nothing of it is kept."""

import hashlib
import json
import zipfile

import pytest

from calculations.inputs.reading import InvalidDocument, Problem
from records.errors import Conflict
from records.services import keys, performed_tasks
from records.services.content import canonical
from records.verifier.canonical import WRITE
from records.verifier.telling import BEGIN, BESIDE
from tests.records.books.installations import members
from tests.records.books.test_refused import assert_as_it_began, forged, inside_of


def refused(elsewhere, take_in, file):
    """The words."""
    with pytest.raises(Conflict) as told:
        take_in(file)
    assert_as_it_began(elsewhere)
    return told.value.detail


@pytest.mark.parametrize("name", ["keys.json", "heads.json"])
def test_a_list_that_is_missing(book, elsewhere, take_in, tmp_path, name):
    file = forged(book, tmp_path / "forged.zip", inside_of(name, gone=True))
    assert refused(elsewhere, take_in, file).startswith(f"{name} is not in it")


def test_a_path_that_is_no_text(book, elsewhere, take_in, tmp_path):
    inside, file = members(book), tmp_path / "forged.zip"
    package = json.loads(inside.pop("datapackage.json"))
    package["resources"].append({"path": 5, "bytes": 0, "hash": ""})
    with zipfile.ZipFile(file, "w") as archive:
        for path, content in inside.items():
            archive.writestr(path, content)
        archive.writestr("datapackage.json", json.dumps(package))
    assert refused(elsewhere, take_in, file) == "datapackage.json has a path that is no text"


@pytest.mark.parametrize("name", ["algorithm", "endorsement"])
def test_a_key_that_is_told_in_part(book, elsewhere, take_in, tmp_path, name):
    def less(inside, package):
        told = json.loads(inside["keys.json"])
        del told["items"][0][name]
        inside["keys.json"] = json.dumps(told).encode()

    file = forged(book, tmp_path / "forged.zip", less)
    assert f"keys.json: expected text as {name} of key" in refused(elsewhere, take_in, file)


def sealed_anew(data, key, **changes):
    """A record with other words in it, sealed with the same key; its JSON and its digest."""
    end = data.rindex(BESIDE)
    text = canonical(json.loads(data[len(BEGIN) : end]) | changes)
    seal = json.loads(data[end + len(BESIDE) : -1])
    digest = hashlib.sha256(text).hexdigest()
    seal |= {"digest": digest, "signature": keys.sign(text, key)}
    return BEGIN + text + BESIDE + WRITE(seal).encode() + b"}", digest


def headed(inside, number, digest):
    heads = json.loads(inside["heads.json"])
    heads["heads"][0] |= {"number": number, "digest": digest}
    inside["heads.json"] = json.dumps(heads).encode()


def test_a_record_whose_id_is_none(stage, book, elsewhere, take_in, tmp_path):
    def change(inside, package):
        [path] = [path for path in inside if path.endswith("000001.json")]
        inside[path], digest = sealed_anew(inside[path], stage.key, record_id="the first")
        del inside[path.replace(".json", ".pdf")]
        headed(inside, 1, digest)

    file = forged(book, tmp_path / "forged.zip", change)
    assert "expected a UUID as its record_id" in refused(elsewhere, take_in, file)


def test_two_records_of_one_id(stage, book, elsewhere, take_in, tmp_path):
    """Written in two ways, which the verifier holds for two."""

    def change(inside, package):
        [path] = [path for path in inside if path.endswith("000001.json")]
        first = inside[path]
        end = first.rindex(BESIDE)
        told = json.loads(first)["record"]
        more = {
            "number": 2, "record_id": told["record_id"].upper(),
            "previous": hashlib.sha256(first[len(BEGIN) : end]).hexdigest(),
        }  # fmt: skip
        second = path.replace("000001", "000002")
        inside[second], digest = sealed_anew(first, stage.key, **more)
        headed(inside, 2, digest)

    file = forged(book, tmp_path / "forged.zip", change)
    words = refused(elsewhere, take_in, file)
    assert "since the database refuses it" in words
    assert "staged_texts" in words


UNREADABLE = [
    KeyError("time_zone"),
    InvalidDocument([Problem("/event/kind", "literal", "expected another word")]),
    OverflowError("too large"),
]


@pytest.mark.parametrize("error", UNREADABLE, ids=lambda error: type(error).__name__)
def test_a_text_that_this_version_does_not_read(
    world, book, elsewhere, take_in, monkeypatch, error
):
    def fail(record, content):
        raise error

    monkeypatch.setattr(performed_tasks, "rows", fail)
    words = refused(elsewhere, take_in, book)
    assert f"the text of record {world.own.record} cannot be read: {type(error).__name__}" in words
