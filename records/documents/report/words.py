"""What the sections of a report are called, and their columns: on paper and in the workbook."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from records.documents import labels

Line = Mapping[str, Any]
Value = str | int | None


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its head, what of a line stands in it, its share of a page (0: not on paper).

    A `moment` is told by the station's own clock on paper, else by the report's.
    """

    head: str
    of: Callable[[Line], Value]
    share: float = 1
    kind: str = "text"
    width: int = 14


def _get(name: str) -> Callable[[Line], Value]:
    return lambda line: line[name]


def _word(name: str) -> Callable[[Line], Value]:
    return lambda line: labels.word(str(line[name])) if line[name] else None


def _piece(line: Line) -> str:
    of = line["pump_set"]
    return f"{line['tag']} of {of}" if of and of != line["tag"] else str(line["tag"])


def _last(name: str) -> Callable[[Line], Value]:
    return lambda line: line["last"][name] if line["last"] else None


def _rests(line: Line) -> str:
    listed = [
        f"record {each['number']} ({str(each['performed_at'])[:10]}, {each['pump_set']}:"
        f" {', '.join(each['as'])})"
        for each in line["rests"]
    ]
    return "; ".join(listed) or "nothing that is recorded"


_DATE = {"kind": "date", "width": 11}
_MOMENT = {"kind": "moment", "width": 26}
_NUMBER = {"kind": "number", "width": 9}
_DUE = (
    Column("Piece", _piece, 1.3),
    Column("Serial", _get("serial"), 0),
    Column("Task", _get("title"), 1.8, width=34),
    Column("Due on", _get("due_on"), 0.9, **_DATE),  # type: ignore[arg-type]
    Column("Months", _get("months"), 0, **_NUMBER),  # type: ignore[arg-type]
    Column("Last done", _last("performed_on"), 0, **_DATE),  # type: ignore[arg-type]
    Column("Record", _last("number"), 0, **_NUMBER),  # type: ignore[arg-type]
    Column("Why", _get("why"), 4.2, width=80),
)
_NEW = Column("New", lambda line: "new" if line["new"] else None, 0.5, width=6)
_TASK = (Column("Tag", _get("tag")), Column("Task", _get("title"), 2, width=34))

COLUMNS: Mapping[str, tuple[Column, ...]] = {
    "overdue": (*_DUE[:-1], _NEW, _DUE[-1]),
    "due_soon": _DUE,
    "never_verified": _DUE,
    "outside": (
        *_TASK,
        Column("Done on", _get("performed_on"), **_DATE),  # type: ignore[arg-type]
        Column("Record", _get("number"), 0.8, **_NUMBER),  # type: ignore[arg-type]
        Column("As found", _word("as_found"), 0.9),
        Column("Left", _word("result"), 0.9),
        Column("Last good", _get("last_good_on"), **_DATE),  # type: ignore[arg-type]
        Column("Rests on it", _rests, 3.4, width=80),
    ),
    "done": (
        *_TASK,
        Column("Done on", _get("performed_on"), **_DATE),  # type: ignore[arg-type]
        Column("Record", _get("number"), 0.8, **_NUMBER),  # type: ignore[arg-type]
        Column("As found", _word("as_found")),
        Column("Left", _word("result")),
        Column("Why not", _get("reason"), 2, width=60),
    ),
    "sealed": (
        Column("Record", _get("number"), **_NUMBER),  # type: ignore[arg-type]
        Column("Kind", _word("kind"), 2, width=18),
        Column("Done at", _get("performed_at"), 2, **_MOMENT),  # type: ignore[arg-type]
        Column("Sealed at", _get("sealed_at"), 2, **_MOMENT),  # type: ignore[arg-type]
        Column("Digest (SHA-256)", _get("digest"), 0, width=66),
    ),
    "intervals": (
        Column("Task", _get("title"), 2, width=34),
        Column("For", lambda line: line["tag"] or line["station_kind"] or "all of the client"),
        Column("What", _get("what"), 0.6),
        Column("Months", _get("months"), 0.7, **_NUMBER),  # type: ignore[arg-type]
        Column("By", _get("by")),
        Column("At", _get("at"), 1.6, **_MOMENT),  # type: ignore[arg-type]
        Column("Reason", _get("reason"), 3, width=80),
    ),
    "pieces": (
        Column("Piece", _word("kind")),
        Column("Tag", _get("tag")),
        Column("Serial", _get("serial")),
        Column("What", _get("what"), 1.2),
        Column("On", _get("on"), **_DATE),  # type: ignore[arg-type]
    ),
}

TITLES: Mapping[str, tuple[str, str]] = {
    "overdue": ("Overdue", "Nothing is overdue."),
    "due_soon": ("Due soon", "Nothing falls due within a month."),
    "never_verified": ("Never verified", "Everything was verified once."),
    "outside": (
        "Found out of tolerance in this time, and what rested on it",
        "Nothing was found out of tolerance in this time.",
    ),
    "done": ("Verified in this time", "No verification task was performed in this time."),
    "sealed": ("Records sealed in this time", "No record was sealed in this time."),
    "intervals": ("Intervals set or ended in this time", "No interval was changed in this time."),
    "pieces": (
        "Into and out of service in this time",
        "Nothing went into service or out of it in this time.",
    ),
}


def changed(name: str) -> str:
    """What a count of changes is called."""
    return "Became overdue in this time" if name == "became_overdue" else TITLES[name][0]


def of_whom(head: Line) -> str:
    """Whose stations a report is about."""
    client = head["client"]
    return str(client["name"]) if client else "all clients"


def title(head: Line) -> str:
    """What a report is, in one line."""
    kind = {"week": "Weekly report", "month": "Monthly report", "day": "Report"}[head["kind"]]
    return f"{kind}: what is due, {of_whom(head)}, {head['as_of']}"


def time_of(head: Line) -> str:
    """From when to when, in words."""
    return (
        f"As known when {head['as_of']} was over ({head['time_zone']});"
        f" changes since {head['period_begins']}."
        if head["whole"]
        else f"As known on {head['until'][:10]} at {head['until'][11:16]} UTC;"
        f" changes since {head['period_begins']}."
    )
