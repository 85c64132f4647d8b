"""A drive that starts and stops its pump on a level: its input is judged as that of a loop is.

LT-201 of 0 to 5 m hangs 0.1 m over the floor (-4.9 m, -5.0 m): 0.1 to 5.1 m over it.
"""

import pytest

from tests.calculations.building import (
    changed,
    derived,
    judged,
    lacking,
    of_rule,
    serious,
    without,
)
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import LEFT, left, lift_station

NO_LOOP = ("regulated_quantity", "set_point", "action", "proportional_gain", "integral_time")


def start_stop(**changes):
    """The lift station without its loop: started at 1.4 m, stopped at 0.6 m, at 50 Hz."""
    document = without(
        lift_station(), "/pump_set/regulating_sensor", "/event/step_tests",
        *(f"{LEFT}/{name}" for name in NO_LOOP),
    )  # fmt: skip
    named = {"/pump_set/level_sensor": "LT-201"}
    return changed(document, left(**{"regulation": "open_loop", **changes}) | named)


CHAIN = ("loop.signal-type", "loop.input-selector", "loop.scaling", "loop.loss-threshold",
         "loop.signal-loss")  # fmt: skip


def told(document):
    found = judged(document).findings
    return [(each.severity, each.rule, each.variant) for each in found if each.rule in CHAIN]


def test_a_right_one_draws_nothing():
    assert serious(judged(start_stop())) == []


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        # 0.1 to 3.1 m for 0.1 to 5.1 m: 3.1 m where 5.1 m is true, 40 % of span; definition
        ({"feedback_at_upper_signal": q("3.1", "m")}, [("stop", "loop.scaling", "plain")]),
        ({"feedback_at_lower_signal": q("5.1", "m"), "feedback_at_upper_signal": q("0.1", "m")},
         [("stop", "loop.scaling", "swapped")]),
        # The floor taken for the transmitter's zero: 0.1 m of 5 m, 2 % of span
        ({"feedback_at_lower_signal": q("0", "m"), "feedback_at_upper_signal": q("5", "m")},
         [("review", "loop.scaling", "reference")]),
        ({"feedback_signal": "0-20 mA"}, [("stop", "loop.signal-type", "wrong")]),
        ({"feedback_signal": "0-10 V"}, [("stop", "loop.signal-type", "floats")]),
        ({"input_selector": "voltage"}, [("stop", "loop.input-selector", "floats")]),
        ({"signal_loss_threshold": q("6", "mA")}, [("review", "loop.loss-threshold", "always")]),
        ({"signal_loss_response": "none"}, [("review", "loop.signal-loss", "none")]),
        ({"signal_loss_response": "maximum_speed", "dry_run_method": "level"},
         [("review", "loop.signal-loss", "well_dry")]),
    ],
)  # fmt: skip
def test_its_input_is_judged(changes, expected):
    assert told(start_stop(**changes)) == expected


def test_the_zero_of_its_transmitter_is_judged():
    """0.5 m higher than the scaling takes it to be: 10 % of 5 m."""
    higher = changed(start_stop(), {"/sensors/0/zero_elevation": q("-4.4", "m")})
    assert told(higher) == [("stop", "loop.scaling", "plain")]


@pytest.mark.parametrize(
    ("site", "does"),
    [
        ("lift_station", "and the pump runs on as if the well were full"),
        ("reservoir_fill", "and the pump stands as if the tank were full"),
    ],
)
def test_an_input_at_its_top_is_told_as_it_is_seen(site, does):
    document = changed(start_stop(input_selector="voltage"), {"/site/kind": site})
    if site == "reservoir_fill":
        document = changed(document, {"/site/suction_kind": "flooded_tank"})
    (finding,) = of_rule(judged(document), "loop.input-selector")
    assert finding.parameters["then"] == does


def test_a_sensor_named_twice_and_one_that_is_not_named_are_judged_alike():
    wrong = start_stop(feedback_at_upper_signal=q("3.1", "m"))
    twice = changed(wrong, {"/pump_set/regulating_sensor": "LT-201"})
    unnamed = without(wrong, "/pump_set/level_sensor")
    for document in (twice, unnamed):
        assert told(document) == [("stop", "loop.scaling", "plain")]


@pytest.mark.parametrize(
    "changes",
    [
        {"regulation": "speed_from_external_controller"},
        {"regulation": "hand_only"},
        {"start_level": None, "stop_level": None},
        # An input that shows a pressure or a flow has nothing to do with the level.
        {"feedback_at_lower_signal": q("0", "bar"), "feedback_at_upper_signal": q("10", "bar")},
        {"feedback_at_lower_signal": q("0", "m3/h"), "feedback_at_upper_signal": q("99", "m3/h")},
        {"feedback_signal": None, "feedback_at_lower_signal": None,
         "feedback_at_upper_signal": None, "input_selector": "voltage"},
    ],
)  # fmt: skip
def test_an_input_that_starts_nothing_is_not_judged(changes):
    document = start_stop(**{"feedback_at_upper_signal": q("3.1", "m"), **changes})
    assert told(document) == []
    assert not any(lacking(judged(document), rule) for rule in CHAIN)


def test_another_sensor_that_is_regulated_on_is_none_of_the_level():
    document = start_stop(feedback_at_upper_signal=q("3.1", "m"))
    assert told(changed(document, {"/pump_set/regulating_sensor": "FT-201"})) == []


def test_a_scaling_that_is_not_recorded_is_asked_for():
    """The signal is known, so there is an input; where it stands at 20 mA is not."""
    document = without(start_stop(), f"{LEFT}/feedback_at_upper_signal")
    (missing,) = lacking(judged(document), "loop.scaling")
    assert missing.needs == (f"{LEFT}/feedback_at_upper_signal",)


def test_the_signal_at_each_level_is_derived():
    """1.4 m over the floor are 1.3 m of 5 m: 4 mA + 0.26 16 mA = 8.16 mA; IEC 60381-1."""
    found = derived(judged(start_stop()), "sensor.signal-at-start-level")
    assert float(found.shown.value) == pytest.approx(8.16, abs=0.005)
