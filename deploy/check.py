"""Runs every quick check of the project and names those that fail; sh deploy/check calls it.

Words behind it go to pytest: sh deploy/check tests/deploy, or --ignore=tests/calculations.
"""

import os
import subprocess
import sys
import time
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent
PYTHON = sys.executable
LINT_IMPORTS = "from importlinter.cli import lint_imports_command as run; run()"

CHECKS: dict[str, tuple[str, ...]] = {
    "format": (PYTHON, "-m", "ruff", "format", "--check", "--quiet", "."),
    "lint": (PYTHON, "-m", "ruff", "check", "--quiet", "."),
    "types": (PYTHON, "-m", "mypy", "calculations", "records", "deploy", "manage.py"),
    "direction of imports": (PYTHON, "-c", LINT_IMPORTS),
    "migrations": (
        *(PYTHON, "-W", "ignore::RuntimeWarning"),  # it would like to ask a database, too
        *("manage.py", "makemigrations", "--check", "--dry-run"),
    ),
    "quick tests": (
        *(PYTHON, "-m", "pytest", "--quiet", "--numprocesses=2"),
        *("-m", "not slow and not oracle and not fault and not browser"),
        *sys.argv[1:],
    ),
}

ENVIRONMENT = {
    **os.environ,
    "DATABASE_URL": "postgresql://nobody@%2Fnonexistent/none",  # nobody's server is touched
    "DATABASE_POOL_SIZE": "0",
}


def passes(name: str, command: tuple[str, ...]) -> bool:
    """Run one check, say how it went and how long it took."""
    print(f"== {name}", flush=True)
    begun = time.monotonic()
    status = subprocess.run(command, cwd=PROJECT, env=ENVIRONMENT, check=False).returncode
    verdict = "passed" if status == 0 else f"FAILED with status {status}"
    print(f"== {name}: {verdict} in {time.monotonic() - begun:.0f} s", flush=True)
    return status == 0


if __name__ == "__main__":
    failed = [name for name, command in CHECKS.items() if not passes(name, command)]
    print(f"Failed: {', '.join(failed)}." if failed else "Every check has passed.")
    sys.exit(bool(failed))
