"""The highest flow at the lowest suction, by hand.

At 60 Hz 1775 rpm, 1.002825 of the curve's 1770 rpm: 261.47 ft - 95 ft q^2 against 120 ft + 8 ft
q^2, q in 1000 gpm: 1171.9 gpm. 128 ft at 1000 gpm are 0.92614 of the curve's speed, 1639.3 rpm.
"""

import pytest

from calculations.aspects import lowest_suction
from calculations.case import Missing
from tests.calculations.building import booster, case, changed, without
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import left

GPM = 6.30902e-5
DIRECT = changed(
    without(booster(), "/drive", "/event/settings"), {"/pump_set/drive": None}
)  # fmt: skip


def design(gpm):
    return {"/site/system_design_flow": q(gpm, "gpm")}


@pytest.mark.parametrize(
    ("document", "gpm", "rpm"),
    [
        # It slows down where nobody draws more, but does not where nothing regulates it.
        (booster(), 1000, 1639.3),
        (changed(booster(), left(regulation="speed_from_external_controller")), 1177.4, 1779.6),
        (DIRECT, 1177.4, 1779.6),
        # 128 ft at 1200 gpm: sqrt(142.9 / 100.56) is all that it can.
        (changed(booster(), design("1200")), 1191.9, 1779.7),
        # At 50 Hz 1500 rpm less 15 rpm of slip: sqrt(63.1 / 103).
        (changed(booster(), left(maximum_frequency=q("50", "Hz"))), 782.4, 1485.2),
    ],
)
def test_highest_flow(document, gpm, rpm):
    found = lowest_suction.scarcest(case(document))
    assert found.flow / GPM == pytest.approx(gpm, rel=2e-3)
    assert found.speed * 60 == pytest.approx(rpm, rel=1e-3)


def test_a_pressure_that_is_kept_asks_for_no_lift():
    """128 ft at 1000 gpm belong to the lowest suction, whatever of it is lift (hand, as above)."""
    found = lowest_suction.scarcest(case(without(booster(), "/site/static_lift_high")))
    assert (found.flow / GPM, found.speed * 60) == pytest.approx((1000, 1639.3), rel=1e-3)


def test_a_recorded_curve_asks_for_no_design_head():
    """128 ft at 1000 gpm stand on the curve."""
    rows = [("0", "120"), ("500", "122"), ("1000", "128")]
    points = [{"flow": q(flow, "gpm"), "head": q(head, "ft")} for flow, head in rows]
    document = changed(booster(), {"/site/system_curve_points": points})
    found = lowest_suction.scarcest(case(without(document, "/site/system_design_head")))
    assert (found.flow / GPM, found.speed * 60) == pytest.approx((1000, 1639.3), rel=1e-3)


@pytest.mark.parametrize("document", [
    DIRECT,
    changed(booster(), left(regulation="speed_from_external_controller")),
    changed(booster(), design("1200")),  # more than it can: where it ends up hangs on the lift
])  # fmt: skip
def test_a_pump_that_runs_out_asks_for_the_lift(document):
    with pytest.raises(Missing) as raised:
        lowest_suction.scarcest(case(without(document, "/site/static_lift_high")))
    assert raised.value.places == ("/site/static_lift_high",)


def test_nothing_flows():
    slow = case(changed(booster(), left(maximum_frequency=q("30", "Hz"))))
    with pytest.raises(Missing) as raised:
        lowest_suction.scarcest(slow)
    assert raised.value.because == "nothing flows at the lowest suction"
