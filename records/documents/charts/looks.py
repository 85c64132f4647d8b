"""The two looks of a chart: on paper in the bundled face, on a screen in the page's own."""

from dataclasses import dataclass
from functools import lru_cache

from records.documents import font, texts

_WIDEST = 1.0
"""Width that is taken for a character of another face [em]: Chinese, Japanese, Korean signs."""


@dataclass(frozen=True, slots=True)
class Look:
    """Measures in the drawing's own unit: about a point on paper, a pixel of a telephone.

    `height` is that of a usual panel, `slack` what the face in use may be wider than the bundled.
    """

    width: float
    height: float
    size: float
    legend_width: float
    legend_beside: bool
    ticks_across: int
    mark: float
    is_screen: bool
    family: str = ""
    slack: float = 1.0

    @property
    def line(self) -> float:
        """Height of a line of text."""
        return 1.3 * self.size

    @property
    def plot_right(self) -> float:
        """Where panels end."""
        return self.right - (0.6 if self.legend_beside else 1.0) * self.line

    @property
    def right(self) -> float:
        """Where words under a panel end at most."""
        return self.width - (self.legend_width + self.line if self.legend_beside else 0.0)

    def words(self, given: str) -> str:
        """A text as it is set: what cannot be shown as itself, or hides, as its code."""
        return _on_screen(given) if self.is_screen else _on_paper(given)

    def width_of(self, given: str) -> float:
        """About how wide a text is, not less."""
        return self.slack * self.size * _width(self.words(given))


@lru_cache(maxsize=4096)
def _on_screen(given: str) -> str:
    return "".join(f"‹{texts.code(c)}›" if texts.is_steering(c) else c for c in given)


@lru_cache(maxsize=4096)
def _on_paper(given: str) -> str:
    pieces = texts.runs(given)
    if isinstance(pieces, str):
        return pieces
    return "".join(p if isinstance(p, str) else f"‹{p['u']}›" for p in pieces)


@lru_cache(maxsize=4096)
def _width(words: str) -> float:
    """Width in the bundled face [em]."""
    known = font.covered()
    return sum(font.width(c) if ord(c) in known else _WIDEST for c in words)


PAPER = Look(
    width=482, height=150, size=8, legend_width=132, legend_beside=True, ticks_across=8, mark=2.4,
    is_screen=False, family=font.FAMILY,
)  # fmt: skip

SCREEN = Look(
    width=360, height=200, size=13, legend_width=330, legend_beside=False, ticks_across=5, mark=3.4,
    is_screen=True, slack=1.3,
)  # fmt: skip
