"""Runs the tests of `calculations` against mutants: one warm process, forked for each of them.

What a test reaches is recorded first, function by function, so that a mutant meets only tests
that can notice it: those of its module's own file, then those that name a rule it declares, then
those of what uses it, one of every file in turn up to a number of seconds. A process that needs
far longer than its tests is stopped, by the time that it computes: a busy machine does not count.
"""

import ast
import gc
import os
import pickle
import random
import resource
import select
import signal
import sys
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import FrameType
from typing import Any

import pytest

from tests.mutation import planting
from tests.mutation.mutants import Mutant, mutated

PROJECT = Path(__file__).parents[2]
NO_PROOF = ("test_catalogue_version.py",)
"""They hold that nothing changes unsaid, and would notice nearly all: no proof of any value."""

ARGUMENTS = (
    "-p", "no:terminal", "-p", "no:django", "-p", "no:xdist", "-p", "no:cacheprovider",
    "--confcutdir", "tests/calculations", "--import-mode=importlib",
    "-o", "addopts=", "-m", "not slow and not oracle",
)  # fmt: skip
KILLED, SURVIVED, SAME, BROKEN = "killed", "survived", "same code", "broken"
TOGETHER = tuple(
    f"tests/calculations/test_{each}.py"
    for each in ("single_mistakes", "whole_stations", "stations_by_hand", "machines_by_hand")
)
SMALL_FOLDERS = tuple(f"tests/calculations/{each}/" for each in ("courses", "derived", "plots"))
"""Whose tests are not by module."""
EVERYTHING = "tests/calculations/test_single_mistakes.py"
"""One mistake after the other on whole stations."""
HEAD_START = 3
"""Rounds by which tests nearer to the module come before others."""

LONGEST = 1.5  # s: a longer test is left out
MEMORY = 4 << 30

Function = tuple[str, str]
"""Its file, and its name with its line."""


@dataclass(frozen=True)
class Reach:
    """What one test needs [s], and the functions that it runs: a bit for each."""

    test: str
    seconds: float
    functions: int


