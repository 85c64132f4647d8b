"""Change `calculations` in one small place after the other, and see whether a test notices.

    VENV/bin/python -m tests.mutation [FILE ...] [--sample 1000 --seed 1] [--seconds 10]

VENV holds deploy/requirements-mutation.lock. Prints what survived, and for each module how many
mutants there were and how many were noticed; with a sample, drawn alike from each module, the
interval that holds the share of all with 95 %.
"""

import argparse
import json
import math
import os
import random
import sys
import tempfile
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase
from hypothesis import settings as examples

from tests.mutation.mutants import Mutant, mutants_of, shown
from tests.mutation.running import ARGUMENTS, BROKEN, KILLED, PROJECT, SAME, SURVIVED, Trial


def main() -> int:
    """Draw, try, print."""
    asked = _asked()
    os.chdir(PROJECT)
    os.environ["PYTHONDONTWRITEBYTECODE"] = "1"
    mutants = _drawn(asked)
    verdicts: dict[Mutant, str] = {}

    def tell(mutant: Mutant, verdict: str, why: str) -> None:
        verdicts[mutant] = verdict
        if verdict == SURVIVED:
            source = (PROJECT / mutant.file).read_text(encoding="utf-8")
            why = f"{shown(mutant, source)}  ({why})"
        if verdict not in (KILLED, SAME):
            print(f"{verdict}: {mutant}: {why}", flush=True)
        if asked.log:
            with asked.log.open("a") as log:
                log.write(json.dumps([str(mutant), verdict, why]) + "\n")

    examples.register_profile(
        "mutation", deadline=None, derandomize=True, database=None,
        phases=(Phase.explicit, Phase.generate), suppress_health_check=[HealthCheck.too_slow],
    )  # fmt: skip
    examples.load_profile("mutation")
    with tempfile.TemporaryDirectory(prefix="mutation-") as folder:
        trial = Trial(mutants, asked.reached or Path(folder) / "reached", asked.seconds,
                      asked.workers, tell)  # fmt: skip
        ended = pytest.main([*ARGUMENTS, "tests/calculations"], plugins=[trial])
    if ended:
        return int(ended)
    _print(verdicts)
    return 0


def _asked() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.mutation")
    parser.add_argument("files", nargs="*", help="of calculations; all, if none is given")
    parser.add_argument("--sample", type=int, help="how many mutants; all, if not given")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=10, help="of other modules' tests")
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--reached", type=Path, help="keeps what tests reach, for another run")
    parser.add_argument("--log", type=Path, help="a line of JSON for each mutant")
    parser.add_argument("--again", type=Path, help="only what a log says survived")
    return parser.parse_args()


def _drawn(asked: argparse.Namespace) -> list[Mutant]:
    files = asked.files or sorted(
        str(each.relative_to(PROJECT)) for each in (PROJECT / "calculations").rglob("*.py")
    )
    by_file = {
        file: mutants_of(file, (PROJECT / file).read_text(encoding="utf-8")) for file in files
    }
    everything = [each for mutants in by_file.values() for each in mutants]
    draw = random.Random(asked.seed)
    if asked.again:
        told = [json.loads(line) for line in asked.again.read_text().splitlines()]
        survived = {name for name, verdict, _ in told if verdict == SURVIVED}
        chosen = [each for each in everything if str(each) in survived]
        draw.shuffle(chosen)
        return chosen
    if not asked.sample or asked.sample >= len(everything):
        return everything
    chosen = []
    for mutants in by_file.values():
        share = asked.sample * len(mutants) / len(everything)
        count = int(share) + (draw.random() < share % 1)
        chosen += draw.sample(mutants, min(count, len(mutants)))
    draw.shuffle(chosen)
    return chosen


def _print(verdicts: dict[Mutant, str]) -> None:
    files: dict[str, Counter[str]] = {}
    for mutant, verdict in verdicts.items():
        if verdict != SAME:
            files.setdefault(mutant.file, Counter())[verdict] += 1
    print(f"\n{'mutants':>8} {'killed':>8} {'survived':>8} {'broken':>8} {'share':>7}")
    for file, told in sorted(files.items(), key=lambda each: _share(each[1])):
        _line(told, file)
    total = sum(files.values(), Counter())
    _line(total, "all")
    low, high = _interval(total[KILLED], total.total())
    print(f"95 % interval of a sample as large: {low:.1%} to {high:.1%}")


def _line(told: Counter[str], name: str) -> None:
    counts = " ".join(f"{told[each]:8}" for each in (KILLED, SURVIVED, BROKEN))
    print(f"{told.total():8} {counts} {_share(told):7.1%}  {name}")


def _share(told: Counter[str]) -> float:
    return told[KILLED] / told.total() if told else 0.0


def _interval(part: int, whole: int, z: float = 1.96) -> tuple[float, float]:
    """The interval of a share by Wilson (1927)."""
    if not whole:
        return 0.0, 1.0
    share = part / whole
    middle = share + z * z / (2 * whole)
    half = z * math.sqrt(share * (1 - share) / whole + z * z / (4 * whole * whole))
    return (middle - half) / (1 + z * z / whole), (middle + half) / (1 + z * z / whole)


if __name__ == "__main__":
    sys.exit(main())
