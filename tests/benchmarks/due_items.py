"""Due items of a generated book beside bare SQL in the same run, and the same as plain loops say.

    python -m tests.benchmarks.due_items --stations 5000 --keep FOLDER [--compare]

`client`: what is due for one client, listed as the service's selector does, in the walls, each item
with its words. `whole`: the same of the contractor's whole book, a few at a time. Beside each the
bare SQL: the last result of each task of each piece in service plus the default interval, by the
tables' owner, in one statement without walls, corrections, replaced pieces, intervals that were
set, states or words, fetched in parts as well. Each runs in a process of its own, whose most memory
is told. `--compare` asks the plain-Python reference for every item of the whole book.
"""

import argparse
import gc
import json
import os
import re
import statistics
import subprocess
import time
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import psycopg

from deploy.processes import PYTHON
from tests.benchmarks import report, servers
from tests.generated_book.exported import Exported, compared
from tests.generated_book.keeping import Kept, Size

BARE = """
WITH task (id, months) AS (VALUES {tasks}), last AS (
  SELECT DISTINCT ON (x.site_id, x.tag, x.task) x.site_id, x.tag, x.task, x.performed_on, x.result
    FROM records_performedtask x WHERE x.{party} = %(party)s AND x.result IN ('inside', 'begun')
   ORDER BY x.site_id, x.tag, x.task, x.performed_on DESC, x.sealed_at DESC)
SELECT p.site_id, p.kind, p.piece, p.tag, p.serial, last.task, last.performed_on, task.months,
       (last.performed_on + make_interval(months => task.months))::date AS due_on
  FROM records_piecestanding p
  JOIN last ON last.site_id = p.site_id AND last.tag = p.tag
  JOIN task ON task.id = last.task
 WHERE p.{party} = %(party)s AND p.known_until IS NULL AND p.out_of_service_on IS NULL
   AND p.kind <> 'site'
 ORDER BY p.site_id, p.tag, last.task
"""
WHAT = ("client", "whole")
SAME = "same"
AT_ONCE = 2000


def arguments(words: Sequence[str] | None = None) -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.due_items")
    parser.add_argument("--stations", type=int, default=5000)
    parser.add_argument("--years", type=int, default=20)
    parser.add_argument("--keep", type=Path, default=servers.DATA / "generated")
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--compare", action="store_true")
    parser.add_argument("--measure", help="in a process of its own: one of these alone")
    parser.add_argument("--json", type=Path, default=servers.DATA / "due_items.json")
    return parser.parse_args(words)


def main(words: Sequence[str] | None = None) -> None:
    """Measure, print, write the file; or one measurement inside of a process of its own."""
    options = arguments(words)
    if options.measure:
        print(json.dumps(_measured(options.measure, options.keep)))
        return
    with Kept(options.keep) as book:
        book.fill(Size(options.stations, options.years))
        with psycopg.connect(book.dsn()) as owner:
            [(tasks,)] = owner.execute("SELECT count(*) FROM records_performedtask").fetchall()
        told: dict[str, Any] = {
            "conditions": report.conditions(book.running.dsn()),
            "performed_tasks": tasks,
        }
        for what in WHAT:
            told[what] = _beside(book, what, options.rounds)
            print(_in_words(what, told[what]), flush=True)
        if options.compare:
            told["compared"] = _apart(book, SAME)["compared"]
            print(told["compared"])
    report.write(options.json, told)


def _beside(book: Kept, what: str, rounds: int) -> dict[str, Any]:
    """Both in turn: rounds are compared with their neighbours in time."""
    pairs = [(_apart(book, f"ours_{what}"), _apart(book, f"bare_{what}")) for _ in range(rounds)]
    ours, bare = ([pair[side] for pair in pairs] for side in (0, 1))
    return {
        "items": ours[0]["items"],
        "bare_items": bare[0]["items"],
        "seconds": statistics.median(each["seconds"] for each in ours),
        "bare_seconds": statistics.median(each["seconds"] for each in bare),
        "ratio": statistics.median(a["seconds"] / b["seconds"] for a, b in pairs),
        "memory_mb": max(each["memory_mb"] for each in ours),
        "memory_before_mb": max(each["memory_before_mb"] for each in ours),
    }


