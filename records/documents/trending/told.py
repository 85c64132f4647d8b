"""What trends are told from: courses, and the records that they come from."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo

from calculations.courses.course import Course
from calculations.courses.sensors import SensorCourse
from calculations.findings import digits
from calculations.units import from_si


@dataclass(frozen=True, slots=True)
class Recorded:
    """A sealed record; `day` is that of the visit at the station."""

    id: str
    number: int
    at: datetime
    day: str


@dataclass(frozen=True, slots=True)
class PumpSetTrends:
    """Courses of a pump set; `head_unit` is the one its heads are entered in."""

    tag: str
    records: Sequence[Recorded]
    courses: Sequence[Course]
    head_unit: str
    left_out: int = 0


@dataclass(frozen=True, slots=True)
class SensorTrends:
    """Courses of a transmitter."""

    tag: str
    records: Sequence[Recorded]
    courses: Sequence[SensorCourse]
    left_out: int = 0


Trends = PumpSetTrends | SensorTrends

TITLES = {
    "head": "Head",
    "efficiency_drive_input": "Efficiency, wire to water",
    "efficiency_drive_output": "Efficiency of pump and motor",
    "insulation": "Insulation at 40 °C",
}


def day_of(at: datetime, zone: tzinfo | None) -> str:
    """The day of a visit at the station."""
    return f"{at.astimezone(zone) if zone else at:%Y-%m-%d}"


def unit_of(course: Course, trends: PumpSetTrends) -> str:
    """The unit that a course's values are told in."""
    if course.quantity == "head":
        return trends.head_unit
    return "Mohm" if course.quantity == "insulation" else "%"


def quantity(si: float | None, unit: str) -> dict[str, str] | None:
    """A computed value with four significant digits."""
    return None if si is None else {"value": digits(from_si(si, unit)), "unit": unit}


def share(value: float | None) -> dict[str, str] | None:
    """A share in %, to the hundredth: finer than any reading here."""
    return None if value is None else {"value": f"{100 * value:.2f}", "unit": "%"}
