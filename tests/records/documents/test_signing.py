"""The signature inside a PDF, checked by programs that had no part in making it."""

import re
import subprocess
from functools import cache
from pathlib import Path

import pytest

from deploy.keys import DOCUMENT_KEY, make_missing_keys
from records.documents.document_key import DocumentKey
from records.documents.signing import sign
from tests.records.documents import sample
from tests.records.documents.reading_back import reader
from tests.records.documents.sample import printed
from tests.records.documents.test_conformance import STANDARDS, faults


@pytest.fixture(scope="module")
def keys(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A file with a key for documents."""
    folder = tmp_path_factory.mktemp("keys")
    make_missing_keys(folder)
    return folder / DOCUMENT_KEY


@pytest.fixture(scope="module")
def signed(keys: Path) -> bytes:
    return sign(_document(), DocumentKey.read(keys.read_bytes()))


@cache
def _document() -> bytes:
    return printed(sample.record())


def _checked_by_openssl(pdf: bytes, keys: Path) -> bool:
    """Whether the signature holds for all of the file but its own place (ISO 32000-1, 12.8.1)."""
    found = re.search(rb"/ByteRange ?\[ ?(\d+) (\d+) (\d+) (\d+) ?\]", pdf)
    assert found
    first, size, second, rest = map(int, found.groups())
    assert (first, second + rest) == (0, len(pdf))
    (keys.parent / "covered").write_bytes(pdf[:size] + pdf[second:])
    (keys.parent / "cms").write_bytes(bytes.fromhex(pdf[size + 1 : second - 1].decode()))
    command = "openssl cms -verify -binary -inform DER -in cms -content covered -out /dev/null"
    trusted = ["-CAfile", keys.name, "-purpose", "any"]
    ran = subprocess.run(
        [*command.split(), *trusted], cwd=keys.parent, capture_output=True, check=False
    )
    return ran.returncode == 0


def test_openssl_agrees_and_sees_a_changed_byte(signed: bytes, keys: Path) -> None:
    assert _checked_by_openssl(signed, keys)
    changed = bytearray(signed)
    changed[200_000] ^= 1
    assert not _checked_by_openssl(bytes(changed), keys)


def test_the_document_stays_as_it_was(signed: bytes) -> None:
    document = _document()
    assert signed.startswith(document + b"\n")
    before, after = reader(document), reader(signed)
    assert after.attachments == before.attachments
    assert after.xmp_metadata.stream.get_data() == before.xmp_metadata.stream.get_data()


@pytest.mark.parametrize("standard", STANDARDS)
def test_it_keeps_to_the_standards(signed: bytes, standard: str) -> None:
    assert faults(signed, standard) == []


def test_a_long_one_too(keys: Path) -> None:
    record = sample.record()
    record["event"]["remarks"] = "Seals quiet, no leak.\n" * 4000
    document = printed(record)
    assert len(reader(document).pages) > 60
    signed = sign(document, DocumentKey.read(keys.read_bytes()))
    assert [fault for standard in STANDARDS for fault in faults(signed, standard)] == []


def test_no_later_change_is_allowed(signed: bytes) -> None:
    """A certification (ISO 32000-1, 12.8.2.2): P 1 allows none."""
    root = reader(signed).root_object
    reference = root["/Perms"]["/DocMDP"]["/Reference"][0]
    assert reference["/TransformMethod"] == "/DocMDP"
    assert reference["/TransformParams"]["/P"] == 1


def test_a_key_comes_with_its_own_certificate(keys: Path, tmp_path: Path) -> None:
    make_missing_keys(tmp_path)
    own, others = keys.read_bytes(), (tmp_path / DOCUMENT_KEY).read_bytes()
    end = b"-----END PRIVATE KEY-----\n"
    mixed = own.split(end)[0] + end + others.split(end)[1]
    with pytest.raises(ValueError, match="not that of the key"):
        DocumentKey.read(mixed)
