"""A report on paper: archival PDF with its data inside."""

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from calculations.tasks.catalogue import BY_ID
from records import natural
from records.documents import blocks, shown, texts, typesetting
from records.documents.blocks import Block, heading, pairs, paragraph, table
from records.documents.contents import cautions
from records.documents.report.gathered import CHANGES, LISTED, STATES, Gathered, Line, Section
from records.documents.report.words import COLUMNS, TITLES, Column, changed, of_whom, time_of, title
from records.documents.shown import Cell, Shown

TEMPLATE = "report"
_STATE_HEADS = ("Overdue", "Due soon", "Never verified", "Current")


def render(found: Gathered, data: bytes, at: datetime, paper: str) -> bytes:
    """The PDF of a report on a size of paper; the same report, the same bytes."""
    return typesetting.pdf(TEMPLATE, sheet_of(found, paper), data, at)


def sheet_of(found: Gathered, paper: str) -> dict[str, Any]:
    """Everything that is printed, in order, as the template takes it."""
    named = title(found.head)
    return {
        "paper": paper,
        "title": texts.plain(named),
        "author": texts.plain(texts.short(str(found.head["contractor"]["name"]))),
        "running": texts.runs(named),
        "footer": texts.runs(f"As of {found.head['as_of']}, {found.head['time_zone']}"),
        "blocks": [*_first(found), *_lists(found), *_counts(found), *_heads(found),
                   *cautions.cautions()],
    }  # fmt: skip


def _first(found: Gathered) -> Iterator[Block]:
    counts, head = found.counts, found.head
    yield {
        "kind": "first",
        "over": texts.runs(str(head["contractor"]["name"])),
        "number": texts.runs(str(head["as_of"])),
        "title": texts.runs("What is due"),
        "where": texts.runs(of_whom(head)),
    }
    yield paragraph(
        f"{counts['overdue']} overdue, {counts['due_soon']} due soon,"
        f" {counts['never_verified']} never verified, {counts['current']} current.",
        "lead",
    )
    yield paragraph(time_of(head))
    counted = [(changed(name), _number(n)) for name, n in found.changes().items()]
    tried = [("Not possible at the last try, and still due", _number(found.not_possible))]
    yield pairs([*tried, *counted], columns=1, long_labels=True)
    yield paragraph(
        "Days are those of each station's own time zone. Intervals are common practice unless"
        " somebody has set another. " + cautions.ARITHMETIC,
        "small",
    )


def _number(value: int) -> Cell:
    return {"t": str(value)}


def _lists(found: Gathered) -> Iterator[Block]:
    for name in (*LISTED, *CHANGES):
        yield from _section(found, found.sections[name])


def _section(found: Gathered, section: Section) -> Iterator[Block]:
    words, nothing = TITLES[section.name]
    yield heading(f"{words}: {section.count}" if section.count else words)
    if not section.count:
        yield paragraph(nothing)
        return
    printed = section.printed()
    if len(printed) < section.count:
        which = "that are due longest" if section.name in LISTED else "first"
        yield paragraph(
            f"Printed are the {len(printed)} {which} of {section.count}: all are in the workbook"
            " and in data.json."
        )
    columns = [each for each in COLUMNS[section.name] if each.share]
    yield table([blocks.Column(each.head, fr=each.share) for each in columns],
                list(_grouped(found, printed, columns)), small=True)  # fmt: skip


def _grouped(found: Gathered, lines: list[Line], columns: list[Column]) -> Iterator[Any]:
    """Rows under the client and station that they belong to."""
    ordered = sorted(lines, key=lambda line: _in_order(*_place(found, line)))  # stable
    before = None
    for line in ordered:
        place = _place(found, line)
        if place != before:
            yield _place_words(found, line)
            before = place
        yield [_cell(_printed(found, line, column)) for column in columns]


def _printed(found: Gathered, line: Line, column: Column) -> Any:
    value = column.of(line)
    if column.kind != "moment" or not value:
        return value
    here = shown.zone(line.get("time_zone") or found.head["time_zone"])
    return Shown(zone=here).moment(str(value), whole=True)


def _place(found: Gathered, line: Line) -> tuple[str, str]:
    return found.names.get(line["client"], ""), str(line.get("station") or "")


def _in_order(client: str, station: str) -> tuple[str, tuple[str, str]]:
    return client, natural.place(station)


def _place_words(found: Gathered, line: Line) -> str:
    name, station = _place(found, line)
    if found.head["client"]:
        return station or name
    return f"{name}: {station}" if station else name


def _cell(value: Any) -> Cell:
    return None if value in (None, "") else {"t": texts.runs(str(value))}


def _counts(found: Gathered) -> Iterator[Block]:
    yield heading("Counts")
    names = {
        "client": {key: found.names.get(key, "") for key in found.by["client"]},
        "station": {key: _place_words(found, each) for key, each in found.stations.items()},
        "task": _tasks(found),
    }
    for kind, words in (("client", "Client"), ("station", "Station"), ("task", "Task")):
        if kind == "client" and found.head["client"]:
            continue
        yield _counted(words, names[kind], found.by[kind])


def _tasks(found: Gathered) -> dict[str, str]:
    return {key: BY_ID[key].title for key in BY_ID if key in found.by["task"]}


def _counted(head: str, names: dict[str, str], counts: dict[str, dict[str, int]]) -> Block:
    columns = [blocks.Column(head, fr=3)]
    columns += [blocks.Column(each, kind="number") for each in _STATE_HEADS]
    by_name = sorted(names, key=lambda each: natural.place(names[each]))
    listed = by_name if head != "Task" else list(names)
    rows = [
        [_cell(names[key]), *({"n": str(counts[key][state]), "u": ""} for state in STATES)]
        for key in listed
    ]
    return table(columns, rows, small=True)


def _heads(found: Gathered) -> Iterator[Block]:
    yield heading("Heads of the records")
    yield paragraph(
        "The last record of each station, with its number and digest. Whoever keeps this page can"
        " show later that no record was dropped or put in the place of another."
    )
    columns = [blocks.Column("Station", fr=1), blocks.Column("Record", kind="number"),
               blocks.Column("SHA-256 of the record", fr=4)]  # fmt: skip
    rows = [
        [_cell(_place_words(found, each)), {"n": str(each["number"]), "u": ""},
         _cell(each["digest"])]
        for each in found.heads if each["number"]
    ]  # fmt: skip
    if rows:
        yield table(columns, rows, small=True)
    without = sum(1 for each in found.heads if not each["number"])
    if without:
        yield paragraph(f"Stations without a record so far: {without}.", "small")