class Trial:
    """A plugin of pytest that runs its tests once for each mutant, in place of once."""

    def __init__(self, mutants: Sequence[Mutant], reached: Path, seconds: float, workers: int,
                 tell: Callable[[Mutant, str, str], None]) -> None:  # fmt: skip
        self.mutants, self.seconds, self.workers, self.tell = mutants, seconds, workers, tell
        self.kept = reached
        self.failed = ""
        self.living: planting.Living
        self.items: dict[str, pytest.Item]
        self.reaches: dict[str, Reach]

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed and not self.failed:
            self.failed = report.nodeid

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        self.items = {each.nodeid: each for each in session.items if each.path.name not in NO_PROOF}
        self.living = planting.Living()
        self.numbers = _numbered()
        of, kept = _read(self.kept)
        kept = kept if of == self.numbers else []
        new = sorted(set(self.items) - {each.test for each in kept})
        recorded = _each_forked(self._record, _parts(new), self.workers)
        kept += [each for part in recorded for each in part]
        self.kept.write_bytes(pickle.dumps((self.numbers, kept)))
        self.reaches = {each.test: each for each in kept if each.seconds < LONGEST}
        for file in {each.file for each in self.mutants}:  # read once, for all children
            for test_file in {_file(each) for each in self.reaches.values()}:
                _rank(file, test_file)
        gc.collect()
        gc.freeze()  # what is not touched is shared by all children
        for mutant, (verdict, why) in _forked(self._try, self.mutants, self.workers):
            self.tell(mutant, verdict, why)
        return True

    # -- what tests reach -------------------------------------------------------------------------

    def _record(self, names: list[str]) -> list[Reach]:
        found = []
        for name in names:
            seen: set[Any] = set()
            self.failed, before = "", time.process_time()

            def note(frame: FrameType, _event: str, _argument: Any, seen: Any = seen) -> None:
                seen.add(frame.f_code)

            sys.settrace(note)
            try:
                self._run([name])
            finally:
                sys.settrace(None)
            seconds = time.process_time() - before
            ours = {
                (os.path.relpath(code.co_filename, PROJECT), _name(code))
                for code in seen
                if "/calculations/" in code.co_filename and "/tests/" not in code.co_filename
            }
            if not self.failed:
                found.append(Reach(name, seconds, self._bits(ours)))
        return found

    def _bits(self, functions: Iterable[Function]) -> int:
        bits = 0
        for each in functions:
            bits |= 1 << self.numbers[each] if each in self.numbers else 0
        return bits

    def _run(self, names: Sequence[str]) -> None:
        chosen = [self.items[each] for each in names if each in self.items]
        for item, following in zip(chosen, [*chosen[1:], None], strict=True):
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
            if self.failed:
                return

    # -- one mutant -------------------------------------------------------------------------------

    def _try(self, mutant: Mutant) -> tuple[str, str]:
        path = PROJECT / mutant.file
        source = path.read_text(encoding="utf-8")
        sound = planting.code_of(source, path)
        try:
            other = planting.code_of(mutated(mutant, source), path)
        except SyntaxError:
            return SAME, "no Python"
        if other == sound:
            return SAME, ""
        if planting.is_in_function(mutant, source):
            names = {_name(a) for a, b in zip(planting.codes(sound), planting.codes(other),
                                              strict=False) if a != b}  # fmt: skip
            tests = self._tests({(mutant.file, each) for each in names if each != "<module>:1"},
                                mutant.file)  # fmt: skip
            if tests and self.living.plant(sound, other):
                self._limit(tests)
                self.failed = ""
                self._run(tests)
                return (KILLED, self.failed) if self.failed else (SURVIVED, f"{len(tests)} tests")
        return self._imported(mutant, other)

    def _imported(self, mutant: Mutant, other: Any) -> tuple[str, str]:
        files = self._files(mutant.file)
        self._limit([each for each in self.reaches if each.split("::")[0] in files])
        left_out = [f"--deselect={each}" for each in self.items if each not in self.reaches]
        module = _module(mutant.file)
        planting.import_from(other, module, ("calculations", "tests.calculations"))
        verdict = _Verdict()
        ended = pytest.main([*ARGUMENTS, "-x", *left_out, *files], plugins=[verdict])
        if ended:
            return KILLED, verdict.failed or f"on import: {ended}"
        return SURVIVED, f"{len(files)} files"

    def _files(self, file: str) -> list[str]:
        """Tests of the module, those that import it or name its rules, and those of its users."""
        spent: dict[str, float] = {}
        for name, reach in self.reaches.items():
            spent[name.split("::")[0]] = spent.get(name.split("::")[0], 0.0) + reach.seconds
        near = [_own(file), *(each for each in spent if _uses(each, file))]
        folder = f"tests/{Path(file).parent}/"
        near += [each for each in spent if folder in SMALL_FOLDERS and each.startswith(folder)]
        users = _importers(file, "calculations")
        far = ({_own(each) for each in users} | {EVERYTHING}) & set(spent) - set(near)
        chosen, total = [each for each in near if each in spent], 0.0
        for each in sorted(far, key=lambda each: (each != EVERYTHING, spent[each])):
            if total + spent[each] < self.seconds or not chosen:
                total += spent[each]
                chosen.append(each)
        return list(dict.fromkeys(chosen)) or [EVERYTHING]

    def _tests(self, functions: set[Function], file: str) -> list[str]:
        own, wanted = _own(file), self._bits(functions)
        those = [each for each in self.reaches.values() if each.functions & wanted]
        random.Random(1).shuffle(those)
        # Its own, then one of each file and so on, those farther away some rounds later.
        ranks = {name: _rank(file, name) for name in {_file(each) for each in those}}
        counts: Counter[str] = Counter()
        rounds = {}
        for each in those:
            counts[_file(each)] += 1
            rounds[each.test] = 0 if _file(each) == own else counts[_file(each)]
        those.sort(key=lambda each: rounds[each.test] + HEAD_START * ranks[_file(each)])
        names, spent = [], 0.0
        for each in those:
            if spent > self.seconds and _file(each) != own:
                continue
            names.append(each.test)
            spent += each.seconds
        return names

    def _limit(self, tests: Sequence[str]) -> None:
        usual = sum(self.reaches[each].seconds for each in tests)
        used = time.process_time()
        limit = int(used + 20 + 3 * usual)
        resource.setrlimit(resource.RLIMIT_CPU, (limit, limit))
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))


class _Verdict:
    def __init__(self) -> None:
        self.failed = ""

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed and not self.failed:
            self.failed = report.nodeid


def _read(kept: Path) -> tuple[dict[Function, int], list[Reach]]:
    """What an earlier run has recorded, and of which functions."""
    return pickle.loads(kept.read_bytes()) if kept.exists() else ({}, [])  # noqa: S301


