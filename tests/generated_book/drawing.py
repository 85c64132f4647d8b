"""Stations drawn by number: what stands there, what was replaced, and each year's visits."""

import random
import uuid
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

from tests.generated_book import plates
from tests.generated_book.plates import Document, Kind

HEADS = ("Brask", "Tolvin", "Quend", "Mirlow", "Zarneth", "Pelvik", "Skorra", "Wenthal", "Ostrel",
         "Yarvan", "Druxley", "Femmor", "Grivel", "Hollum", "Jessark", "Krannet", "Lorvin",
         "Nathrop", "Orlich", "Prendal")  # fmt: skip
TAILS = ("Hill", "Mill", "Reach", "Bend", "Lane", "Cross", "Hollow", "Ridge", "Water", "Gate",
         "Common", "End")  # fmt: skip
ZONES = ("America/Denver", "America/Chicago", "Europe/Berlin", "Pacific/Auckland")
REASONS = ("valve seized", "no permission to stop the pump", "well flooded", "part on order")
INSULATION = "/event/motor_tests/insulation"
TOLERANCE = 0.5
"""Of every transmitter [% of span]; errors are drawn in sixteenths, as 0.01 mA tell them."""

LIFE = 4200
"""Days that a motor, pump or transmitter stays at least, and up to twice that long."""


@dataclass
class Piece:
    """A thing at a tag, from a day on, to a day."""

    kind: str
    tag: str
    serial: str
    plate: Document
    traits: list[str]
    since: date
    until: date | None = None
    id: uuid.UUID = field(default_factory=uuid.uuid4)
    row: int = 0


@dataclass
class PumpSet:
    """Pump, motor and drive joined from a day on; `sensors` are regulating and flow."""

    tag: str
    pump: Piece
    motor: Piece
    drive: Piece | None
    sensor: Piece
    meter: Piece
    since: date
    until: date | None = None
    id: uuid.UUID = field(default_factory=uuid.uuid4)
    row: int = 0

    @property
    def traits(self) -> list[str]:
        """Words that tasks ask for."""
        return [*(["set.with_drive"] if self.drive else []), "set.regulated", "set.grouped"]


@dataclass
class Deed:
    """What a visit did of one task of one piece."""

    task: str
    kind: str
    piece: Any
    place: str
    result: str = "inside"
    as_found: str | None = None
    ratio: float | None = None
    reason: str = ""


@dataclass
class Visit:
    """One day's work on one pump set; what was read follows from `age` [years] and `chance`."""

    of: PumpSet
    on: datetime
    sealed: datetime
    kind: str
    error: float
    wear: float
    insulation: float
    deeds: list[Deed] = field(default_factory=list)


@dataclass
class Station:
    """A station with everything that stands and stood there, and its visits in order."""

    number: int
    kind: Kind
    size: float
    code: str
    name: str
    zone: str
    since: date
    plate: Document
    pieces: list[Piece] = field(default_factory=list)
    sets: list[PumpSet] = field(default_factory=list)
    visits: list[Visit] = field(default_factory=list)
    id: uuid.UUID = field(default_factory=uuid.uuid4)


