"""Published worked examples, each with its source, for the tests of the formulas."""

import json
from pathlib import Path
from typing import Any

import pytest

FOLDER = Path(__file__).resolve().parents[2] / "fixtures" / "worked_examples"

Case = dict[str, Any]

TESTED: set[tuple[str, str]] = set()
"""Subject and topic of every example that some test computes, among the modules imported."""


def cases(subject: str) -> list[Case]:
    """Every example of one subject."""
    found: list[Case] = json.loads((FOLDER / f"{subject}.json").read_text(encoding="utf-8"))
    return found


def example(subject: str, id_: str) -> Case:
    """One example by its id."""
    (found,) = (case for case in cases(subject) if case["id"] == id_)
    return found


def worked(subject: str, *topics: str) -> pytest.MarkDecorator:
    """Run a test with the `case` of every example of these topics; none at all is an error."""
    TESTED.update((subject, topic) for topic in topics)
    listed = cases(subject)
    for topic in topics:
        if topic not in {case["topic"] for case in listed}:
            raise LookupError(f"no worked example of {topic!r} in {subject}.json")
    found = [case for case in listed if case["topic"] in topics]
    return pytest.mark.parametrize("case", found, ids=lambda case: str(case["id"]))
