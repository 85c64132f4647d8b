"""A chart as SVG, for paper or for a screen.

Everything is in the colour of the text around it, told apart by dashes and shapes, and set by
attributes alone: a page's policy allows no styles in it. The same chart gives the same text.
"""

from collections.abc import Iterable, Iterator
from itertools import chain

from records.documents.charts import reading_out, scales
from records.documents.charts.legend import entries, height_of, legend
from records.documents.charts.looks import Look
from records.documents.charts.marks import DASHES, element, mark, number, polyline, text
from records.documents.charts.naming import Field, Taken
from records.documents.charts.scales import Span
from records.documents.charts.spec import (
    Band,
    Chart,
    Instant,
    Layer,
    Level,
    Line,
    Marks,
    Panel,
    Point,
)

# In heights of a line of text.
_ABOVE, _BELOW, _BETWEEN = 1.7, 2.9, 2.2
_TICKS_DOWN = 5


def svg(chart: Chart, look: Look, alt: str = "") -> str:
    """The chart's SVG; `alt` is what a screen reader says of it, where the look is a screen's."""
    listed = entries(chart)
    across = _across(chart, look)
    fields = list(_fields(chart, look, across))
    bottom = fields[-1].bottom + _BELOW * look.line
    beside = look.legend_beside
    top = fields[0].top if beside else bottom
    at = (look.plot_right + look.line, top) if beside else (fields[0].left, top)
    height = max(bottom, top + height_of(listed, look)) if listed else bottom
    inner = [*chain.from_iterable(map(_panel, chart.panels, fields, [look] * len(fields)))]
    inner += [*_along(chart, fields[-1], look), *legend(listed, at, look)]
    read_out = reading_out.fields(chart, fields) if look.is_screen else ""
    return _root(look, height, alt, "".join(inner), read_out)


def _root(look: Look, height: float, alt: str, inner: str, read_out: str) -> str:
    size = f"0 0 {number(look.width)} {number(height)}"
    named = (
        {
            "role": "img",
            "aria-label": look.words(alt),
            "class": "plot",
            "data-fields": look.words(read_out),
        }
        if look.is_screen
        else {}
    )
    family = {"font-family": look.family} if look.family else {}
    return element("svg", inner, xmlns="http://www.w3.org/2000/svg", viewBox=size,
                   **named, **family, font_size=look.size, fill="currentColor")  # fmt: skip


# -- axes -----------------------------------------------------------------------------------------


def _across(chart: Chart, look: Look) -> Span:
    values = [x for panel in chart.panels for layer in panel.layers for x, _ in _values(layer)]
    starts = [layer.start for panel in chart.panels for layer in panel.layers
              if isinstance(layer, Band) and layer.start is not None]  # fmt: skip
    instants = [layer.at for panel in chart.panels for layer in panel.layers
                if isinstance(layer, Instant)]  # fmt: skip
    known = [*values, *starts, *instants, *chart.x.include]
    return scales.span(known, chart.x.scale, look.ticks_across, whole=True)


def _upright(panel: Panel) -> Span:
    values = [y for layer in panel.layers for _, y in _values(layer)]
    values += [y for layer in panel.layers for y in _heights(layer)]
    count = max(2, round(_TICKS_DOWN * panel.height))
    return scales.span([*values, *panel.y.include], panel.y.scale, count)


def _values(layer: Layer) -> Iterable[Point]:
    if isinstance(layer, Line):
        return chain.from_iterable(layer.stretches)
    return layer.points if isinstance(layer, Marks) else ()


def _heights(layer: Layer) -> tuple[float, ...]:
    if isinstance(layer, Band):
        return (layer.low, layer.high)
    return (layer.at,) if isinstance(layer, Level) else ()


def _fields(chart: Chart, look: Look, across: Span) -> Iterator[Field]:
    uprights = [_upright(panel) for panel in chart.panels]
    widest = max(look.width_of(word) for span in uprights for word in span.words)
    left, top = widest + 0.7 * look.line, _ABOVE * look.line
    for panel, upright in zip(chart.panels, uprights, strict=True):
        bottom = top + panel.height * look.height
        yield Field(left, look.plot_right, top, bottom, across, upright)
        top = bottom + _BETWEEN * look.line


