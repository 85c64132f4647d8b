"""One station as it is entered, and how it is judged."""

from copy import deepcopy
from dataclasses import dataclass, replace
from random import Random
from typing import Any

from calculations.beside import NOTHING, Beside, Sealed
from calculations.findings import Finding
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.judging import judge
from calculations.recordings import Column, Recording

from . import checks, drives, neighbours, plates, stations, visits
from .settings import settings
from .stations import Station
from .visits import TRACE
from .writing import Document

Trace = tuple[list[float], dict[str, tuple[str, list[float]]]]


@dataclass
class Entered:
    """A document, the rows of its trace, and the truth that both were written from."""

    station: Station
    document: Document
    trace: Trace | None
    chance: Random
    earlier: Document | None = None
    corrected: Document | None = None

    def copy(self) -> "Entered":
        """Another one, to be changed; the truth is shared."""
        document, trace = deepcopy((self.document, self.trace))
        earlier, corrected = deepcopy((self.earlier, self.corrected))
        return Entered(self.station, document, trace, self.chance, earlier, corrected)

    @property
    def settings(self) -> Document:
        """What the drive was left with."""
        found: Document = self.document["event"]["settings"]["as_left"]
        return found

    @property
    def plate(self) -> Document:
        """The motor's rating in use."""
        motor = self.document["motor"]
        found: Document = motor["ratings"][motor["rating_in_use"]]
        return found

    @property
    def points(self) -> list[Document]:
        """The duty points."""
        found: list[Document] = self.document["event"]["duty_points"]
        return found


def enter(seed: int) -> Entered:
    """The clean document of a seed."""
    station = stations.draw(seed)
    document: dict[str, Any] = {
        "site": plates.site(station), "pump_set": plates.pump_set(station),
        "pump": plates.pump(station), "motor": plates.motor(station),
        "instruments": plates.instruments(station), "sensors": drives.sensors(station),
    }  # fmt: skip
    left = None
    if station.driven:
        document["drive"] = drives.drive(station)
        left = settings(station, document)
    document["event"] = visits.event(station, document, left)
    trace = trace_of(station, left)
    _beside(station, document, left)
    earlier = None
    if station.apart.random() < 0.15:
        earlier = visits.a_year_before(station, document, left)
        document["event"]["kind"] = "re_verification"
    return Entered(station, document, trace, Random(seed + 10**6), earlier)


def _beside(station: Station, document: Document, left: Document | None) -> None:
    """Now and then a second set: on the same header, or in the same well."""
    if station.regulation == "pressure" and station.apart.random() < 0.25:
        neighbours.join(station, document)
    turns = left is not None and left["pump_arrangement"] == "alternating"
    if turns and station.apart.random() < 0.5:
        neighbours.take_turns(station, document)


def trace_of(station: Station, left: Document | None) -> Trace | None:
    """The recorded step of a closed loop: quick, with little overshoot."""
    if left is None or station.regulation not in stations.CLOSED:
        return None
    aim = float(left["set_point"]["value"])
    chance = station.chance
    times, values = checks.answer(
        chance, aim * 0.92, aim, damping=chance.uniform(0.72, 0.95),
        rate=chance.uniform(0.2, 0.6), noise=0.0006 * aim,
    )  # fmt: skip
    running = min(station.points[0].frequency, station.maximum - 1)
    return times, {
        "feedback": (left["set_point"]["unit"], values),
        "set_point": (left["set_point"]["unit"], [aim * 0.92 if t <= 10 else aim for t in times]),
        "output_frequency": ("Hz", [running + chance.gauss(0, 0.05) for _ in times]),
    }


def findings(entered: Entered) -> list[Finding]:
    """Every finding of the catalogue."""
    subject = read(Subject, entered.document)
    recordings = {}
    if entered.trace is not None:
        times, columns = entered.trace
        named = {name: Column(unit, values) for name, (unit, values) in columns.items()}
        recordings[TRACE] = Recording(times, named)
    earlier = None if entered.earlier is None else read(Subject, entered.earlier)
    beside = NOTHING if earlier is None else Beside(last=Sealed(earlier, 1), first_number=1)
    if entered.corrected is not None:
        beside = replace(beside, corrected=Sealed(read(Subject, entered.corrected), 2))
    return list(judge(subject, recordings=recordings, earlier=earlier, beside=beside).findings)
