"""Order and direction of closed loops."""

from math import nan

import pytest

from calculations import loops
from calculations.errors import InvalidInput
from calculations.loops import REQUIRED_ACTIONS, LoopAction
from tests.calculations.comparing import Near, assert_matches
from tests.calculations.worked_examples import Case, worked


@worked("loops", "loop: quarter decay")
def test_example_of_quarter_decay(case: Case) -> None:
    damping = loops.damping_from_decay_ratio(decay_ratio=case["inputs"]["decay_ratio"])
    overshoot = loops.overshoot_from_damping(damping_ratio=damping)
    assert_matches(
        case,
        zeta=Near(damping, absolute=1e-5),
        overshoot_pct=Near(100 * overshoot, absolute=1e-6),
    )


@worked("loops", "loop: gain from a limit cycle")
def test_example_of_ultimate_gain(case: Case) -> None:
    given = case["inputs"]
    gain = loops.ultimate_gain(
        relay_half_amplitude=given["relay_half_amplitude_Hz"],
        oscillation_amplitude=given["pv_amplitude_psi"],
    )
    assert_matches(case, Ku_Hz_per_psi=Near(gain, absolute=1e-5), Pu_s=given["period_s"])


@worked("loops", "loop: position in span")
def test_example_of_position(case: Case) -> None:
    given = case["inputs"]
    position = 100 * loops.position_in_span(
        value=given["SP_psi"], lower_range_value=0, upper_range_value=given["URV_psi"]
    )
    low, high = given["band_pct"]
    assert_matches(case, SP_pct_span=Near(position, absolute=1e-9), ok=low <= position <= high)


def order_of(given: dict) -> loops.SleepOrder:
    return loops.sleep_order(
        sleep_frequency=given["n_sleep_Hz"],
        zero_flow_frequency=given["f0_zero_flow_Hz"],
        minimum_frequency=given["min_speed_Hz"],
        set_point=given["SP_psi"],
        wake_value=given["wake_psi"],
    )


@worked("loops", "loop: sleep order")
def test_example_of_sleep_order(case: Case) -> None:
    order = order_of(case["inputs"])
    assert_matches(
        case,
        sleep_speed_ge_zero_flow=order.reachable,
        wake_below_SP=order.wakes_beyond_set_point,
        min_speed_lt_sleep=order.minimum_allows,
        verdict="consistent" if order.is_consistent else "not reached",
    )


@worked("loops", "loop: sleep order, in order")
def test_example_of_consistent_order(case: Case) -> None:
    order = order_of(case["inputs"])
    assert_matches(case, verdict="consistent" if order.is_consistent else "not reached")


@worked("loops", "loop: polarity")
def test_example_of_polarity(case: Case) -> None:
    given = case["inputs"]
    right = loops.drives_towards_set_point(
        action=REQUIRED_ACTIONS[given["loop"].replace(" ", "_")],
        set_point=given["SP_psi"],
        feedback=given["PV_psi"],
        output_change=given["output_change_Hz"],
    )
    error = given["SP_psi"] - given["PV_psi"]
    assert_matches(case, error_SP_minus_PV=error, polarity_ok=right)


class TestAction:
    @pytest.mark.parametrize(
        ("quantity", "change"),
        [
            # The feedback is below its set point: which way must the speed go? Derived.
            ("discharge_pressure", +1),
            ("differential_pressure", +1),
            ("flow", +1),
            ("level_filling", +1),
            ("level_emptying", -1),
            ("suction_pressure", -1),
        ],
    )
    def test_every_quantity(self, quantity, change):
        given = {"action": REQUIRED_ACTIONS[quantity], "set_point": 5, "feedback": 4}
        assert loops.drives_towards_set_point(**given, output_change=change) is True
        assert loops.drives_towards_set_point(**given, output_change=-change) is False

    def test_temperature_depends_on_the_plant(self):
        assert "temperature" not in REQUIRED_ACTIONS

    @pytest.mark.parametrize(("feedback", "change"), [(5, 1), (4, 0)])
    def test_no_difference_shows_nothing(self, feedback, change):
        shown = loops.drives_towards_set_point(
            action=LoopAction.SPEED_RISES_WHEN_FEEDBACK_FALLS,
            set_point=5,
            feedback=feedback,
            output_change=change,
        )
        assert shown is None


