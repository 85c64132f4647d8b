"""Compares what a formula computes with a published worked example, figure by figure."""

from dataclasses import dataclass
from typing import Any

import pytest

from tests.calculations.worked_examples import Case


@dataclass(frozen=True)
class Near:
    """A computed figure and how far the published one may be from it."""

    value: float
    absolute: float | None = None
    relative: float | None = None

    def __eq__(self, published: object) -> bool:
        return bool(published == pytest.approx(self.value, abs=self.absolute, rel=self.relative))

    __hash__ = None  # type: ignore[assignment]


def assert_matches(case: Case, **computed: Any) -> None:
    """Every figure of the example is computed, none besides, each within its tolerance."""
    assert computed.keys() == case["expected"].keys(), f"{case['id']}: other figures than published"
    for name, published in case["expected"].items():
        assert computed[name] == published, f"{case['id']}: {name} is {computed[name]}"
