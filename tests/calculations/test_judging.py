"""What is judged, as it stands in documents."""

from dataclasses import replace

import pytest

from calculations.findings import NotEvaluated
from calculations.judging import finding_document, not_evaluated_document

from .building import booster, changed, judged, lacking, of_rule
from .building_plates import q

ACTION = "loop.action"
WRONG_WAY = {"/event/settings/as_left/action": "rising_feedback_speeds_up"}


@pytest.mark.parametrize(("severity", "only"), [("stop", True), ("review", False), ("note", False)])
def test_a_stop_of_such_a_rule_can_only_be_corrected(severity, only):
    """A loop that acts the wrong way runs away: nobody may accept it as it is."""
    (found,) = of_rule(judged(changed(booster(), WRONG_WAY)), ACTION)
    assert found.severity == "stop"
    assert finding_document(replace(found, severity=severity), "")["correct_only"] is only


def test_a_stop_of_another_rule_may_be_accepted():
    frequency = {"/event/settings/as_left/motor_frequency": q("50", "Hz")}
    (found,) = of_rule(judged(changed(booster(), frequency)), "drive.volts-per-hertz")
    assert finding_document(found, "F-1")["id"] == "F-1"
    assert (found.severity, finding_document(found, "")["correct_only"]) == ("stop", False)


@pytest.mark.parametrize(
    ("lacking", "document"),
    [
        (("a.b", "/x", (), "c.d"), {"waits_for": "c.d"}),
        (("a.b", "/x", ("/y", "/z")), {"needs": ["/y", "/z"]}),
        (("a.b", "/x", ("/y",), "", "no flow"), {"needs": ["/y"], "because": "no flow"}),
    ],
)
def test_what_could_not_be_judged(lacking, document):
    found = not_evaluated_document(NotEvaluated(*lacking))
    assert found == {"rule": "a.b", "subject": "/x"} | document


def test_each_place_that_a_rule_could_judge_counts():
    whole = judged(booster())
    points = judged(changed(booster(), {"/event/duty_points": []}))
    assert whole.judged > points.judged > 0


def test_numbers_that_no_machine_has_are_not_judged():
    """A loss of 1 m at 1e-300 m3/h is beyond what a float can hold at any flow of a pump."""
    absurd = changed(booster(), {
        "/site/suction_loss": q("1", "m"), "/site/suction_loss_at_flow": q("1e-300", "m3/h"),
    })  # fmt: skip
    said = judged(absurd)
    reasons = {each.because for each in said.not_evaluated}
    assert "numbers: too large or too small to be computed with" in reasons
    assert said.judged > 100  # what does not rest on it is judged all the same


def test_a_verification_without_points_asks_for_them():
    first = "/event/sensor_verifications/0"
    said = judged(changed(booster(), {f"{first}/as_found": [], f"{first}/as_left": []}))
    assert [each.needs for each in lacking(said, "sensor.signal-band")] == [(f"{first}/as_found",)]
