"""Whole chains: legitimate scalings come out right, wrong ones do not."""

from dataclasses import replace
from math import nan

import pytest
from hypothesis import given
from hypothesis import strategies as st

from calculations.errors import InvalidInput
from calculations.sensor_chains import (
    SensorChain,
    chain_points,
    fitting_feedback,
    largest_chain_error,
)
from calculations.signals import ANALOGUE_SIGNALS, InputSymptom

# 0 to 10 bar, 4 to 20 mA, entered as it is.
RIGHT = SensorChain(
    lower_range_value=0.0,
    upper_range_value=1e6,
    output="4-20 mA",
    selected_input="4-20 mA",
    feedback_at_lower=0.0,
    feedback_at_upper=1e6,
)


def test_a_right_chain_shows_the_truth():
    points = chain_points(chain=RIGHT)
    assert [point.fraction for point in points] == [0.0, 0.5, 1.0]
    assert [point.signal for point in points] == pytest.approx([0.004, 0.012, 0.020])
    assert [point.true for point in points] == pytest.approx([0, 5e5, 1e6])
    assert [point.indicated for point in points] == pytest.approx([0, 5e5, 1e6], abs=1e-6)
    assert largest_chain_error(chain=RIGHT) == pytest.approx(0, abs=1e-12)


def test_a_dead_zero_input_with_a_negative_lower_value_is_right():
    # 0 mA would be -2.5 bar: the label differs, the chain does not.
    chain = replace(RIGHT, selected_input="0-20 mA", feedback_at_lower=-2.5e5)
    assert largest_chain_error(chain=chain) == pytest.approx(0, abs=1e-9)


def test_a_scaling_that_cancels_the_height_is_right():
    # Mounted 3 m above the datum: 29.42 kPa are added at both ends.
    offset = 29419.95
    chain = replace(
        RIGHT, feedback_at_lower=offset, feedback_at_upper=1e6 + offset, datum_offset=offset
    )
    assert largest_chain_error(chain=chain) == pytest.approx(0, abs=1e-12)
    forgotten = replace(RIGHT, datum_offset=offset)
    points = chain_points(chain=forgotten)
    assert [point.error for point in points] == pytest.approx([-0.0294] * 3, abs=1e-4)


def test_a_phantom_of_20_percent_fades_with_the_signal():
    errors = [point.error for point in chain_points(chain=replace(RIGHT, selected_input="0-20 mA"))]
    assert errors == pytest.approx([0.2, 0.1, 0.0], abs=1e-9)


def test_a_range_of_psi_typed_as_bar():
    # 0 to 145 psi is 0 to 10 bar; typed as 0 to 145 bar.
    chain = replace(RIGHT, feedback_at_upper=145e5)
    assert largest_chain_error(chain=chain) == pytest.approx(13.5)


def test_a_transmitter_that_acts_in_reverse():
    chain = SensorChain(5.0, 0.0, "4-20 mA", "4-20 mA", 5.0, 0.0)
    assert largest_chain_error(chain=chain) == pytest.approx(0, abs=1e-12)
    upside_down = replace(chain, feedback_at_lower=0.0, feedback_at_upper=5.0)
    assert [p.error for p in chain_points(chain=upside_down)] == pytest.approx([-1, 0, 1], abs=1e-9)


def test_a_missing_burden_shows_in_the_symptom():
    chain = replace(RIGHT, selected_input="0-10 V")
    points = chain_points(chain=chain, fractions=[0.1])
    assert points[0].symptom is InputSymptom.PEGGED_HIGH
    assert points[0].error == pytest.approx(0.9)


def test_a_digital_output_needs_no_scaling():
    chain = replace(RIGHT, output="digital", feedback_at_upper=7.0)
    points = chain_points(chain=chain)
    assert [point.signal for point in points] == [None, None, None]
    assert [point.error for point in points] == [0, 0, 0]


@given(
    output=st.sampled_from(sorted(ANALOGUE_SIGNALS)),
    selected_input=st.sampled_from(sorted(ANALOGUE_SIGNALS)),
    offset=st.floats(-1e5, 1e5),
)
def test_the_fitting_scaling_makes_any_chain_right(output, selected_input, offset):
    compound = replace(RIGHT, lower_range_value=-1e5, datum_offset=offset, burden=250.0)
    chain = replace(compound, output=output, selected_input=selected_input)
    lower, upper = fitting_feedback(chain=chain)
    fitted = replace(chain, feedback_at_lower=lower, feedback_at_upper=upper)
    assert largest_chain_error(chain=fitted) == pytest.approx(0, abs=1e-9)


def test_an_input_that_does_not_follow_has_no_fitting_scaling():
    with pytest.raises(InvalidInput, match="selected_input: the input does not follow"):
        fitting_feedback(chain=replace(RIGHT, selected_input="0-10 V"))


@pytest.mark.parametrize(
    ("changed", "argument"),
    [
        ({"upper_range_value": 0.0}, "upper_range_value"),
        ({"lower_range_value": nan}, "lower_range_value"),
        ({"feedback_at_lower": nan}, "feedback_at_lower"),
        ({"feedback_at_upper": nan}, "feedback_at_upper"),
        ({"datum_offset": nan}, "datum_offset"),
        ({"output": "pulse"}, "kind"),
        ({"selected_input": "unknown"}, "kind"),
    ],
)
def test_refusals_name_the_argument(changed, argument):
    for call in (chain_points, fitting_feedback):
        if call is fitting_feedback and argument.startswith("feedback"):
            continue
        with pytest.raises(InvalidInput) as raised:
            call(chain=replace(RIGHT, **changed))
        assert raised.value.argument == argument
    with pytest.raises(InvalidInput, match="fractions"):
        chain_points(chain=RIGHT, fractions=[nan])
