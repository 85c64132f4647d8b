"""What each line, mark and band of a chart is called, beside a sample of it."""

from collections.abc import Iterator, Sequence

from records.documents.charts.looks import Look
from records.documents.charts.marks import DASHES, element, mark, polyline, text
from records.documents.charts.spec import Band, Chart, Instant, Layer, Level, Line, Marks, Point

# In heights of a line of text.
_SAMPLE, _GAP = 2.6, 0.35
_MOST_LINES = 3


def entries(chart: Chart) -> list[Layer]:
    """The first layer of every label, in order."""
    found: dict[str, Layer] = {}
    for panel in chart.panels:
        for layer in panel.layers:
            if layer.label:
                found.setdefault(layer.label, layer)
    return list(found.values())


def height_of(listed: Sequence[Layer], look: Look) -> float:
    """How high the legend is."""
    lines = sum(len(_lines(layer.label, look)) for layer in listed)
    return look.line * (lines + _GAP * len(listed) + 0.3)


def legend(listed: Sequence[Layer], at: Point, look: Look) -> Iterator[str]:
    """Samples with their labels, under each other."""
    left, top = at
    for layer in listed:
        lines = _lines(layer.label, look)
        yield from _sample(layer, left, top + 0.5 * look.line, look)
        for index, words in enumerate(lines):
            y = top + (index + 0.78) * look.line
            yield text(words, (left + (_SAMPLE + 0.4) * look.line, y), look)
        top += look.line * (len(lines) + _GAP)


def _sample(layer: Layer, left: float, middle: float, look: Look) -> Iterator[str]:
    right = left + _SAMPLE * look.line
    ends = [(left, middle), (right, middle)]
    if isinstance(layer, Line):
        yield polyline(ends, width=1.6 if layer.bold else 1.0, dash=DASHES[layer.dash])
    elif isinstance(layer, (Level, Instant)):
        yield polyline(ends, dash=DASHES[layer.dash])
    elif isinstance(layer, Band):
        half = 0.35 * look.line
        yield element("rect", x=left, y=middle - half, width=right - left, height=2 * half,
                      fill_opacity=0.1)  # fmt: skip
        for y in (middle - half, middle + half):
            yield polyline([(left, y), (right, y)], width=0.5, dash=DASHES["dashed"])
    elif isinstance(layer, Marks):
        if layer.joined:
            yield polyline(ends, width=0.5, dash=DASHES[layer.joined])
        yield mark(layer.shape, ((left + right) / 2, middle), look.mark)


def _lines(label: str, look: Look) -> list[str]:
    """A label in lines that fit; one that is very long ends in an ellipsis."""
    room = look.legend_width - (_SAMPLE + 0.4) * look.line
    lines = [""]
    for word in label.split(" "):
        for piece in _pieces(word, room, look):
            longer = f"{lines[-1]} {piece}".strip()
            if look.width_of(longer) <= room:
                lines[-1] = longer
            else:
                lines.append(piece)
    kept = [line for line in lines if line]
    return kept if len(kept) <= _MOST_LINES else [*kept[: _MOST_LINES - 1], "…"]


def _pieces(word: str, room: float, look: Look) -> Iterator[str]:
    """A word in pieces that fit into a line; nearly always it does."""
    if look.width_of(word) <= room:
        yield word
        return
    piece = ""
    for character in word:
        if piece and look.width_of(piece + character) > room:
            yield piece
            piece = ""
        piece += character
    yield piece
