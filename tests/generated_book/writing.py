"""Writes drawn stations by COPY, as the tables' owner, with every constraint and trigger in place.

What stood when goes in beside the register, as where a book is taken in: the register's triggers
know the present alone.
"""

import hashlib
import uuid
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from typing import Any

import psycopg
from joserfc.jwk import OKPKey
from psycopg.sql import SQL, Identifier

from calculations.catalogue import VERSION
from calculations.tasks.catalogue import BY_ID
from records.services import keys
from tests.generated_book import texts
from tests.generated_book.columns import Columns, Jsonb
from tests.generated_book.drawing import Deed, Piece, PumpSet, Station, Visit
from tests.generated_book.texts import Party

AT_ONCE = 100
EVENTS = """row id contractor_id client_id site_id pump_set_id kind performed_at state document
snapshot snapshot_frozen catalogue judgement created_by_id revision created_digest created_at
changed_at said withdrawal_reason withdrawn_by_name"""
RECORDS = """row id contractor_id client_id site_id event_id pump_set_id number kind performed_at
sealed_at format canonical digest previous_digest signature key_id handed_to"""
VALUES = "record_id contractor_id client_id site_id tag serial name subject si word at"
DEEDS = """id record_id contractor_id client_id site_id task kind tag piece serial firmware drive
drive_serial place performed_on sealed_at result as_found ratio reason handed_to"""
STANDS = """contractor_id client_id site_id kind piece tag serial firmware pump motor drive traits
time_zone in_service_from out_of_service_on registered_on known_from known_until"""
SUMMARIES = """site_id contractor_id client_id open_stop open_review open_note drafts last_event_at
last_number last_digest last_sealed_at due_edition"""
DOCUMENTS = "id record_id contractor_id client_id kind attempts last_error asked_at"
HEADS = """
UPDATE records_sitesummary s
   SET last_number = r.number, last_digest = r.digest, last_sealed_at = r.sealed_at
  FROM (SELECT DISTINCT ON (site_id) site_id, number, digest, sealed_at FROM records_record
         ORDER BY site_id, number DESC) AS r
 WHERE s.site_id = r.site_id
"""
PARTS = ("pump", "motor", "drive", "sensor", "vessel")

Rows = list[list[Any]]


