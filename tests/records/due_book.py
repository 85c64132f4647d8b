"""A small book drawn by number, of all that due dates come from."""

import random
import uuid
from dataclasses import dataclass, field, fields, replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import psycopg

from calculations.tasks.catalogue import TASKS
from calculations.tasks.task import Task

NOW = datetime(2026, 6, 15, 12, tzinfo=UTC)
ZONES = ("America/Denver", "Europe/Berlin", "Pacific/Auckland")
TABLES = {
    "stands": "records_piecestanding", "records": "records_record",
    "done": "records_performedtask", "settings": "records_intervalsetting",
    "appointments": "records_appointment",
}  # fmt: skip


@dataclass(frozen=True)
class Stands:
    """A piece as it was known for a time."""

    row: int
    contractor_id: uuid.UUID
    client_id: uuid.UUID
    site_id: int
    kind: str
    piece: uuid.UUID
    tag: str
    traits: list[str]
    registered_on: date
    known_from: datetime
    serial: str = ""
    firmware: str = ""
    pump: uuid.UUID | None = None
    motor: uuid.UUID | None = None
    drive: uuid.UUID | None = None
    time_zone: str = ""
    in_service_from: date | None = None
    out_of_service_on: date | None = None
    known_until: datetime | None = None
    rewound_on: date | None = None


@dataclass(frozen=True)
class Sealed:
    """A record, as far as due dates know it."""

    row: int
    id: uuid.UUID
    contractor_id: uuid.UUID
    client_id: uuid.UUID
    site_id: int
    event_id: int
    number: int
    performed_at: datetime
    sealed_at: datetime
    previous_digest: bytes | None
    corrects_id: int | None = None
    kind: str = "re_verification"
    format: int = 1
    canonical: bytes = b""
    digest: bytes = b""
    signature: str = ""
    key_id: str = ""
    handed_to: list[uuid.UUID] = field(default_factory=list)


@dataclass(frozen=True)
class Done:
    """What a record did of a task."""

    row: int
    id: uuid.UUID
    record_id: int
    contractor_id: uuid.UUID
    client_id: uuid.UUID
    site_id: int
    task: str
    kind: str
    tag: str
    piece: uuid.UUID | None
    serial: str
    firmware: str
    drive: uuid.UUID | None
    drive_serial: str
    performed_on: date
    sealed_at: datetime
    result: str
    as_found: str | None
    ratio: float | None
    reason: str = ""
    place: str = ""
    handed_to: list[uuid.UUID] = field(default_factory=list)


@dataclass(frozen=True)
class Setting:
    """An interval that somebody has set."""

    row: int
    id: uuid.UUID
    contractor_id: uuid.UUID
    client_id: uuid.UUID
    task: str
    months: int
    safety: bool
    set_at: datetime
    station_kind: str | None = None
    site_id: int | None = None
    piece: uuid.UUID | None = None
    ended_at: datetime | None = None
    tag: str = ""
    catalogue_months: int = 120
    reason: str = "drawn"
    created_digest: bytes = b""
    set_by_id: uuid.UUID = field(default_factory=uuid.uuid4)
    set_by_name: str = ""
    ended_by_id: uuid.UUID | None = None
    ended_by_name: str = ""


@dataclass(frozen=True)
class Appointed:
    """Since when a contractor looks after a station."""

    site_id: int
    contractor_id: uuid.UUID
    client_id: uuid.UUID
    from_day: date


@dataclass
class Book:
    """All that due dates come from."""

    stands: list[Stands] = field(default_factory=list)
    records: list[Sealed] = field(default_factory=list)
    done: list[Done] = field(default_factory=list)
    settings: list[Setting] = field(default_factory=list)
    appointments: list[Appointed] = field(default_factory=list)

    def write(self, admin: psycopg.Connection) -> None:
        """Put it into the tables, past every guard."""
        admin.execute("SET LOCAL session_replication_role = replica")
        for name, table in TABLES.items():
            for row in getattr(self, name):
                values = {each.name: getattr(row, each.name) for each in fields(row)}
                names = ", ".join(values)
                places = ", ".join(f"%({each})s" for each in values)
                admin.execute(f"INSERT INTO {table} ({names}) VALUES ({places})", values)


# -- drawing it ---------------------------------------------------------------------------------


