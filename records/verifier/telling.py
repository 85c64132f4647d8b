"""What is found is told in words, and the strangers' words in it are harmless."""

from collections import Counter
from typing import Any

BEGIN, BESIDE = b'{"record":', b',"seal":'
MOST = 64 << 20  # bytes of a record, or of a list; everything else is read in pieces
MOST_PDF = 256 << 20
PIECE = 1 << 20


class Wrong(Exception):
    """A check that failed."""


class Unusable(Exception):
    """Something that cannot be read at all."""


MALFORMED = (KeyError, TypeError, ValueError, AttributeError, IndexError, RecursionError)


class Told:
    """What was found, in words."""

    def __init__(self) -> None:
        self.failed, self.unusable, self.notes = 0, 0, list[str]()
        self.done: Counter[str] = Counter()
        self.left: Counter[str] = Counter()

    def fail(self, where: str, words: str, *more: str) -> None:
        """A check failed."""
        self.failed += 1
        print(f"FAILED  {shown(where)}: {words}")
        for each in more:
            print(f"        {each}")

    def refuse(self, where: str, words: str) -> None:
        """Something cannot be read."""
        self.unusable += 1
        print(f"UNUSABLE  {shown(where)}: {words}")

    def did(self, what: str) -> None:
        """A check went well."""
        self.done[what] += 1

    def leave(self, what: str) -> None:
        """Something was not checked."""
        self.left[what] += 1

    def end(self) -> int:
        """Sum up; the exit status."""
        for name, found in (("Checked", self.done), ("Not checked", self.left)):
            for what, times in found.items():
                print(f"{name}: {what}" + (f": {times}" if times > 1 or found is self.done else ""))
        for words in self.notes:
            print(words)
        if self.failed:
            print(f"FAILED: {self.failed}.")
            return 1
        print("Not all could be read." if self.unusable else "All that was checked is right.")
        return 2 if self.unusable else 0


def shown(text: Any) -> str:
    """Words of a stranger, safe to print."""
    return "".join(char if char.isprintable() else "?" for char in str(text)[:200])


def why(error: Exception) -> str:
    """What is wrong with a document, in the words of whoever read it."""
    words = f"{error} is missing" if isinstance(error, KeyError) else str(error)
    return shown(words or type(error).__name__)
