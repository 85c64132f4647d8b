"""Which acceptance grade a point is held to: HI 14.6 default grades (secondary text).

The booster's pump takes 50.5 hp, 37.7 kW, at its rated flow. ISO 9906:2012, table 8, for flow and
head: 1B 5 % and 3 %, 2B 8 % and 5 %, 3B 9 % and 7 %.
"""

import pytest

from calculations.aspects import on_curve
from tests.calculations.building import booster, case, changed

GRADE, ORIGIN = "/pump/acceptance_grade", "/pump/curve_origin"


@pytest.mark.parametrize(
    ("changes", "flow", "head"),
    [
        ({GRADE: "1B"}, 0.05, 0.03),
        ({GRADE: "1B", ORIGIN: "digitised"}, 0.05, 0.03),  # what was agreed holds
        ({GRADE: None}, 0.08, 0.05),
        ({GRADE: "none", ORIGIN: "test_certificate"}, 0.08, 0.05),
        ({GRADE: None, ORIGIN: "digitised"}, 0.09, 0.07),
        ({GRADE: "none", ORIGIN: "estimated"}, 0.09, 0.07),
        # Without a power it may be a small one: no better than usual.
        ({GRADE: None, "/pump/rated_flow": None}, 0.08, 0.05),
    ],
)
def test_the_grade_that_a_point_is_held_to(changes, flow, head):
    found = on_curve.tolerance(case(changed(booster(), changes)))
    assert (found.flow_above, found.flow_below) == (flow, flow)
    assert (found.head_above, found.head_below) == (head, head)
