"""System curves."""

from math import inf, nan

import pytest

from calculations import system_curves
from calculations.errors import InvalidInput
from calculations.system_curves import FrictionCurve


def test_head_is_static_plus_friction():
    curve = FrictionCurve(static_head=30, coefficient=2000)
    assert curve.head(0) == 30
    assert curve.head(0.05) == pytest.approx(35)
    assert (curve.lowest_flow, curve.highest_flow, curve.knots) == (0, inf, ())


def test_through_the_design_point():
    curve = system_curves.system_through_design_point(
        static_head=30, design_flow=0.05, design_head=42
    )
    assert curve.head(0.05) == pytest.approx(42)
    assert curve.head(0.025) == pytest.approx(33)
    linear = system_curves.system_through_design_point(
        static_head=30, design_flow=0.05, design_head=42, exponent=1
    )
    assert linear.head(0.025) == pytest.approx(36)


def test_two_points_are_static_head_plus_square():
    curve = system_curves.system_through_points(flows=[0, 0.1], heads=[20, 60])
    assert curve.head(0.05) == pytest.approx(30)
    assert (curve.lowest_flow, curve.highest_flow) == (0, 0.1)
    assert curve.knots == (0, 0.1)


def test_points_need_not_start_at_zero():
    curve = system_curves.system_through_points(flows=[0.02, 0.1], heads=[22, 70])
    assert curve.lowest_flow == 0.02
    assert curve.head(0.05) == pytest.approx(20 + 5000 * 0.0025)


def test_hazen_williams_in_si():
    # EPANET-2.2, chapter 12: 4.727 with feet and cubic feet a second is 10.6668295 in SI.
    k = system_curves.hazen_williams_coefficient(length=2000, bore=0.25, roughness=130)
    assert k == pytest.approx(2221.65428316, rel=1e-8)
    unit = system_curves.hazen_williams_coefficient(length=1, bore=1, roughness=1)
    assert unit == pytest.approx(10.6668295, rel=1e-8)


@pytest.mark.parametrize(
    ("call", "argument"),
    [
        (lambda: FrictionCurve(static_head=nan, coefficient=1), "static_head"),
        (lambda: FrictionCurve(static_head=1, coefficient=-1), "coefficient"),
        (lambda: FrictionCurve(static_head=1, coefficient=1, exponent=0), "exponent"),
        (
            lambda: system_curves.system_through_design_point(
                static_head=30, design_flow=0, design_head=42
            ),
            "design_flow",
        ),
        (
            lambda: system_curves.system_through_design_point(
                static_head=30, design_flow=0.1, design_head=29
            ),
            "design_head",
        ),
        (
            lambda: system_curves.system_through_design_point(
                static_head=nan, design_flow=0.1, design_head=29
            ),
            "static_head",
        ),
        (lambda: system_curves.system_through_points(flows=[-1, 1], heads=[1, 2]), "flows"),
        (lambda: system_curves.system_through_points(flows=[1, 1], heads=[1, 2]), "abscissas"),
        (
            lambda: system_curves.hazen_williams_coefficient(length=-1, bore=1, roughness=100),
            "length",
        ),
        (lambda: system_curves.hazen_williams_coefficient(length=1, bore=0, roughness=1), "bore"),
        (
            lambda: system_curves.hazen_williams_coefficient(length=1, bore=1, roughness=0),
            "roughness",
        ),
    ],
)
def test_refusals_name_the_argument(call, argument):
    with pytest.raises(InvalidInput) as raised:
        call()
    assert raised.value.argument == argument


@pytest.mark.parametrize(
    ("given", "argument"),
    [
        ({"static_head": inf}, "static_head"),
        ({"coefficient": inf}, "coefficient"),
        ({"coefficient": -0.1}, "coefficient"),
        ({"exponent": inf}, "exponent"),
        ({"exponent": 0.0}, "exponent"),
    ],
)
def test_a_curve_of_friction_is_made_of_finite_numbers(given, argument):
    with pytest.raises(InvalidInput) as raised:
        system_curves.FrictionCurve(**({"static_head": 1.0, "coefficient": 1.0} | given))
    assert raised.value.argument == argument


def test_level_design_head_is_no_friction():
    curve = system_curves.system_through_design_point(
        static_head=30, design_flow=0.05, design_head=30
    )
    assert curve.coefficient == 0
