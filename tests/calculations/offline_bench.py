"""How often a device without signal says what the service says, over the fault bench.

`python -m tests.calculations.offline_bench --sets 100 --seed 9100`: each set as it is drawn and
with every single mistake that has a place in it, judged as the service judges it (rows of the trace
at hand) and out of a visit pack. Compared are rule, subject, severity and sentence of every
finding. What rests on rows of a trace is counted apart: there the device has to say that it waits.
"""

import argparse
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from typing import Any

from calculations import offline
from calculations.judging import finding_document
from tests.calculations.packing import pack_of
from tests.fault_bench import mistakes, stand

NOT_COMPARED = offline.NEEDS_TRACE | {"record.not-received"}
"""What came of files only a book or a device knows: the bench has neither."""

Told = set[tuple[str, str, str, str]]


@dataclass
class Agreement:
    """What came of a run: cases of single fields and pairs, and those that rest on a trace."""

    cases: int = 0
    agreed: int = 0
    traces: int = 0
    waited: int = 0
    different: Counter[str] = field(default_factory=Counter)

    @property
    def share(self) -> float:
        """Cases of single fields and pairs that were told alike [1]."""
        return self.agreed / self.cases if self.cases else 0.0


def run(seeds: Iterable[int]) -> Agreement:
    """Compare over the sets of these seeds."""
    found = Agreement()
    for seed in seeds:
        clean = replace(stand.enter(seed), earlier=None)  # the first record stays with the service
        for name, rule, case in _cases(clean):
            _count(found, f"{name}, seed {seed}", rule, case)
    return found


def _cases(clean: stand.Entered) -> Iterator[tuple[str, str, stand.Entered]]:
    yield "clean", "", clean
    for each in mistakes.kinds():
        wrong = clean.copy()
        if not each.concerns(clean) or each.change(wrong) is False:
            continue
        if wrong.corrected is None:  # a record that is corrected stays with the service as well
            yield each.name, each.rule, wrong


def _count(found: Agreement, name: str, rule: str, case: stand.Entered) -> None:
    service = {_told(finding_document(each, "")) for each in stand.findings(case)}
    pack, pump_set, event = pack_of(case.document)
    said = offline.judged(pack, pump_set, event)
    device = {_told(each) for each in said["findings"]}
    if rule in offline.NEEDS_TRACE:
        found.traces += 1
        found.waited += rule in {each["rule"] for each in said["waiting"]}
        return
    found.cases += 1
    if _compared(service) == _compared(device):
        found.agreed += 1
    else:
        found.different[name] += 1


def _told(each: dict[str, Any]) -> tuple[str, str, str, str]:
    return each["rule"], each["subject"], each["severity"], each["sentence"]


def _compared(told: Told) -> Told:
    return {each for each in told if each[0] not in NOT_COMPARED}


def main() -> None:
    """Run as asked and print what came of it."""
    parser = argparse.ArgumentParser(description="A device without signal beside the service.")
    parser.add_argument("--sets", type=int, default=50, help="sets to draw")
    parser.add_argument("--seed", type=int, default=9100, help="seed of the first set")
    given = parser.parse_args()
    found = run(range(given.seed, given.seed + given.sets))
    print(f"{found.agreed} of {found.cases} cases told alike ({found.share:.2%})")
    print(f"{found.waited} of {found.traces} that rest on a trace say that they wait for signal")
    for name, number in found.different.most_common(20):
        print(f"  {number} {name}")


if __name__ == "__main__":
    main()
