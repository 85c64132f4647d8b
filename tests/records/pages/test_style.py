"""Colours of the pages against WCAG 2.2: 1.4.3 text 4.5:1, 1.4.11 edges of controls 3:1."""

import re
from pathlib import Path

import pytest

from records import pages

ROOT = Path(pages.__file__).parents[1]
CSS = (ROOT / "static/records/book.css").read_text()
TEXTS = ("ink", "quiet", "mark", "link")
# The light colours, the dark ones over them, and those of print.
SCHEMES = [
    dict(re.findall(r"--(\w+): (#[0-9a-f]{3,6})", block))
    for block in re.findall(r":root {[^}]*}", CSS)
]


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour (WCAG 2.2, definition)."""
    digits = colour[1:] if len(colour) == 7 else "".join(2 * digit for digit in colour[1:])
    parts = [int(digits[at : at + 2], 16) / 255 for at in (0, 2, 4)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Contrast ratio (WCAG 2.2, definition)."""
    darker, lighter = sorted((luminance(one), luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def test_contrast_is_that_of_the_definition():
    # The ends of the scale, as the definition gives them, and a grey known to just pass.
    assert contrast("#000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#fff") == pytest.approx(4.54, abs=0.01)


def test_light_dark_and_print_are_declared():
    assert len(SCHEMES) == 3


@pytest.mark.parametrize("scheme", range(3))
def test_every_text_and_edge_can_be_told_from_the_paper(scheme):
    colours = {**SCHEMES[0], **SCHEMES[scheme]}
    assert {each for each in TEXTS if contrast(colours[each], colours["paper"]) < 4.5} == set()
    assert contrast(colours["edge"], colours["paper"]) >= 3


def test_focus_is_shown_on_whatever_takes_it():
    [selectors] = re.findall(r"([^{}]*:focus-visible[^{}]*){ outline: 3px", CSS)
    for control in ("a", "button", "input", "summary", ".scroll"):
        assert f"{control}:focus-visible" in selectors
    assert "outline: none" not in CSS
    assert "outline: 0" not in CSS


def test_templates_ask_what_is_allowed_and_not_which_role():
    texts = [each.read_text() for each in (ROOT / "templates/pages").rglob("*.html")]
    assert any("{% if may." in text for text in texts)
    assert [found for text in texts for found in re.findall(r"{%[^%]*\brole\b[^%]*%}", text)] == []
