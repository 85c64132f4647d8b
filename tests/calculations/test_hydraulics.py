"""Heads, power and specific speed."""

from math import nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculations import hydraulics, water
from calculations.errors import InvalidInput
from calculations.hydraulics import Gauge
from tests.calculations.comparing import Near, assert_matches
from tests.calculations.us_units import (
    FOOT,
    GPM,
    HORSEPOWER,
    INCH,
    PSI,
    kelvin,
)
from tests.calculations.worked_examples import Case, worked

COLD = 998.2072

SUCTION = Gauge(pressure=4.5 * PSI, elevation=1.0 * FOOT, bore=7.981 * INCH)
DISCHARGE = Gauge(pressure=62.0 * PSI, elevation=2.0 * FOOT, bore=6.065 * INCH)


def gauges_of(given: dict) -> dict:
    return {
        "flow": given["Q_gpm"] * GPM,
        "suction": Gauge(
            given["P_suction_psig"] * PSI,
            given["z_gauge_s_ft_above_datum"] * FOOT,
            given["ID_s_in"] * INCH,
        ),
        "discharge": Gauge(
            given["P_discharge_psig"] * PSI,
            given["z_gauge_d_ft_above_datum"] * FOOT,
            given["ID_d_in"] * INCH,
        ),
    }


@worked("hydraulics", "hydraulics: total head from gauges")
def test_example_of_total_head(case: Case) -> None:
    gauges = gauges_of(case["inputs"])
    density = case["inputs"]["rho_kg_m3"]
    head = hydraulics.total_head(**gauges, density=density)
    pocket_book = PSI / (2.31 * FOOT) / 9.80665
    feet = {}
    for side in ("discharge", "suction"):
        v = hydraulics.velocity(flow=gauges["flow"], bore=gauges[side].bore)
        feet[f"v_{side[0]}_ft_s"] = Near(v / FOOT, absolute=0.0005)
        hv = hydraulics.velocity_head(velocity=v)
        feet[f"hv_{side[0]}_ft"] = Near(hv / FOOT, absolute=0.0005)
    with_231 = hydraulics.total_head(**gauges, density=pocket_book).total / FOOT
    assert_matches(
        case,
        **feet,
        TDH_ft=Near(head.total / FOOT, absolute=0.001),
        TDH_m=Near(head.total, absolute=0.0005),
        **{"TDH_ft_with_2.31": Near(with_231, absolute=0.001)},
    )


@worked("hydraulics", "hydraulics: total head without velocity head and gauge elevation")
def test_example_of_what_is_left_out_of_total_head(case: Case) -> None:
    head = hydraulics.total_head(
        flow=1200 * GPM, suction=SUCTION, discharge=DISCHARGE, density=COLD
    )
    short = head.pressure_head / FOOT
    assert_matches(
        case,
        H_ft=Near(short, absolute=0.001),
        error_ft=Near(short - head.total / FOOT, absolute=0.001),
    )


@worked("hydraulics", "hydraulics: gpm and feet for each horsepower")
def test_example_of_gpm_and_feet_for_each_horsepower(case: Case) -> None:
    density = water.density(temperature=kelvin(case["inputs"]["t_C"]))
    power = hydraulics.hydraulic_power(flow=GPM, head=FOOT, density=density)
    constant = HORSEPOWER / power
    assert_matches(
        case,
        constant_gpm_ft_per_hp=Near(constant, absolute=0.05),
        error_of_3960_pct=Near(100 * (constant / 3960 - 1), absolute=0.002),
        error_of_3956_pct=Near(100 * (constant / 3956 - 1), absolute=0.002),
    )


