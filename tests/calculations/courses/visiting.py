"""Visits of the booster pump set, a year apart, with what was read otherwise."""

from datetime import datetime
from typing import Any

from calculations.courses.course import Visit
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from tests.calculations.building import booster, changed
from tests.calculations.building_plates import Document

POINTS = "/event/duty_points"


def visit(year: int, *documents: Document, **_: Any) -> Visit:
    """The start-up's readings again in that year; `documents` hold values by JSON Pointer."""
    at = f"{year}-03-14T09:30:00-05:00"
    when = {"/event/performed_at": at, "/event/performed_until": f"{year}-03-14T15:10:00-05:00"}
    changes = {pointer: value for each in (when, *documents) for pointer, value in each.items()}
    return Visit(datetime.fromisoformat(at), read(Subject, changed(booster(), changes)))


def reading(name: str, *values: Any) -> Document:
    """One reading of the duty points, from the first on."""
    return {f"{POINTS}/{index}/{name}": value for index, value in enumerate(values)}
