"""What sleep frequency to propose.

The booster holds 128.0 ft at the lowest suction from 41.55 Hz on (1241.9 rpm, and 4.7 rpm of slip
at no flow), and 121.1 ft at the highest. At 42.1 Hz and 42.6 Hz, less the slip of what flows, it
gives 173 and 246 gpm at the lowest suction, 315 and 362 gpm at the highest: 260 ft less 95 ft of
(Q / 1000 gpm)^2 at 1770 rpm, all to within the fit of the curve. Half of its best flow, which is
1000 gpm at 1770 rpm, is passed at 42.56 Hz.
"""

import pytest

from calculations.aspects import holding, sleeping
from calculations.case import Missing
from tests.calculations.building import case, changed
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import left, sleeping_booster

POINTS = "/event/duty_points"
DESIGN, BEST = "/site/system_design_flow", "/pump/best_efficiency_flow"


@pytest.mark.parametrize(
    ("changes", "frequency", "fits"),
    [
        # 1.0 Hz of room, 0.5 Hz at the least: common practice, no source.
        # At 42.6 Hz more than half of the best flow; 250 gpm are kept at 42.16 Hz.
        ({}, 42.2, True),
        ({BEST: q("1100", "gpm")}, 42.6, True),
        (left(minimum_frequency=q("50", "Hz")), 50.0, False),
        # Less than the pump's share of the design flow has to flow there.
        ({DESIGN: q("300", "gpm")}, 42.2, True),
        ({DESIGN: q("230", "gpm")}, 42.2, True),
        ({DESIGN: q("150", "gpm")}, 42.1, False),
        # Below the maximum.
        (left(maximum_frequency=q("42.2", "Hz")), 42.1, True),
        (left(maximum_frequency=q("42.1", "Hz")), 42.1, False),
        # At most 70 % of best efficiency at the lowest suction, 100 % at the highest: 600 gpm are
        # 430 gpm at 42.6 Hz, 500 gpm 358 and 354 gpm, 400 gpm 283 gpm at 42.1 Hz.
        ({BEST: q("600", "gpm")}, 42.6, True),
        ({BEST: q("500", "gpm")}, 42.1, True),
        ({BEST: q("400", "gpm")}, 42.1, False),
        # Where the flow at the highest suction is not known, none is too much.
        ({"/site/suction_pressure_high": None, BEST: q("400", "gpm")}, 42.6, True),
        # 236.25 ft at 500 gpm: 1770 sqrt(128.0 / 236.25) rpm and 9.9 rpm of slip are 43.76 Hz. It
        # gives way where that were more than half of the best flow.
        ({"/pump/minimum_continuous_flow": q("500", "gpm"), BEST: q("1400", "gpm")}, 43.8, True),
        ({"/pump/minimum_continuous_flow": q("500", "gpm")}, 42.1, True),
        ({"/pump/minimum_frequency_permitted": q("43.4", "Hz")}, 43.4, True),
        ({"/pump/bearing_frequency": q("43.4", "Hz")}, 43.4, True),
        # Two pumps share 460 gpm.
        (left(pumps_maximum_running=2) | {DESIGN: q("460", "gpm")}, 42.2, True),
        (left(pumps_maximum_running=2) | {DESIGN: q("300", "gpm")}, 42.1, False),
    ],
)
def test_what_is_proposed(changes, frequency, fits):
    found = sleeping.proposal(case(changed(sleeping_booster(), changes)))
    assert (found.frequency, found.fits) == (pytest.approx(frequency), fits)


@pytest.mark.parametrize(("flow", "lies_beyond"), [("1340", False), ("1360", True)])
def test_a_minimum_flow_beyond_the_curve_has_no_frequency(flow, lies_beyond):
    """It ends at 1350 gpm."""
    found = case(changed(sleeping_booster(), {"/pump/minimum_continuous_flow": q(flow, "gpm")}))
    if lies_beyond:
        with pytest.raises(Missing) as raised:
            sleeping.at_minimum_flow(found, "low")
        assert raised.value.because == "the minimum flow lies beyond the curve"
    else:
        assert sleeping.at_minimum_flow(found, "low") > 60


def closed(hertz, psi, **more):
    """A closed-valve reading: 30 psi in front of the pump, gauges as at the other points."""
    return {"purpose": "shut_off", "flow": q("0", "gpm"), "frequency": q(hertz, "Hz"),
            "suction_pressure": q("30", "psi"), "discharge_pressure": q(psi, "psi"),
            "suction_gauge_elevation": q("2", "ft"), "discharge_gauge_elevation": q("2", "ft"),
            "instruments": [], **more}  # fmt: skip


def test_a_closed_valve_tells_zero_flow_of_a_worn_pump():
    """42 Hz hold 130.8 ft by the curve, read are 54.55 psi or 126.0 ft: 3.7 % less.

    128.0 ft take sqrt(128.0 / 126.0) of the speed, 1255.2 rpm: 1265.1 rpm and 4.85 rpm of slip.
    """
    document = changed(sleeping_booster(), {f"{POINTS}/-": closed("42", "84.55")})
    found = sleeping.zero_flow(case(document))
    assert found.seen
    assert found.frequency == pytest.approx(42.33, abs=0.02)
    assert found.above_curve == pytest.approx(42.33 - 41.55, abs=0.02)
    # Half of 1 % of either gauge and its last digit; the last digit of the frequency.
    assert 0.2 < found.off.less == found.off.more < 1.0
    assert sleeping.proposal(case(document)).frequency == pytest.approx(42.9)


