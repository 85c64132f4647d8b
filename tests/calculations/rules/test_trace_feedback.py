"""Recorded feedback in another unit than its heading, and one that does not follow the pump.

The booster keeps 85 psi; its signal of 4 to 20 mA spans 0 to 200 psi.
"""

from collections.abc import Callable

import pytest

from calculations.recordings import Column, Recording
from tests.calculations.building import Document, changed, judged, lacking, of_rule, without
from tests.calculations.building_event import TRACE
from tests.calculations.building_plates import q
from tests.calculations.rules.test_loop_traces import (
    AT,
    STEP,
    STEPPED,
    TRACES,
    recorded,
    second_order,
)
from tests.calculations.whole_stations import booster_in_percent, left, lift_station

RULE = "trace.feedback"
TESTS = "/event/step_tests"
OTHERS = {each for each in TRACES if each != "trace.time"}


def answer(t: float) -> float:
    """45 to 85 psi, damping 0.7: ends on its set point."""
    return 45 + 40 * second_order(0.7)(t)


def found(rows: dict[str, Recording], document: Document = STEPPED):
    return of_rule(judged(document, recordings=rows), RULE)


def with_aim(rows: dict[str, Recording], unit: str, aim: Callable[[float], float]):
    """The same with a recorded set point."""
    recording = rows[TRACE]
    aims = Column(unit, [aim(t) for t in recording.times])
    return {TRACE: Recording(recording.times, {**recording.columns, "set_point": aims})}


@pytest.mark.parametrize(
    ("read", "heading", "meant"),
    [
        (lambda psi: psi, "bar", "psi"),
        # 1 psi = 6.894757 kPa = 0.06894757 bar = 2.3067 ftH2O (definitions of the units).
        (lambda psi: psi * 6.894757, "psi", "kPa"),
        (lambda psi: psi * 0.06894757, "psi", "bar"),
        (lambda psi: psi * 2.3067, "psi", "ftH2O"),
        # 4 to 20 mA over 0 to 200 psi.
        (lambda psi: 4 + 16 * psi / 200, "psi", "mA"),
        (lambda psi: 4 + 16 * psi / 200, "bar", "mA"),
    ],
)
def test_the_unit_that_explains_all_of_it_is_named(read, heading, meant):
    rows = recorded(lambda t: read(answer(t)), unit=heading)
    judgement = judged(STEPPED, recordings=rows)
    (finding,) = of_rule(judgement, RULE)
    assert (finding.severity, finding.variant) == ("review", "unit")
    assert (finding.parameters["meant"], finding.parameters["written"]) == (meant, heading)
    assert [each.rule for each in judgement.findings if each.rule in OTHERS] == []
    waiting = {each.rule for each in judgement.not_evaluated if each.waits_for == RULE}
    assert waiting == OTHERS


@pytest.mark.parametrize(
    ("peak", "variant"),
    [(205.9, "unit"), (206.1, "outside"), (-5.9, "unit"), (-6.1, "outside")],
)
def test_a_unit_has_to_explain_all_of_it(peak, variant):
    """To 3 % of 200 psi beyond either end; it ends on its set point in any case."""
    rows = recorded(lambda t: peak if t < 0.5 else answer(t), unit="bar")
    assert [each.variant for each in found(rows)] == [variant]


@pytest.mark.parametrize("heading", ["psi", "bar"])
def test_a_voltage_is_named_as_well(heading):
    """0 to 10 V over 0 to 200 psi: 85 psi are 4.25 V."""
    volts = {"/sensors/0/output": "0-10 V", "/sensors/0/wiring": None} | left(
        feedback_signal="0-10 V", input_selector=None
    )
    rows = recorded(lambda t: answer(t) / 20, unit=heading)
    (finding,) = found(rows, changed(STEPPED, volts))
    assert (finding.variant, finding.parameters["meant"]) == ("unit", "V")


def test_an_open_loop_and_one_without_a_test_have_no_feedback_to_judge():
    rows = recorded(answer, unit="bar")
    for document in (changed(STEPPED, left(regulation="open_loop")), without(STEPPED, TESTS)):
        judgement = judged(document, recordings=rows)
        assert (of_rule(judgement, RULE), lacking(judgement, RULE)) == ([], [])
        assert not [each for each in judgement.derived if each.id == "trace.steady-error"]


