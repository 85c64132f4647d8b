"""The catalogue's version: another one whenever it says, or judges, otherwise.

Renew what is kept: .venv/bin/python -m tests.calculations.test_catalogue_version
"""

import json
import re
import subprocess
import sys
from dataclasses import replace
from hashlib import sha256
from pathlib import Path

import pytest

from calculations import catalogue
from calculations.catalogue import REVISION, RULES, VALUES, VERSION
from calculations.fingerprint import fingerprint
from calculations.judging import derived_document, finding_document, not_evaluated_document
from tests.calculations import stations, whole_stations
from tests.calculations.building import booster, judged
from tests.calculations.test_whole_stations import MISTAKES, mistaken

KEPT = Path(__file__).parents[1] / "snapshots" / "judged.json"


def subjects():
    """Good stations, and every single mistake on them."""
    yield booster()
    for make in (stations.permanent_magnet, stations.eighty_seven_hertz, stations.well,
                 stations.old_motor, whole_stations.lift_station):  # fmt: skip
        yield make()
    for _, station, changes, removed, *_ in MISTAKES:
        yield mistaken(station, changes, removed)


def told():
    """A digest of all that the catalogue says of them, in words and in digits as shown."""
    text = []
    for document in subjects():
        judgement = judged(document)
        text += [finding_document(each, "") for each in judgement.findings]
        text += [not_evaluated_document(each) for each in judgement.not_evaluated]
        text += [derived_document(each) for each in judgement.derived]
    return sha256(json.dumps(text, sort_keys=True).encode()).hexdigest()


def renew():
    """Keep what is said now, with the version that says it."""
    KEPT.write_text(json.dumps({"version": VERSION, "told": told()}, indent=1) + "\n")


def test_who_judges_otherwise_has_another_version():
    """Where this fails with the version unchanged: raise REVISION in the catalogue, then renew."""
    kept = json.loads(KEPT.read_text(encoding="utf-8"))
    now = {"version": VERSION, "told": told()}
    if now["told"] != kept["told"]:
        assert now["version"] != kept["version"], "it judges otherwise: raise REVISION, then renew"
    assert now == kept, "renew: python -m tests.calculations.test_catalogue_version"


def test_it_is_a_month_and_a_digest():
    assert re.fullmatch(r"20\d\d\.(0[1-9]|1[0-2])(\.\d+)?-[0-9a-f]{10}", VERSION)
    assert VERSION.startswith(REVISION)


def test_it_is_the_same_in_another_process():
    command = "from calculations.catalogue import VERSION; print(VERSION)"
    package = Path(catalogue.__file__).parents[1]
    said = subprocess.run(
        [sys.executable, "-c", command],
        capture_output=True, check=True, cwd=package, env={"PYTHONHASHSEED": "7"},
    )  # fmt: skip
    assert said.stdout.decode().strip() == VERSION


FIRST = next(each for each in RULES if each.limits)
NAME, LIMIT = next(iter(FIRST.limits.items()))


@pytest.mark.parametrize(
    "other",
    [
        {"limits": dict(FIRST.limits) | {NAME: replace(LIMIT, value=LIMIT.value + 0.001)}},
        {"condition": FIRST.condition + " "},
        {"waits_for": (*FIRST.waits_for, "motor.slip")},
        {"id": "another.id"},
        {"severities": ("note",)},
    ],
)
def test_every_change_of_what_is_declared_changes_it(other):
    changed_rules = [replace(each, **other) if each is FIRST else each for each in RULES]
    assert fingerprint(changed_rules, VALUES) != fingerprint(RULES, VALUES)


def test_another_order_is_another_catalogue():
    assert fingerprint(RULES[::-1], VALUES) != fingerprint(RULES, VALUES)
    assert fingerprint(RULES, VALUES[1:]) != fingerprint(RULES, VALUES)


if __name__ == "__main__":
    renew()