@pytest.mark.parametrize(
    "reading",
    [
        closed("42", "70"),  # off its curve: no pump of this kind, or another speed
        closed("42", "84.55", frequency=None),
        closed("0", "84.55"),
        closed("42", "84.55", discharge_pressure=None),
        closed("42", "84.55", flow=q("200", "gpm")),
        closed("42", "84.55", purpose="normal"),
        closed("42", "30", suction_pressure=q("84.55", "psi")),  # gauges exchanged: no head at all
        closed("42", "29.9"),
        closed("42", "30"),
    ],
)
def test_what_shows_no_zero_flow_leaves_it_to_the_curve(reading):
    found = sleeping.zero_flow(case(changed(sleeping_booster(), {f"{POINTS}/-": reading})))
    assert not found.seen
    assert found.frequency == pytest.approx(41.55, abs=0.02)
    assert found.above_curve == 0


# -- the flow at a head, on parabolas through three points at 1770 rpm: algebra -------------------

FOOT, GPM, AT_1770_RPM = 0.3048, 3.785411784e-3 / 60, 29.5


def flow_at(head, points, *, falls=False, **changes):
    """Flow [gpm] at a head [ft]; `points` in ft over gpm."""
    rows = [{"flow": q(flow, "gpm"), "head": q(height, "ft")} for flow, height in points]
    document = changed(sleeping_booster(), {"/pump/curve_points": rows} | changes)
    given = case(document)
    grows = holding.drawdown(given, 1.0) if falls else 0.0
    exponent = 1.0 if falls else 2.0
    return sleeping._flow_at_head(given, AT_1770_RPM, head * FOOT, grows, exponent) / GPM


FALLING = (("0", "260"), ("600", "225.8"), ("1200", "123.2"))  # 260 - 95 x^2, x in 1000 gpm
HUMPED = (("0", "200"), ("600", "214.4"), ("1200", "185.6"))  # 200 + 60 x - 60 x^2


@pytest.mark.parametrize(
    ("points", "head", "flow"),
    [
        (FALLING, 222.0, 632.4555),  # sqrt(38 / 95)
        (FALLING, 260.0, 0.0),
        (FALLING, 261.0, 0.0),
        # Beyond the last point with the slope found there, -190 x 1.2 = -228 ft per 1000 gpm.
        (FALLING, 100.4, 1300.0),
        (FALLING, 0.0, 1740.3509),
        (HUMPED, 190.0, 1145.4972),  # (1 + sqrt(1 + 4 x 10 / 60)) / 2
        (HUMPED, 160.0, 1504.7619),  # -84 ft per 1000 gpm: 25.6 ft below the last point
        # A check valve that stays shut, though the pump would give more once it flowed.
        (HUMPED, 200.0, 0.0),
        (HUMPED, 210.0, 0.0),
    ],
)
def test_the_flow_at_a_head(points, head, flow):
    assert flow_at(head, points) == pytest.approx(flow, abs=1e-3)


@pytest.mark.parametrize(
    ("head", "flow"), [(150.0, 1019.7168), (259.0, 59.9107), (260.0, 0.0), (262.0, 0.0)]
)
def test_the_flow_out_of_a_well_whose_level_falls(head, flow):
    """11 ft at 1000 gpm: 260 - 95 x^2 = H + 11 x at (sqrt(121 + 380 (260 - H)) - 11) / 190."""
    depths = {
        "/site/static_water_depth": q("45", "ft"), "/site/pumping_water_depth": q("56", "ft"),
        "/site/pumping_water_depth_at_flow": q("1000", "gpm"),
    }  # fmt: skip
    assert flow_at(head, FALLING, falls=True, **depths) == pytest.approx(flow, abs=1e-3)


@pytest.mark.parametrize(
    ("points", "head"), [(FALLING, -1.0), ([(at, "200") for at in ("0", "600", "1200")], 190.0)]
)
def test_a_head_that_the_curve_never_comes_down_to(points, head):
    with pytest.raises(Missing) as raised:
        flow_at(head, points)
    assert raised.value.because == "the set point lies beyond the curve"


def test_what_a_main_loses_meets_the_curve_where_both_need_the_same():
    """260 - 95 x^2 = 180 + 33 x^2 at sqrt(80 / 128) of 1000 gpm."""
    loss = 33 * FOOT / (1000 * GPM) ** 2
    rows = [{"flow": q(flow, "gpm"), "head": q(height, "ft")} for flow, height in FALLING]
    given = case(changed(sleeping_booster(), {"/pump/curve_points": rows}))
    found = sleeping._flow_at_head(given, AT_1770_RPM, 180 * FOOT, loss)
    assert found / GPM == pytest.approx(790.5694, abs=1e-2)
