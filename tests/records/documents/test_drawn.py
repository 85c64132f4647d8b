"""Two hundred records as no technician would fill them in: each keeps to the standards.

Each is printed, signed, and read by the validator; of every fifth the figures are read back.
"""

from pathlib import Path

import pytest

from deploy.keys import DOCUMENT_KEY, make_missing_keys
from records.documents.document_key import DocumentKey
from records.documents.record_pdf import render
from records.documents.signing import sign
from records.verifier.pdfs import record_in
from tests.records.documents import sample
from tests.records.documents.drawn import Drawn, drawn
from tests.records.documents.reading_back import leaves, squeezed, text
from tests.records.documents.test_conformance import STANDARDS, faults

QUICK = 6
ALL = 200


def numbers(step: int = 1) -> list[object]:
    """Numbers of records; all but the first few are marked as slow."""
    slow = pytest.mark.slow
    return [n if n < QUICK else pytest.param(n, marks=slow) for n in range(0, ALL, step)]


@pytest.fixture(scope="session")
def key(tmp_path_factory: pytest.TempPathFactory) -> DocumentKey:
    """A key for documents."""
    folder: Path = tmp_path_factory.mktemp("keys")
    make_missing_keys(folder)
    return DocumentKey.read((folder / DOCUMENT_KEY).read_bytes())


def printed(of: Drawn) -> bytes:
    seal, data = sample.sealed(of.record)
    return render(of.record, seal, data, of.style, of.beside)


@pytest.mark.parametrize("number", numbers())
def test_a_drawn_record_keeps_to_the_standards(number: int, key: DocumentKey) -> None:
    of = drawn(number)
    signed = sign(printed(of), key)
    assert record_in(signed) == sample.sealed(of.record)[1]
    assert [fault for standard in STANDARDS for fault in faults(signed, standard)] == []


@pytest.mark.parametrize("number", numbers(5))
def test_every_quantity_of_a_drawn_record_is_printed_as_entered(number: int) -> None:
    of = drawn(number)
    words = squeezed(text(printed(of))).replace("-", "−")
    entered = leaves({name: of.record[name] for name in ("event", "snapshot")})
    missing = [
        (at, value)
        for at, value in entered
        if isinstance(value, dict) and squeezed(value["value"]).replace("-", "−") not in words
    ]
    assert missing == []


def test_a_number_gives_the_same_record_each_time() -> None:
    assert drawn(3) == drawn(3)
    assert printed(drawn(3)) == printed(drawn(3))
