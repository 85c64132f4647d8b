"""Which column of a sheet is which field: by the words of its heading, corrected by a person."""

import hashlib
import re
from collections import Counter
from collections.abc import Container, Iterable, Mapping, Sequence
from functools import cache
from itertools import islice
from typing import Any, TypedDict

from calculations.inputs.reading import Problem
from records.documents.columns import Column, is_unit, known_unit, plain
from records.documents.tables import TITLES, column_named, columns_of, kind_called
from records.errors import Invalid
from records.services.importing.sheets import Day, NoSpreadsheet, Number, Opened, Row, Sheet, letter

HEADS_WITHIN = 20
SAMPLES = 3
EXAMPLE = "example"
"""A row whose first cell begins so is none of the office's."""

_UNIT = re.compile(r"(?P<words>.*\S)\s*[(\[](?P<unit>[^()\[\]]+)[)\]]")
_UNIT_BEHIND = re.compile(r"(?P<words>.*[^\s,])[,\s]\s*(?P<unit>\S+)")
_ALSO: Mapping[str, tuple[str, ...]] = {
    "site": ("site", "station code", "site code"),
    "code": ("station code", "site code"),
    "name": ("station name", "site name"),
    "serial": ("serial", "serial no", "no"),
    "maker_text": ("maker as on the plate", "manufacturer"),
    "model_text": ("model as on the plate",),
    "in_service_from": ("installed on", "in service since"),
}


class Head(TypedDict):
    """One column of a sheet."""

    head: str
    field: str
    unit: str
    samples: list[str]


class Page(TypedDict):
    """One sheet: its kind (none: it is left out), and where its rows begin."""

    name: str
    kind: str
    row: int
    heads: list[Head]
    told: list[str]


Layout = list[Page]
_NOTHING_READ = "No sheet is read at all: say of one what its rows are."


def layout_of(opened: Opened) -> Layout:
    """What every sheet seems to be."""
    pages = [_page(sheet) for sheet in opened.sheets]
    found = [page for page in pages if page is not None]
    if not found:
        raise NoSpreadsheet("No sheet has anything in it: expected headings and a row below.")
    return found


def _page(sheet: Sheet) -> Page | None:
    first = list(islice(((n, row) for n, row in sheet.rows() if any(row)), HEADS_WITHIN))
    if not first:
        return None
    kind, index = _kind_and_heads(sheet.name, [row for _, row in first])
    number, heads = first[index]
    samples = [row for _, row in first[index + 1 :] if not is_example(row)]
    page = Page(name=sheet.name, kind=kind, row=number, heads=[], told=[])
    for column, head in enumerate(heads):
        page["heads"].append(Head(head=text_of(head), field="", unit="",
                                  samples=_samples(samples, column)))  # fmt: skip
    return read_as(page, kind)


def _kind_and_heads(name: str, rows: Sequence[Row]) -> tuple[str, int]:
    """The kind, and which row holds the headings: where the most of them are known."""
    named = kind_called(name)
    kinds = [named] if named else list(TITLES)
    scored = [
        (sum(1 for cell in row if _field(kind, text_of(cell))[0]), -index, kind)
        for kind in kinds
        for index, row in enumerate(rows)
    ]
    score, index, kind = max(scored, key=lambda each: each[:2])
    return (kind, -index) if score >= 2 else (named, 0)


def _samples(rows: Iterable[Row], column: int) -> list[str]:
    texts = (text_of(row[column])[:30] for row in rows if column < len(row))
    return list(islice((text for text in texts if text), SAMPLES))


def is_example(row: Row) -> bool:
    """Whether a row is marked as an example."""
    first = row[0] if row else None
    return isinstance(first, str) and first.casefold().startswith(EXAMPLE)


def text_of(cell: Any) -> str:
    """A cell as people read it."""
    if isinstance(cell, Number):
        return f"{cell.digits} {cell.unit}".strip()
    if isinstance(cell, (str, Day)):
        return " ".join((cell.text if isinstance(cell, Day) else cell).split())
    return "" if cell is None else ("…" if not isinstance(cell, bool) else str(cell).lower())


def read_as(page: Page, kind: str) -> Page:
    """The same sheet as one of another kind: each column by the words of its heading."""
    twice = [words for words, count in _counted(page).items() if count > 1]
    told = [
        f"Several columns are called “{words}”: say which of them counts."
        for words in twice if kind and _field(kind, words)[0]
    ]  # fmt: skip
    heads = []
    taken: set[str] = set()
    for head in page["heads"]:
        field, unit = _field(kind, head["head"]) if kind else ("", "")
        if plain(head["head"]) in map(plain, twice) or field in taken:
            field = ""
        taken |= {field} - {""}
        heads.append(Head(head=head["head"], field=field, unit=unit, samples=head["samples"]))
        told += [] if field or not kind else _unknown_unit(kind, head["head"])
    return Page(name=page["name"], kind=kind, row=page["row"], heads=heads, told=told)