class Draw:
    """Draws stations with a history of seven years."""

    def __init__(self, seed: int, parties: list[tuple[uuid.UUID, uuid.UUID]]) -> None:
        self.chance = random.Random(seed)
        self.parties = parties
        self.book = Book()
        self.rows = iter(range(1_000_000, 9_000_000))

    def book_of(self, stations: int) -> Book:
        """So many stations, in turn of each pair of parties."""
        for number in range(stations):
            self._station(number, *self.parties[number % len(self.parties)])
        for _ in range(3 * stations):
            self._setting()
        return self.book

    def _id(self) -> uuid.UUID:
        return uuid.UUID(int=self.chance.getrandbits(128), version=4)

    def _day(self, first: str = "2019-01-01", days: int = 2700) -> date:
        return date.fromisoformat(first) + timedelta(self.chance.randrange(days))

    def _moment(self, day: date) -> datetime:
        return datetime.combine(day, time(self.chance.randrange(24), 30), UTC)

    def _station(self, number: int, contractor: uuid.UUID, client: uuid.UUID) -> None:
        chance, start = self.chance, self._day(days=900)
        kind = chance.choice(["booster", "well", "lift_station", "raw_water"])
        liquid = chance.choice(["potable", "sewage", "sludge"])
        common: dict[str, Any] = {
            "contractor_id": contractor, "client_id": client, "site_id": 700_000 + number,
            "registered_on": start, "known_from": self._moment(start),
        }  # fmt: skip
        gone = self._day("2025-06-01", 500) if chance.random() < 0.1 else None
        self._add(
            kind="site", tag=f"S-{number}", traits=[f"site.{kind}", f"liquid.{liquid}"],
            time_zone=chance.choice(ZONES), out_of_service_on=gone, **common,
        )  # fmt: skip
        names = ("site_id", "contractor_id", "client_id")
        where = {name: common[name] for name in names}
        self.book.appointments.append(Appointed(from_day=start, **where))
        for index in range(chance.randrange(1, 3)):
            self._set(index, common)

    def _set(self, index: int, common: dict[str, Any]) -> None:
        chance = self.chance
        parts = {
            "pump": ["pump.submersible"], "drive": [],
            "motor": ["motor.immersed", "motor.large", "motor.thermal_sensor", "motor.leak_sensor"],
        }  # fmt: skip
        joined, sets = {}, ["set.with_drive"]
        for kind, words in parts.items():
            if kind == "drive" and chance.random() < 0.3:
                joined["drive"], sets = None, []
                continue
            traits = [word for word in words if chance.random() < 0.4]
            joined[kind] = self._piece(kind, f"{kind[0].upper()}-{index}", traits, common)
        sets += [word for word in ("set.regulated", "set.grouped") if chance.random() < 0.6]
        made = {kind: piece and piece.piece for kind, piece in joined.items()}
        own = self._add(kind="pump_set", tag=f"PS-{index}", traits=sets, **made, **common)
        quantity = chance.choice(["pressure", "level", "flow"])
        sensor = self._piece("sensor", f"T-{index}", [f"sensor.{quantity}"], common)
        vessel = self._piece("vessel", f"V-{index}", [], common)
        pieces = {**joined, "pump_set": own, "sensor": sensor, "vessel": vessel}
        for _ in range(chance.randrange(0, 9)):
            self._visit(pieces, common)

    def _piece(self, kind: str, tag: str, traits: list[str], common: dict[str, Any]) -> Stands:
        """A piece, which may have been known otherwise before, and may have replaced another."""
        chance, wanted = self.chance, {"kind": kind, "tag": tag, "traits": traits, **common}
        serial = chance.choice(["", f"N{chance.randrange(10**6)}"])
        since = chance.choice([None, self._day(days=1500)])
        if chance.random() < 0.25:
            out = self._day("2023-01-01", 1200)
            learnt = self._moment(out + timedelta(chance.randrange(40)))
            old = self._add(serial=f"O{chance.randrange(10**6)}", known_until=learnt, **wanted)
            told = {"known_from": learnt, "known_until": None, "out_of_service_on": out}
            self.book.stands.append(replace(old, row=next(self.rows), **told))
            wanted |= {"known_from": learnt, "registered_on": learnt.date()}
            since = out
        made = self._add(serial=serial, in_service_from=since, rewound_on=self._rewound(kind),
                         **wanted)  # fmt: skip
        if chance.random() < 0.3:
            changed = self._moment(self._day("2024-01-01", 800))
            if changed > made.known_from:
                self.book.stands[-1] = replace(made, known_until=changed)
                again = replace(
                    made, row=next(self.rows), known_from=changed,
                    serial=chance.choice([made.serial, f"C{chance.randrange(10**6)}"]),
                    rewound_on=made.rewound_on or self._rewound(kind),
                    firmware=chance.choice(["", "2.0"]),
                    out_of_service_on=chance.choice([None, None, self._day("2025-09-01", 400)]),
                )  # fmt: skip
                self.book.stands.append(again)
                return again
        return made

    def _rewound(self, kind: str) -> date | None:
        """When a motor's winding was renewed, of one in three."""
        return self._day() if kind == "motor" and self.chance.random() < 0.33 else None

    def _add(self, **values: Any) -> Stands:
        made = Stands(row=next(self.rows), piece=self._id(), **values)
        self.book.stands.append(made)
        return made

    def _visit(self, pieces: dict[str, Stands | None], common: dict[str, Any]) -> None:
        chance, on = self.chance, self._day()
        names = ("contractor_id", "client_id", "site_id")
        where = {name: common[name] for name in names}
        sealed = self._moment(on + timedelta(chance.randrange(1, 30)))
        before = [each for each in self.book.records if each.site_id == common["site_id"]]
        taken = {each.corrects_id for each in before}
        free = [each.row for each in before if each.row not in taken]
        corrects = chance.choice(free) if free and chance.random() < 0.15 else None
        row = next(self.rows)
        at = {"performed_at": self._moment(on), "sealed_at": sealed}
        known = {"row": row, "id": self._id(), "event_id": row, "number": len(before) + 1}
        known["previous_digest"] = b"" if before else None
        self.book.records.append(Sealed(corrects_id=corrects, **known, **at, **where))
        for task in TASKS:
            piece = pieces[task.of]
            if piece is not None and chance.random() < 0.5:
                shared = {**where, "record_id": row, "sealed_at": sealed, "performed_on": on}
                self._deed(task, piece, pieces["drive"], shared)

    def _deed(
        self, task: Task, piece: Stands, drive: Stands | None, shared: dict[str, Any]
    ) -> None:
        chance = self.chance
        results = ["inside"] * 6 + ["outside", "not_judged", "not_possible"]
        result = chance.choice(["begun", "inside"] if task.follows else results)
        found = chance.choice([None, "inside", "inside", "outside"])
        ratio = None if found is None else round(chance.uniform(0.1, 1.0) + (found == "outside"), 3)
        rests = drive if task.rests_on_drive else None
        self.book.done.append(
            Done(
                row=next(self.rows), id=self._id(), task=task.id, kind=task.of, tag=piece.tag,
                piece=piece.piece, serial=chance.choice([piece.serial, piece.serial, "X9"]),
                firmware=chance.choice(["", "1.0", "2.0"]),
                drive=rests.piece if rests else None, drive_serial=rests.serial if rests else "",
                result=result, as_found=found, ratio=ratio,
                reason="locked" if result == "not_possible" else "", **shared,
            )
        )  # fmt: skip

    def _setting(self) -> None:
        chance, task = self.chance, self.chance.choice(TASKS)
        contractor, client = chance.choice(self.parties)
        own = [each for each in self.book.stands if each.contractor_id == contractor]
        piece = chance.choice([each for each in own if each.kind == task.of])
        kind = chance.choice([None, "booster", "well", "lift_station"])
        scope = {"station_kind": kind}
        if chance.random() < 0.4:
            scope = {"site_id": piece.site_id, "piece": piece.piece}
        since = self._moment(self._day())
        until = since + timedelta(chance.randrange(1, 900)) if chance.random() < 0.4 else None
        setting = Setting(
            row=next(self.rows), id=self._id(), contractor_id=contractor, client_id=client,
            task=task.id, months=chance.randrange(1, 49), safety=task.safety, set_at=since,
            ended_at=until, ended_by_id=self._id() if until else None, **scope,
        )  # fmt: skip
        keys = ("contractor_id", "task", "station_kind", "site_id", "piece", "ended_at")
        if until or all(any(getattr(e, k) != getattr(setting, k) for k in keys)
                        for e in self.book.settings):  # fmt: skip
            self.book.settings.append(setting)
