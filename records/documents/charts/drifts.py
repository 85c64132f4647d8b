"""The chart of a transmitter's verifications: errors as found and as left, and the drift."""

from collections.abc import Callable, Iterator

from calculations.courses.sensors import Errors, SensorCourse
from records.documents import labels
from records.documents.charts.courses import NOISE
from records.documents.charts.spec import (
    Axis,
    Band,
    Chart,
    Figure,
    Instant,
    Layer,
    Level,
    Line,
    Marks,
    Panel,
    Points,
)
from records.documents.charts.units import said
from records.documents.trending import words
from records.documents.trending.told import SensorTrends

_HEIGHT = 0.5
_CAPTION = (
    "Errors are the largest of each verification, in % of span. The drift is what moved between"
    " verifications, adjustments left out; upright lines are what rounding and references explain."
)
_HEADS = ("Record", "Day", "As found, % of span", "As left, % of span", "Drift, % of span",
          "Readings explain, ± % of span", "Says")  # fmt: skip


def figure(trends: SensorTrends) -> Figure | None:
    """Chart, words and table; None where it was never verified."""
    if not trends.courses:
        return None
    panels = (_errors(trends), *_drifts(trends))
    chart = Chart(Axis("Day of the visit", scale="days"), panels)
    alt = " ".join(words.of_sensor(each, trends.records) for each in trends.courses)
    return Figure(chart, alt, _CAPTION, _HEADS, tuple(_rows(trends)))


def _errors(trends: SensorTrends) -> Panel:
    tolerance = 100 * trends.courses[-1].errors[-1].tolerance
    layers: list[Layer] = [
        Band(f"Tolerance, ±{said(tolerance)} % of span", -tolerance, tolerance),
        Marks("As found", _points(trends, lambda each: each.found), "up_open"),
        Marks("As left, where it was adjusted", _points(trends, _adjusted), "disc"),
        *_began(trends),
    ]
    return Panel(Axis("Error", "% of span", include=(0.0,)), tuple(layers), _HEIGHT)


def _adjusted(each: Errors) -> float | None:
    return each.left if each.adjusted else None


def _drifts(trends: SensorTrends) -> Iterator[Panel]:
    if all(each.drift is None for course in trends.courses for each in course.errors):
        return
    layers: list[Layer] = [Level("First record", 0.0), Line(NOISE, tuple(_bars(trends)))]
    for course in trends.courses:
        points = tuple((_at(trends, each), 100 * _drift(each)) for each in course.errors
                       if not each.because)  # fmt: skip
        layers.append(Marks("Drift", points, "square", joined="solid"))
    yield Panel(Axis("Drift", "% of span"), (*layers, *_began(trends)), _HEIGHT)


def _drift(each: Errors) -> float:
    return each.drift or 0.0


def _points(trends: SensorTrends, value: Callable[[Errors], float | None]) -> Points:
    return tuple(
        (_at(trends, each), 100 * found)
        for course in trends.courses
        for each in course.errors
        if (found := value(each)) is not None
    )


def _bars(trends: SensorTrends) -> Iterator[Points]:
    for course in trends.courses:
        for each in course.errors:
            if each.drift is not None and each.noise:
                at = _at(trends, each)
                yield tuple((at, 100 * (each.drift + way * each.noise)) for way in (-1, 1))


def _began(trends: SensorTrends) -> Iterator[Layer]:
    for course in trends.courses:
        if course.began_by:
            label = labels.sentence(words.ANEW[course.began_by])
            yield Instant(label, _at(trends, course.errors[0]), dash="long")


def _at(trends: SensorTrends, each: Errors) -> float:
    return trends.records[each.visit].at.timestamp()


def _rows(trends: SensorTrends) -> Iterator[tuple[str, ...]]:
    for course in trends.courses:
        yield (_heading(course),)
        yield from (_row(trends, each) for each in course.errors)


def _heading(course: SensorCourse) -> str:
    anew = f": {words.ANEW[course.began_by]}" if course.began_by else ""
    return f"Transmitter {course.serial}".strip() + anew


def _row(trends: SensorTrends, each: Errors) -> tuple[str, ...]:
    record = trends.records[each.visit]
    shares = (each.found, each.left, each.drift)
    told = (words.decimals(share, 2, sign=True) for share in shares)
    noise = words.decimals(each.noise, 2)
    return str(record.number), record.day, *told, noise, words.error_words(each)
