"""Way of control against the kind of motor; common practice, no source."""

import pytest

from tests.calculations.building import booster, changed, judged, lacking, verdicts, without
from tests.calculations.stations import LEFT, eighty_seven_hertz, permanent_magnet, settings, well

RULE = "drive.control-mode"
LINEAR, QUADRATIC = "volts_per_hertz_linear", "volts_per_hertz_quadratic"


@pytest.mark.parametrize("mode", [LINEAR, QUADRATIC, "vector", "synchronous_vector"])
@pytest.mark.parametrize("start", ["normal", "catch_spinning", "magnetise"])
def test_a_motor_with_slip(mode, start):
    document = changed(booster(), settings({"control_mode": mode, "start_mode": start}))
    expected = [("review", "with_slip")] if mode == "synchronous_vector" else []
    assert verdicts(document, RULE) == expected


@pytest.mark.parametrize(
    ("kind", "chosen"),
    [
        ("permanent_magnet", "permanent_magnet"),
        ("synchronous_reluctance", "synchronous_reluctance"),
        ("pm_assisted_reluctance", "permanent_magnet"),
    ],
)
@pytest.mark.parametrize("start", ["normal", "catch_spinning"])
@pytest.mark.parametrize("mode", [LINEAR, QUADRATIC, "vector", "synchronous_vector"])
def test_a_synchronous_motor(kind, chosen, start, mode):
    left = settings({"motor_kind": chosen, "control_mode": mode, "start_mode": start})
    document = changed(permanent_magnet(), left | {"/motor/kind": kind})
    expected = [("review", "synchronous")] if mode in (LINEAR, QUADRATIC) else []
    assert verdicts(document, RULE) == expected


@pytest.mark.parametrize("station", [booster, permanent_magnet, eighty_seven_hertz, well])
def test_good_stations_are_silent(station):
    assert verdicts(station(), RULE) == []


def test_the_kind_set_in_the_drive_comes_first():
    left = settings({"motor_kind": "permanent_magnet", "control_mode": "synchronous_vector"})
    (waiting,) = lacking(judged(changed(booster(), left)), RULE)
    assert waiting.waits_for == "drive.motor-kind"


def test_a_mode_that_is_not_known_is_asked_for():
    document = without(permanent_magnet(), f"{LEFT}/control_mode")
    (missing,) = lacking(judged(document), RULE)
    assert missing.needs == (f"{LEFT}/control_mode",)
