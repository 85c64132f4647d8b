"""Trends as the API tells them: courses with their values, and a sentence for each."""

from typing import Any

from calculations.courses.course import Change, Course
from calculations.courses.sensors import Errors, SensorCourse
from records.documents.trending import words
from records.documents.trending.told import (
    TITLES,
    PumpSetTrends,
    SensorTrends,
    Trends,
    quantity,
    share,
    unit_of,
)

Document = dict[str, Any]


def of_pump_set(trends: PumpSetTrends) -> Document:
    """Every course of a pump set."""
    return _head(trends) | {"courses": [_course(trends, each) for each in trends.courses]}


def of_sensor(trends: SensorTrends) -> Document:
    """Every course of a transmitter."""
    return _head(trends) | {"courses": [_sensor_course(trends, each) for each in trends.courses]}


def _head(trends: Trends) -> Document:
    return {"tag": trends.tag, "lead": words.lead(trends), "left_out": trends.left_out}


def _course(trends: PumpSetTrends, course: Course) -> Document:
    unit = unit_of(course, trends)
    return {
        "quantity": course.quantity,
        "title": TITLES[course.quantity],
        "of": [{"piece": piece, "serial": serial or None} for piece, serial in course.things],
        "replaced": course.anew,
        "sentence": words.of_course(course, trends.records),
        "values": [_change(trends, each, unit) for each in course.changes],
    }


def _record(trends: Trends, visit: int) -> Document:
    record = trends.records[visit]
    return {"record": record.id, "number": record.number, "performed_on": record.day}


def _change(trends: PumpSetTrends, change: Change, unit: str) -> Document:
    return _record(trends, change.visit) | {
        "subject": change.place,
        "value": quantity(change.value, unit),
        "at_first": quantity(change.at_base, unit),
        "change": share(change.change),
        "noise": share(change.noise),
        "verdict": change.verdict,
        "because": change.because or None,
    }


def _sensor_course(trends: SensorTrends, course: SensorCourse) -> Document:
    return {
        "serial": course.serial or None,
        "began_by": course.began_by,
        "sentence": words.of_sensor(course, trends.records),
        "values": [_errors(trends, each) for each in course.errors],
    }


def _errors(trends: SensorTrends, each: Errors) -> Document:
    return _record(trends, each.visit) | {
        "as_found": share(each.found),
        "as_left": share(each.left),
        "adjusted": each.adjusted,
        "tolerance": share(each.tolerance),
        "drift": share(each.drift),
        "noise": share(each.noise),
        "reference_known": each.reference_known,
        "verdict": each.verdict,
        "because": each.because or None,
    }
