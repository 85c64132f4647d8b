"""Texts as they are set: what the face has, codes for the rest, places to break."""

import pytest

from records.documents import font
from records.documents.blocks import heading
from records.documents.texts import code, plain, runs


def joined(pieces: object) -> str:
    """The pieces of a text as they will be read."""
    listed = [pieces] if isinstance(pieces, str) else pieces
    return "".join(piece["u"] if isinstance(piece, dict) else piece for piece in listed)


def test_an_ordinary_text_stays_a_string() -> None:
    assert runs("Motor power, 7.5 kW") == "Motor power, 7.5 kW"
    assert runs("Насосная станция № 4, Ωμέγα, Łódź") == "Насосная станция № 4, Ωμέγα, Łódź"
    assert runs("") == ""


@pytest.mark.parametrize(
    "character",
    ["\N{GRINNING FACE}", "ש", "م", "ก", "\N{ZERO WIDTH SPACE}", "\N{RIGHT-TO-LEFT OVERRIDE}",
     "\x00", "\x1b", "\ud800", "\ue000", "\U0010ffff", "\N{SOFT HYPHEN}"],
)  # fmt: skip
def test_what_the_face_has_not_or_must_not_set_becomes_its_code(character: str) -> None:
    assert runs(f"a{character}b") == ["a", {"u": f"U+{ord(character):04X}"}, "b"]


@pytest.mark.parametrize("name", ["张伟", "山田 太郎", "ポンプ場", "김민준"])
def test_names_of_the_far_east_are_set_as_they_stand(name: str) -> None:
    assert runs(f"{name}, office") == f"{name}, office"


def test_a_mark_on_a_sign_of_the_second_face_becomes_its_code() -> None:
    # No face has both, and the setting would end where a glyph is missing.
    assert runs("水\u0301 か\u3099") == ["水", {"u": "U+0301"}, " か", {"u": "U+3099"}]
    assert runs("e\u0301") == "e\u0301"


def test_codes_that_follow_each_other_stand_together() -> None:
    assert runs("שלום") == [{"u": "U+05E9 U+05DC U+05D5 U+05DD"}]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r", "\N{LINE SEPARATOR}"])
def test_every_kind_of_line_end_breaks_the_line(end: str) -> None:
    assert runs(f"one{end}two") == ["one", "\n", "two"]


def test_long_words_may_break_and_lose_nothing() -> None:
    word = "settings_backup_D-101_2026-03-14.final.bin"
    pieces = runs(f"see {word} there")
    assert isinstance(pieces, list)
    assert joined(pieces) == f"see {word} there"
    assert max(len(piece) for piece in pieces) <= 20
    digest = "0123456789abcdef" * 4
    assert joined(runs(digest)) == digest
    assert max(len(piece) for piece in runs(digest)) == 8


def test_a_mark_stays_with_its_letter() -> None:
    pieces = runs("e\u0301" * 30)
    assert joined(pieces) == "e\u0301" * 30
    assert not any(str(piece).startswith("\u0301") for piece in pieces)


def test_a_title_is_one_line_of_plain_text() -> None:
    assert plain("Station\n7 \N{GRINNING FACE}") == "Station 7 [U+1F600]"


def test_a_code_has_at_least_four_digits() -> None:
    assert code("\x07") == "U+0007"
    assert code("\N{GRINNING FACE}") == "U+1F600"


# -- the face ------------------------------------------------------------------------------------


def test_the_face_has_latin_greek_cyrillic_and_the_signs_of_the_trade() -> None:
    ascii_printable = range(0x20, 0x7F)
    greek = [c for c in range(0x391, 0x3CA) if c != 0x3A2]
    cyrillic = range(0x410, 0x450)
    signs = map(ord, "Ωµ²³₂−≤≥√·×°±–…‹›€ěşœ")
    assert {*ascii_printable, *greek, *cyrillic, *signs} <= font.covered()


@pytest.mark.parametrize("weight", font.WEIGHTS)
def test_figures_are_tabular(weight: font.Weight) -> None:
    assert len({font.width(figure, weight) for figure in "0123456789−"}) == 1


def test_widths_are_those_of_the_face() -> None:
    # Read from the font with fontTools: 497 and 249 of 1000 units.
    assert font.width("0") == 0.497
    assert font.width(".") == 0.249


def test_a_heading_that_is_too_long_goes_on_beneath_it() -> None:
    words = "PT-101 " + "north " * 100 + "end"
    block = heading(words)
    told = block["text"].removesuffix("…") + "".join(block["more"]).removeprefix("…")
    assert told.replace(" ", "") == words.replace(" ", "")
    assert 190 < len(block["text"]) <= 200
    assert "more" not in heading("PT-101")
