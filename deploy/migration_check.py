"""What a migration may not do while an older version serves, told before it is released.

    python -m deploy.migration_check       (with a database, as any command)

Reads the SQL of each migration after `LAST_RELEASED` and fails on what drops or renames what is in
use, and on what holds a table for as long as it is long. Where a contract is meant, two versions
after its expansion, the migration says so with a line `contract = "why nothing uses it any more"`.
"""

import re
import sys
from collections.abc import Iterator
from importlib import import_module
from io import StringIO
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
LAST_RELEASED = "0021_spreadsheets_come_in"

# Each with what to do in its place.
LONG_OR_BREAKING = (
    (r"\bDROP COLUMN\b", "drops a column: stop using it in one version, drop it in the next"),
    (r"\bDROP TABLE\b", "drops a table: stop using it in one version, drop it in the next"),
    (r"\bRENAME (COLUMN\b|TO\b|\"?\w+\"? TO\b)", "renames: add the new, write both, move, drop"),
    (r"\bALTER COLUMN \S+ TYPE\b", "writes the table anew under its lock: add a column, and move"),
    (r"\bALTER COLUMN \S+ SET NOT NULL\b",
     "reads the table under its lock: add a check NOT VALID, validate it, then set it"),
    (r"\bADD COLUMN (?![^;]*\bDEFAULT\b)[^;]*\bNOT NULL\b", "needs a default: old code says none"),
    (r"\bCREATE (UNIQUE )?INDEX (?!CONCURRENTLY)",
     "stops writing while it is built: CREATE INDEX CONCURRENTLY (AddIndexConcurrently)"),
    (r"\bADD CONSTRAINT [^;]*\b(CHECK|FOREIGN KEY)\b(?![^;]*\bNOT VALID\b)",
     "reads the table under its lock: NOT VALID, and VALIDATE in the next migration"),
    (r"\bLOCK TABLE\b|\bVACUUM FULL\b|\bCLUSTER\b", "takes a table for itself"),
)  # fmt: skip
NEW_TABLE = re.compile(r'CREATE TABLE "?(\w+)"?')
OF_TABLE = re.compile(r'(?:ALTER TABLE(?: ONLY)?|ON)\s+(?:public\.)?"?(\w+)"?')


def faults(sql: str) -> Iterator[str]:
    """What of this SQL an older version would feel; tables that it makes itself are free."""
    new = set(NEW_TABLE.findall(sql))
    for statement in re.split(r";\s*\n|;\s*$", sql):
        table = OF_TABLE.search(statement)
        if table and table[1] in new:
            continue
        for pattern, words in LONG_OR_BREAKING:
            if re.search(pattern, statement, re.IGNORECASE):
                name = f"{table[1]}: " if table else ""
                yield f"{name}{words}"


def after_the_last_release() -> list[str]:
    """Names of the app's migrations that no release has."""
    names = sorted(path.stem for path in (PROJECT / "records" / "migrations").glob("0*.py"))
    return names[names.index(LAST_RELEASED) + 1 :]


def sql_of(name: str) -> str:
    """The SQL of one migration, as Django would run it; it asks no database."""
    from django.core.management import call_command

    told = StringIO()
    call_command("sqlmigrate", "records", name, stdout=told, no_color=True)
    return "\n".join(line for line in told.getvalue().splitlines() if not line.startswith("--"))


def found() -> list[str]:
    """Every fault of what is not released yet, with its migration."""
    return [
        f"{name}: {fault}"
        for name in after_the_last_release()
        if not getattr(import_module(f"records.migrations.{name}"), "contract", "")
        for fault in faults(sql_of(name))
    ]


def main() -> int:
    """Name each fault; 1 where there is one."""
    import django

    django.setup()
    told = found()
    print("\n".join(told) or "Nothing that an older version would feel.")
    return int(bool(told))


if __name__ == "__main__":
    import os

    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "deploy.settings")
    sys.exit(main())
