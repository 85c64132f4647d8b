"""How duty points are looked for: as closely as floats tell, with no more questions than needed."""

from typing import ClassVar

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from calculations.duty_points import Outcome, duty_points, flows_at_head
from calculations.pump_curves import CurvePoint, fit_pump_curve
from calculations.system_curves import FrictionCurve

SPEED = 29.0

SOLVED = 1e-12
"""How closely a meeting is solved for, whatever the bracket that it is looked for in."""


@pytest.mark.parametrize("flow", [1.0, 2.0, 3.0])
def test_a_meeting_at_a_point_of_the_curve_is_one_meeting(flow: float) -> None:
    """Both stretches that end there hold it, and it is found once."""
    heads = {0.0: 50.0, 1.0: 45.0, 2.0: 32.0, 3.0: 12.0}
    points = [CurvePoint(flow=at, head=head) for at, head in heads.items()]
    curve = fit_pump_curve(points=points, speed=SPEED)
    found = flows_at_head(curve=curve, head=heads[flow], speed=SPEED)
    assert found.outcome is Outcome.ONE
    assert [each.flow for each in found.points] == [pytest.approx(flow, rel=SOLVED)]


class Watched(FrictionCurve):
    """A friction curve that counts how often it is asked; at `turns` it may change, it says."""

    asked: ClassVar[int] = 0
    turns: ClassVar[tuple[float, ...]] = ()

    @property
    def knots(self) -> tuple[float, ...]:
        return self.turns

    def head(self, flow: float) -> float:
        type(self).asked += 1
        return super().head(flow)


LONG = fit_pump_curve(
    points=[CurvePoint(0.01 * i, 60 - 0.1 * i * i) for i in range(20)], speed=SPEED
)


@given(static=st.floats(-5, 60), friction=st.floats(0, 4000), ratio=st.floats(0.4, 1.1))
def test_a_falling_curve_is_met_where_every_stretch_looked_at_says(static, friction, ratio):
    # Where it asks for just what the pump gives at no flow, floats do not tell how little flows.
    shut_off = LONG.shut_off_head(speed=SPEED * ratio)
    assume(abs(shut_off - static) > 1e-6 * shut_off)

    class Turning(Watched):
        turns = (-1.0,)

    found, looked_at = (
        duty_points(curve=LONG, system=kind(static, friction), speed=SPEED * ratio)
        for kind in (Watched, Turning)
    )
    assert found.outcome is looked_at.outcome
    flows, expected = ([each.flow for each in one.points] for one in (found, looked_at))
    assert flows == pytest.approx(expected, rel=1e-9)


def test_a_falling_curve_is_not_asked_at_each_of_its_points():
    class Counted(Watched):
        asked = 0

    found = duty_points(curve=LONG, system=Counted(15.0, 1000.0), speed=SPEED)
    assert found.outcome is Outcome.ONE
    assert Counted.asked < 13  # both ends, 8 at most between them, and what is told
