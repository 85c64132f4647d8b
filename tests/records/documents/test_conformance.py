"""Records on paper against the standards for archives (PDF/A-3a) and accessibility (PDF/UA-1).

An independent validator reads them. ISO 19005-3, ISO 14289-1.
"""

import io
import re
from collections import Counter
from typing import Any

import page
import pypdf
import pytest
from pypdf.generic import IndirectObject

from calculations.inputs.base import LONGEST_TEXT
from records.documents.record_pdf import Style
from tests.records.documents import demo, full, sample
from tests.records.documents.reading_back import reader, squeezed, text
from tests.records.documents.sample import printed

STANDARDS = ("3a", "ua1")
NAMES = "张伟 山田太郎 김민준 שלום 水\u0301 \N{GRINNING FACE} \N{RIGHT-TO-LEFT OVERRIDE}evil"


def named() -> dict[str, Any]:
    """The ordinary record with names of every script, and signs that no face has."""
    record = sample.record()
    record["contractor"]["name"] = record["signatures"][0]["by"]["name"] = NAMES
    record["event"]["remarks"] = f"{NAMES}\n" * 40
    return record


def endless() -> dict[str, Any]:
    """The ordinary record with names as long as is taken, of signs that no face has."""
    record = sample.record()
    record["contractor"]["name"] = PRIVATE + "contractor"
    record["snapshot"]["site"]["name"] = PRIVATE + "station"
    record["snapshot"]["pump_set"]["tag"] = PRIVATE + "tag"
    record["event"]["sensor_verifications"][0]["sensor"] = PRIVATE + "sensor"
    record["snapshot"]["sensors"][0]["tag"] = PRIVATE + "column"
    return record


PRIVATE = "\U000f0000" * (LONGEST_TEXT - 10)
RECORDS = {
    "ordinary": sample.record,
    "fullest": full.record,
    "names": named,
    "endless": endless,
    **{name: lambda name=name: demo.record_of(name) for name in demo.names()},
}


def faults(pdf: bytes, standard: str) -> list[str]:
    """What the validator finds."""
    report = page.validate_pdf_bytes(pdf, profile=standard)
    assert report.rules.total > 100
    real = [each for each in report.failures if not _is_misread(pdf, each)]
    return [f"{each.rule_id}: {each.message}" for each in real]


def _is_misread(pdf: bytes, failure: Any) -> bool:
    """Data that end in CR stand before an end-of-line LF: the validator takes both for the latter.

    ISO 32000-1, 7.3.8.2: the end-of-line marker before `endstream` does not count. Where every
    length leads to an `endstream` after such a marker, none is wrong.
    """
    if failure.rule_id != "PDFA3A-STREAM-LENGTH-001":
        return False
    streams = list(re.finditer(rb"/Length (\d+)\b[^\n]{0,200}>>\r?\nstream\r?\n", pdf))
    ends = [pdf[each.end() + int(each[1]) - 1 :][:12] for each in streams]
    fitting = [re.match(rb".\r?\n?endstream", end, re.DOTALL) for end in ends]
    whole = len(streams) == pdf.count(b"endstream")
    return whole and all(fitting) and any(end.startswith(b"\r") for end in ends)


@pytest.mark.parametrize("record", RECORDS)
def test_a_record_keeps_to_the_standards(record: str) -> None:
    pdf = printed(RECORDS[record]())
    assert [fault for standard in STANDARDS for fault in faults(pdf, standard)] == []


def test_what_is_too_long_for_a_title_stands_whole_elsewhere() -> None:
    pdf = printed(endless())
    words = text(pdf)
    ends = [f"U+F0000›{end}" for end in ("contractor", "station", "tag", "sensor", "column")]
    assert [end for end in ends if end not in squeezed(words)] == []
    assert len(str(reader(pdf).metadata.title)) < 3000
    assert squeezed(words).count("›column") < 12  # the head of a table stands on each of its pages
    assert words.count("U+F0000") >= 4 * (LONGEST_TEXT - 10)


@pytest.mark.parametrize("style", [Style("us", "letter"), Style("si", "a4")])
def test_it_does_so_as_a_client_wants_it(style: Style) -> None:
    pdf = printed(full.record(), style)
    assert [fault for standard in STANDARDS for fault in faults(pdf, standard)] == []


@pytest.mark.parametrize(
    ("entry", "standard"),
    [("/Metadata", "3a"), ("/MarkInfo", "3a"), ("/Lang", "ua1"), ("/StructTreeRoot", "ua1")],
)
def test_the_validator_tells_what_is_taken_away(entry: str, standard: str) -> None:
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(printed(sample.record())))
    del writer.root_object[entry]
    written = io.BytesIO()
    writer.write(written)
    assert faults(written.getvalue(), standard)


def test_headings_tables_and_lists_are_what_they_are_for_a_screen_reader() -> None:
    read = reader(printed(sample.record()))
    tags = Counter(_tags(read.trailer["/Root"]["/StructTreeRoot"]))
    assert tags["/H1"] == 1
    assert tags["/H2"] > 10
    assert tags["/Table"] > 10
    assert tags["/TH"] > tags["/Table"]
    assert tags["/TD"] > tags["/TH"]
    assert read.trailer["/Root"]["/ViewerPreferences"]["/DisplayDocTitle"]


def _tags(element: Any) -> list[str]:
    """The kinds of all elements of the structure tree."""
    element = element.get_object() if isinstance(element, IndirectObject) else element
    if isinstance(element, list):
        return [tag for inner in element for tag in _tags(inner)]
    if not isinstance(element, dict):
        return []
    own = [str(element["/S"])] if "/S" in element else []
    return own + (_tags(element["/K"]) if "/K" in element else [])
