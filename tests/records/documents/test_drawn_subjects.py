"""A hundred subjects as no technician would fill them in: each is judged."""

import pytest

from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.judging import judge
from tests.records.documents.drawn import subject


@pytest.mark.parametrize("tens", range(10))
def test_whatever_the_numbers_a_subject_is_judged(tens: int) -> None:
    """No rule raises; values stay finite, or nothing is said of them."""
    for number in range(10 * tens, 10 * tens + 10):
        said = judge(read(Subject, subject(number)))
        assert said.judged or said.not_evaluated
        assert all(abs(each.si) < float("inf") for each in said.derived), number
