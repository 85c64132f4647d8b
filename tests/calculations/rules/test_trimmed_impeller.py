"""The curve of an impeller that was trimmed, against the records around a visit."""

import pytest

from calculations.beside import Beside
from tests.calculations.building import booster, changed, judged, of_rule
from tests.calculations.building_plates import q
from tests.calculations.rules.test_last_record import LAST, LATER, sealed

DIAMETER = "/pump/impeller_diameter"


def trimmed(changes):
    first = changed(LAST, {DIAMETER: q("210", "mm")})
    visit = changed(booster(), LATER | changes)
    judgement = judged(visit, earlier=first, beside=Beside(last=sealed(first)))
    return of_rule(judgement, "curve.impeller")


def test_a_trimmed_impeller_has_another_curve():
    """Affinity laws, HI engineering data: (198/210)^2 = 0.889."""
    (found,) = trimmed({DIAMETER: q("198", "mm")})
    assert (found.severity, found.parameters["share"]) == ("review", "88.9 %")


def test_the_first_record_tells_where_the_last_has_another_curve():
    first = changed(LAST, {DIAMETER: q("210", "mm")})
    last = changed(first, {"/pump/curve_points/0/head": q("231", "ft")})
    visit = changed(booster(), LATER | {DIAMETER: q("198", "mm")})
    beside = Beside(last=sealed(last), first_number=1)
    (found,) = of_rule(judged(visit, earlier=first, beside=beside), "curve.impeller")
    assert found.parameters["record"] == "record 1 of 2026-03-14"


@pytest.mark.parametrize(
    ("last", "told"),
    [
        ({DIAMETER: q("198", "mm")}, False),  # a diameter that was corrected on paper
        ({DIAMETER: None}, True),
        ({DIAMETER: q("198", "mm"), "/pump/curve_points/0/head": q("231", "ft")}, True),
        ({DIAMETER: q("198", "mm"), "/pump/serial": "K71-0099"}, True),
    ],
)
def test_it_is_asked_once_whether_the_curve_goes_with_the_diameter(last, told):
    """Logic: who signed the last record answered for this diameter with this curve."""
    first = changed(LAST, {DIAMETER: q("210", "mm")})
    visit = changed(booster(), LATER | {DIAMETER: q("198", "mm")})
    beside = Beside(last=sealed(changed(first, last)), first_number=1)
    found = of_rule(judged(visit, earlier=first, beside=beside), "curve.impeller")
    assert [each.parameters["record"] for each in found] == (
        ["record 1 of 2026-03-14"] if told else []
    )


@pytest.mark.parametrize(
    "changes",
    [
        {DIAMETER: q("210", "mm")},
        {DIAMETER: q("198", "mm"), "/pump/curve_points/0/head": q("231", "ft")},
        {DIAMETER: q("198", "mm"), "/pump/serial": "K71-0099"},
    ],
)
def test_the_same_impeller_another_curve_or_another_pump(changes):
    assert trimmed(changes) == []