def _parts(names: list[str]) -> list[list[str]]:
    size = max(len(names) // 40, 1)
    return [names[at : at + size] for at in range(0, len(names), size)]


def _numbered() -> dict[Function, int]:
    """Every function of `calculations` with its number."""
    found: dict[Function, int] = {}
    for path in sorted((PROJECT / "calculations").rglob("*.py")):
        for code in planting.codes(planting.code_of(path.read_text(encoding="utf-8"), path)):
            found.setdefault((str(path.relative_to(PROJECT)), _name(code)), len(found))
    return found


def _name(code: Any) -> str:
    return f"{code.co_qualname}:{code.co_firstlineno}"


def _own(file: str) -> str:
    folder, name = os.path.split(file)
    return f"tests/{folder}/test_{name}"


@cache
def _rank(file: str, test_file: str) -> int:
    """How near tests are: of the module, of what it declares, of what uses it, of its subject."""
    if test_file == _own(file):
        return 0
    folder = f"tests/{Path(file).parent}/"
    if folder in SMALL_FOLDERS and test_file.startswith(folder):
        return 1
    if _uses(test_file, file):
        return 1
    users = _importers(file, "calculations")
    if any(test_file == _own(each) or _uses(test_file, each) for each in users):
        return 2
    subject = Path(file).stem.split("_")[0]
    return 3 if f"test_{subject}" in test_file or test_file in TOGETHER else 4


@cache
def _uses(test_file: str, file: str) -> bool:
    """Whether a file of tests imports this module, or names a rule that it declares."""
    if test_file in _importers(file, "tests/calculations"):
        return True
    text = (PROJECT / test_file).read_text(encoding="utf-8")
    return any(f'"{each}"' in text for each in _rules(file))


@cache
def _rules(file: str) -> list[str]:
    """The identities of the rules that a module declares."""
    tree = ast.parse((PROJECT / file).read_text(encoding="utf-8"))
    return [
        each.value.value
        for node in ast.walk(tree)
        if isinstance(node, ast.Call) and getattr(node.func, "id", None) == "Rule"
        for each in node.keywords
        if each.arg == "id" and isinstance(each.value, ast.Constant)
    ]


def _file(reach: Reach) -> str:
    return reach.test.split("::")[0]


def _module(file: str) -> str:
    return file.removesuffix(".py").removesuffix("/__init__").replace("/", ".")


@cache
def _importers(file: str, folder: str) -> list[str]:
    """The files of a folder that import this one."""
    paths = sorted((PROJECT / folder).rglob("*.py"))
    return [str(each.relative_to(PROJECT)) for each in paths if _module(file) in _imported(each)]


@cache
def _imported(path: Path) -> frozenset[str]:
    """The modules that a file imports, and all names that it imports from them."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{each.name}" for each in node.names)}
    return frozenset(found)


# -- forks ----------------------------------------------------------------------------------------


def _each_forked(work: Callable[[Any], Any], parts: Iterable[Any], workers: int) -> Iterator[Any]:
    for _, answer in _forked(work, parts, workers):
        if isinstance(answer, tuple):
            raise RuntimeError(f"tests could not be recorded: {answer[1]}")
        yield answer


def _forked(work: Callable[[Any], Any], parts: Iterable[Any], workers: int) -> Iterator[Any]:
    """What a process of its own makes of each part, several at a time."""
    running: dict[int, tuple[Any, int]] = {}
    waiting = iter(parts)
    while True:
        while len(running) < workers and (part := next(waiting, None)) is not None:
            reading, writing = os.pipe()
            child = os.fork()
            if not child:
                os.close(reading)
                _answer(work, part, writing)
            os.close(writing)
            running[child] = part, reading
        if not running:
            return
        ready, _, _ = select.select([reading for _, reading in running.values()], [], [])
        for child in [each for each, (_, reading) in running.items() if reading in ready]:
            part, reading = running.pop(child)
            with os.fdopen(reading, "rb") as pipe:
                text = pipe.read()
            _, status = os.waitpid(child, 0)
            if os.WIFSIGNALED(status):
                yield part, (KILLED, f"stopped: {signal.Signals(os.WTERMSIG(status)).name}")
            else:
                yield part, pickle.loads(text)  # noqa: S301 - written by our own child


def _answer(work: Callable[[Any], Any], part: Any, writing: int) -> None:
    try:
        answer = work(part)
    except BaseException:
        answer = BROKEN, traceback.format_exc()
    with os.fdopen(writing, "wb") as pipe:
        pipe.write(pickle.dumps(answer))
    os._exit(0)
