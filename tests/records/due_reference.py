"""What is due in a drawn book, found by plain loops over it.

Only the catalogue of tasks is shared with the service: dates, states, what counts as the same
thing and which interval applies are worked out here anew.
"""

import re
import uuid
from calendar import monthrange
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from calculations.tasks.catalogue import TASKS
from calculations.tasks.task import Task
from tests.records.due_book import NOW, Book, Done, Stands


def later(day: date, months: int) -> date:
    """A calendar's answer: month by month, then the last day that there is."""
    year, month = day.year, day.month
    for _ in range(months):
        year, month = (year + 1, 1) if month == 12 else (year, month + 1)
    return date(year, month, min(day.day, monthrange(year, month)[1]))


def _numbered(tag: str) -> tuple[tuple[str, int], ...]:
    """P-2 before P-10."""
    found = re.findall("([^0-9]*)([0-9]*)", tag)
    return tuple((words, int(digits or -1)) for words, digits in found)


@dataclass(frozen=True)
class Reference:
    """Due items of one organization on one day, by plain loops."""

    book: Book
    party: str
    organization: uuid.UUID
    as_of: date | None = None
    now: datetime = NOW

    def items(self) -> list[tuple[Any, ...]]:
        """(station, tag, task, state, due on, months, halved, not possible), in order."""
        stations = [each for each in self.book.stands if each.kind == "site" and self._own(each)]
        found = [item for each in stations for item in self._of_station(each)]
        return sorted(found, key=lambda item: (item[0], _numbered(item[1]), item[2]))

    def _own(self, row: Any) -> bool:
        return bool(getattr(row, self.party) == self.organization)

    def _of_station(self, station: Stands) -> list[tuple[Any, ...]]:
        zone = ZoneInfo(station.time_zone)
        today = self.now.astimezone(zone).date()
        if self.as_of:
            today = min(self.as_of, today)
        cut = min(datetime.combine(today + timedelta(1), time(), zone), self.now)
        known = [each for each in self.book.stands if each.site_id == station.site_id
                 and self._own(each) and each.known_from <= cut
                 and (each.known_until is None or each.known_until > cut)]  # fmt: skip
        if station not in known or not stands(station, today):
            return []
        here = Here(self, station, today, cut, known)
        return [item for piece in known if piece.kind != "site" and stands(piece, today)
                for task in TASKS if task.of == piece.kind
                for item in here.item(piece, task)]  # fmt: skip


def stands(piece: Stands, day: date) -> bool:
    """Whether it was in service on a day."""
    begun = piece.in_service_from is None or piece.in_service_from <= day
    return begun and (piece.out_of_service_on is None or piece.out_of_service_on > day)


