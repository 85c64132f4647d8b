"""The feedback's way into the drive: signal and selector.

Errors by hand: 0-20 mA set for 4-20 mA shows 20 % (1 - x) too much, 250 ohm before a 0-10 V input
10 to 50 % (Ohm's law, worked examples T07a and T08b of signals).
"""

import pytest

from calculations.rules.loop_signal import INPUT_SELECTOR, SIGNAL_TYPE
from tests.calculations.building import (
    booster,
    changed,
    judged,
    lacking,
    of_rule,
    verdicts,
)
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import (
    LEFT,
    left,
    lift_station,
)


def scaled(lower: str, upper: str, unit: str = "psi", **more: object):
    ends = left(
        feedback_at_lower_signal=q(lower, unit), feedback_at_upper_signal=q(upper, unit), **more
    )
    return changed(booster(), ends)


# -- loop.signal-type ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("output", "expected", "verdict"),
    [
        ("4-20 mA", "4-20 mA", []),
        ("4-20 mA", "0-10 V", [("stop", "floats")]),
        ("4-20 mA", "0-20 mA", [("stop", "wrong")]),  # 20 % too much at no pressure
        ("0-10 V", "2-10 V", [("stop", "wrong")]),  # 25 % too little at no pressure
        ("0-10 V", "4-20 mA", [("stop", "kind")]),
        ("digital", "4-20 mA", [("stop", "kind")]),
        ("digital", "digital", []),
    ],
)
def test_signal_of_the_sensor_and_of_the_drive(output, expected, verdict):
    document = changed(
        booster(),
        {"/sensors/0/output": output} | left(feedback_signal=expected, input_selector=None),
    )
    assert verdicts(document, "loop.signal-type") == verdict


@pytest.mark.parametrize(
    ("make", "settings", "then"),
    [
        (booster, {}, "and the pump sleeps as if nothing were asked of it."),
        (
            booster,
            {"sleep_method": "none"},
            "and the loop slows the pump to its minimum frequency.",
        ),
        (lift_station, {}, "and the loop runs the pump at full speed."),
        (
            booster,
            {"regulated_quantity": "temperature", "action": "rising_feedback_speeds_up"},
            "and the loop runs the pump at full speed.",
        ),
        (lift_station, {"action": None}, "and the loop runs the pump at full speed."),
    ],
)
def test_it_says_what_an_input_at_its_top_does_to_this_loop(make, settings, then):
    """A full feedback is no demand, but a full well."""
    for rule, changes in (
        (SIGNAL_TYPE, {"feedback_signal": "0-10 V", "input_selector": None}),
        (INPUT_SELECTOR, {"input_selector": "voltage"}),
    ):
        (finding,) = of_rule(judged(changed(make(), left(**settings, **changes))), rule.id)
        assert rule.sentence(finding).endswith(then)


def test_error_of_a_dead_zero_is_20_percent():
    document = changed(booster(), left(feedback_signal="0-20 mA"))
    (finding,) = of_rule(judged(document), "loop.signal-type")
    assert finding.parameters["error"] == "+20 %"
    assert finding.parameters["indicated"] == "40 psi"
    assert finding.parameters["true"] == "0 psi"


def test_a_live_zero_written_as_a_negative_value_is_right():
    """0 mA is -50 psi where 4 mA is 0 and 20 mA is 200 psi; only a broken wire is not seen."""
    document = changed(scaled("-50", "200"), left(feedback_signal="0-20 mA"))
    assert verdicts(document, "loop.signal-type") == [("note", "no_live_zero")]
    assert verdicts(document, "loop.scaling") == []


@pytest.mark.parametrize(
    ("burden", "expected", "verdict"),
    [
        ("500", "2-10 V", []),  # 4 mA in 500 ohm are 2 V, 20 mA are 10 V
        ("250", "1-5 V", []),
        ("250", "0-10 V", [("stop", "wrong")]),  # 10 to 50 % instead of 0 to 100 %
    ],
)
def test_a_resistor_makes_a_voltage_of_a_current(burden, expected, verdict):
    document = changed(
        booster(),
        {"/sensors/0/loop_load": q(burden, "ohm")}
        | left(feedback_signal=expected, input_selector="voltage"),
    )
    assert verdicts(document, "loop.signal-type") == verdict


def test_signal_type_needs_both_signals():
    document = changed(booster(), left(feedback_signal="unknown"))
    (missing,) = lacking(judged(document), "loop.signal-type")
    assert missing.needs == (f"{LEFT}/feedback_signal",)


def test_counted_pulses_have_no_chain():
    document = changed(booster(), {"/sensors/0/output": "pulse"})
    assert verdicts(document, "loop.signal-type") == []
    assert lacking(judged(document), "loop.scaling") == []


# -- loop.input-selector ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("selector", "verdict"),
    [
        ("current", []),
        ("not_selectable", []),
        ("voltage", [("stop", "floats")]),
        ("digital", [("stop", "other")]),
    ],
)
def test_selector_against_the_signal(selector, verdict):
    document = changed(booster(), left(input_selector=selector))
    assert verdicts(document, "loop.input-selector") == verdict


def test_a_pegged_input_is_said_to_look_like_no_demand():
    """Whoever sees it sleep looks for the wrong fault: common practice, no source."""
    document = changed(booster(), left(input_selector="voltage"))
    (finding,) = of_rule(judged(document), "loop.input-selector")
    assert finding.variant == "floats"


def test_current_input_for_a_voltage_signal():
    document = changed(booster(), {"/sensors/0/output": "0-10 V"} | left(feedback_signal="0-10 V"))
    assert verdicts(document, "loop.input-selector") == [("stop", "loads")]


def test_selector_waits_for_the_signal():
    document = changed(booster(), left(feedback_signal="0-10 V"))
    (waiting,) = lacking(judged(document), "loop.input-selector")
    assert waiting.waits_for == "loop.signal-type"
