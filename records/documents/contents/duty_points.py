"""Readings at steady operating points; electrical values under the place of measuring."""

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

from calculations.inputs.readings import DutyPoint
from records.documents import labels
from records.documents.blocks import Block, heading
from records.documents.contents import figures
from records.documents.contents.listing import derived_lines
from records.documents.contents.matrix import Line, lines_of, matrix
from records.documents.contents.source import Source
from records.documents.placing import Part
from records.documents.shown import order

# Where a group begins, in the order of the fields.
_GROUPS = {
    "suction_pressure": "Pressures and levels",
    "motor_temperature": "Machine",
    "other_pumps_running": "Conditions",
}
_PLACES = {
    "drive_input": "Measured at the drive's input",
    "drive_output": "Measured at the drive's output",
    "drive_display": "Read from the drive's display",
}


def duty_points(source: Source) -> list[Block]:
    """Pump and system as a figure, and a column for every point."""
    points = source.event.parts("duty_points")
    if not points:
        return figures.pump_alone(source)
    heads = [_head(index, point) for index, point in enumerate(points)]
    vibration = _vibration(points)
    lines = list(_grouped([*lines_of(points, order(DutyPoint)), *vibration]))
    computed = derived_lines(source, points)
    if computed:
        lines += ["Computed from the readings", *computed]
    return [heading("Duty points"), *figures.pump(source), *matrix(source, heads, lines)]


def points_of_neighbour(source: Source, part: Part) -> list[Block]:
    """A column for every point at which a neighbour was measured."""
    points = part.parts("duty_points")
    if not points:
        return []
    heads = [_head(index, point) for index, point in enumerate(points)]
    return matrix(source, heads, list(_grouped(list(lines_of(points, order(DutyPoint))))))


def _head(index: int, point: Part) -> str:
    purpose = point.take("purpose")
    return f"{index + 1} {labels.word(str(purpose))}" if purpose else str(index + 1)


def _vibration(points: Sequence[Part]) -> list[Line]:
    """A line for every place and direction of vibration; another one where it was read twice."""
    lines: dict[tuple[str, int], list[Any]] = {}
    for index, point in enumerate(points):
        times: Counter[str] = Counter()
        for part in point.parts("vibration"):
            words = [part.take("location"), labels.word(str(part.take("direction") or ""))]
            label = ", ".join(["Vibration", *(str(word) for word in words if word)])
            values = lines.setdefault((label, times[label]), [None] * len(points))
            values[index] = part.take("velocity_rms")
            times[label] += 1
    return [(label, "vibration", values) for (label, _), values in lines.items()]


def _grouped(lines: Sequence[Line]) -> Iterator[Line | str]:
    for group, members in _by_group(lines).items():
        if group:
            yield group
        yield from members


def _by_group(lines: Sequence[Line]) -> dict[str, list[Line]]:
    titles = ["", "Pressures and levels", *_PLACES.values(), "Machine", "Conditions", "Others"]
    groups: dict[str, list[Line]] = {title: [] for title in titles}
    for line in lines:
        groups[_group(line[1])].append(line)
    return {title: members for title, members in groups.items() if members}


def _group(name: str) -> str:
    for ending, title in _PLACES.items():
        if name.endswith(ending):
            return title
    names = order(DutyPoint)
    if name not in names:
        return "Others"
    before = [each for each in names[: names.index(name) + 1] if each in _GROUPS]
    return _GROUPS[before[-1]] if before else ""
