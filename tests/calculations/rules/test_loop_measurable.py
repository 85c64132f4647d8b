"""Limits inside the range of the sensor that they are read from; no published source."""

import pytest

from tests.calculations.building import (
    booster,
    changed,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import (
    LEFT,
    left,
    lift_station,
)

FREE = without(
    changed(
        booster(),
        {
            "/site/discharge_pressure_limit": q("600", "psi"),
            "/pump/maximum_working_pressure": q("600", "psi"),
        },
    ),
    "/site/relief_valve_setting",
    f"{LEFT}/high_discharge_limit",
    "/vessels",
    "/event/vessel_checks",
)


@pytest.mark.parametrize(
    ("name", "value", "expected"),
    [
        ("high_discharge_limit", "196", []),  # 98 % of 200 psi
        ("high_discharge_limit", "197", [("review", "limit")]),
        ("low_discharge_limit", "4", []),  # 2 %
        ("low_discharge_limit", "3", [("review", "limit")]),
        ("low_suction_limit", "1.2", []),  # 2 % of the suction sensor's 60 psi
        ("low_suction_limit", "1.1", [("review", "limit")]),
        ("low_suction_limit", "-5", [("review", "limit")]),
    ],
)
def test_limits_inside_the_range_of_their_sensor(name, value, expected):
    document = changed(booster(), left(**{name: q(value, "psi")}))
    document = without(document, "/site/relief_valve_setting")
    assert verdicts(document, "loop.limit-measurable") == expected


FLOW = {"/sensors/0/quantity": "flow", "/sensors/0/reference": None,
        "/sensors/0/lower_range_value": q("0", "gpm"),
        "/sensors/0/upper_range_value": q("1500", "gpm"),
        "/event/sensor_verifications": None, "/event/step_tests": None} | left(
    regulated_quantity="flow", set_point=q("700", "gpm"), feedback_at_lower_signal=q("0", "gpm"),
    feedback_at_upper_signal=q("1500", "gpm"), wake_value=None, sleep_boost=None,
    low_discharge_limit=None, high_discharge_limit=None,
)  # fmt: skip


@pytest.mark.parametrize("loop", [{}, FLOW])
@pytest.mark.parametrize(
    ("unit", "value", "upper"), [("psi", "1.1", "60 psi"), ("bar", "0.07", "4 bar")]
)
def test_a_range_is_told_in_the_unit_of_its_sensor(loop, unit, value, upper):
    """0.07 bar are 1.75 % of 4 bar; the loop is kept in psi, or on a flow."""
    suction = {"/sensors/1/lower_range_value": q("0", unit),
               "/sensors/1/upper_range_value": q(*upper.split())}  # fmt: skip
    document = changed(booster(), loop | suction | left(low_suction_limit=q(value, unit)))
    (found,) = of_rule(judged(document), "loop.limit-measurable")
    assert (found.parameters["lower"], found.parameters["upper"]) == (f"0 {unit}", upper)


def test_a_limit_of_a_switch_is_not_the_transmitters():
    switch = left(
        high_discharge_limit=q("250", "psi"), high_discharge_limit_measured_by="pressure_switch"
    )
    assert verdicts(changed(booster(), switch), "loop.limit-measurable") == []


def test_a_limit_in_pressure_is_not_read_from_a_loop_on_level():
    limit = left(high_discharge_limit=q("2", "bar"),
                 high_discharge_limit_measured_by="regulating_sensor")  # fmt: skip
    (missing,) = lacking(judged(changed(lift_station(), limit)), "loop.limit-measurable")
    assert missing.needs == (f"{LEFT}/high_discharge_limit_measured_by",)


def test_without_a_curve_no_pressure_at_no_flow_is_asked_for():
    document = without(booster(), "/pump/curve_points")
    assert lacking(judged(document), "loop.limit-measurable") == []


@pytest.mark.parametrize(
    ("upper", "burst", "expected"),
    [
        # 145.8 psi at no flow, 60 Hz and 33 psi of suction, at the transmitter.
        ("150", "600", []),
        ("140", "600", [("note", "shut_off")]),
        ("140", "145", [("review", "overpressure")]),
    ],
)
def test_shut_off_pressure_against_the_transmitter(upper, burst, expected):
    document = changed(
        FREE,
        {"/sensors/0/upper_range_value": q(upper, "psi"),
         "/sensors/0/overpressure_limit": q(burst, "psi")}
        | left(feedback_at_upper_signal=q(upper, "psi")),
    )  # fmt: skip
    assert verdicts(document, "loop.limit-measurable") == expected


def test_in_a_deep_well_another_unit_fits_by_the_head_of_the_pump():
    """2.5 entered in psi for 2.5 bar (36.3 psi), kept above 60 ft of lift out of a head of 170 ft.

    160 ft of design head less 60 ft of depth and 3 ft of height leave 42 psi: 13.6 % more than
    36.3 psi, but that is 8.5 % of the pump's head.
    """
    deep = {
        "/site/suction_kind": "well", "/site/static_water_depth": q("60", "ft"),
        "/site/pumping_water_depth": q("60", "ft"), "/site/system_design_head": q("160", "ft"),
        "/site/minimum_service_pressure": q("20", "psi"),
    }  # fmt: skip
    document = changed(booster(), deep | left(set_point=q("2.5", "psi")))
    assert verdicts(document, "loop.set-point-unit") == [("stop", "below_service_unit")]


def test_what_a_transmitter_sees_is_told_at_its_own_height():
    document = without(booster(), "/sensors/0/tapping_elevation")
    (missing,) = lacking(judged(document), "loop.limit-measurable")
    assert missing.needs == ("/sensors/0/tapping_elevation",)


@pytest.mark.parametrize(
    ("set_point", "upper", "expected"),
    [
        # 40 L/s are 144 m3/h of 60; 40 m3/h are 67 % of the span
        (q("40", "L/s"), q("60", "m3/h"), [("review", "unit")]),
        # 100 L/s are outside as well, and so are 100 m3/h
        (q("100", "L/s"), q("60", "m3/h"), [("review", "beyond")]),
        (q("62", "m3/h"), q("60", "m3/h"), [("review", "beyond")]),
        (q("40", "m3/h"), q("60", "m3/h"), []),
    ],
)
def test_a_flow_set_in_another_unit_than_the_scale_is_named(set_point, upper, expected):
    document = changed(
        booster(),
        {"/sensors/0/quantity": "flow", "/sensors/0/reference": None,
         "/sensors/0/lower_range_value": q("0", "m3/h"), "/sensors/0/upper_range_value": upper,
         "/event/sensor_verifications": None, "/event/step_tests": None}
        | left(regulated_quantity="flow", set_point=set_point,
               feedback_at_lower_signal=q("0", "m3/h"), feedback_at_upper_signal=upper,
               wake_value=None, sleep_boost=None, low_discharge_limit=None,
               high_discharge_limit=None),
    )  # fmt: skip
    assert verdicts(document, "loop.set-point-in-span") == expected
    if expected == [("review", "unit")]:
        (finding,) = of_rule(judged(document), "loop.set-point-in-span")
        assert finding.parameters["read"] == "40 m3/h"


def test_a_wake_value_below_the_pressure_that_is_promised_is_told_elsewhere():
    """3 psi are below 2 % of 200 psi as well; 60 psi are promised. The other limits still count."""
    low = left(wake_value=q("3", "psi"), low_discharge_limit=q("3", "psi"))
    (found,) = of_rule(judged(changed(FREE, low)), "loop.limit-measurable")
    assert found.subject == f"{LEFT}/low_discharge_limit"
    assert found.limit == "2 % to 98 % of span"


def test_where_no_pressure_is_promised_a_wake_value_outside_the_range_is_told():
    document = without(FREE, "/site/minimum_service_pressure")
    judgement = judged(changed(document, left(wake_value=q("3", "psi"))))
    (found,) = of_rule(judgement, "loop.limit-measurable")
    assert found.subject == f"{LEFT}/wake_value"
