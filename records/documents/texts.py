"""Text as it is set: what the bundled faces have as it stands, anything else as its code.

A text becomes a string, or a list of pieces where it holds something special: `"\\n"` is a line
break, `{"u": "U+1F600"}` a character shown as its code; between two pieces a line may end.
"""

import re
import unicodedata
from collections.abc import Iterator
from functools import cache, lru_cache
from itertools import groupby
from operator import itemgetter

from records.documents import font

Piece = str | dict[str, str]
Runs = str | list[Piece]

# Longer words are no words: names of files, digests, slips of the keyboard. They may break at a
# line's end, without a hyphen, which would be read as part of them.
_LONGEST_WORD = 20
# Words that a narrow column surely has room for.
_LONGEST_NARROW = 13
# What of a name has room in a title. The reader's list of headings takes no more than 32,767 bytes
# (ISO 19005-3, 6.1.13), which codes of 2,000 characters are over.
LONGEST_NAME = 100
_AFTER_MARKS = re.compile("(?<=[-_./:,;@])(?=.)")
_BREAK_EVERY = 8
# Unassigned, private, lone surrogates, controls, and marks that steer the direction of writing:
# shown, so that nobody can hide or turn around what a record says.
_NEVER_SET = frozenset({"Cc", "Cf", "Cn", "Co", "Cs", "Zl", "Zp"})
_LINE_ENDS = re.compile("\r\n|[\r\u2028\u2029]")


def runs(text: str, narrow: bool = False) -> Runs:
    """A text ready to be set, also in a narrow column."""
    longest = _LONGEST_NARROW if narrow else _LONGEST_WORD
    ordinary = text.isascii() and text.isprintable()
    if ordinary and len(text) <= longest:
        return text
    whole = _LINE_ENDS.sub("\n", text).replace("\t", " ")
    pieces: list[Piece] = list(_with_breaks(text, longest) if ordinary else _pieces(whole, longest))
    if len(pieces) == 1 and isinstance(pieces[0], str):
        return pieces[0]
    return pieces or ""


def is_steering(character: str) -> bool:
    """Whether a character is none to be seen: a control, or a mark that steers the writing."""
    return unicodedata.category(character) in _NEVER_SET


def code(character: str) -> str:
    """A character's code, as `U+1F600`."""
    return f"U+{ord(character):04X}"


def _pieces(text: str, longest: int = _LONGEST_WORD) -> Iterator[Piece]:
    for kind, found in groupby(_kinds(text), key=itemgetter(0)):
        characters = "".join(character for _, character in found)
        if kind == "code":
            yield {"u": " ".join(map(code, characters))}
        elif kind == "line":
            yield from characters
        else:
            yield from _with_breaks(characters, longest)


def _kinds(text: str) -> Iterator[tuple[str, str]]:
    """Each character with what becomes of it: line end, code, or text as it stands."""
    after_sign = False
    for character in text:
        kind, is_mark, is_sign = _kind(character)
        # A mark is set by the face of its letter; the second face has none for its signs.
        yield "code" if after_sign and is_mark else kind, character
        after_sign = is_sign


@lru_cache(maxsize=10_000)
def _kind(character: str) -> tuple[str, bool, bool]:
    """What becomes of a character, and whether it is a mark, or a sign of the second face."""
    is_mark = unicodedata.category(character).startswith("M")
    is_sign = ord(character) in font.covered_far_east()
    if character == "\n":
        return "line", is_mark, is_sign
    return "text" if can_be_set(character) else "code", is_mark, is_sign


def can_be_set(character: str) -> bool:
    """Whether one of the bundled faces shows this character as itself."""
    if is_steering(character):
        return False
    if ord(character) in font.covered():
        return True
    is_mark = unicodedata.category(character).startswith("M")
    return ord(character) in font.covered_far_east() and not is_mark


@cache
def _long_word(longest: int) -> re.Pattern[str]:
    return re.compile(rf"(\S{{{longest + 1},}})")


def _with_breaks(text: str, longest: int) -> Iterator[str]:
    """The text with places to break inside of what is too long for a line."""
    for index, part in enumerate(_long_word(longest).split(text)):
        if index % 2:
            for piece in _AFTER_MARKS.split(part):
                yield from _chopped(piece) if len(piece) > longest else (piece,)
        elif part:
            yield part


def _chopped(word: str) -> Iterator[str]:
    start = 0
    for index in range(_BREAK_EVERY, len(word)):
        # A mark stays with the letter it belongs to.
        if index - start >= _BREAK_EVERY and not unicodedata.combining(word[index]):
            yield word[start:index]
            start = index
    yield word[start:]


def short(text: str, longest: int = LONGEST_NAME) -> str:
    """A text for a title, with an ellipsis where it goes on; the whole has to stand elsewhere."""
    return text if len(text) <= longest else text[: longest - 1].rstrip() + "…"


def plain(text: str) -> str:
    """A text in one line where only text can stand, such as a document's title."""
    joined = (f"[{p['u']}]" if isinstance(p, dict) else p for p in _pieces(text))
    return "".join(joined).replace("\n", " ")
