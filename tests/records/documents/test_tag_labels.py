"""Sheets of labels: what stands on them, and that an independent reader reads their codes."""

import io
import re
from collections import Counter
from datetime import UTC, datetime

import pytest
import zxingcpp
from PIL import Image
from pypdf.generic import IndirectObject

from records.documents import tag_labels, typesetting
from records.documents.codes import code_of
from records.documents.tag_labels import Label, Sheet, render, sheet_of, side
from tests.records.documents.reading_back import pages, reader, squeezed, text
from tests.records.documents.test_conformance import STANDARDS, faults

NOW = datetime(2026, 11, 25, 12, tzinfo=UTC)
STATION = "https://book.example/stations/0190b7e2-1111-7222-8333-444455556666/tags/"
DOTS = 300 / 25.4  # a millimetre


def label(tag, what="Pump", path=None):
    return Label(tag, what, STATION + (path or tag))


def sheet(*labels, **changes):
    given = {
        "code": "B-01", "name": "Upper zone booster", "contractor": "Northbank Pump Services",
        "origin": "https://book.example", "zone": None, "labels": labels,
    }  # fmt: skip
    return Sheet(**given | changes)


USUAL = sheet(*(label(f"PT-{n}", "Sensor, pressure") for n in range(101, 126)))
STRANGE = {
    "slashes and spaces": label("PT-101/A discharge header", path="PT-101%2FA%20discharge"),
    "Chinese": label("水泵一号站二级泵组", path="%E6%B0%B4" * 9),
    "Cyrillic": label("Насос № 2 / резерв", path="%D0%9D%D0%B0" * 8),
    "no face has it": label("\N{GRINNING FACE} שלום \N{RIGHT-TO-LEFT OVERRIDE}x", path="%F0" * 9),
    "lines": label("above\nbelow", path="above%0Abelow"),
    "a word of 60": label("X" * 60),
    "a word of 400": label("y" * 400),
    "the longest": label("a" * 2000),
    "the longest in Chinese": label("水" * 2000, path="%E6%B0%B4" * 2000),
    "the longest of codes": label("\N{GRINNING FACE}" * 2000, path="%F0" * 8000),
    "no address": Label("..", "Drive", None),
}

WITHOUT_CODE = ("the longest in Chinese", "the longest of codes", "no address")


def pictures(given, paper="a4"):
    """The pages as pictures of 300 dots an inch."""
    words = typesetting._source(tag_labels.TEMPLATE, sheet_of(given, NOW, paper), b"")
    drawn = typesetting._compiler().compile(input=words.encode(), format="png", ppi=300)
    return [
        Image.open(io.BytesIO(each)) for each in (drawn if isinstance(drawn, list) else [drawn])
    ]


def codes(given):
    """Every code that is found, page by page, each with the page that it is on."""
    return [(found, page) for page in pictures(given) for found in zxingcpp.read_barcodes(page)]


def alternatives(pdf):
    """The texts that stand for pictures."""

    def within(element):
        element = element.get_object() if isinstance(element, IndirectObject) else element
        if isinstance(element, list):
            return [alt for inner in element for alt in within(inner)]
        if not isinstance(element, dict):
            return []
        own = [str(element["/Alt"])] if "/Alt" in element else []
        return own + (within(element["/K"]) if "/K" in element else [])

    return within(reader(pdf).trailer["/Root"]["/StructTreeRoot"])


# -- codes ----------------------------------------------------------------------------------------


def test_a_reader_reads_every_code_of_a_sheet():
    read = Counter(found.text for found, _ in codes(USUAL))
    assert read == Counter(each.address for each in USUAL.labels)


@pytest.mark.parametrize("name", [name for name in STRANGE if name not in WITHOUT_CODE])
def test_a_reader_reads_the_code_of_any_tag(name):
    [(found, _)] = codes(sheet(STRANGE[name]))
    assert found.text == STRANGE[name].address
    assert found.ec_level == "M"


@pytest.mark.parametrize("name", ["slashes and spaces", "a word of 400", "the longest"])
def test_modules_are_half_a_millimetre_at_least_within_an_empty_zone(name):
    [(found, page)] = codes(sheet(STRANGE[name]))
    size = found.position.top_right.x - found.position.top_left.x + 1
    module = size / (code_of(found.text).modules - 8) / DOTS
    assert 0.49 < module < 0.76  # mm; a dot is 0.085 mm wide
    across, low, high = (
        int(4 * module * DOTS) - 2,
        found.position.top_left.y,
        found.position.bottom_left.y,
    )
    left, right = found.position.top_left.x - 2, found.position.top_right.x + 3
    for box in (
        (left - across, low, left, high),
        (right, low, right + across, high),
        (left, low - across - 2, right, low - 2),
        (left, high + 3, right, high + across),
    ):
        assert page.convert("L").crop(box).getextrema() == (255, 255)


def test_sides_leave_room_for_words():
    """mm: 45 modules at 2/3 mm, 65 at the least that is allowed, few at no more than 3/4 mm."""
    assert side(45) == pytest.approx(30)
    assert side(65) == pytest.approx(32.5)
    assert side(29) == pytest.approx(21.75)