@dataclass(frozen=True)
class Here:
    """One station on one day."""

    asked: Reference
    station: Stands
    today: date
    cut: datetime
    known: list[Stands]

    def item(self, piece: Stands, task: Task) -> list[tuple[Any, ...]]:
        """The due item of one task of one piece, where there is one."""
        own = self._set_of(piece)
        motor, drive = self._named(own, "motor"), self._named(own, "drive")
        traits = {*self.station.traits, *piece.traits, *(own.traits if own else ()),
                  *(motor.traits if motor else ())}  # fmt: skip
        default = task.default_for(frozenset(traits))
        history = self._history(piece, task)
        newest = history[-1] if history else None
        same = [each for each in history if self._is_same(task, each, piece, drive)]
        good = next((e for e in reversed(same) if e.result in ("inside", "begun")), None)
        if task.follows:
            if good is None or good.result != "begun":
                return []
        elif default is None and all(each.result == "not_possible" for each in history):
            return []
        usual = (default or task.otherwise).months
        months, halved = self._interval(piece, task, usual, good)
        due = self._due(piece, task, drive, history, good, months)
        since_good = same[same.index(good) + 1 :] if good else same
        outside = [each.performed_on for each in since_good if each.result == "outside"]
        due = min(filter(None, (due, *outside[:1])), default=None)
        impossible = newest is not None and newest.result == "not_possible"
        state = self._state(due, good)
        return [(self.station.site_id, piece.tag, TASKS.index(task), state, due, months, halved,
                 impossible)]  # fmt: skip

    def _set_of(self, piece: Stands) -> Stands | None:
        if piece.kind == "pump_set":
            return piece
        if piece.kind not in ("pump", "motor", "drive"):
            return None
        return next((each for each in self.known if each.kind == "pump_set"
                     and getattr(each, piece.kind) == piece.piece
                     and stands(each, self.today)), None)  # fmt: skip

    def _named(self, own: Stands | None, kind: str) -> Stands | None:
        named = getattr(own, kind) if own else None
        return next((e for e in self.known if e.kind == kind and e.piece == named), None)

    def _history(self, piece: Stands, task: Task) -> list[Done]:
        corrected = {each.corrects_id for each in self.asked.book.records
                     if each.sealed_at <= self.cut}  # fmt: skip
        found = [each for each in self.asked.book.done
                 if (each.site_id, each.task, each.tag) == (piece.site_id, task.id, piece.tag)
                 and self.asked._own(each) and each.sealed_at <= self.cut
                 and each.performed_on <= self.today
                 and each.record_id not in corrected]  # fmt: skip
        return sorted(found, key=lambda each: (each.performed_on, each.sealed_at, each.row))

    @staticmethod
    def _is_same(task: Task, done: Done, piece: Stands, drive: Stands | None) -> bool:
        if task.of != "pump_set" and not alike(done.piece, done.serial, piece):
            return False
        if task.rests_on_drive and not alike(done.drive, done.drive_serial, drive):
            return False
        versions = {done.firmware, piece.firmware} - {""}
        if task.with_firmware and len(versions) == 2:
            return False
        rewound = piece.rewound_on if task.with_winding else None
        return rewound is None or done.performed_on >= rewound

    def _interval(
        self, piece: Stands, task: Task, usual: int, good: Done | None
    ) -> tuple[int, bool]:
        kind = self.station.traits[0].removeprefix("site.")
        in_force = [
            each for each in self.asked.book.settings
            if (each.contractor_id, each.task) == (self.station.contractor_id, task.id)
            and each.client_id == self.station.client_id and each.set_at <= self.cut
            and (each.ended_at is None or each.ended_at > self.cut)
            and each.station_kind in (None, kind)
            and (each.piece is None or (each.site_id, each.piece) == (piece.site_id, piece.piece))
        ]  # fmt: skip
        in_force.sort(key=lambda e: (e.piece is not None, e.station_kind is not None, e.row))
        setting = in_force[-1] if in_force else None
        months = setting.months if setting else usual
        if task.safety:
            months = min(months, usual)
        if good is None or good.as_found != "outside":
            return months, False
        if setting is not None and setting.set_at > good.sealed_at:
            return months, False
        return max(months // 2, 1), True

    def _due(
        self, piece: Stands, task: Task, drive: Stands | None, history: list[Done],
        good: Done | None, months: int,
    ) -> date | None:  # fmt: skip
        if good is not None:
            return None if task.once else later(good.performed_on, months)
        since = piece.in_service_from or piece.registered_on
        if task.rests_on_drive and drive is not None:
            since = max(since, drive.in_service_from or drive.registered_on)
        rewound = piece.rewound_on if task.with_winding else None
        first_here = piece.in_service_from or piece.registered_on
        since = max(since, rewound or since)
        before = [each for each in history if each.result in ("inside", "begun")]
        if before:
            return max(since, before[-1].performed_on)
        if rewound and rewound > max(first_here, self._taken_over(piece)):
            return since  # nobody has looked at it since its winding came new
        predecessors = [
            each for each in self.known
            if (each.kind, each.tag) == (piece.kind, piece.tag) and each.piece != piece.piece
            and each.out_of_service_on and each.out_of_service_on <= self.today
        ]  # fmt: skip
        if predecessors and piece.kind != "pump_set":
            return since
        return later(max(since, self._taken_over(piece)), 3)

    def _taken_over(self, piece: Stands) -> date:
        days = [each.from_day for each in self.asked.book.appointments
                if each.site_id == piece.site_id and each.from_day <= self.today]  # fmt: skip
        return max(days) if days else self.station.registered_on

    def _state(self, due: date | None, good: Done | None) -> str:
        if due is None:
            return "current"
        if due < self.today:
            return "overdue"
        if good is None:
            return "never_verified"
        return "due_soon" if due <= later(self.today, 1) else "current"


def alike(identity: uuid.UUID | None, serial: str, piece: Stands | None) -> bool:
    """Serial numbers tell where both are known, else the id does."""
    if serial and piece is not None and piece.serial:
        return serial == piece.serial
    return identity == (piece.piece if piece else None)
