"""Figures of a document, set for paper or for a screen from one specification."""

import re
from collections.abc import Iterable

from records.documents.blocks import Block, Column, Row, table
from records.documents.charts.drawing import svg
from records.documents.charts.looks import PAPER, SCREEN, Look
from records.documents.charts.spec import Figure
from records.documents.shown import MINUS, Cell, number, text
from records.documents.texts import runs

_NUMBER = re.compile(r"[+−]?[0-9]+(\.[0-9]+)?( %)?")


def figure_block(figure: Figure, *, with_values: bool = True) -> Block:
    """A figure; `with_values`: a screen shows its values as a table on demand."""
    return {"kind": "figure", "figure": figure, "with_values": with_values}


def values(figure: Figure) -> Block:
    """The values of a figure as a table."""
    columns = list(zip(*(row for row in figure.rows if len(row) > 1), strict=True))
    numeric = [all(map(_is_number, column)) for column in columns]
    heads = [
        Column(head, "number" if of_numbers else "text")
        for head, of_numbers in zip(figure.heads, numeric, strict=True)
    ]
    rows: list[Row | str] = [
        row[0] if len(row) == 1 else list(map(_cell, row, numeric)) for row in figure.rows
    ]
    return table(heads, rows, small=True)


def _is_number(words: str) -> bool:
    return not words or _NUMBER.fullmatch(words) is not None


def _cell(words: str, of_numbers: bool) -> Cell:
    digits, _, unit = words.replace(MINUS, "-").partition(" ")
    return number(digits, unit or "1") if of_numbers and words else text(words)


def on_paper(blocks: Iterable[Block]) -> list[Block]:
    """Blocks with their figures drawn; the values stand in tables of the document."""
    return [_on_paper(block) for block in blocks]


def _on_paper(block: Block) -> Block:
    if block["kind"] == "together":
        return {**block, "blocks": on_paper(block["blocks"])}
    return _set(block["figure"], PAPER) if block["kind"] == "figure" else block


def on_screen(block: Block) -> Block:
    """A figure drawn for a screen, with its values where they stand nowhere else."""
    figure: Figure = block["figure"]
    return _set(figure, SCREEN) | {"table": values(figure) if block["with_values"] else None}


def _set(figure: Figure, look: Look) -> Block:
    return {
        "kind": "figure",
        "svg": svg(figure.chart, look, figure.alt),
        "alt": figure.alt,
        "caption": runs(figure.caption),
    }