def test_rows_that_are_not_at_hand_are_asked_for_elsewhere():
    assert lacking(judged(STEPPED), RULE) == []


def test_no_measure_is_told_of_a_feedback_in_another_unit():
    judgement = judged(STEPPED, recordings=recorded(answer, unit="bar"))
    told = {each.id for each in judgement.derived if each.id.startswith("trace.")}
    assert told == {"trace.settling-band"}


def test_what_was_recorded_is_told_beside_the_span():
    rows = recorded(lambda t: min(answer(t), 85.0), unit="bar")
    (finding,) = found(rows)
    told = {"lowest": "45 bar", "highest": "85 bar", "lower": "0 psi", "upper": "200 psi"}
    assert told.items() <= finding.parameters.items()


def test_a_set_point_in_the_same_wrong_unit_explains_it_too():
    """Both columns in kPa under psi: the feedback is on its recorded set point, out of the span."""
    rows = recorded(lambda t: 6.894757 * answer(t))
    (finding,) = found(with_aim(rows, "psi", lambda t: 6.894757 * (45.0 if t < 1 else 85.0)))
    assert (finding.variant, finding.parameters["meant"]) == ("unit", "kPa")


@pytest.mark.parametrize(
    ("end", "variants"),
    [
        # 10 % of 200 psi beyond the span; no unit brings 219 or 221 psi to 85 psi.
        (219.0, []),
        (221.0, ["outside"]),
    ],
)
def test_a_feedback_that_no_signal_tells(end, variants):
    moving = recorded(lambda t: end + (0.5 if round(10 * t) % 100 < 50 else -0.5))
    assert [each.variant for each in found(moving)] == variants


@pytest.mark.parametrize("at", [60.0, 110.0])
def test_a_feedback_that_does_not_move_while_the_speed_does(at):
    """60 psi while the frequency runs up: a pump's head goes with the square of its speed."""
    stuck = recorded(lambda t: at, frequency=lambda t: min(48 + 0.2 * t, 58))
    judgement = judged(STEPPED, recordings=stuck)
    (finding,) = of_rule(judgement, RULE)
    assert (finding.severity, finding.variant, finding.subject) == ("review", "still", AT)
    told = {"feedback": f"{at:g} psi", "error": "25 psi", "slow": "48 Hz", "fast": "58 Hz"}
    assert told.items() <= finding.parameters.items()
    assert [each.rule for each in judgement.findings if each.rule in OTHERS] == []


def test_where_it_stood_last_is_told():
    stuck = recorded(lambda t: 60.0 + (0.15 if t >= 60 else 0), frequency=lambda t: 48 + 0.1 * t)
    (finding,) = found(stuck)
    told = {"feedback": "60.15 psi", "error": "25 psi", "slow": "48 Hz", "fast": "54 Hz"}
    assert told.items() <= finding.parameters.items()


def test_a_loop_in_percent_has_its_error_in_percent():
    """A sensor of which no more than its share of span is known; the set point is 42.5 %."""
    step = STEP | {"from": q("22.5", "%"), "to": q("42.5", "%")}
    ends = {f"/sensors/0/{end}_range_value": q(value, "%")
            for end, value in (("lower", "0"), ("upper", "100"))}  # fmt: skip
    document = changed(booster_in_percent(), {TESTS: [step], "/sensors/0/quantity": None} | ends)
    stuck = recorded(lambda t: 30.0, frequency=lambda t: 48 + 0.1 * t, unit="%")
    (finding,) = found(stuck, document)
    assert finding.parameters["error"] == "12.5 %"


