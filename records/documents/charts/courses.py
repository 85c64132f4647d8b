"""The chart of a pump set's courses: each record in % of the first, with what is noise."""

from collections.abc import Iterator

from calculations.courses.course import Change, Course
from calculations.units import from_si
from records.documents import labels
from records.documents.charts.spec import (
    Axis,
    Chart,
    Figure,
    Instant,
    Layer,
    Level,
    Line,
    Marks,
    Panel,
    Points,
    Shape,
)
from records.documents.trending import words
from records.documents.trending.told import TITLES, PumpSetTrends, unit_of

_HEIGHT = 0.42
_SHAPES: tuple[Shape, ...] = ("disc", "square", "up", "diamond", "down")
NOISE = "What the readings explain, either way"
_CAPTION = (
    "Heads are brought to the first record’s speed and flow, efficiencies are those of the same"
    " points, insulation is at 40 °C. Upright lines are what the readings of both records explain:"
    " a value whose line reaches the first record’s level may be noise."
)


def figure(trends: PumpSetTrends) -> Figure | None:
    """Chart, words and table; None where nothing was compared."""
    panels = [panel for name in TITLES if (panel := _panel(trends, name))]
    if not panels:
        return None
    chart = Chart(Axis("Day of the visit", scale="days"), tuple(panels))
    alt = " ".join(words.of_course(each, trends.records) for each in trends.courses)
    return Figure(chart, alt, _CAPTION, _HEADS, tuple(_rows(trends)))


# -- panels -----------------------------------------------------------------------------------


def _panel(trends: PumpSetTrends, name: str) -> Panel | None:
    courses = [each for each in trends.courses if each.quantity == name]
    if all(change.change is None for each in courses for change in each.changes):
        return None
    several = len(courses) > 1
    layers = [layer for number, each in enumerate(courses)
              for layer in _layers(trends, each, number, several)]  # fmt: skip
    bars = tuple(bar for each in courses for bar in _bars(trends, each))
    return Panel(_axis(name), (*_level(name), Line(NOISE, bars), *layers), _HEIGHT)


def _axis(name: str) -> Axis:
    if name == "insulation":
        return Axis(TITLES[name], "MΩ", "log")
    return Axis(TITLES[name], "% of the first record’s")


def _level(name: str) -> tuple[Layer, ...]:
    return () if name == "insulation" else (Level("First record", 100.0, "dash_dot"),)


def _layers(trends: PumpSetTrends, course: Course, number: int, several: bool) -> Iterator[Layer]:
    label = labels.sentence(words.things(course)) if several else TITLES[course.quantity]
    yield Marks(label, _points(trends, course), _SHAPES[number % len(_SHAPES)], joined="solid")
    if course.anew:
        yield Instant("Replaced", _at(trends, course.changes[0]), dash="long")


def _points(trends: PumpSetTrends, course: Course) -> Points:
    return tuple(
        (_at(trends, each), value)
        for each in course.changes
        if (value := _height(course, each, 0.0)) is not None
    )


def _bars(trends: PumpSetTrends, course: Course) -> Iterator[Points]:
    for each in course.changes:
        low, high = (_height(course, each, way * (each.noise or 0.0)) for way in (-1, 1))
        if each.noise and low is not None and high is not None and low > 0:
            yield (_at(trends, each), low), (_at(trends, each), high)


def _height(course: Course, change: Change, off: float) -> float | None:
    """Where a record stands: % of the first, of insulation what it is; `off` by a share of it."""
    if course.quantity == "insulation":
        at_base = change.at_base
        return None if at_base is None else from_si(at_base, "Mohm") * (1 + off)
    if change.change is None:
        return 100.0 if change.verdict == "first" else None
    return 100 * (1 + change.change + off)


def _at(trends: PumpSetTrends, change: Change) -> float:
    return trends.records[change.visit].at.timestamp()


# -- as a table -------------------------------------------------------------------------------

_HEADS = ("Record", "Day", "As read", "Brought to the first", "Change, %", "Readings explain, ± %",
          "Says")  # fmt: skip


def _rows(trends: PumpSetTrends) -> Iterator[tuple[str, ...]]:
    for course in trends.courses:
        unit = unit_of(course, trends)
        yield (f"{TITLES[course.quantity]}, {labels.unit(unit)}: {words.things(course)}",)
        yield from (_row(trends, each, unit) for each in course.changes)


def _row(trends: PumpSetTrends, change: Change, unit: str) -> tuple[str, ...]:
    record = trends.records[change.visit]
    shares = (words.decimals(change.change, 1, sign=True), words.decimals(change.noise, 1))
    return (str(record.number), record.day, words.shown(change.value, unit),
            words.shown(change.at_base, unit), *shares, words.change_words(change))  # fmt: skip