def _in_words(what: str, told: dict[str, Any]) -> str:
    return (
        f"{what}: {told['items']} items in {told['seconds']:.2f} s, bare SQL {told['bare_items']}"
        f" in {told['bare_seconds']:.2f} s: ratio {told['ratio']:.2f}; at most"
        f" {told['memory_mb']:.0f} MB ({told['memory_before_mb']:.0f} MB before)"
    )


def _apart(book: Kept, measure: str) -> dict[str, Any]:
    words = [PYTHON, "-m", "tests.benchmarks.due_items", "--measure", measure,
             "--keep", str(book.folder)]  # fmt: skip
    environment = servers.environment(book.running) | {"OWNER_DSN": book.dsn()}
    ran = subprocess.run(
        words, cwd=servers.PROJECT, env=environment, capture_output=True, text=True, check=True
    )
    told: dict[str, Any] = json.loads(ran.stdout)
    return told


# -- one measurement ------------------------------------------------------------------------------


def _measured(measure: str, folder: Path) -> dict[str, Any]:
    people = Kept(folder).people
    if measure == SAME:
        return {"compared": _same(people)}
    who, what = measure.split("_")
    run = _ours if who == "ours" else _bare
    gc.freeze()  # to look through what start-up left takes a third of the bare time, or none
    before = _memory()
    begun = time.perf_counter()
    count = sum(1 for _ in run(people, what))
    return {"items": count, "seconds": time.perf_counter() - begun,
            "memory_mb": _memory(), "memory_before_mb": before}  # fmt: skip


def _memory() -> float:
    """The most that this process has had so far [MB]."""
    [kilobytes] = re.findall(r"VmHWM:\s+(\d+) kB", Path("/proc/self/status").read_text())
    return int(kilobytes) / 1024


def _actor(people: Any) -> Any:
    from records import permissions

    person = people.orla
    return permissions.Actor(person.id, "", person.organization, "", person.role,
                             frozenset(["read"]))  # fmt: skip


def _ours(people: Any, what: str) -> Iterable[Any]:
    from records import permissions
    from records.selectors import due_documents, due_items

    actor = _actor(people)
    wanted = due_items.Wanted(client=people.client if what == "client" else None)
    with permissions.inside(actor):
        for item in due_items.each(actor, wanted):
            yield due_documents.document(item)


def _bare(people: Any, what: str) -> Iterable[Any]:
    from calculations.tasks.catalogue import TASKS

    months = ((each.id, (each.intervals or (each.otherwise,))[0].months) for each in TASKS)
    tasks = ", ".join(f"('{task}', {number})" for task, number in months)
    party = "client_id" if what == "client" else "contractor_id"
    given = people.client if what == "client" else people.contractor
    text = BARE.format(tasks=tasks, party=party)
    with (
        psycopg.connect(os.environ["OWNER_DSN"]) as owner,
        owner.cursor(name="bare", row_factory=psycopg.rows.dict_row) as cursor,
    ):
        cursor.itersize = AT_ONCE
        yield from cursor.execute(text, {"party": given})


# -- the same answers -----------------------------------------------------------------------------


def _same(people: Any) -> str:
    """Whether every item of the contractor's whole book is the reference's; else which is not."""
    from records import permissions
    from records.selectors import due_items

    actor, now = _actor(people), datetime.now(UTC)
    count = 0
    with psycopg.connect(os.environ["OWNER_DSN"]) as owner, permissions.inside(actor):
        reference = Exported(owner).items("contractor_id", actor.organization_id, None, now)
        ours = map(compared, due_items.each(actor, due_items.Wanted(now=now)))
        for count, (expected, found) in enumerate(zip(reference, ours, strict=True), 1):
            if expected != found:
                return f"item {count} differs: the reference says {expected}, found {found}"
    return f"all {count} items are the reference's"


if __name__ == "__main__":
    main()