@pytest.mark.parametrize(
    ("feedback", "frequency", "variants"),
    [
        # Held at its maximum with a coarse recorder: told by `trace.saturated`.
        (lambda t: 70.0, lambda t: 60.0, []),
        # 2 Hz.
        (lambda t: 70.0, lambda t: 50.0 + (1.9 if t > 30 else 0), []),
        (lambda t: 70.0, lambda t: 50.0 + (2.1 if t > 30 else 0), ["still"]),
        # 0.1 % of 200 psi.
        (lambda t: 70.0 + (0.19 if t > 30 else 0), lambda t: 50.0 + 0.1 * t, ["still"]),
        (lambda t: 70.0 + (0.21 if t > 30 else 0), lambda t: 50.0 + 0.1 * t, []),
        # On its set point, whatever the demand: a good loop under a coarse recorder.
        (lambda t: 85.0, lambda t: 50.0 + 0.1 * t, []),
        (lambda t: 0.0, lambda t: 50.0, ["zero"]),
        (lambda t: 1.9, lambda t: 50.0, ["zero"]),
        (lambda t: 2.1, lambda t: 50.0, []),
        # The drive stood: nothing has to be delivered.
        (lambda t: 0.0, lambda t: 0.0, []),
    ],
)
def test_what_counts_as_still(feedback, frequency, variants):
    assert [each.variant for each in found(recorded(feedback, frequency=frequency))] == variants


def test_without_a_frequency_a_feedback_that_stands_still_is_not_judged():
    judgement = judged(STEPPED, recordings=recorded(lambda t: 60.0, frequency=None))
    (missing,) = lacking(judgement, RULE)
    assert missing.because == "no column of output frequency"


@pytest.mark.parametrize("damping", [0.3, 0.7])
def test_an_answer_on_its_set_point_is_silent(damping):
    answer_of = second_order(damping)
    judgement = judged(STEPPED, recordings=recorded(lambda t: 45 + 40 * answer_of(t)))
    assert (of_rule(judgement, RULE), lacking(judgement, RULE)) == ([], [])


@pytest.mark.parametrize(("at", "variants"), [(1.5, []), (0.1, ["zero"])])
def test_a_level_in_a_wide_well_may_rest(at, variants):
    """Set point 1.1 m, of a span from 0.1 to 5.1 m; the frequency runs up by 10 Hz."""
    resting = recorded(lambda t: at, frequency=lambda t: min(38 + 0.2 * t, 48), unit="m")
    assert [each.variant for each in found(resting, lift_station())] == variants


@pytest.mark.parametrize(
    ("reference", "needed"),
    [("site_datum", []), (None, [("/event/settings/as_left/level_reference",)])],
)
def test_a_level_counts_from_what_is_recorded_alone(reference, needed):
    """The transmitter's zero is 4.9 m below the site datum: 1.1 m over it are -3.8 m there."""
    settings = {"level_reference": reference, "set_point": q("-3.8", "m"),
                "feedback_at_lower_signal": q("0", "%"),
                "feedback_at_upper_signal": q("100", "%")}  # fmt: skip
    left = {f"/event/settings/as_left/{name}": value for name, value in settings.items()}
    document = changed(lift_station(), left | {f"{AT}/from": q("-3.6", "m"),
                                               f"{AT}/to": q("-3.8", "m")})  # fmt: skip
    rows = recorded(lambda t: -3.8 + (0.02 if round(10 * t) % 100 < 50 else -0.02), unit="m")
    judgement = judged(document, recordings=rows)
    for each in (RULE, "loop.set-point-in-span"):
        assert of_rule(judgement, each) == []
        assert [missing.needs for missing in lacking(judgement, each)] == needed


def test_it_waits_for_the_scaling():
    wrong = changed(STEPPED, {"/event/settings/as_left/feedback_at_upper_signal": q("150", "psi")})
    judgement = judged(wrong, recordings=recorded(answer, unit="bar"))
    assert lacking(judgement, RULE)[0].waits_for == "loop.scaling"


def test_an_error_is_not_made_small_by_a_smaller_unit():
    """5 psi below 85 psi, both recorded in psi: 5 kPa would be 0.7 psi, but nobody set 85 kPa."""
    rows = with_aim(recorded(lambda t: 40 + 40 * second_order(0.7)(t)), "psi", lambda t: 85.0)
    assert found(rows) == []
    told = {each.rule for each in judged(STEPPED, recordings=rows).findings}
    assert "trace.steady-error" in told
