"""The record as a file: data, standards, the same every time, safe with whatever people write."""

import hashlib
import os
import subprocess
import sys
from copy import deepcopy

from records.document_style import Style
from records.documents import typesetting
from records.documents.record_pdf import render
from tests.records.documents import sample
from tests.records.documents.reading_back import pages, reader, squeezed, text
from tests.records.documents.sample import printed

HOSTILE = (
    "#panic() #{ 1 + 1 } $x^2$ \\ *bold* _it_ <label> @ref `raw` = heading - list + enum / term\n"
    '"quotes" \' // comment /* */ [content] (tuple) ~ -- --- ... \\u{41} #"x" \t tab\r\n'
    "שלום עולם مرحبا "
    "\N{GRINNING FACE}\N{THUMBS UP SIGN}\N{EMOJI MODIFIER FITZPATRICK TYPE-4} "
    "\N{RIGHT-TO-LEFT OVERRIDE}evil\N{POP DIRECTIONAL FORMATTING} \N{ZERO WIDTH SPACE}"
    "Ωμέγα Насосная станция Łódź ½ ² µ " + "w" * 1500
)


# -- data, standards, sameness -------------------------------------------------------------------


def test_data_is_attached_as_it_was_given() -> None:
    record = sample.record()
    record["event"]["remarks"] = 'Насос "1" \\ ½ \N{GRINNING FACE} é'
    seal, data = sample.sealed(record)
    pdf = reader(render(record, seal, data))
    assert pdf.attachments["data.json"] == [data]
    (attached,) = pdf.trailer["/Root"]["/AF"]
    assert attached.get_object()["/AFRelationship"] == "/Data"


def test_it_is_an_archival_and_tagged_document_in_english_with_a_title(ordinary: bytes) -> None:
    root = reader(ordinary).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    about = root["/Metadata"].get_data().decode()
    assert "<pdfaid:part>3</pdfaid:part>" in about
    assert "<pdfaid:conformance>A</pdfaid:conformance>" in about
    assert "<pdfuaid:part>1</pdfuaid:part>" in about
    assert reader(ordinary).metadata.title.startswith("Pump set PS-101: start-up")


def test_only_the_bundled_face_is_used_and_it_is_embedded(ordinary: bytes) -> None:
    fonts = [
        font.get_object()
        for page in reader(ordinary).pages
        for font in page["/Resources"]["/Font"].values()
    ]
    assert {font["/BaseFont"].split("+")[1].split("-")[0] for font in fonts} == {"SourceSans3"}
    inner = [font["/DescendantFonts"][0].get_object() for font in fonts]
    assert all("/FontFile3" in font["/FontDescriptor"] for font in inner)


def test_the_same_record_gives_the_same_bytes(ordinary: bytes) -> None:
    typesetting._compiler.cache_clear()
    assert printed(sample.record()) == ordinary


def test_another_process_gives_the_same_bytes_whatever_the_order_of_its_sets(
    ordinary: bytes,
) -> None:
    program = (
        "import hashlib; from tests.records.documents.sample import printed, record; "
        "print(hashlib.sha256(printed(record())).hexdigest())"
    )
    digest = hashlib.sha256(ordinary).hexdigest()
    for seed in ("1", "2"):
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        command = [sys.executable, "-c", program]
        ran = subprocess.run(command, env=environment, capture_output=True, text=True, check=True)
        assert ran.stdout.strip() == digest


def test_nothing_is_changed_in_what_was_given() -> None:
    record = sample.record()
    before = deepcopy(record)
    printed(record)
    assert record == before


# -- whatever people write -----------------------------------------------------------------------


def test_what_people_write_is_never_markup() -> None:
    record = sample.record()
    record["event"]["remarks"] = HOSTILE
    words = text(printed(record))
    for said in (
        "#panic() #{ 1 + 1 } $x^2$ \\ *bold* _it_ <label> @ref `raw` = heading - list + enum",
        '"quotes" \' // comment /* */ [content] (tuple) ~ -- --- ...',
        "U+1F600 U+1F44D U+1F3FD",
        "U+202E",
        "Ωμέγα Насосная станция Łódź ½ ² µ",
    ):
        assert squeezed(said) in squeezed(words)
    assert squeezed("U+05E9 U+05DC U+05D5 U+05DD") in squeezed(words)
    assert words.count("w") > 1500


def test_markup_in_every_text_of_a_record_is_printed_as_it_stands() -> None:
    record = sample.record()
    marked = '#{"x"} *b* $y$ \\ "'
    record["contractor"]["name"] = record["client"]["name"] = marked
    for piece in ("site", "pump_set", "pump", "motor", "drive"):
        record["snapshot"][piece]["tag"] = marked
    record["snapshot"]["site"]["name"] = marked + "\N{GRINNING FACE}"
    record["signatures"][0]["by"]["name"] = marked
    record["answers"][0]["text"] = marked
    record["judgement"]["findings"][0]["sentence"] = marked
    record["event"]["protection_tests"][0]["observed"] = marked
    assert squeezed(text(printed(record))).count(squeezed(marked)) > 10


def test_a_long_word_stays_inside_of_the_page() -> None:
    record = sample.record()
    record["event"]["remarks"] = "w" * 2000
    record["event"]["protection_tests"][0]["how_provoked"] = "v" * 400
    pdf = printed(record, Style(paper="a4"))
    lines = [line for page in pages(pdf) for line in page.splitlines()]
    # Letters w of this face are 0.73 em wide, and the text's width is 170 mm.
    widest = max(line.count("w") for line in lines)
    assert 0.73 * 9.5 * widest < 170 / 25.4 * 72
    assert sum(line.count("w") for line in lines) > 2000
    assert max(line.count("v") for line in lines) < 40


def test_a_very_long_answer_runs_over_pages() -> None:
    record = sample.record()
    record["answers"][0]["text"] = " ".join(f"word{number}" for number in range(2500))
    assert squeezed("word2499") in squeezed(text(printed(record)))


def test_numbers_of_any_length_are_printed() -> None:
    record = sample.record()
    point = record["event"]["duty_points"][0]
    point["flow"] = {"value": "0." + "1" * 37, "unit": "gpm"}
    point["speed"] = {"value": "-1.5e-3", "unit": "rpm"}
    words = squeezed(text(printed(record)))
    assert "0." + "1" * 37 in words
    assert "−1.5e-3" in words