class Draw:
    """Draws stations one after the other; the same seed gives the same book but for ids."""

    def __init__(self, seed: int, years: int, today: date) -> None:
        self.chance, self.years, self.today = random.Random(seed), years, today

    def stations(self, count: int) -> Iterator[Station]:
        """So many, each with its own history."""
        for number in range(count):
            yield self._station(number)

    def _id(self) -> uuid.UUID:
        return uuid.UUID(int=self.chance.getrandbits(128), version=4)

    def _station(self, number: int) -> Station:
        chance = self.chance
        kind = chance.choices(plates.KINDS, (4, 3, 2, 4))[0]
        since = self.today - timedelta(days=int(365.25 * self.years) + chance.randrange(300))
        place = f"{chance.choice(HEADS)} {chance.choice(TAILS)}"
        code = f"{''.join(word[0] for word in kind.name.split()).upper()}-{number:05}"
        station = Station(
            number, kind, chance.choice(plates.SIZES), code, f"{place} {kind.name}",
            ZONES[number % len(ZONES)], since, plates.site(kind), id=self._id(),
        )  # fmt: skip
        station.plate |= {"code": code, "name": station.name, "time_zone": station.zone,
                          "in_service_from": str(since)}  # fmt: skip
        vessel = self._piece(station, "vessel", "V-1", plates.vessel(), since)
        vessel_tag = vessel.tag
        for index in range(chance.choice((1, 2, 2, 3))):
            self._sets(station, index + 1)
        self._visits(station, vessel_tag)
        return station

    # -- what stands and stood

    def _piece(self, station: Station, kind: str, tag: str, plate: Document, since: date) -> Piece:
        serial = f"{kind[:1].upper()}{self.chance.randrange(10**7):07}"
        own = plate | {"tag": tag, "serial": serial, "in_service_from": str(since)}
        made = Piece(kind, tag, serial, own, traits(kind, own), since, id=self._id())
        station.pieces.append(made)
        return made

    def _sets(self, station: Station, index: int) -> None:
        """One pump set, and those that took its place when a piece was replaced."""
        kind, size, since = station.kind, station.size, station.since
        regulated, flow = plates.sensors(kind, size)
        tag = "LT" if kind.level else "PT"
        sensor = self._piece(station, "sensor", f"{tag}-10{index}", regulated, since)
        meter = self._piece(station, "sensor", f"FT-10{index}", flow, since)
        made = {
            "pump": self._piece(station, "pump", f"P-10{index}", plates.pump(kind, size), since),
            "motor": self._piece(station, "motor", f"M-10{index}", plates.motor(kind, size), since),
        }
        with_drive = self.chance.random() < 0.8
        drive = self._piece(station, "drive", f"D-10{index}", plates.drive(size), since)
        if not with_drive:
            station.pieces.remove(drive)
        joined = PumpSet(
            f"PS-10{index}", made["pump"], made["motor"], drive if with_drive else None, sensor,
            meter, since, id=self._id(),
        )  # fmt: skip
        station.sets.append(joined)
        day = since + timedelta(days=self._life())
        while day < self.today:
            joined = self._replaced(station, joined, self.chance.choice(("pump", "motor")), day)
            day += timedelta(days=self._life())

    def _life(self) -> int:
        return self.chance.randrange(LIFE, 2 * LIFE)

    def _replaced(self, station: Station, old: PumpSet, part: str, day: date) -> PumpSet:
        """Another pump or motor: the old piece and its pump set end that day."""
        gone: Piece = getattr(old, part)
        plate = getattr(plates, part)(station.kind, station.size)
        fresh = self._piece(station, part, gone.tag, plate, day)
        gone.until = old.until = day
        parts = {"pump": old.pump, "motor": old.motor, part: fresh}
        joined = PumpSet(old.tag, parts["pump"], parts["motor"], old.drive, old.sensor, old.meter,
                         day, id=self._id())  # fmt: skip
        station.sets.append(joined)
        return joined

    # -- visits

    def _visits(self, station: Station, vessel: str) -> None:
        """A visit a year, in turn to each pump set; one that was just joined is started up."""
        chance = self.chance
        season = chance.randrange(330)
        started: set[uuid.UUID] = set()
        tags = list(dict.fromkeys(each.tag for each in station.sets))
        for year in range(self.years + 1):
            on = station.since + timedelta(days=int(365.25 * year) + (season if year else 5))
            sealed = on + timedelta(days=chance.randrange(1, 15))
            if sealed >= self.today or chance.random() < 0.03:
                continue
            joined = self._standing(station, tags[year % len(tags)], on)
            first = joined.id not in started
            started.add(joined.id)
            station.visits.append(self._visit(station, joined, (on, sealed), first, vessel))

    @staticmethod
    def _standing(station: Station, tag: str, on: date) -> PumpSet:
        return next(each for each in station.sets
                    if each.tag == tag and (each.until is None or each.until > on))  # fmt: skip

    def _visit(
        self, station: Station, joined: PumpSet, days: tuple[date, date], first: bool, vessel: str
    ) -> Visit:
        chance = self.chance
        on, sealed = (datetime.combine(day, time(8), UTC) for day in days)
        age = (days[0] - joined.pump.since).days / 365.25
        made = Visit(
            joined, on, sealed, "start_up" if first else "re_verification",
            error=round(chance.gauss(0.0, 4.0)) / 16,
            wear=max(0.0, 0.006 * age + chance.gauss(0, 0.003)),
            insulation=2000.0 * 0.9**age * chance.uniform(0.7, 1.3),
        )  # fmt: skip
        made.deeds = list(self._deeds(station, made, first, vessel))
        return made

    def _deeds(self, station: Station, visit: Visit, first: bool, vessel: str) -> Iterator[Deed]:
        """Tasks with their results; what was found is told of re-verifications alone."""
        chance, joined = self.chance, visit.of
        own = abs(visit.error)
        found = "inside" if own <= TOLERANCE else "outside"
        as_found = None if first else "inside"
        yield Deed("transmitter", "sensor", joined.sensor, "/event/sensor_verifications/0",
                   as_found=None if first else found,
                   ratio=None if first else own / TOLERANCE)  # fmt: skip
        yield Deed("insulation", "motor", joined.motor, INSULATION, as_found=as_found)
        yield Deed("vibration", "pump", joined.pump, "/event/duty_points/0")
        yield Deed("pump-performance", "pump", joined.pump, "/event/duty_points", as_found=as_found)
        if first:
            yield Deed("rotation", "motor", joined.motor, "/event/rotation")
        result = "begun" if first else "inside"
        yield Deed("first-follow-up", "pump_set", joined, "/event", result=result)
        if chance.random() < 0.5:
            yield Deed("earth-continuity", "pump_set", joined, "/event/earth_tests")
        if chance.random() < 0.3:
            named = next(each for each in station.pieces if each.tag == vessel)
            yield Deed("pre-charge", "vessel", named, "/event/vessel_checks/0")
        yield from self._proven(station.kind, joined, first)

    def _proven(self, kind: Kind, joined: PumpSet, first: bool) -> Iterator[Deed]:
        place = 0
        for function in kind.functions:
            of_motor = function in ("seal_leak", "motor_overtemperature")
            task, piece = f"protection.{function.replace('_', '-')}", joined.motor
            deed = Deed(task, "motor" if of_motor else "pump_set", piece if of_motor else joined,
                        f"/event/protection_tests/{place}")  # fmt: skip
            drawn = self.chance.random()
            if drawn > 0.8:
                continue
            if drawn < 0.02:
                deed.result, deed.place = "not_possible", "/event/not_possible"
                deed.reason = self.chance.choice(REASONS)
            else:
                place += 1
                deed.result = "outside" if drawn < 0.03 else "inside"
                deed.as_found = None if first else deed.result
            yield deed


def traits(kind: str, plate: Document) -> list[str]:
    """Words that tasks ask for, of a piece as it is plated."""
    if kind == "sensor":
        return [f"sensor.{plate['quantity']}"]
    if kind == "pump":
        return ["pump.submersible"] if plate["type"].startswith("submersible") else []
    if kind != "motor":
        return []
    power = float(plate["ratings"][plate["rating_in_use"]]["power"]["value"]) * 0.745699872
    known = {
        "motor.immersed": plate["immersed"], "motor.leak_sensor": plate.get("leak_sensor"),
        "motor.thermal_sensor": plate["thermal_sensor"] != "none", "motor.large": power >= 75,
    }  # fmt: skip
    return [word for word, holds in known.items() if holds]