@pytest.mark.parametrize(
    ("name", "why"),
    [
        ("the longest in Chinese", "its address is longer than a code can hold"),
        ("no address", "an address can not hold this tag"),
    ],
)
def test_where_no_code_can_be_made_the_label_says_so(name, why):
    pdf = render(sheet(STRANGE[name], label("P-1")), NOW, "a4")
    assert squeezed(f"No code: {why}.") in squeezed(text(pdf))
    assert len(alternatives(pdf)) == 1


# -- words ----------------------------------------------------------------------------------------


def test_each_label_says_where_it_is_what_it_is_and_whose():
    pdf = render(sheet(label("PS-101", "Pump set"), label("P-101", "Pump")), NOW, "a4")
    words = squeezed(text(pdf))
    for tag, what in (("PS-101", "Pump set"), ("P-101", "Pump")):
        said = f"{tag}{what}B-01 Upper zone boosterNorthbank Pump Services"
        assert squeezed(said) in words
    assert squeezed("2 tags in service on 2026-11-25. Codes lead to https://book.example.") in words
    assert alternatives(pdf) == [f"QR code that opens {STATION}{t}" for t in ("PS-101", "P-101")]


@pytest.mark.parametrize(
    "name", [name for name in STRANGE if name not in ("no face has it", "the longest of codes")]
)
def test_a_tag_is_printed_whole(name):
    tag = STRANGE[name].tag
    assert squeezed(tag) in squeezed(text(render(sheet(STRANGE[name]), NOW, "letter")))


def test_what_no_face_has_is_its_code():
    words = text(render(sheet(STRANGE["no face has it"]), NOW, "a4"))
    assert squeezed("‹U+1F600›‹U+05E9U+05DCU+05D5U+05DD›‹U+202E›x") in squeezed(words)


def test_long_names_are_printed_whole_on_every_label():
    name, contractor = "A long name " * 166, "w" * 2000
    pdf = render(sheet(label("P-1"), label("P-2"), name=name, contractor=contractor), NOW, "a4")
    words = squeezed(text(pdf))
    assert words.count(squeezed(contractor)) == 2
    assert words.count(squeezed(f"B-01 {name}")) >= 2


PAPERS = {"a4": (297, 7), "letter": (279.4, 6)}  # height [mm], rows of 38 mm


def ink(page, paper):
    """What is printed between head and foot: left, top, right, bottom [mm]."""
    height, rows = PAPERS[paper]
    above = (height - rows * 38) / 2 - 3
    box = (0, int(above * DOTS), page.width, int((height - above) * DOTS))
    found = page.convert("L").crop(box).point(lambda value: 255 if value < 250 else 0).getbbox()
    return [side / DOTS for side in found]


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("name", [*STRANGE, "wide signs"])
def test_nothing_is_printed_beyond_the_cutting_marks(name, paper):
    """A label alone is 63 or 189 mm wide and some rows high; marks are 2 mm longer at each end."""
    [page] = pictures(sheet(STRANGE.get(name) or label("W" * 13)), paper)
    left, top, right, bottom = ink(page, paper)
    assert right - left - 4 in (pytest.approx(63, abs=0.3), pytest.approx(189, abs=0.3))
    assert (bottom - top - 4) / 38 == pytest.approx(round((bottom - top - 4) / 38), abs=0.01)


# -- the sheet ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("paper", "on_a_page"), [("a4", 21), ("letter", 18)])
def test_a_page_is_filled_three_in_a_row(paper, on_a_page):
    pdf = render(USUAL, NOW, paper)
    tags = [re.findall(r"PT-(\d+)", page) for page in pages(pdf)]
    assert [len(each) for each in tags] == [on_a_page, 25 - on_a_page]
    assert sorted(tag for page in tags for tag in page) == [str(n) for n in range(101, 126)]
    assert squeezed("2 of 2") in squeezed(pages(pdf)[1])


def marks(pixels):
    """The middles [mm] of what is not white in a row or column of pixels."""
    drawn = [value < 240 for value in pixels]
    ends = [at for at in range(1, len(drawn)) if drawn[at] != drawn[at - 1]]
    return [(a + b) / 2 / DOTS for a, b in zip(ends[::2], ends[1::2], strict=True)]


def test_labels_are_63_by_38_mm_between_marks():
    """On A4 the first is 10.5 mm from the left, 15.5 mm from above: what is left of 3 and of 7."""
    page = pictures(sheet(*(label(f"P-{n}") for n in range(3))))[0].convert("L")
    top, left = round(15.5 * DOTS), round(10.5 * DOTS)
    across = marks(page.getpixel((x, top)) for x in range(page.width))
    down = marks(page.getpixel((left, y)) for y in range(top - 40, page.height - 200))
    assert across == pytest.approx([10.5, 73.5, 136.5, 199.5], abs=0.1)
    assert [each + (top - 40) / DOTS for each in down] == pytest.approx([15.5, 53.5], abs=0.1)


def test_the_same_day_gives_the_same_bytes():
    later = NOW.replace(hour=20)
    assert render(USUAL, NOW, "a4") == render(USUAL, later, "a4")
    assert render(USUAL, NOW, "a4") != render(USUAL, later.replace(day=26), "a4")


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("given", [USUAL, sheet(*STRANGE.values())], ids=["usual", "strange"])
def test_it_keeps_to_the_standards(given, paper):
    pdf = render(given, NOW, paper)
    assert [fault for standard in STANDARDS for fault in faults(pdf, standard)] == []
