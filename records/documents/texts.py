"""Text as it is set: what the bundled face has as it stands, anything else as its code.

A text becomes a string, or a list of pieces where it holds something special: `"\\n"` is a line
break, `{"u": "U+1F600"}` a character shown as its code; between two pieces a line may end.
"""

import re
import unicodedata
from collections.abc import Iterator
from itertools import groupby

from records.documents import font

Piece = str | dict[str, str]
Runs = str | list[Piece]

# Longer words are no words: names of files, digests, slips of the keyboard.
_LONGEST_WORD = 20
_LONG_WORD = re.compile(rf"(\S{{{_LONGEST_WORD + 1},}})")
_BREAK_EVERY = 8
# Unassigned, private, lone surrogates, controls, and marks that steer the direction of writing:
# shown, so that nobody can hide or turn around what a record says.
_NEVER_SET = frozenset({"Cc", "Cf", "Cn", "Co", "Cs", "Zl", "Zp"})
_LINE_ENDS = re.compile("\r\n|[\r\u2028\u2029]")


def runs(text: str) -> Runs:
    """A text ready to be set."""
    if text.isascii() and text.isprintable() and not _LONG_WORD.search(text):
        return text
    pieces = list(_pieces(_LINE_ENDS.sub("\n", text).replace("\t", " ")))
    if len(pieces) == 1 and isinstance(pieces[0], str):
        return pieces[0]
    return pieces or ""


def can_be_set(character: str) -> bool:
    """Whether the bundled face shows this character as itself."""
    return ord(character) in font.covered() and unicodedata.category(character) not in _NEVER_SET


def code(character: str) -> str:
    """A character's code, as `U+1F600`."""
    return f"U+{ord(character):04X}"


def _pieces(text: str) -> Iterator[Piece]:
    for kind, characters in groupby(text, _kind):
        if kind == "code":
            yield {"u": " ".join(map(code, characters))}
        elif kind == "line":
            yield from characters
        else:
            yield from _with_breaks("".join(characters))


def _kind(character: str) -> str:
    if character == "\n":
        return "line"
    return "text" if can_be_set(character) else "code"


def _with_breaks(text: str) -> Iterator[str]:
    """The text with places to break inside of what is too long for a line."""
    for index, part in enumerate(_LONG_WORD.split(text)):
        if index % 2:
            yield from _chopped(part)
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


def plain(text: str) -> str:
    """A text in one line where only text can stand, such as a document's title."""
    joined = (f"[{p['u']}]" if isinstance(p, dict) else p for p in _pieces(text))
    return "".join(joined).replace("\n", " ")