@dataclass
class Book:
    """Whose book it is, and where to write it."""

    owner: psycopg.Connection[Any]
    contractor: Party
    clients: Sequence[Party]
    person: uuid.UUID
    key: OKPKey
    tables: dict[str, Columns] = field(default_factory=dict)
    counts: dict[str, int] = field(default_factory=dict)

    def write(self, stations: Iterable[Station]) -> dict[str, int]:
        """Every station, some at a time, each part after those that it names; counts of rows."""
        self.tables = {word: Columns(word) for word in ("site", *PARTS, "pump_set")}
        self.owner.execute("SELECT set_config('app.taking_in', 'on', false)")
        for some in _parted(stations):
            with self.owner.transaction():
                self._register(some)
                self._sealed(some)
        self._set_counters()
        self.owner.execute(HEADS)
        self.owner.execute("SELECT set_config('app.taking_in', 'off', false)")
        self.owner.execute("ANALYZE")
        return self.counts

    def client_of(self, station: Station) -> Party:
        """Stations go to clients in turn: neighbours by number are not of one client."""
        return self.clients[station.number % len(self.clients)]

    def _copy(self, table: str, names: str, rows: Rows) -> None:
        columns = SQL(", ").join(map(Identifier, names.split()))
        text = SQL("COPY {} ({}) FROM STDIN").format(Identifier(table), columns)
        with self.owner.cursor() as cursor, cursor.copy(text) as copy:
            for row in rows:
                copy.write_row(row)
        self.counts[table] = self.counts.get(table, 0) + len(rows)

    def _next(self, table: str) -> int:
        self.counts[f"{table}.row"] = self.counts.get(f"{table}.row", 0) + 1
        return self.counts[f"{table}.row"]

    def _set_counters(self) -> None:
        """Rows that come later go on after these."""
        for name in [each for each in self.counts if each.endswith(".row")]:
            table = name.removesuffix(".row")
            text = "SELECT setval(pg_get_serial_sequence(%s, 'row'), %s)"
            self.owner.execute(text, [f"public.{table}", self.counts.pop(name)])

    # -- the register

    def _register(self, stations: Sequence[Station]) -> None:
        rows: dict[str, Rows] = {word: [] for word in self.tables}
        stands: Rows = []
        appointed: Rows = []
        summaries: Rows = []
        for station in stations:
            station_row = self._next("records_site")
            shared = self._shared(station, station.since)
            own = {**shared, "row": station_row, "id": station.id, "code": station.code,
                   "name": station.name, "time_zone": station.zone,
                   "latitude": round(-38 + station.number % 97 * 0.04, 4),
                   "longitude": round(-20 + station.number // 97 * 0.05, 4),
                   "in_service_from": station.since, "former_contractors": [],
                   "register_revision": 0}  # fmt: skip
            rows["site"].append(self.tables["site"].row(station.plate, own, station.kind.word))
            parties = (self.contractor.id, self.client_of(station).id)
            appointed.append([station_row, *parties, station.since])
            summaries.append([station_row, *parties, 0, 0, 0, 0, *_head(station), ""])
            stands += self._standing(station, station_row, shared)
            for piece in station.pieces:
                rows[piece.kind].append(self._piece(station, station_row, piece))
            for joined in station.sets:
                rows["pump_set"].append(self._set(station, station_row, joined))
        for word, listed in rows.items():
            self._copy(self.tables[word].table, " ".join(self.tables[word].names), listed)
        names = "site_id contractor_id client_id from_day"
        self._copy("records_appointment", names, appointed)
        self._copy("records_sitesummary", SUMMARIES, summaries)
        self._copy("records_piecestanding", STANDS, stands)

    def _shared(self, station: Station, since: date) -> dict[str, Any]:
        made = _begin(since)
        parties = {"contractor_id": self.contractor.id, "client_id": self.client_of(station).id}
        times = {"created_at": made, "changed_at": made}
        return parties | times | {"revision": 1, "created_digest": b""}

    def _piece(self, station: Station, at: int, piece: Piece) -> list[Any]:
        table = self.tables[piece.kind]
        piece.row = self._next(table.table)
        if piece.until is not None:
            piece.plate["out_of_service_on"] = str(piece.until)
        own = {**self._shared(station, piece.since), "row": piece.row, "id": piece.id,
               "site_id": at, "in_service_from": piece.since,
               "out_of_service_on": piece.until}  # fmt: skip
        like = f"{station.kind.word} {station.size} {piece.tag[:2]}"
        return table.row(piece.plate, own, like)

    def _set(self, station: Station, at: int, joined: PumpSet) -> list[Any]:
        table = self.tables["pump_set"]
        joined.row = self._next(table.table)
        own = {
            **self._shared(station, joined.since), "row": joined.row, "id": joined.id,
            "site_id": at, "tag": joined.tag, "group": "all", "bypass": "none",
            "transmission": "direct", "drive_shared_with": Jsonb([]), "former_contractors": [],
            "pump_id": joined.pump.row, "motor_id": joined.motor.row,
            "drive_id": joined.drive.row if joined.drive else None,
            "regulating_sensor_id": joined.sensor.row, "flow_meter_id": joined.meter.row,
            "in_service_from": joined.since, "out_of_service_on": joined.until,
        }  # fmt: skip
        values = own | {"plate": Jsonb(texts.set_plate(joined))}
        return [values.get(name) for name in table.names]

    # -- what stood when

    def _standing(self, station: Station, at: int, shared: dict[str, Any]) -> Iterator[list[Any]]:
        """A row for each piece as long as it was known in one way."""
        head = [shared["contractor_id"], shared["client_id"], at]
        words = [f"site.{station.kind.word}", f"liquid.{station.plate['liquid_kind']}"]
        begun = _begin(station.since)
        yield [*head, "site", station.id, station.code, "", "", None, None, None, words,
               station.zone, station.since, None, station.since, begun, None]  # fmt: skip
        for piece in station.pieces:
            firmware = piece.plate.get("firmware", "")
            told = [*head, piece.kind, piece.id, piece.tag, piece.serial, firmware,
                    None, None, None, piece.traits, "", piece.since]  # fmt: skip
            yield from _known(told, piece)
        for joined in station.sets:
            drive = joined.drive.id if joined.drive else None
            told = [*head, "pump_set", joined.id, joined.tag, "", "", joined.pump.id,
                    joined.motor.id, drive, joined.traits, "", joined.since]  # fmt: skip
            yield from _known(told, joined)

    # -- what was sealed

    def _sealed(self, stations: Sequence[Station]) -> None:
        events, records, values, deeds, documents = (list[list[Any]]() for _ in range(5))
        for station in stations:
            previous = None
            parties = (self.contractor, self.client_of(station))
            at = self.counts["records_site.row"] - len(stations) + stations.index(station) + 1
            head = [parties[0].id, parties[1].id, at]
            for number, visit in enumerate(station.visits, 1):
                row = self._next("records_event")
                self._next("records_record")
                identity, own = uuid.uuid4(), uuid.uuid4()
                parts = {
                    "event": texts.event(station, visit, own),
                    "snapshot": texts.snapshot(station, visit, parties),
                    "judgement": texts.judgement(visit),
                }
                text = texts.record(identity, number, previous, visit, parties, parts)
                events.append(self._event(head, row, own, visit, parts))
                digest = hashlib.sha256(text).digest()
                records.append([row, identity, *head, row, visit.of.row, number, visit.kind,
                                visit.on, visit.sealed, texts.FORMAT, text, digest, previous,
                                keys.sign(text, self.key), keys.key_id(self.key), []])  # fmt: skip
                values.append(_value(head, row, visit))
                documents.append([uuid.uuid4(), row, *head[:2], "pdf", 0, "", visit.sealed])
                deeds += [_deed(head, row, visit, each) for each in visit.deeds]
                previous = digest
        self._copy("records_event", EVENTS, events)
        self._copy("records_record", RECORDS, records)
        self._copy("records_recordedvalue", VALUES, values)
        self._copy("records_performedtask", DEEDS, deeds)
        self._copy("records_recorddocument", DOCUMENTS, documents)

    def _event(
        self, head: list[Any], row: int, own: uuid.UUID, visit: Visit, parts: dict[str, Any]
    ) -> list[Any]:
        held = parts["judgement"]
        return [row, own, *head, visit.of.row, visit.kind, visit.on, "sealed",
                Jsonb(parts["event"]), Jsonb(parts["snapshot"]), True, VERSION, Jsonb(held),
                self.person, 1, b"", visit.on, visit.sealed, 1, "", ""]  # fmt: skip


def _parted(stations: Iterable[Station]) -> Iterator[list[Station]]:
    some: list[Station] = []
    for station in stations:
        some.append(station)
        if len(some) == AT_ONCE:
            yield some
            some = []
    if some:
        yield some


def _begin(day: date) -> datetime:
    return datetime.combine(day, time(6), UTC)


def _head(station: Station) -> list[Any]:
    """Of the summary: the last visit; the digest is written with the records."""
    return [station.visits[-1].on if station.visits else None, 0, None, None]


def _known(told: list[Any], piece: Piece | PumpSet) -> Iterator[list[Any]]:
    """As it was known until it went out of service, and since."""
    begun = _begin(piece.since)
    if piece.until is None:
        yield [*told, None, piece.since, begun, None]
        return
    learnt = _begin(piece.until) + timedelta(days=1)
    yield [*told, None, piece.since, begun, learnt]
    yield [*told, piece.until, piece.since, learnt, None]


def _value(head: list[Any], record: int, visit: Visit) -> list[Any]:
    sensor = visit.of.sensor
    return [record, *head, sensor.tag, sensor.serial, "sensor.largest-error",
            "/event/sensor_verifications/0", visit.error / 100, "", visit.on]  # fmt: skip


def _deed(head: list[Any], record: int, visit: Visit, deed: Deed) -> list[Any]:
    piece, drive = deed.piece, visit.of.drive
    rests = drive if BY_ID[deed.task].rests_on_drive else None
    return [uuid.uuid4(), record, *head, deed.task, deed.kind, piece.tag, piece.id,
            getattr(piece, "serial", ""), "", rests.id if rests else None,
            rests.serial if rests else "", deed.place, visit.on.date(), visit.sealed,
            deed.result, deed.as_found, deed.ratio, deed.reason, []]  # fmt: skip
