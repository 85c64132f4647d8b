"""Switches, capacitors, bypass and identification at the drive's output."""

import pytest

from tests.calculations.building import (
    booster,
    changed,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.stations import permanent_magnet, settings


def test_capacitors() -> None:
    document = changed(booster(), {"/drive/output_capacitors": True})
    assert verdicts(document, "drive.output-capacitors") == [("stop", "fitted")]
    unknown = without(booster(), "/drive/output_capacitors")
    (missing,) = lacking(judged(unknown), "drive.output-capacitors")
    assert missing.needs == ("/drive/output_capacitors",)


def test_switch() -> None:
    rule = "drive.output-switch"
    with_switch = changed(booster(), {"/drive/output_switch": True})
    (missing,) = lacking(judged(with_switch), rule)
    assert missing.needs == ("/drive/output_switch_interlocked",)
    for interlocked, expected in ((True, []), (False, [("review", "open")])):
        document = changed(with_switch, {"/drive/output_switch_interlocked": interlocked})
        assert verdicts(document, rule) == expected
    assert lacking(judged(booster()), rule) == []


def test_bypass() -> None:
    rule = "drive.bypass"
    fitted_bypass = {"/pump_set/bypass": "automatic", "/event/rotation/bypass_direction": "correct"}
    assert verdicts(changed(permanent_magnet(), fitted_bypass), rule) == [("stop", "synchronous")]
    document = changed(booster(), fitted_bypass)
    (missing,) = lacking(judged(document), rule)
    assert missing.needs == ("/pump_set/bypass_own_overload",)
    for own, expected in ((True, []), (False, [("review", "no_overload")])):
        assert verdicts(changed(document, {"/pump_set/bypass_own_overload": own}), rule) == expected
    assert of_rule(judged(booster()), rule) == []


@pytest.mark.parametrize(
    ("mode", "identification", "expected"),
    [
        ("vector", "standstill", []),
        ("vector", "skipped", [("review", "needed")]),
        ("volts_per_hertz_linear", "skipped", [("note", "useful")]),
        ("volts_per_hertz_linear", "not_available", []),
    ],
)
def test_identification(mode: str, identification: str, expected: list[tuple[str, str]]) -> None:
    chosen = settings({"control_mode": mode, "motor_identification": identification})
    assert verdicts(changed(booster(), chosen), "drive.identification") == expected


def test_a_synchronous_motor_needs_its_identification() -> None:
    chosen = settings({"control_mode": "unknown", "motor_identification": "skipped"})
    document = changed(permanent_magnet(), chosen)
    assert verdicts(document, "drive.identification") == [("review", "needed")]
