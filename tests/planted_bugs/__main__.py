"""Plant each bug in a copy of the project, and see whether its tests notice.

Ends with 1 where a test did not notice its bug, fails without one, or where no promise was meant;
each that fails without a bug is named, and its bugs are told as neither noticed nor missed. It
takes some ten seconds for each bug.
"""

import argparse
import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path

from deploy.embedded_postgres import EmbeddedPostgres
from tests.database import ADMIN, PROJECT
from tests.planted_bugs.all_bugs import ALL
from tests.planted_bugs.bugs import Bug
from tests.planted_bugs.promises import PROMISES

PARTS = ("calculations", "deploy", "fixtures", "records", "tests", "manage.py", "pyproject.toml")
PARTS += ("README.md", "DEVELOPERS.md")
PASSED, FAILED = 0, 1  # of pytest
_TELLS = re.compile(r"(FAILED|ERROR) tests/")


def main(words: Sequence[str]) -> int:
    """All that were asked for, one after the other."""
    chosen = [bug for bug in ALL if not words or _is_asked_for(bug, words)]
    if not chosen:
        print("No promise holds one of these words, or has it as its number.")
        return 1
    with (
        tempfile.TemporaryDirectory(prefix="planted-bugs-") as folder,
        EmbeddedPostgres(Path(folder) / "postgres", durable=False) as running,
    ):
        copy = Path(folder) / "copy"
        _copy(copy)
        environment = os.environ | {ADMIN: running.dsn()}
        environment |= {"DATABASE_URL": "postgresql://nobody@%2Fnonexistent/none"}
        environment |= {"DATABASE_POOL_SIZE": "0", "PYTHONDONTWRITEBYTECODE": "1"}
        unsound = _failing_without_a_bug(chosen, copy, environment)
        for test in sorted(unsound):
            print("fails without any bug:", test)
        tried = [bug for bug in chosen if unsound.isdisjoint(bug.tests)]
        missed = [bug for bug in tried if not _is_noticed(bug, copy, environment)]
    print(f"{len(tried) - len(missed)} of {len(chosen)} bugs were noticed by each of their tests.")
    return 1 if missed or unsound else 0


def _failing_without_a_bug(
    chosen: Sequence[Bug], copy: Path, environment: Mapping[str, str]
) -> set[str]:
    """Tests that would say nothing of their bugs: each that fails among all is run by itself."""
    tests = sorted({test for bug in chosen for test in bug.tests})
    ran = _ran(copy, tests, environment, "-rfE")
    if ran.returncode == PASSED:
        return set()
    suspects = tests if ran.returncode != FAILED else named_as_failed(ran.stdout, tests)
    return {test for test in suspects if _run(copy, [test], environment) != PASSED}


def named_as_failed(said: str, tests: Sequence[str]) -> list[str]:
    """Which of these tests a short summary of pytest tells, whatever their parameters."""
    told = [line.split(" ")[1] for line in said.splitlines() if _TELLS.match(line)]
    return [test for test in tests if any(_is_of(each, f"tests/{test}") for each in told)]


def _is_of(told: str, test: str) -> bool:
    """Whether what is told is this test, or all of its file."""
    return told.partition("[")[0] in (test, test.partition("::")[0])


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


def _is_noticed(bug: Bug, copy: Path, environment: Mapping[str, str]) -> bool:
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


def _run(copy: Path, tests: Sequence[str], environment: Mapping[str, str]) -> int:
    """What pytest ends with; 2 to 5 are no verdict on the tests."""
    ran = _ran(copy, tests, environment, "-x")
    if ran.returncode not in (PASSED, FAILED):
        print(ran.stdout[-3000:], ran.stderr[-1000:])
    return ran.returncode


def _ran(
    copy: Path, tests: Sequence[str], environment: Mapping[str, str], *options: str
) -> subprocess.CompletedProcess[str]:
    command = (sys.executable, "-m", "pytest", "--quiet", "-p", "no:cacheprovider", "-m", "")
    named = [f"tests/{test}" for test in tests]
    return subprocess.run(
        [*command, *options, *named], cwd=copy, env=environment, capture_output=True, text=True,
        check=False,
    )  # fmt: skip


def asked_for(arguments: Sequence[str]) -> list[str]:
    """The words of a command line."""
    parser = argparse.ArgumentParser(
        prog="python -m tests.planted_bugs",
        description=__doc__,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument(
        "words",
        nargs="*",
        metavar="WORD",
        help="only the promises that hold one of the words, or have it as their number"
        " (promises.py)",
    )
    return list(parser.parse_args(arguments).words)


if __name__ == "__main__":
    sys.exit(main(asked_for(sys.argv[1:])))
