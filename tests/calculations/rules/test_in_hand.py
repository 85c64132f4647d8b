"""Speed and protections in hand. The booster runs to 60 Hz; its motor permits 90 Hz, its pump
1800 rpm, that is 60.85 Hz by a plate of 1775 rpm at 60 Hz.

Conditions are logic and common practice, no source.
"""

import pytest

from tests.calculations.building import booster, changed, judged, lacking, verdicts, without
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import left

SPEED, PROTECTIONS = "speed.hand", "protection.in-hand"


@pytest.mark.parametrize(
    ("hertz", "expected"),
    [
        ("45", []),
        ("60", []),
        ("60.1", []),  # within the rounding of a rated speed
        ("60.2", [("review", "maximum")]),
        ("60.8", [("review", "maximum")]),
        ("61.0", [("review", "pump")]),
        ("75", [("review", "pump")]),
    ],
)
def test_speed(hertz: str, expected: list[tuple[str, str]]) -> None:
    assert verdicts(changed(booster(), left(hand_speed=q(hertz, "Hz"))), SPEED) == expected


def test_the_motors_own_limit() -> None:
    document = changed(booster(), {"/motor/maximum_frequency": q("50", "Hz")})
    document = changed(document, left(hand_speed=q("55", "Hz"), maximum_frequency=q("50", "Hz")))
    assert verdicts(document, SPEED) == [("review", "motor")]


def test_a_maximum_frequency_that_is_too_high_is_told_alone() -> None:
    """1800 rpm are 60.85 Hz: where the drive may run to 65 Hz, 64 Hz in hand are the same slip."""
    fast = changed(booster(), left(maximum_frequency=q("65", "Hz"), hand_speed=q("64", "Hz")))
    assert verdicts(fast, "speed.maximum-speed") == [("stop", "pump")]
    (waiting,) = lacking(judged(fast), SPEED)
    assert waiting.waits_for == "speed.maximum-speed"
    faster = changed(fast, left(hand_speed=q("66", "Hz")))
    assert verdicts(faster, SPEED) == [("review", "pump")]


def test_a_ratio_that_is_turned_round_is_told_alone() -> None:
    """0.5 for 2: by it the pump would turn at 2840 rpm in hand, which permits 900."""
    document = changed(booster(), {
        "/pump_set/transmission": "belt", "/pump_set/transmission_ratio": q("0.5", "1"),
        "/pump/rated_speed": q("887", "rpm"), "/pump/maximum_speed_permitted": q("900", "rpm"),
    })  # fmt: skip
    judgement = judged(document)
    assert [each.rule for each in judgement.findings] == ["curve.speed"]
    (waiting,) = lacking(judgement, SPEED)
    assert waiting.waits_for == "curve.speed"


def test_a_plate_in_doubt_leaves_the_maximum_frequency() -> None:
    """1475 rpm at 60 Hz is no speed of four poles: what the pump's speed would be is not known."""
    doubtful = changed(booster(), {"/motor/ratings/1/speed": q("1475", "rpm")})
    assert verdicts(changed(doubtful, left(hand_speed=q("75", "Hz"))), SPEED) == [
        ("review", "maximum")
    ]


def test_without_any_limit_it_is_not_passed() -> None:
    document = without(
        booster(), "/event/settings/as_left/maximum_frequency", "/motor/maximum_frequency",
        "/pump/maximum_speed_permitted",
    )  # fmt: skip
    (missing,) = lacking(judged(document), SPEED)
    assert missing.needs == ("/event/settings/as_left/maximum_frequency",)


def test_a_range_in_the_wrong_order_is_told_alone() -> None:
    wrong = left(minimum_frequency=q("60", "Hz"), maximum_frequency=q("36", "Hz"))
    (waiting,) = lacking(judged(changed(booster(), wrong)), SPEED)
    assert waiting.waits_for == "speed.order"


@pytest.mark.parametrize(("acts", "expected"), [(True, []), (False, [("review", "off")])])
def test_protections(acts: bool, expected: list[tuple[str, str]]) -> None:
    assert verdicts(changed(booster(), left(hand_protections_active=acts)), PROTECTIONS) == expected


def test_what_is_not_said_is_not_off() -> None:
    document = changed(booster(), left(hand_protections_active=None))
    assert verdicts(document, PROTECTIONS) == []


@pytest.mark.parametrize("name", ["speed", "frequency"])
def test_without_a_rated_speed_the_pumps_own_limit_is_no_frequency(name: str) -> None:
    document = without(booster(), f"/motor/ratings/1/{name}")
    document = changed(document, left(hand_speed=q("75", "Hz")))
    assert verdicts(document, SPEED) == [("review", "maximum")]
