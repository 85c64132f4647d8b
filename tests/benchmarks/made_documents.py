"""PDF, workbook and readings of a sealed record, each beside its bare library, in turn.

    python -m tests.benchmarks.made_documents

The bare side gets what is to stand in the document ready made: typst the sheet of the PDF,
xlsxwriter every cell of the workbook without its format, `csv` every cell of the readings. So the
ratio is what it takes to know what is printed. Each round is of another record, since typst
remembers what it has set.
"""

import argparse
import csv
import io
import statistics
import time
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path

import openpyxl
import xlsxwriter

from records.documents import readings_csv, record_pdf, typesetting
from records.documents.workbook import workbook
from tests.benchmarks import report, servers
from tests.benchmarks.report import Document
from tests.records.documents import sample

Make = Callable[[], bytes]
KINDS = ("pdf", "workbook", "readings")
BARE = {"pdf": "typst", "workbook": "xlsxwriter", "readings": "csv"}


def arguments(words: Sequence[str] | None = None) -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.made_documents")
    parser.add_argument("--rounds", type=int, default=20, help="of each, in turn")
    parser.add_argument("--json", type=Path, default=servers.DATA / "made_documents.json")
    return parser.parse_args(words)


def main(words: Sequence[str] | None = None) -> None:
    """Measure, print, write the file."""
    options = arguments(words)
    rounds = [_round(number) for number in range(options.rounds + 1)][1:]  # the first warms up
    told = {kind: _summary([each[kind] for each in rounds]) for kind in KINDS}
    print(in_words(told))
    report.write(options.json, told)


def _round(number: int) -> dict[str, tuple[float, float, int]]:
    """Of each kind the milliseconds of ours and of the bare one, and the bytes of ours."""
    found = {}
    for kind in KINDS:
        ours, bare = COMPARED[kind](_record(2 * number)), COMPARED[kind](_record(2 * number + 1))
        made, took = _timed(ours[0])
        _, beside = _timed(bare[1])
        found[kind] = (took, beside, len(made))
    return found


def _record(number: int) -> Document:
    return sample.record() | {"number": number + 1}


def _timed(make: Make) -> tuple[bytes, float]:
    begun = time.perf_counter()
    made = make()
    return made, (time.perf_counter() - begun) * 1000


def _pdf(record: Document) -> tuple[Make, Make]:
    seal, data = sample.sealed(record)
    sheet = record_pdf.sheet_of(record, seal)
    at = datetime.fromisoformat(record["sealed_at"].upper())
    return (
        lambda: record_pdf.render(record, seal, data),
        lambda: typesetting.pdf(record_pdf.TEMPLATE, sheet, data, at),
    )


def _workbook(record: Document) -> tuple[Make, Make]:
    seal, _ = sample.sealed(record)
    opened = openpyxl.load_workbook(io.BytesIO(workbook.render(record, seal)))
    cells = {sheet.title: list(sheet.iter_rows(values_only=True)) for sheet in opened}

    def bare() -> bytes:
        written = io.BytesIO()
        with xlsxwriter.Workbook(written, {"in_memory": True}) as made:
            for title, rows in cells.items():
                sheet = made.add_worksheet(title)
                for number, row in enumerate(rows):
                    sheet.write_row(number, 0, row)
        return written.getvalue()

    return lambda: workbook.render(record, seal), bare


def _readings(record: Document) -> tuple[Make, Make]:
    rows = list(csv.reader(io.StringIO(readings_csv.lines(record).decode(), newline="")))

    def bare() -> bytes:
        text = io.StringIO(newline="")
        csv.writer(text).writerows(rows)
        return text.getvalue().encode()

    return lambda: readings_csv.lines(record), bare


COMPARED: dict[str, Callable[[Document], tuple[Make, Make]]] = {
    "pdf": _pdf, "workbook": _workbook, "readings": _readings,
}  # fmt: skip


def _summary(rounds: Sequence[tuple[float, float, int]]) -> Document:
    """Rounds are compared with their neighbours in time: a slow minute slows both."""
    ours, bare, sizes = zip(*rounds, strict=True)
    return {
        "ms": statistics.median(ours),
        "bare_ms": statistics.median(bare),
        "ratio": statistics.median(a / b for a, b in zip(ours, bare, strict=True)),
        "bytes": sizes[0],
    }


def in_words(told: Document) -> str:
    """The report that is printed."""
    lines = [
        f"| {kind} | {each['bytes'] / 1000:.0f} | {each['ms']:.1f} | {BARE[kind]}"
        f" {each['bare_ms']:.1f} | {each['ratio']:.2f} |"
        for kind, each in told.items()
    ]
    head = ("| of a record | kB | ms | bare ms | ratio |", "| --- | --- | --- | --- | --- |")
    return "\n".join((*head, *lines))


if __name__ == "__main__":
    main()