@worked("hydraulics", "hydraulics: wire-to-water efficiency")
def test_example_of_wire_to_water(case: Case) -> None:
    given = case["inputs"]
    point = {"flow": given["Q_gpm"] * GPM, "head": given["TDH_ft"] * FOOT}
    electrical = given["P_in_kW"] * 1000
    rounded = HORSEPOWER / 3960 / (GPM * FOOT * 9.80665)
    power = hydraulics.hydraulic_power(**point, density=COLD)
    horsepower = hydraulics.hydraulic_power(**point, density=rounded) / HORSEPOWER
    exact = hydraulics.wire_to_water_efficiency(**point, density=COLD, electrical_power=electrical)
    approximate = hydraulics.wire_to_water_efficiency(
        **point, density=rounded, electrical_power=electrical
    )
    assert_matches(
        case,
        WHP_hp_3960=Near(horsepower, absolute=0.001),
        P_hyd_kW_exact=Near(power / 1000, absolute=0.001),
        eta_ww_pct_3960=Near(100 * approximate, absolute=0.002),
        eta_ww_pct_exact=Near(100 * exact, absolute=0.002),
    )


@worked("hydraulics", "hydraulics: power of a public network")
def test_example_of_public_network(case: Case) -> None:
    given = case["inputs"]
    power = hydraulics.hydraulic_power(
        flow=given["Q_gpm"] * GPM, head=given["H_ft"] * FOOT, density=998.2
    )
    assert_matches(
        case,
        **{"P_hyd_kW_998.2": Near(power / 1000, absolute=0.01)},
        P_elec_kW_at_75pct=Near(power / 750, absolute=0.01),
    )


@worked("hydraulics", "hydraulics: specific speed")
def test_example_of_specific_speed(case: Case) -> None:
    given = case["inputs"]
    metric = hydraulics.specific_speed(
        speed=given["n_rpm"] / 60, flow=given["Q_gpm"] * GPM, head=given["H_ft"] * FOOT
    )
    ratio = hydraulics.US_PER_METRIC_SPECIFIC_SPEED
    assert_matches(
        case,
        Ns_US=Near(metric * ratio, relative=1e-5),
        nq_metric_rpm_m3s_m=Near(metric, relative=1e-5),
        ratio=Near(ratio, relative=1e-5),
    )


class TestTotalHead:
    def test_us_shortcuts_agree(self):
        # Definitions: v = 0.40849 Q/d^2 ft/s, hv = 0.002593 Q^2/d^4 ft (gpm, inches).
        v = hydraulics.velocity(flow=1000 * GPM, bore=8 * INCH)
        assert v / FOOT == pytest.approx(0.40849 * 1000 / 64, rel=1e-4)
        hv = hydraulics.velocity_head(velocity=v)
        assert hv / FOOT == pytest.approx(0.002593 * 1000**2 / 8**4, rel=2e-4)

    def test_equal_bores_cancel(self):
        head = hydraulics.total_head(
            flow=0.05, suction=Gauge(0, 0, 0.2), discharge=Gauge(1e5, 0, 0.2), density=1000
        )
        assert head.velocity_head == 0
        assert head.loss_head == 0
        assert head.total == pytest.approx(10.197, abs=0.001)

    def test_one_datum_for_both_gauges(self):
        moved = hydraulics.total_head(
            flow=1200 * GPM,
            suction=Gauge(SUCTION.pressure, SUCTION.elevation + 7, SUCTION.bore),
            discharge=Gauge(DISCHARGE.pressure, DISCHARGE.elevation + 7, DISCHARGE.bore),
            density=COLD,
        )
        assert moved.total / FOOT == pytest.approx(135.711, abs=0.001)

    def test_well_pump_is_reckoned_from_the_pumping_level(self):
        # Hydrostatics: 2 bar at 1 m over the ground, water 60 m down, 3 m of friction in the pipe.
        head = hydraulics.total_head_from_level(
            flow=0.0,
            water_level=-60.0,
            discharge=Gauge(pressure=2e5, elevation=1.0, bore=0.1),
            density=1000,
            pipe_loss=3.0,
        )
        assert (head.elevation_head, head.loss_head, head.velocity_head) == (61.0, 3.0, 0.0)
        assert head.total == pytest.approx(20.394 + 64.0, abs=0.001)

    def test_velocity_head_of_a_well_counts(self):
        gauge = Gauge(pressure=0.0, elevation=0.0, bore=0.1)
        head = hydraulics.total_head_from_level(
            flow=0.02, water_level=0.0, discharge=gauge, density=1000
        )
        # v = 0.02/(pi/4 0.01) = 2.5465 m/s.
        assert head.total == pytest.approx(2.5465**2 / 19.6133, rel=1e-4)