def _counted(page: Page) -> Counter[str]:
    return Counter(head["head"] for head in page["heads"] if head["head"])


def _field(kind: str, head: str) -> tuple[str, str]:
    """The field that a heading means, and the unit that it names."""
    words, unit = parted(head)
    whole, said = plain(head), plain(words)
    for column in columns_of(kind):
        names = _names(column)
        if whole in names:
            return column.name, ""
        if said in names and (_UNIT.fullmatch(head) or unit in column.units):
            return column.name, unit if column.shape == "quantity" else ""
    return "", unit


def _unknown_unit(kind: str, head: str) -> Iterable[str]:
    """A heading that would be known, were it not for its unit."""
    found = _UNIT.fullmatch(head)
    column = column_named(kind, _field(kind, found["words"])[0]) if found else None
    if found and column and column.units and not is_unit(found["unit"]):
        words = " or ".join(column.units)
        yield f"The column “{head}” is not read: {found['unit']} is no unit of it, but {words}."


@cache
def _names(column: Column) -> tuple[str, ...]:
    return (plain(column.label), plain(column.name), *_ALSO.get(column.name, ()))


def parted(head: str) -> tuple[str, str]:
    """Words and unit of a heading such as “Rated flow (m3/h)” or “Rated flow, m3/h”."""
    found = _UNIT.fullmatch(head) or _UNIT_BEHIND.fullmatch(head)
    if found and is_unit(found["unit"]):
        return found["words"], known_unit(found["unit"])
    return head, ""


def digest_of(layout: Layout) -> bytes:
    """Tells files with the same headings: they are read alike."""
    told = "\n".join(f"{p['name']}\t" + "\t".join(h["head"] for h in p["heads"]) for p in layout)
    return hashlib.sha256(told.encode()).digest()


def as_before(layout: Layout, before: Layout) -> Layout:
    """The layout with what was chosen for an earlier file of the same headings."""
    for page, known in zip(layout, before, strict=True):
        page["kind"], page["told"] = known["kind"], []
        for head, chosen in zip(page["heads"], known["heads"], strict=True):
            head["field"], head["unit"] = chosen["field"], chosen["unit"]
    return layout


def chosen(layout: Layout, kinds: Mapping[int, str], fields: Mapping[tuple[int, int], str],
           units: Mapping[tuple[int, int], str]) -> Layout:  # fmt: skip
    """The layout as a person corrected it; a sheet of another kind is looked at anew."""
    corrected = []
    for index, page in enumerate(layout):
        kind = kinds.get(index, page["kind"])
        if kind and kind not in TITLES:
            raise Invalid(problems=[Problem(f"/{index}", "choice", "expected a kind of the list")])
        if kind != page["kind"]:
            corrected.append(read_as(page, kind))
            continue
        heads = [
            Head(head=head["head"], field=fields.get((index, column), head["field"]),
                 unit=units.get((index, column), head["unit"]), samples=head["samples"])
            for column, head in enumerate(page["heads"])
        ]  # fmt: skip
        corrected.append(Page(name=page["name"], kind=kind, row=page["row"], heads=heads, told=[]))
    return corrected


def problems(layout: Layout) -> list[str]:
    """What keeps a file from being checked: fields that are unknown, doubled or lacking."""
    found = [words for page in layout if page["kind"] for words in _problems(page)]
    return found or ([] if any(page["kind"] for page in layout) else [_NOTHING_READ])


def without_unit(layout: Layout, offered: Container[tuple[int, int]]) -> list[str]:
    """Columns of values whose unit nobody was asked for yet; `offered` are those that were."""
    return [
        f"Sheet “{page['name']}”, column {letter(number)}: choose its unit, or leave it at "
        "“in the cell” where each number has one behind it."
        for index, page in enumerate(layout)
        for number, head in enumerate(page["heads"])
        if (index, number) not in offered and _lacks_unit(page["kind"], head)
    ]


def _lacks_unit(kind: str, head: Head) -> bool:
    column = column_named(kind, head["field"]) if kind and head["field"] else None
    return column is not None and len(column.units) > 1 and head["unit"] not in column.units


def _problems(page: Page) -> Iterable[str]:
    taken: dict[str, int] = {}
    for index, head in enumerate(page["heads"]):
        field = head["field"]
        if not field:
            continue
        here = f"Sheet “{page['name']}”, column {letter(index)}"
        if column_named(page["kind"], field) is None:
            yield f"{here}: there is no such field."
        elif field in taken:
            yield f"{here} and column {letter(taken[field])} are the same field: leave one out."
        taken.setdefault(field, index)
    for name in ("code",) if page["kind"] == "sites" else ("site", "tag"):
        if name not in taken:
            column = column_named(page["kind"], name)
            label = column.label if column else name
            yield f"Sheet “{page['name']}” has no column for {label}: say which one it is."
