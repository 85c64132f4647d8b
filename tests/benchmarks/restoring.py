"""Backup of a large book and its restore on an empty server, with every row and seal checked.

    python -m tests.benchmarks.restoring --stations 5000

Makes the generated book (`tests.generated_book`; one that is kept is taken as it is), backs it up
and brings it back by the operator's own commands, and says how many records a second either took.
The promise: 100,000 records in 600 s.
"""

import argparse
import json
import os
import shutil
import subprocess
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from deploy.backup import DUMP
from deploy.embedded_postgres import SUPERUSER, EmbeddedPostgres
from deploy.kept_backups import MANIFEST, whole_ones
from deploy.postgres_programs import find_programs
from deploy.processes import PYTHON
from deploy.roles import DATABASE
from records import roles
from tests.benchmarks import report, servers
from tests.generated_book.filling import Size
from tests.generated_book.keeping import Kept

MANY, LONGEST = 100_000, 600  # records, s


def arguments(words: Sequence[str] | None = None) -> argparse.Namespace:
    """Read the command line."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.restoring")
    parser.add_argument("--stations", type=int, default=5000)
    parser.add_argument("--years", type=int, default=20)
    parser.add_argument("--keep", type=Path, help="folder of the book; else it is gone afterwards")
    parser.add_argument("--json", type=Path, default=servers.DATA / "restoring.json")
    return parser.parse_args(words)


def main(words: Sequence[str] | None = None) -> None:
    """Measure, print, write the file."""
    options = arguments(words)
    servers.DATA.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(prefix="run-", dir=servers.DATA) as folder:
        kept = options.keep or Path(folder) / "book"
        told = {"load_before": os.getloadavg()[0]} | measure(
            kept, Size(options.stations, options.years, 1), Path(folder)
        )
    print(in_words(told))
    report.write(options.json, told)


def measure(kept: Path, size: Size, folder: Path) -> dict[str, Any]:
    """One backup and one restore."""
    backups = folder / "backups"
    with Kept(kept) as book:
        book.fill(size)
        backing_up = seconds(
            "deploy.backup", of(book.running, kept) | {"BACKUP_FOLDER": str(backups)}
        )
    [taken] = whole_ones(backups)
    told = json.loads((taken / MANIFEST).read_text(encoding="utf-8"))
    dumped = (taken / DUMP).stat().st_size
    with EmbeddedPostgres(folder / "elsewhere" / "postgres", durable=True) as empty:
        there = of(empty, kept) | {
            "BACKUP_FOLDER": str(backups), "FILES_ROOT": str(folder / "files"),
            "ADMIN_DATABASE_URL": empty.url(user=SUPERUSER, database="postgres"),
            "OWNER_DATABASE_URL": empty.url(user=roles.OWNER, database=DATABASE),
        }  # fmt: skip
        restoring = seconds("deploy.restore", there)
    shutil.rmtree(backups)
    return {
        "records": told["records"], "rows": sum(t["rows"] for t in told["tables"].values()),
        "dump_bytes": dumped, "backup_s": backing_up, "restore_s": restoring,
        "restore_s_for_many": restoring / told["records"] * MANY,
    }  # fmt: skip


def of(running: EmbeddedPostgres, kept: Path) -> dict[str, str]:
    """What the operator's commands are told: that server, and the keys of the book."""
    keys = servers.environment_of(running, kept)
    backup = running.url(user=roles.BACKUP, database=DATABASE)
    return keys | {"BACKUP_DATABASE_URL": backup, "PG_BIN": str(find_programs())}


def seconds(module: str, environment: dict[str, str]) -> float:
    """How long a command took that went well."""
    begun = time.perf_counter()
    ran = subprocess.run(
        [PYTHON, "-m", module], cwd=servers.PROJECT, env=environment,
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    if ran.returncode != 0:
        raise RuntimeError(f"{module} failed.\n{ran.stdout[-2000:]}{ran.stderr[-2000:]}")
    return time.perf_counter() - begun


def in_words(told: dict[str, Any]) -> str:
    """The report that is printed."""
    rate = told["records"] / told["restore_s"]
    return (
        f"{told['records']} records, {told['rows']} rows, dump of"
        f" {told['dump_bytes'] / 1e6:.0f} MB: backed up in {told['backup_s']:.0f} s; restored and"
        f" checked in {told['restore_s']:.0f} s, {rate:.0f} records a second,"
        f" {told['restore_s_for_many']:.0f} s for {MANY} (promised: {LONGEST})"
    )


if __name__ == "__main__":
    main()
