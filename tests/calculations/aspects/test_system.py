"""The pipe system: 115 to 120 ft of lift, 128 ft at 1000 gpm; friction as the square of flow."""

import pytest

from calculations.aspects import system
from calculations.case import Missing, Waits
from tests.calculations.building import booster, case, changed
from tests.calculations.building_plates import Document, q
from tests.calculations.whole_stations import left

GPM = 6.30902e-5
FOOT = 0.3048
LIFTING = left(regulation="speed_from_external_controller")


def drawn(*points: tuple[str, str]) -> Document:
    """The booster against a system whose curve is recorded, in m3/h and m."""
    rows = [{"flow": q(flow, "m3/h"), "head": q(head, "m")} for flow, head in points]
    return changed(booster(), LIFTING | {"/site/system_curve_points": rows})


@pytest.mark.parametrize(
    ("heads", "falls"),
    [
        (("36.0", "36.5", "40.0"), None),
        (("36", "35.6", "40.0"), None),  # 35.5 to 36.5 m, and 35.55 to 35.65 m
        (("36", "35.4", "40.0"), 1),
        (("36.0", "35.9", "40.0"), None),  # one rounding apart: both may be 35.95 m
        (("36.0", "36.5", "36.3"), 2),
        (("36.0", "36.0", "36.0"), None),
    ],
)
def test_where_a_recorded_curve_falls(heads, falls):
    rows = zip(("0", "100", "200"), heads, strict=True)
    assert system.falls(case(drawn(*rows))) == falls


@pytest.mark.parametrize(
    ("begins", "share"),
    [
        # 115 ft are 35.052 m, 120 ft 36.576 m; over the highest head, 50 m.
        ("36.0", 0.0),
        ("34.0", 1.052 / 50),
        ("38.0", 1.424 / 50),
    ],
)
def test_how_far_it_begins_outside_the_lifts(begins, share):
    found = system.apart_from_lifts(case(drawn(("0", begins), ("200", "50"))))
    assert found == pytest.approx(share, abs=1e-6)


def test_half_of_a_point_is_none():
    rows = [{"flow": q("0", "m3/h"), "head": q("34.0", "m")}, {"head": q("60", "m")},
            {"flow": q("200", "m3/h"), "head": q("50", "m")}]  # fmt: skip
    found = case(changed(booster(), LIFTING | {"/site/system_curve_points": rows}))
    assert system.apart_from_lifts(found) == pytest.approx(1.052 / 50, abs=1e-6)


@pytest.mark.parametrize("place", ["/site/static_lift_low", "/site/static_lift_high"])
def test_without_both_lifts_or_a_start_at_no_flow_nothing_is_said(place):
    known = drawn(("0", "34.0"), ("200", "50"))
    assert system.apart_from_lifts(case(changed(known, {place: None}))) is None
    assert system.apart_from_lifts(case(drawn(("10", "34.0"), ("200", "50")))) is None
    assert system.apart_from_lifts(case(booster())) is None


@pytest.mark.parametrize("begins", ["20", "60"])
def test_a_curve_that_begins_far_from_the_lifts_is_not_used(begins):
    """115 to 120 ft are 35.1 to 36.6 m; where nothing is lifted no curve begins outside of it."""
    rows = (("0", begins), ("200", "70"))
    with pytest.raises(Waits):
        system.curve(case(drawn(*rows)), "low")
    header = changed(drawn(*rows), left(regulation="closed_loop_in_drive"))
    assert system.curve(case(header), "low").head(0.0) == pytest.approx(float(begins))


def test_a_curve_that_falls_is_not_used():
    with pytest.raises(Waits) as raised:
        system.curve(case(drawn(("0", "36.0"), ("100", "35.0"), ("200", "50"))), "low")
    assert raised.value.rule == "system.curve"


