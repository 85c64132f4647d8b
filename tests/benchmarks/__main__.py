"""Runs every benchmark, and sets all ratios side by side: `python -m tests.benchmarks`.

    python -m tests.benchmarks [--only NAME …] [--small] [--folder FOLDER]

FOLDER gets what each measured as JSON, `all.json` with all of it, and `all.md` with the table. One
that fails is named in it, and the others go on. `--small` tries the way: its figures mean nothing.
"""

import argparse
import json
import sys
import traceback
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from types import ModuleType

from tests.benchmarks import (
    board,
    bundle,
    curve,
    due_items,
    event_post,
    judging,
    lists,
    made_documents,
    readings_export,
    report,
    restoring,
    second_wall,
    servers,
    traces,
    verifying,
)
from tests.benchmarks.report import Document

Row = tuple[str, float, str]
"""What is measured, its figure, and what is promised of it."""
SMALL = {
    "event_post": ("--clients", "1", "--rounds", "1", "--posts", "5"),
    "curve": ("--clients", "1", "2", "--rounds", "1", "--posts", "5"),
    "judging": ("--rounds", "1", "--times", "1"),
    "lists": ("--few", "400", "--many", "1200", "--rounds", "2", "--requests", "2"),
    "made_documents": ("--rounds", "1"),
    "traces": ("--samples", "2000", "--rounds", "1"),
    "bundle": ("--records", "3", "--rounds", "1"),
    "verifying": ("--records", "20", "--start-ups", "5"),
    "readings_export": ("--rows", "200", "--rounds", "1"),
    "due_items": ("--stations", "3", "--years", "3", "--rounds", "1"),
    "board": ("--stations", "3", "--years", "3", "--rounds", "2"),
    "restoring": ("--stations", "3", "--years", "3"),
    "second_wall": ("--rounds", "2", "--requests", "3"),
}
OF_A_BOOK = ("due_items", "board", "restoring")
PROMISED = {"bare psycopg, rows": "≥ 0.5", "generic build": "≥ 7"}


def main(words: Sequence[str] | None = None) -> int:
    """Run them one after the other; 1 where one failed."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks")
    parser.add_argument("--only", nargs="+", choices=BENCHMARKS, default=list(BENCHMARKS))
    parser.add_argument("--small", action="store_true")
    parser.add_argument("--folder", type=Path, default=servers.DATA / "all")
    options = parser.parse_args(words)
    options.folder.mkdir(parents=True, exist_ok=True)
    told = {name: run(name, options.folder, small=options.small) for name in options.only}
    text = table(told)
    print(text)
    report.write(options.folder / "all.json", told)
    (options.folder / "all.md").write_text(text, encoding="utf-8")
    return int(any("failed" in each for each in told.values()))


def run(name: str, folder: Path, *, small: bool) -> Document:
    """What one measured, or why it failed."""
    file = folder / f"{name}.json"
    words = [*(SMALL[name] if small else ()), "--json", str(file)]
    if name in OF_A_BOOK:  # the same, since it takes an hour to write
        words += ["--keep", str(folder / f"book{'-small' if small else ''}")]
    try:
        BENCHMARKS[name][0].main(words)
    except Exception as error:
        traceback.print_exc()
        return {"failed": f"{type(error).__name__}: {error}"[:300]}
    found: Document = json.loads(file.read_text(encoding="utf-8"))
    return found


def table(told: dict[str, Document]) -> str:
    """All ratios in Markdown."""
    lines = ["| what | figure | promised |", "| --- | --- | --- |"]
    for name, each in told.items():
        if "failed" in each:
            lines.append(f"| {name} | failed | {each['failed'].replace('|', '/')} |")
            continue
        lines += [
            f"| {what} | {figure:.2f} | {bound} |" for what, figure, bound in rows(name, each)
        ]
    return "\n".join(lines) + "\n"


def rows(name: str, told: Document) -> Iterator[Row]:
    """The figures of one benchmark that count."""
    return BENCHMARKS[name][1](told)


def _event_post(told: Document) -> Iterator[Row]:
    for line in told["summary"]:
        what = f"event POST, {line['clients']} clients: posts a second ÷ {line['what']}"
        yield what, line["service_ratio"], PROMISED.get(line["what"], "")


def _curve(told: Document) -> Iterator[Row]:
    for what, shares in told["share"].items():
        for clients, share in shares.items():
            last = what == event_post.SERVICE and clients == list(shares)[-1]
            bound = f"≥ {curve.FLAT}" if last else ""
            yield f"event POST, {what}, {clients} clients ÷ its best rate", share, bound


def _lists(told: Document) -> Iterator[Row]:
    beside = f"out of {told['many']} ÷ out of {told['few']}"
    for page, each in told["pages"].items():
        yield f"events, {page}: ms {beside}", each["ratio"], f"≤ {lists.MOST}"
        yield f"events, {page}: statements {beside}", each["statements_ratio"], "1"


def _made_documents(told: Document) -> Iterator[Row]:
    for kind, bare in made_documents.BARE.items():
        yield f"{kind} of a record ÷ bare {bare}", told[kind]["ratio"], ""


def _traces(told: Document) -> Iterator[Row]:
    for what in traces.WHAT:
        yield f"trace of {told['samples']} samples, {what} ÷ bare", told[what]["ratio"], ""


def _judging(told: Document) -> Iterator[Row]:
    yield "judge() ÷ the same formulas as bare floats", told["ratio"], ""
    yield "every sixth rule by the engine ÷ as plain functions", told["ratio_of_rules"], ""


def _bundle(told: Document) -> Iterator[Row]:
    for name in bundle.BESIDE:
        words = name.replace("_", ", ")
        yield f"bundle of {told['records']} ÷ copying {words}", told[f"beside_{name}"], ""


def _verifying(told: Document) -> Iterator[Row]:
    for line in told["summary"]:
        yield f"verify.py of {line['what']} records ÷ bare cryptography", line["ratio"], ""


def _readings_export(told: Document) -> Iterator[Row]:
    yield f"readings of {told['rows']} lines ÷ bare COPY", told["ratio"], ""


def _due_items(told: Document) -> Iterator[Row]:
    for what in due_items.WHAT:
        yield f"due items, {what} ÷ bare SQL", told[what]["ratio"], ""


def _board(told: Document) -> Iterator[Row]:
    yield "stations page, ms", told["ours_ms"], f"≤ {board.LONGEST}"
    yield "stations page ÷ bare SQL", told["ratio"], ""
    yield "its selector ÷ bare SQL", told["selector_ratio"], ""


def _second_wall(told: Document) -> Iterator[Row]:
    for name, each in told["requests"].items():
        yield f"second wall, ms of {name}", each["overhead"], f"≤ {second_wall.MOST}"


def _restoring(told: Document) -> Iterator[Row]:
    bound = f"≤ {restoring.LONGEST}"
    yield f"restore, s for {restoring.MANY} records", told["restore_s_for_many"], bound


BENCHMARKS: dict[str, tuple[ModuleType, Callable[[Document], Iterator[Row]]]] = {
    "event_post": (event_post, _event_post),
    "curve": (curve, _curve),
    "lists": (lists, _lists),
    "made_documents": (made_documents, _made_documents),
    "traces": (traces, _traces),
    "judging": (judging, _judging),
    "bundle": (bundle, _bundle),
    "verifying": (verifying, _verifying),
    "readings_export": (readings_export, _readings_export),
    "due_items": (due_items, _due_items),
    "board": (board, _board),
    "restoring": (restoring, _restoring),
    "second_wall": (second_wall, _second_wall),
}

if __name__ == "__main__":
    sys.exit(main())