class TestSpecificSpeed:
    def test_head_is_shared_by_stages_and_flow_by_sides(self):
        one = hydraulics.specific_speed(speed=29, flow=0.1, head=40)
        assert hydraulics.specific_speed(speed=29, flow=0.1, head=160, stages=4) == pytest.approx(
            one
        )
        assert hydraulics.specific_speed(
            speed=29, flow=0.2, head=40, suction_sides=2
        ) == pytest.approx(one)

    @pytest.mark.parametrize(
        ("argument", "value"), [("stages", 0), ("stages", 401), ("suction_sides", 3)]
    )
    def test_impossible_counts(self, argument, value):
        with pytest.raises(InvalidInput) as raised:
            hydraulics.specific_speed(speed=29, flow=0.1, head=40, **{argument: value})
        assert raised.value.argument == argument


class TestEfficiency:
    def test_above_one_is_returned_for_a_rule_to_name(self):
        # 1200 gpm at 41.4 m need 30.7 kW: 20 kW cannot be right.
        efficiency = hydraulics.wire_to_water_efficiency(
            flow=1200 * GPM, head=41.36, density=998.2, electrical_power=20e3
        )
        assert efficiency == pytest.approx(1.533, abs=0.001)

    def test_specific_energy(self):
        # Definition: 3.6 kW for 1 m3 in an hour is 3.6 kWh/m3.
        assert hydraulics.specific_energy(power=3600, flow=1 / 3600) == pytest.approx(3.6 * 3.6e6)


@given(
    flow=st.floats(0, 2),
    bore=st.floats(0.01, 3),
    suction=st.floats(-9e4, 1e6),
    rise=st.floats(0, 5e6),
)
def test_head_rises_with_discharge_pressure(flow, bore, suction, rise):
    def head(pressure):
        return hydraulics.total_head(
            flow=flow,
            suction=Gauge(suction, 0, bore),
            discharge=Gauge(pressure, 0, bore),
            density=1000,
        ).total

    assert head(suction + rise) - head(suction) == pytest.approx(rise / 9806.65, abs=1e-6)


GAUGE = Gauge(1e5, 0.0, 0.2)


@pytest.mark.parametrize(
    ("call", "argument"),
    [
        (lambda: hydraulics.velocity(flow=nan, bore=0.1), "flow"),
        (lambda: hydraulics.velocity(flow=0.1, bore=0), "bore"),
        (lambda: hydraulics.velocity_head(velocity=nan), "velocity"),
        (
            lambda: hydraulics.total_head(flow=-1, suction=GAUGE, discharge=GAUGE, density=1000),
            "flow",
        ),
        (
            lambda: hydraulics.total_head(flow=1, suction=GAUGE, discharge=GAUGE, density=0),
            "density",
        ),
        (
            lambda: hydraulics.total_head(
                flow=1, suction=Gauge(1, nan, 1), discharge=GAUGE, density=1000
            ),
            "suction_elevation",
        ),
        (
            lambda: hydraulics.total_head_from_level(
                flow=1, water_level=0, discharge=GAUGE, density=1000, pipe_loss=-1
            ),
            "pipe_loss",
        ),
        (
            lambda: hydraulics.total_head_from_level(
                flow=1, water_level=nan, discharge=GAUGE, density=1000
            ),
            "water_level",
        ),
        (lambda: hydraulics.hydraulic_power(flow=1, head=nan, density=1000), "head"),
        (lambda: hydraulics.hydraulic_power(flow=1, head=1, density=0), "density"),
        (
            lambda: hydraulics.wire_to_water_efficiency(
                flow=1, head=1, density=1000, electrical_power=0
            ),
            "electrical_power",
        ),
        (lambda: hydraulics.specific_energy(power=1, flow=0), "flow"),
        (lambda: hydraulics.specific_energy(power=-1, flow=1), "power"),
        (lambda: hydraulics.specific_speed(speed=0, flow=1, head=1), "speed"),
    ],
)
def test_refusals_name_the_argument(call, argument):
    with pytest.raises(InvalidInput) as raised:
        call()
    assert raised.value.argument == argument