@pytest.mark.parametrize(
    ("end", "gpm", "feet"),
    # The design point belongs to the highest lift: 8 ft of friction at 1000 gpm.
    [("low", 0, 120), ("low", 1000, 128), ("low", 500, 122), ("high", 0, 115), ("high", 1000, 123)],
)
def test_through_the_design_point(end, gpm, feet):
    found = system.curve(case(changed(booster(), LIFTING)), end)
    assert found.head(gpm * GPM) == pytest.approx(feet * FOOT, rel=1e-5)


def test_a_lift_above_the_design_head_leaves_no_friction():
    site = {"/site/system_design_head": q("110", "ft")}
    found = system.curve(case(changed(booster(), LIFTING | site)), "low")
    assert found.head(0) == found.head(1000 * GPM) == pytest.approx(110 * FOOT)


@pytest.mark.parametrize(
    ("frequency", "end", "gpm"),
    [
        # H = 260 s^2 - 95 q^2 and 120 + 8 q^2 ft, q in 1000 gpm, s of 1770 rpm by the slip of what
        # flows.
        (60, "low", 1177.4),  # 1779.6 rpm, 262.9 - 120 = 103 q^2
        (60, "high", 1198.1),  # 262.9 - 115
        (45, "low", 527.5),  # 1338 rpm, 148.7 - 120
        (40, "low", 0),  # 116.2 ft, less than the lift
        (0, "low", 0),
    ],
)
def test_flow_of_this_pump_alone(frequency, end, gpm):
    """The curve runs through its points: about their parabola."""
    found = system.flow(case(changed(booster(), LIFTING)), frequency, end)
    assert found / GPM == pytest.approx(gpm, rel=0.005, abs=0.01)


def test_a_pump_and_a_system_that_do_not_meet():
    """The system is known from 150 m3/h on only, and asks for more than the pump has there."""
    high = drawn(("150", "90"), ("200", "120"))
    with pytest.raises(Missing) as raised:
        system.flow(case(high), 60, "low")
    assert raised.value.because == "pump and system do not meet"


# At 60 Hz 1779.6 rpm with the slip of 0.8 of rated torque, 1.0054 of the curve's: 260 ft and 95 ft
# a
# square of 1000 gpm become 262.9 ft and 95 ft; less 120 ft and 8 ft (115 ft at the lowest lift). At
# 50 Hz 1485.2 rpm: 183.1 ft.
@pytest.mark.parametrize(
    ("frequency", "end", "gpm"),
    [
        (60, "low", 1177.4),  # sqrt(142.9 / 103)
        (60, "high", 1198.1),  # sqrt(147.9 / 103)
        (50, "low", 782.3),  # sqrt(63.1 / 103)
        (30, "low", 0.0),
        (0, "low", 0.0),
    ],
)
def test_flow_of_the_pump_alone(frequency, end, gpm):
    found = system.flow(case(changed(booster(), LIFTING)), frequency, end)
    assert found / GPM == pytest.approx(gpm, rel=2e-3)


@pytest.mark.parametrize(("frequency", "gpm"), [(60, 2120), (40, 0.0), (0, 0.0)])
def test_flow_of_two_pumps_at_one_frequency(frequency, gpm):
    """1779.1 rpm with the slip of 0.83 of rated torque: 262.7 ft; less 120 ft, and 95 ft and
    4 x 8 ft a square of 1000 gpm of each: 2 sqrt(142.7 / 127). At rest nothing flows."""
    found = system.flow_of(case(changed(booster(), LIFTING)), frequency, "low", 2)
    assert found / GPM == pytest.approx(gpm, rel=2e-3)


def test_a_lift_as_high_as_the_pump_at_no_flow_lets_nothing_flow():
    """270 ft both, and 268.9 ft at 60 Hz without any slip."""
    rows = [{"flow": q(flow, "gpm"), "head": q(head, "ft")}
            for flow, head in (("0", "270.0"), ("500", "275"))]  # fmt: skip
    site = {
        "/site/system_curve_points": rows, "/motor/ratings/1/speed": q("1770", "rpm"),
        "/site/static_lift_low": q("270", "ft"), "/site/static_lift_high": q("270", "ft"),
    }  # fmt: skip
    assert system.flow(case(changed(booster(), LIFTING | site)), 60, "low") == 0.0