class TestSleep:
    GOOD = {
        "sleep_frequency": 47.0,
        "zero_flow_frequency": 45.0,
        "minimum_frequency": 30.0,
        "set_point": 65.0,
        "wake_value": 58.0,
    }

    @pytest.mark.parametrize(
        ("changed", "failing"),
        [
            ({"sleep_frequency": 45.0}, "reachable"),
            ({"minimum_frequency": 47.1}, "minimum_allows"),
            ({"wake_value": 65.0}, "wakes_beyond_set_point"),
            ({"wake_value": 70.0}, "wakes_beyond_set_point"),
        ],
    )
    def test_one_condition_at_a_time(self, changed, failing):
        order = loops.sleep_order(**{**self.GOOD, **changed})
        assert not order.is_consistent
        conditions = {"reachable", "minimum_allows", "wakes_beyond_set_point"}
        assert [name for name in conditions if not getattr(order, name)] == [failing]

    def test_a_minimum_at_the_sleep_frequency_still_allows_it(self):
        assert loops.sleep_order(**{**self.GOOD, "minimum_frequency": 47.0}).is_consistent

    def test_emptying_is_mirrored(self):
        given = {**self.GOOD, "set_point": 2.0, "wake_value": 2.4}
        assert loops.sleep_order(**given, demand_lowers_feedback=False).is_consistent
        assert not loops.sleep_order(**given).wakes_beyond_set_point
        at_once = given | {"wake_value": 2.0}
        assert not loops.sleep_order(**at_once, demand_lowers_feedback=False).wakes_beyond_set_point

    @pytest.mark.parametrize(
        ("argument", "value"),
        [
            ("sleep_frequency", 0),
            ("zero_flow_frequency", -1),
            ("minimum_frequency", -1),
            ("set_point", nan),
            ("wake_value", nan),
        ],
    )
    def test_refusals(self, argument, value):
        with pytest.raises(InvalidInput) as raised:
            loops.sleep_order(**{**self.GOOD, argument: value})
        assert raised.value.argument == argument


def test_no_overshoot_from_full_damping():
    assert loops.overshoot_from_damping(damping_ratio=1.0) == 0
    assert loops.overshoot_from_damping(damping_ratio=0.0) == 1
    # OGATA-2010, 5-3: 16.3 % at 0.5.
    assert loops.overshoot_from_damping(damping_ratio=0.5) == pytest.approx(0.163034, abs=1e-6)


def test_position_below_a_raised_zero():
    position = loops.position_in_span(value=0.0, lower_range_value=-15, upper_range_value=85)
    assert position == pytest.approx(0.15)


@pytest.mark.parametrize(
    ("call", "argument"),
    [
        (
            lambda: loops.position_in_span(value=1, lower_range_value=1, upper_range_value=1),
            "upper_range_value",
        ),
        (
            lambda: loops.position_in_span(value=nan, lower_range_value=0, upper_range_value=1),
            "value",
        ),
        (
            lambda: loops.position_in_span(value=0, lower_range_value=nan, upper_range_value=1),
            "lower_range_value",
        ),
        (
            lambda: loops.ultimate_gain(relay_half_amplitude=0, oscillation_amplitude=1),
            "relay_half_amplitude",
        ),
        (
            lambda: loops.ultimate_gain(relay_half_amplitude=1, oscillation_amplitude=0),
            "oscillation_amplitude",
        ),
        (lambda: loops.damping_from_decay_ratio(decay_ratio=0), "decay_ratio"),
        (lambda: loops.damping_from_decay_ratio(decay_ratio=1.1), "decay_ratio"),
        (lambda: loops.overshoot_from_damping(damping_ratio=-0.1), "damping_ratio"),
        (
            lambda: loops.drives_towards_set_point(
                action=LoopAction.SPEED_RISES_WHEN_FEEDBACK_FALLS,
                set_point=nan,
                feedback=1,
                output_change=1,
            ),
            "set_point",
        ),
    ],
)
def test_refusals_name_the_argument(call, argument):
    with pytest.raises(InvalidInput) as raised:
        call()
    assert raised.value.argument == argument
