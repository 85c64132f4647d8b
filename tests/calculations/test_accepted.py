"""What waits for a finding is judged after all once somebody responsible has accepted it."""

import pytest

from tests.calculations.building import booster, changed, judged, lacking, of_rule
from tests.calculations.building_plates import q

# 230 V on a 460 V winding, and a speed in the drive that is not the plate's 1775 rpm.
WRONG = changed(
    booster(),
    {
        "/event/settings/as_left/motor_voltage": q("230", "V"),
        "/event/settings/as_left/motor_speed": q("1700", "rpm"),
    },
)


def test_a_rule_waits_for_a_finding_that_nobody_accepted():
    judgement = judged(WRONG)
    (waiting,) = lacking(judgement, "drive.motor-speed")
    assert waiting.waits_for == "drive.volts-per-hertz"
    assert of_rule(judgement, "drive.motor-speed") == []


def test_an_accepted_finding_stays_and_blocks_no_longer():
    (parent,) = of_rule(judged(WRONG), "drive.volts-per-hertz")
    judgement = judged(WRONG, accepted=[(parent.rule, parent.subject)])
    assert of_rule(judgement, "drive.volts-per-hertz") == [parent]
    assert lacking(judgement, "drive.motor-speed") == []
    assert len(of_rule(judgement, "drive.motor-speed")) == 1


@pytest.mark.parametrize("other", [("drive.volts-per-hertz", "/elsewhere"), ("motor.slip", "/")])
def test_what_was_accepted_of_another_subject_or_rule_does_not_count(other):
    (waiting, *_) = lacking(judged(WRONG, accepted=[other]), "load.current-nameplate")
    assert waiting.waits_for == "drive.volts-per-hertz"


def test_every_finding_of_a_rule_must_be_accepted():
    """Two duty points off the curve: accepting one of them leaves the other in the way."""
    points = "/event/duty_points"
    off = {f"{points}/{index}/flow": q("160", "gpm") for index in (1, 2)}
    document = changed(booster(), off)
    found = [(each.rule, each.subject) for each in of_rule(judged(document), "curve.point")]
    assert len(found) > 1
    one = judged(document, accepted=found[:1])
    assert lacking(one, "efficiency.sum-of-parts")[0].waits_for == "curve.point"
    every = judged(document, accepted=found)
    assert not [e for e in every.not_evaluated if e.waits_for == "curve.point"]


def test_a_curve_at_another_speed_is_used_once_that_is_accepted():
    """1470 rpm beside a motor of 1775 rpm: over 5 %, so nothing rests on the curve before."""
    document = changed(booster(), {"/pump/rated_speed": q("1470", "rpm")})
    waiting = judged(document)
    assert {e.waits_for for e in waiting.not_evaluated if e.waits_for} == {"curve.speed"}
    (parent,) = of_rule(waiting, "curve.speed")
    accepted = judged(document, accepted=[(parent.rule, parent.subject)])
    assert not [e for e in accepted.not_evaluated if e.waits_for == "curve.speed"]


@pytest.mark.parametrize("name", ["motor_frequency", "motor_voltage"])
def test_what_would_only_say_the_same_again_goes_on_waiting(name):
    """50 Hz for 60 Hz, or 230 V for 460 V: volts per hertz have told it, and were accepted."""
    value = {"motor_frequency": q("50", "Hz"), "motor_voltage": q("230", "V")}[name]
    document = changed(booster(), {f"/event/settings/as_left/{name}": value})
    (parent,) = of_rule(judged(document), "drive.volts-per-hertz")
    judgement = judged(document, accepted=[(parent.rule, parent.subject)])
    rule = f"drive.{name.replace('_', '-')}"
    assert of_rule(judgement, rule) == []
    assert [each.waits_for for each in lacking(judgement, rule)] == ["drive.volts-per-hertz"]


def test_an_accepted_frequency_is_not_told_as_a_voltage_again():
    """383.3 V at 50 Hz are the plate's 460 V at 60 Hz: 17 % off, with volts per hertz right."""
    document = changed(
        booster(),
        {
            "/event/settings/as_left/motor_frequency": q("50", "Hz"),
            "/event/settings/as_left/motor_voltage": q("383.3", "V"),
        },
    )
    (parent,) = of_rule(judged(document), "drive.motor-frequency")
    judgement = judged(document, accepted=[(parent.rule, parent.subject)])
    assert of_rule(judgement, "drive.motor-voltage") == []
    assert lacking(judgement, "drive.motor-voltage")[0].waits_for == "drive.motor-frequency"