def _along(chart: Chart, field: Field, look: Look) -> Iterator[str]:
    """Words under the horizontal axis; those that would touch the one before are left out."""
    free, y = 0.0, field.bottom + 1.2 * look.line
    for at, words in zip(field.x.ticks, field.x.words, strict=True):
        x, half = field.across(at), look.width_of(words) / 2
        if x - half > free and x + half <= look.right:
            free = x + half + 0.4 * look.line
            yield text(words, (x, y), look, anchor="middle")
    at_end = (field.right, y + 1.2 * look.line)
    yield text(chart.x.title, at_end, look, anchor="end", unit=chart.x.unit)


# -- panels ---------------------------------------------------------------------------------------


def _panel(panel: Panel, field: Field, look: Look) -> Iterator[str]:
    title_at = (0.0, field.top - 0.7 * look.line)
    yield text(panel.y.title, title_at, look, unit=panel.y.unit)
    yield from _layers(panel, Band, field, look)
    yield from _grid(field, look)
    for kind in (Level, Instant, Line, Marks):
        yield from _layers(panel, kind, field, look)


def _layers(panel: Panel, kind: type[Layer], field: Field, look: Look) -> Iterator[str]:
    taken: list[Point] = []
    for layer in (each for each in panel.layers if isinstance(each, kind)):
        if isinstance(layer, Marks):
            lines = [each for each in panel.layers if isinstance(each, (Line, Level))]
            yield from _marks(layer, field, look, Taken(field, look, taken, lines))
        else:
            yield from _drawn(layer, field)
    if kind is Instant:
        yield from _names(panel, field, look)


def _grid(field: Field, look: Look) -> Iterator[str]:
    for at, words in zip(field.y.ticks, field.y.words, strict=True):
        y = field.down(at)
        yield polyline([(field.left, y), (field.right, y)], width=0.4, faint=True)
        middle = (field.left - 0.35 * look.line, y + 0.35 * look.size)
        yield text(words, middle, look, anchor="end")
    for at in field.x.ticks:
        x = field.across(at)
        yield polyline([(x, field.bottom), (x, field.bottom + 0.3 * look.line)], width=0.6)
    yield polyline([(field.left, field.bottom), (field.right, field.bottom)], width=0.6)


def _names(panel: Panel, field: Field, look: Look) -> Iterator[str]:
    """Names of instants, each a line lower than the one before it."""
    named = [each for each in panel.layers if isinstance(each, Instant) and each.name]
    for row, instant in enumerate(named):
        x, y = field.across(instant.at), field.top + (0.8 + row) * look.line
        yield text(instant.name, (x + 0.3 * look.line, y), look)


def _drawn(layer: Layer, field: Field) -> Iterator[str]:
    if isinstance(layer, Line):
        for stretch in layer.stretches:
            places = [field.at(point) for point in stretch]
            yield polyline(places, width=1.6 if layer.bold else 1.0, dash=DASHES[layer.dash])
    elif isinstance(layer, Band):
        yield from _band(layer, field)
    elif isinstance(layer, Level):
        y = field.down(layer.at)
        yield polyline([(field.left, y), (field.right, y)], dash=DASHES[layer.dash])
    elif isinstance(layer, Instant):
        x = field.across(layer.at)
        yield polyline([(x, field.top), (x, field.bottom)], dash=DASHES[layer.dash])


def _band(band: Band, field: Field) -> Iterator[str]:
    left = field.left if band.start is None else field.across(band.start)
    low, high = field.down(band.low), field.down(band.high)
    yield element("rect", x=left, y=high, width=field.right - left, height=low - high,
                  fill_opacity=0.1)  # fmt: skip
    for y in (low, high):
        yield polyline([(left, y), (field.right, y)], width=0.5, dash=DASHES["dashed"])


def _marks(marks: Marks, field: Field, look: Look, taken: Taken) -> Iterator[str]:
    places = [field.at(point) for point in marks.points]
    if marks.joined:
        yield polyline(places, width=0.5, dash=DASHES[marks.joined])
    for place in places:
        yield mark(marks.shape, place, look.mark)
    taken.places += places
    for place, name in zip(places, marks.names, strict=False):
        yield text(name, taken.free(place), look)
