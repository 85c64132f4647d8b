"""Codes drawn as outlines: module for module what the library laid out, with a quiet zone."""

import re
from urllib.parse import quote

import pytest
import qrcode
from qrcode.constants import ERROR_CORRECT_M

from records.documents.codes import code_of

# ISO/IEC 18004: four empty modules on each side.
QUIET = 4


def corners(svg):
    """The closed lines of a drawing, each as its corners."""
    [path] = re.findall(r' d="([^"]+)"', svg)
    for loop in path.split("Z")[:-1]:
        x = y = None
        points = []
        for word, *numbers in re.findall(r"([MHV])(\d+)(?: (\d+))?", loop):
            given = [int(number) for number in numbers if number]
            x = given[0] if word in "MH" else x
            y = given[-1] if word in "MV" else y
            points.append((x, y))
        yield points


def dark(svg, size):
    """Modules whose middle lies inside of an odd number of lines (SVG's fill rule evenodd)."""
    upright = [
        (a[0], *sorted((a[1], b[1])))
        for loop in corners(svg)
        for a, b in zip(loop, [*loop[1:], loop[0]], strict=True)
        if a[0] == b[0]
    ]
    rows = [[x for x, low, high in upright if low <= row < high] for row in range(size)]
    return [[sum(x <= c for x in row) % 2 == 1 for c in range(size)] for row in rows]


@pytest.mark.parametrize("length", [1, 40, 300])
def test_the_outlines_are_the_librarys_modules_within_a_quiet_zone(length):
    text = "https://book.example/" + "PS-101 / a"[:9] * length
    laid_out = qrcode.QRCode(error_correction=ERROR_CORRECT_M, border=QUIET)
    laid_out.add_data(text)
    code = code_of(text)
    expected = laid_out.get_matrix()
    assert code.modules == len(expected)
    assert f'viewBox="0 0 {code.modules} {code.modules}"' in code.svg
    assert dark(code.svg, code.modules) == expected


def test_what_no_code_holds_has_none():
    """ISO/IEC 18004, table 7: version 40-M holds 2331 bytes, and no more."""
    assert code_of("ä" * 1165) is not None
    assert code_of("ä" * 1166) is None


def test_percent_signs_with_capitals_take_less_than_bytes():
    """Five and a half bits a character where letters are capitals (the alphanumeric mode)."""
    tag = quote("水泵一号站")
    assert code_of(tag * 4).modules < code_of(tag.lower() * 4).modules
