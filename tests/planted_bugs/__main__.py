"""Plant each bug in a copy of the project, and see whether its tests notice.

    python -m tests.planted_bugs [WORD ...]

Only the promises that hold one of the words, or have it as their number (`promises.py`), if any is
given. Ends with 1 where a test did not notice its bug, or fails without one. It takes some ten
seconds for each.
"""

import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from deploy.embedded_postgres import EmbeddedPostgres
from tests.database import ADMIN, PROJECT
from tests.planted_bugs.all_bugs import ALL
from tests.planted_bugs.bugs import Bug
from tests.planted_bugs.promises import PROMISES

PARTS = ("calculations", "deploy", "fixtures", "records", "tests", "manage.py", "pyproject.toml")
PARTS += ("README.md", "DEVELOPERS.md")
PASSED, FAILED = 0, 1  # of pytest


def main(words: Sequence[str]) -> int:
    """All that were asked for, one after the other."""
    chosen = [bug for bug in ALL if not words or _is_asked_for(bug, words)]
    with (
        tempfile.TemporaryDirectory(prefix="planted-bugs-") as folder,
        EmbeddedPostgres(Path(folder) / "postgres", durable=False) as running,
    ):
        copy = Path(folder) / "copy"
        _copy(copy)
        environment = os.environ | {ADMIN: running.dsn()}
        environment |= {"DATABASE_URL": "postgresql://nobody@%2Fnonexistent/none"}
        environment |= {"DATABASE_POOL_SIZE": "0", "PYTHONDONTWRITEBYTECODE": "1"}
        tests = sorted({test for bug in chosen for test in bug.tests})
        if _run(copy, tests, environment) != PASSED:
            print("Some of the tests fail without any bug.")
            return 1
        missed = [bug for bug in chosen if not _is_noticed(bug, copy, environment)]
    print(f"{len(chosen) - len(missed)} of {len(chosen)} bugs were noticed by each of their tests.")
    return 1 if missed or not chosen else 0


def _is_asked_for(bug: Bug, words: Sequence[str]) -> bool:
    numbers = {str(each) for each, promise in PROMISES.items() if bug.promise in promise.bugs}
    return any(word in (numbers if word.isdigit() else bug.promise) for word in words)


def _copy(copy: Path) -> None:
    copy.mkdir()
    for part in PARTS:
        if (PROJECT / part).is_dir():
            shutil.copytree(
                PROJECT / part, copy / part, ignore=shutil.ignore_patterns("__pycache__")
            )
        else:
            shutil.copy(PROJECT / part, copy / part)


def _is_noticed(bug: Bug, copy: Path, environment: dict[str, str]) -> bool:
    file = copy / bug.file
    sound = file.read_text(encoding="utf-8")
    file.write_text(planted(bug, sound), encoding="utf-8")
    try:
        noticed = [_run(copy, [test], environment) == FAILED for test in bug.tests]
    finally:
        file.write_text(sound, encoding="utf-8")
    print("noticed" if all(noticed) else "MISSED ", bug.promise, flush=True)
    return all(noticed)


def planted(bug: Bug, sound: str) -> str:
    """The file's text with the bug in it."""
    if sound.count(bug.code) != 1:
        raise ValueError(
            f"{bug.file}: expected once, found {sound.count(bug.code)} times: {bug.code}"
        )
    return sound.replace(bug.code, bug.instead)


def _run(copy: Path, tests: Sequence[str], environment: dict[str, str]) -> int:
    """What pytest ends with; 2 to 5 are no verdict on the tests."""
    command = (sys.executable, "-m", "pytest", "--quiet", "-x", "-p", "no:cacheprovider", "-m", "")
    named = [f"tests/{test}" for test in tests]
    ran = subprocess.run(
        [*command, *named], cwd=copy, env=environment, capture_output=True, text=True, check=False
    )
    if ran.returncode not in (PASSED, FAILED) or (len(tests) > 1 and ran.returncode):
        print(ran.stdout[-3000:], ran.stderr[-1000:])
    return ran.returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
