"""Draw-down against the meter.

Published example (H14): a well of 8 ft, 2.5 ft in 200 s, filling 1.0 ft in 240 s: inflow 94.0 gpm,
flow 376.0 gpm. Leaving the inflow out reads 282.0 gpm, 25 % low.
"""

import pytest

from tests.calculations.building import (
    booster,
    changed,
    derived,
    judged,
    lacking,
    verdicts,
    without,
)
from tests.calculations.building_plates import q

RULE = "flow.drawdown"
H14 = {
    "diameter": q("8.00", "ft"), "level_start": q("6.0", "ft"), "level_end": q("3.5", "ft"),
    "time": q("200", "s"), "fill_rise": q("1.0", "ft"), "fill_time": q("240", "s"),
    "inflow_method": "fill_before", "pumps_running": 1, "frequency": q("43.3", "Hz"),
}  # fmt: skip


# At 1289 rpm the curve gives 130.3 ft at 282 gpm: 7.6 ft or 3.3 psi more than at the third point.
ON_THE_CURVE = {"282": {"/event/duty_points/2/discharge_pressure": q("88.3", "psi")}}


def drawn(metered: str, **test: object):
    """The booster's third point (43.3 Hz) with this reading of the meter, and a draw-down."""
    return changed(
        booster(),
        {"/event/drawdown_tests": [H14 | test], "/event/duty_points/2/flow": q(metered, "gpm")}
        | ON_THE_CURVE.get(metered, {}),
    )


def test_flow_of_the_published_example():
    found = derived(judged(drawn("376")), "flow.by-drawdown")
    assert found.shown.unit == "gpm"
    assert float(found.shown.value) == pytest.approx(376.0, abs=0.05)


@pytest.mark.parametrize(
    ("metered", "expected"),
    [
        # 10 % would be 418 and 342 gpm. Draw-down is known to 7.5 % (from memory), the meter to
        # 15 gpm and half a gallon: 11.2 % of 423 gpm, 12.1 % of 336 gpm together.
        ("376", []),
        ("423", []),  # -11.1 %
        ("430", [("review", "plain")]),  # -12.6 %
        ("336", []),  # +11.9 %
        ("332", [("review", "plain")]),  # +13.3 %
    ],
)
def test_against_the_meter(metered, expected):
    assert verdicts(drawn(metered), RULE) == expected


def test_the_trap_of_the_inflow():
    document = drawn("376", inflow_method="none")
    assert verdicts(document, RULE) == [("review", "inflow")]


def test_an_inflow_counted_although_it_was_shut_off():
    assert verdicts(drawn("282"), RULE) == [("review", "inflow_shut")]


@pytest.mark.parametrize(
    ("test", "expected"),
    [
        ({"diameter": q("16.00", "ft")}, "area"),  # radius read as diameter, and doubled: 4
        ({"diameter": q("4.00", "ft")}, "area"),  # radius for diameter
        ({"diameter": None, "plan_area": q("100.53", "ft2")}, "area"),  # two wells
    ],
)
def test_factors_of_the_area(test, expected):
    assert verdicts(drawn("376", **test), RULE) == [("review", expected)]


def test_only_points_at_the_same_frequency_are_compared():
    (missing,) = lacking(judged(drawn("376", frequency=q("50", "Hz"))), RULE)
    assert missing.because == "no metered point at the frequency of the draw-down"
    (missing,) = lacking(judged(drawn("376", frequency=q("43.9", "Hz"))), RULE)  # 0.6 Hz apart
    assert missing.because == "no metered point at the frequency of the draw-down"
    assert verdicts(drawn("430", frequency=q("43.8", "Hz")), RULE) == [("review", "plain")]


def test_a_draw_down_that_counts_no_pumps_is_of_one():
    assert verdicts(drawn("430", pumps_running=None), RULE) == [("review", "plain")]
    (missing,) = lacking(judged(drawn("430", pumps_running=2)), RULE)
    assert missing.because == "no metered point at the frequency of the draw-down"


def test_a_point_with_another_pump_beside_it_is_another_flow():
    beside = {"/event/duty_points/2/other_pumps_running": 1}
    (missing,) = lacking(judged(changed(drawn("376"), beside)), RULE)
    assert missing.because == "no metered point at the frequency of the draw-down"


def test_only_the_meter_is_compared():
    document = changed(drawn("376"), {"/event/duty_points/2/flow_method": "drawdown"})
    assert lacking(judged(document), RULE) != []


def test_filling_is_needed_where_it_was_measured():
    (missing,) = lacking(judged(drawn("376", fill_time=None)), RULE)
    assert missing.needs == ("/event/drawdown_tests/0/fill_time",)


def test_no_draw_down_nothing_to_say():
    assert lacking(judged(without(booster(), "/event/duty_points")), RULE) == []


def test_at_fixed_speed_the_open_point_is_compared():
    """No frequency decides there; a throttled point has less flow and says nothing."""
    throttled = {"/pump_set/drive": None, "/event/duty_points/0/flow_method": "strap_on"}
    fixed = changed(drawn("376"), throttled)
    fixed = without(fixed, "/drive", "/event/settings")
    (missing,) = lacking(judged(fixed), RULE)
    assert missing.because == "no metered point at the frequency of the draw-down"
    opened = changed(fixed, {"/event/duty_points/2/purpose": "maximum"})
    assert lacking(judged(opened), RULE) == []


def test_draw_down_waits_for_the_point():
    document = changed(drawn("376"), {"/event/duty_points/2/flow": q("1720", "gpm")})
    (waiting,) = lacking(judged(document), RULE)
    assert waiting.waits_for == "curve.point"


def test_a_level_that_rose_is_no_flow():
    document = drawn("376", level_start=q("3.5", "ft"), level_end=q("6.0", "ft"))
    (missing,) = lacking(judged(document), RULE)
    assert missing.because == "no flow"


def test_without_flow_at_the_meter_there_is_nothing_to_compare():
    """At 1289 rpm and no flow the curve gives 137.9 ft: 91.7 psi at the gauge."""
    shut = {"/event/duty_points/2/discharge_pressure": q("91.7", "psi")}
    (missing,) = lacking(judged(changed(drawn("0"), shut)), RULE)
    assert missing.because == "no flow"
