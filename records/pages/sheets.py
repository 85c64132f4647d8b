"""A document's blocks made ready for a screen: anchors, contents, tables that suit a phone."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any

from django.urls import reverse
from django.utils.http import urlencode
from django.utils.text import slugify

from calculations.catalogue import RULES
from records.documents.blocks import Block
from records.documents.figures import on_screen
from records.templatetags.blocks import plain

# A table with longer texts than this stands on a phone as one paragraph for each row; one of
# figures and short words is moved sideways.
_LONGEST_IN_A_ROW = 36
_WIDE = 4


# Annexes: whoever wants them opens them.
_FOLDED = frozenset({"Derived values", "Limits that applied", "Station and nameplates",
                     "Identifiers"})  # fmt: skip


@dataclass(frozen=True)
class Section:
    """Blocks under one heading of the second level; those above the first have none."""

    title: str = ""
    anchor: str = ""
    blocks: list[Block] = field(default_factory=list)

    @property
    def folded(self) -> bool:
        """Whether it is closed at first."""
        return self.title in _FOLDED


def sheet(given: Iterable[Block], within: str = "") -> list[Section]:
    """Blocks for a page, by section; `within` tells anchors apart where a page has several."""
    sections = [Section()]
    for block in _ready(_flat(given), within):
        if block["kind"] == "heading" and block["level"] == 2:
            sections.append(Section(plain(block["text"]), block["anchor"]))
        else:
            sections[-1].blocks.append(block)
    return sections


def _flat(given: Iterable[Block]) -> Iterator[Block]:
    for block in given:
        if block["kind"] == "together":
            yield from _flat(block["blocks"])
        else:
            yield block


def _ready(given: Iterable[Block], within: str) -> Iterator[Block]:
    used: set[str] = set()
    above = ""
    for block in given:
        if block["kind"] == "heading":
            above = _anchor(f"{within} {plain(block['text'])}", used)
            yield block | {"anchor": above}
        elif block["kind"] == "table":
            yield _table(block) | {"above": above}
        elif block["kind"] == "figure":
            yield _figure(block, above)
        elif block["kind"] == "finding":
            anchor = anchor_of_finding(block["id"])
            yield block | {"anchor": anchor, "help": address_of_rule(block["rule"])}
        else:
            yield block


def _figure(block: Block, above: str) -> Block:
    drawn = on_screen(block)
    values = drawn["table"]
    return drawn | {"table": values and _table(values) | {"above": above}}


def anchor_of_finding(identity: str) -> str:
    """Where on a page a finding stands."""
    return f"finding-{identity}"


def address_of_rule(identity: str) -> str:
    """Where a rule is explained, opened; nothing for one that the catalogue has no longer."""
    if identity not in _RULES:
        return ""
    return f"{reverse('rules')}?{urlencode({'rule': identity})}#{identity}"


_RULES = frozenset(each.id for each in RULES)


def _anchor(words: str, used: set[str]) -> str:
    name = slug = slugify(words) or "part"
    number = 1
    while name in used:
        number += 1
        name = f"{slug}-{number}"
    used.add(name)
    return name


def _table(block: Block) -> Block:
    columns = [{**column, "label": plain(column["text"])} for column in block["columns"]]
    bodies = list(_bodies(block["rows"], columns))
    stacked = _is_wordy(columns, bodies)
    wide = not stacked and len(columns) > _WIDE
    return block | {"columns": columns, "bodies": bodies, "stacked": stacked, "wide": wide}


def _is_wordy(columns: list[Block], bodies: list[dict[str, Any]]) -> bool:
    """Whether rows are better read one by one; things beside each other and groups never are."""
    if not columns[0]["label"] or any(body["group"] for body in bodies):
        return False
    rest = (cell["cell"] for body in bodies for row in body["rows"] for cell in row[1:])
    return any(_length(cell) > _LONGEST_IN_A_ROW for cell in rest)


def _bodies(rows: list[dict[str, Any]], columns: list[Block]) -> Iterator[dict[str, Any]]:
    """The rows under each heading inside of a table."""
    group, listed = None, list[list[Block]]()
    for row in rows:
        if "group" in row:
            if listed:
                yield {"group": group, "rows": listed}
            group, listed = row["group"], []
        else:
            listed.append(_cells(row["cells"], columns))
    if listed or group:
        yield {"group": group, "rows": listed}


def _cells(cells: list[Any], columns: list[Block]) -> list[Block]:
    return [
        {"cell": cell, "label": _with_unit(column), "right": column["right"]}
        for cell, column in zip(cells, columns, strict=True)
    ]


def _with_unit(column: Block) -> str:
    """A column's head where it stands beside each cell: its cells leave their unit to it."""
    return f"{column['label']}, {column['unit']}" if column.get("unit") else column["label"]


def _length(cell: Any) -> int:
    if not cell or "t" not in cell:
        return 0
    return len(plain(cell["t"])) + len(plain(cell.get("note", "")))
