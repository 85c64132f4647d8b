"""A test that saw something act where nothing is set to: logic."""

import pytest

from tests.calculations.building import booster, changed, judged, lacking, of_rule, verdicts
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import left, lift_station

RULE = "protection.response"
TIMED = {"/event/protection_tests/3/delay_measured": q("12", "s")}
STAYS = left(restart_after_power_loss="stay_stopped")
HIGH_UNSET = left(high_discharge_limit_response="none")


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        (TIMED, []),
        (TIMED | STAYS, [("review", "restarted")]),
        # Without a time it may be what was expected: it stayed stopped.
        (STAYS, []),
        (TIMED | STAYS | {"/event/protection_tests/3/passed": False}, []),
        (HIGH_UNSET, [("review", "unset")]),
        (left(high_discharge_limit_response="alarm"), []),
        # A switch may be wired to stop the pump without the drive.
        (HIGH_UNSET | left(high_discharge_limit_measured_by="pressure_switch"), []),
        (HIGH_UNSET | left(high_discharge_limit_measured_by=None), []),
        (left(low_suction_limit_response="none"), [("review", "unset")]),
        (left(low_discharge_limit_response="none"), []),  # it was not tested
    ],
)
def test_what_acted_is_set_to(changes, expected):
    assert verdicts(changed(booster(), changes), RULE) == expected


def test_one_cause_is_told_once():
    """The setting that is missing is named by its own rule."""
    document = changed(booster(), left(low_suction_limit_response="none", dry_run_method="none"))
    assert verdicts(document, RULE) == []
    (waiting,) = lacking(judged(document), RULE)
    assert waiting.waits_for == "protection.dry-run"
    known = judged(document, accepted=[("protection.dry-run", _place("dry_run_method"))])
    assert [each.variant for each in known.findings if each.rule == RULE] == ["unset"]


def test_what_another_rule_lacks_is_not_asked_for_here():
    """How the dry-run protection answers is its own question: what was tested is plain."""
    document = changed(booster(), left(low_suction_limit_response="none", dry_run_method="level",
                                       dry_run_response=None))  # fmt: skip
    judgement = judged(document)
    assert [each.variant for each in of_rule(judgement, RULE)] == ["unset"]
    assert lacking(judgement, RULE) == []
    (missing,) = lacking(judgement, "protection.dry-run")
    assert missing.needs == (_place("dry_run_response"),)


def test_a_lift_station_that_stays_stopped_is_told_once():
    document = changed(lift_station(), STAYS)
    at = next(
        index for index, each in enumerate(document["event"]["protection_tests"])
        if each["function"] == "power_loss_restart"
    )  # fmt: skip
    timed = changed(document, {f"/event/protection_tests/{at}/delay_measured": q("12", "s")})
    assert verdicts(timed, RULE) == []
    (floods,) = of_rule(judged(timed), "station.power-return")
    assert (floods.severity, floods.variant) == ("review", "floods")
    answered = judged(timed, accepted=[(floods.rule, floods.subject)])
    assert [each.variant for each in of_rule(answered, RULE)] == ["restarted"]


def _place(name):
    return f"/event/settings/as_left/{name}"
