"""PDFs: the record that is attached is found and checked, however the file was written."""

import io
import json
import random
from pathlib import Path

import pypdf
import pytest

from deploy import keys as deploy_keys
from records.documents.document_key import DocumentKey
from records.documents.record_pdf import render
from records.documents.signing import sign
from tests.records.pdfs import smallest
from tests.records.verifier.making import bundle, content, members, sealed
from tests.records.verifier.pdf_making import JSON, attached, filespec, holding, stream

GOLDEN = Path(__file__).parent.parent / "golden" / "format_1.json"


@pytest.fixture(scope="module")
def golden():
    return GOLDEN.read_bytes()


@pytest.fixture(scope="module")
def document(golden):
    """The PDF of the golden record, as the service makes it."""
    told = json.loads(golden)
    return render(told["record"], told["seal"], golden)


@pytest.fixture(scope="module")
def trusted(golden):
    return ("--fingerprint", json.loads(golden)["seal"]["key"])


def test_the_services_pdf_passes(verify, put, trusted, document, golden):
    said = verify(*trusted, put("record.pdf", document))
    assert (said.status, said.failed) == (0, [])
    assert "people signed: 1" in said
    assert "Not checked: what is printed in PDFs" in said
    [found] = pypdf.PdfReader(io.BytesIO(document)).attachments["data.json"]
    assert found == golden  # an independent reader finds the same
    said = verify(*trusted, put("record.pdf", document), put("record.json", golden))
    assert said.status == 0


def test_a_pdf_that_was_signed_passes(verify, put, trusted, document, tmp_path):
    deploy_keys.make_missing_keys(tmp_path)
    key = DocumentKey.read((tmp_path / deploy_keys.DOCUMENT_KEY).read_bytes())
    signed = sign(document, key)
    assert signed != document
    assert verify(*trusted, put("record.pdf", signed)).status == 0


def test_a_pdf_that_another_program_wrote_anew_passes(verify, put, trusted, document):
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(document))
    anew = io.BytesIO()
    writer.write(anew)
    assert anew.getvalue() != document
    assert verify(*trusted, put("record.pdf", anew.getvalue())).status == 0
    plain = holding(GOLDEN.read_bytes(), o5=stream(GOLDEN.read_bytes(), JSON))
    assert verify(*trusted, put("record.pdf", plain)).status == 0


def test_a_changed_record_inside_is_named(verify, put, trusted, golden):
    bent = golden.replace(b"Ombrelay", b"Umbrelay", 1)
    assert bent != golden
    file = put("record.pdf", holding(bent))
    said = verify(*trusted, file)
    assert [line.split(":")[0] for line in said.failed] == [str(file)]
    assert "its text has the digest" in said


def test_changed_bytes_of_what_is_attached_are_named(verify, put, trusted, document):
    begin = document.rindex(b"stream", 0, document.index(b"EmbeddedFile") + 400) + 8
    end = document.index(b"endstream", begin) - 1
    chance = random.Random(3)
    for _ in range(100):
        bent = bytearray(document)
        bent[chance.randrange(begin, end)] ^= 1 << chance.randrange(8)
        file = put("record.pdf", bytes(bent))
        said = verify(*trusted, file)
        assert said.status == 1
        assert [line.split(":")[0] for line in said.failed] == [str(file)]


@pytest.mark.parametrize("share", [0.001, 0.3, 0.6, 0.99])
def test_a_pdf_that_is_cut_short_is_told(verify, put, trusted, document, share):
    said = verify(*trusted, put("record.pdf", document[: int(share * len(document))]))
    assert said.status == 1
    assert "damaged" in said


def test_a_pdf_without_a_record_or_with_two_is_told(verify, put, trusted, golden, key):
    said = verify(*trusted, put("record.pdf", smallest()))
    assert said.status == 1
    assert "no records are attached to it" in said
    more = {"o6": filespec(7), "o7": attached(sealed(content(1, None), key))}
    two = holding(golden, **more)
    said = verify(*trusted, put("record.pdf", two))
    assert said.status == 1
    assert "several records are attached to it, expected one" in said


def test_a_bomb_that_is_attached_is_told(verify, put, trusted):
    said = verify(*trusted, put("record.pdf", holding(b'{"record":' + bytes(80 << 20))))
    assert said.status == 1
    assert "larger than 64 MiB" in said


def test_in_a_bundle_a_pdf_holds_the_record_beside_it(verify, keys_file, key, tmp_path):
    one = sealed(content(1, None), key)
    other = sealed(content(1, None, client={"name": "Another"}), key)
    whole = members([one], key)
    right = bundle(tmp_path / "a.zip", whole | {"records/B-01/1.pdf": holding(one)})
    said = verify("--keys", keys_file, right)
    assert said.status == 0
    assert "PDFs that hold the record beside them: 1" in said
    for wrong in (other, one[:-1] + b" }", sealed(content(2, "0" * 64), key)):
        pdf = {"records/B-01/1.pdf": holding(wrong)}
        said = verify("--keys", keys_file, bundle(tmp_path / "b.zip", whole | pdf))
        assert said.status == 1
        assert any(line.startswith("b.zip/records/B-01/1.pdf: ") for line in said.failed)
