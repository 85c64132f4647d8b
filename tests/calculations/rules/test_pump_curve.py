"""The pump's curve against itself and against the motor."""

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
from tests.calculations.building_plates import q
from tests.calculations.stations import eighty_seven_hertz
from tests.calculations.whole_stations import left

POINTS = "/pump/curve_points"


@pytest.mark.parametrize(
    ("changes", "expected", "place"),
    [
        ({}, [], None),
        ({f"{POINTS}/2/flow": q("300", "gpm")}, [("review", "duplicate")], 2),
        ({f"{POINTS}/2/flow": q("200", "gpm")}, [("review", "back")], 2),
        ({f"{POINTS}/1/head": q("261", "ft")}, [("note", "droops")], 1),
        # 13.6 of 273.6 ft are 4.97 %, 14 of 274 are 5.1 %
        ({f"{POINTS}/1/head": q("273.6", "ft")}, [("note", "droops")], 1),
        ({f"{POINTS}/1/head": q("274", "ft")}, [("review", "rising")], 1),
        # To 262 ft at 600 of 1350 gpm, over 261 at 300; then to 262 at 800, in the second half
        (
            {f"{POINTS}/1/head": q("261", "ft"), f"{POINTS}/2/head": q("262", "ft")},
            [("note", "droops")],
            2,
        ),
        (
            {
                f"{POINTS}/1/head": q("261", "ft"),
                f"{POINTS}/2/head": q("261.5", "ft"),
                f"{POINTS}/3/head": q("262", "ft"),
            },
            [("review", "rising")],
            1,
        ),
        # 150 for 251.5 ft: it is not the next point that rises, at 225.8 ft
        ({f"{POINTS}/1/head": q("150", "ft")}, [("review", "rising_at_one")], 1),
        ({f"{POINTS}/3/head": q("256", "ft")}, [("review", "rising_at_one")], 3),
        ({f"{POINTS}/0/head": q("26.00", "ft")}, [("review", "rising_at_one")], 0),
        # 3000 for 300 gpm: the next point does not go back
        ({f"{POINTS}/1/flow": q("3000", "gpm")}, [("review", "back_at_one")], 1),
        ({f"{POINTS}/0/flow": q("10", "gpm")}, [("review", "starts_late")], 0),
        # Flat below 0.1 % of the highest head: no source.
        ({f"{POINTS}/1/head": q("259.8", "ft")}, [("note", "flat")], 1),
        ({f"{POINTS}/1/head": q("259.7", "ft")}, [], None),
    ],
)
def test_shape(changes, expected, place):
    document = changed(booster(), changes)
    assert verdicts(document, "curve.shape") == expected
    found = of_rule(judged(document), "curve.shape")
    assert [each.subject for each in found] == ([f"{POINTS}/{place}"] if found else [])


def test_the_point_before_is_shown_beside_it():
    (found,) = of_rule(
        judged(changed(booster(), {f"{POINTS}/2/flow": q("200", "gpm")})), "curve.shape"
    )
    shown = {each.name: each.shown.value for each in found.compared}
    assert (shown["flow_before"], shown["flow"]) == ("300", "200")


def test_the_point_to_read_again_is_told_by_its_number():
    """The fourth of seven: 299.2 ft stand above all the others."""
    document = changed(booster(), {f"{POINTS}/3/head": q("299.2", "ft")})
    (found,) = of_rule(judged(document), "curve.shape")
    assert (found.subject, str(found.parameters["odd"])) == (f"{POINTS}/3", "4")


def test_a_contradictory_curve_is_one_finding():
    document = changed(booster(), {f"{POINTS}/0/head": q("26.00", "ft")})
    judgement = judged(document)
    assert {each.rule for each in judgement.findings} == {"curve.shape"}
    assert any(each.waits_for == "curve.shape" for each in judgement.not_evaluated)


def test_a_positive_displacement_pump_has_no_such_curve():
    document = changed(booster(), {"/pump/type": "progressive_cavity",
                                   f"{POINTS}/1/head": q("261", "ft")})  # fmt: skip
    assert verdicts(document, "curve.shape") == []
    assert verdicts(document, "curve.point") == []


@pytest.mark.parametrize(
    ("speed", "expected"),
    [
        # 5 % from 1775 rpm: 1686.3 and 1863.7 rpm.
        ("1687", []),
        ("1686", [("review", "apart")]),
        ("1863", []),
        ("1864", [("review", "apart")]),
        ("1479", [("review", "other_mains")]),  # 1775 / 1.2
        ("2130", [("review", "other_mains")]),  # 1775 x 1.2
    ],
)
def test_speed_of_curve_and_motor(speed, expected):
    document = changed(booster(), {"/pump/rated_speed": q(speed, "rpm")})
    assert verdicts(document, "curve.speed") == expected


def test_a_gear_stands_between_them():
    geared = {"/pump_set/transmission": "gear", "/pump/rated_speed": q("887", "rpm")}
    (missing,) = lacking(judged(changed(booster(), geared)), "curve.speed")
    assert missing.needs == ("/pump_set/transmission_ratio",)
    ratio = {"/pump_set/transmission_ratio": q("2.0", "1")}
    assert verdicts(changed(booster(), geared | ratio), "curve.speed") == []


def test_a_curve_for_the_maximum_frequency_is_right():
    """50 Hz motor at 1470 rpm, run to 87 Hz and 2558 rpm on purpose; curve for 2580 rpm."""
    assert verdicts(eighty_seven_hertz(), "curve.speed") == []
    plain = changed(eighty_seven_hertz(), {"/motor/extended_constant_torque": False})
    assert verdicts(plain, "curve.speed") == []
    slower = changed(plain, left(maximum_frequency=q("60", "Hz")))
    assert verdicts(slower, "curve.speed") == [("review", "apart")]


def test_a_curve_for_the_speed_of_a_stretched_rating_is_right_below_its_frequency():
    slower = changed(eighty_seven_hertz(), left(maximum_frequency=q("60", "Hz")))
    assert verdicts(slower, "curve.speed") == []


def test_speed_waits_for_the_plate():
    document = changed(booster(), {"/motor/ratings/1/speed": q("1450", "rpm")})
    (waiting,) = lacking(judged(document), "curve.speed")
    assert waiting.waits_for == "motor.slip"


def test_a_pump_without_curve_is_not_judged():
    (missing,) = lacking(judged(without(booster(), POINTS)), "curve.shape")
    assert missing.needs == (POINTS,)


def test_a_stretched_rating_of_unknown_voltage_is_not_judged():
    document = without(eighty_seven_hertz(), "/motor/ratings/0/voltage")
    assert verdicts(document, "curve.speed") == []


def test_a_curve_that_droops_is_judged_all_the_same() -> None:
    """256 ft at no flow, 258 at 300 gpm: everything hydraulic is judged.

    85 psi at 3 ft less 30 psi at 2 ft take 196.3 + 3 - 69.3 - 2 = 128.0 ft (0.4331 psi each foot):
    the pump holds them at 1775 sqrt(128.0 / 256) = 1255 rpm, with 4 poles and a slip of 4 rpm at so
    little torque 42.0 Hz.
    """
    document = changed(booster(), {
        f"{POINTS}/0/head": q("256", "ft"), f"{POINTS}/1/head": q("258", "ft"),
    })  # fmt: skip
    judgement = judged(document)
    assert [each.variant for each in of_rule(judgement, "curve.shape")] == ["droops"]
    assert not [each for each in judgement.not_evaluated if each.waits_for == "curve.shape"]
    (finding,) = of_rule(
        judged(changed(document, left(sleep_frequency=q("41.5", "Hz")))), "loop.sleep-order"
    )
    assert float(finding.parameters["zero_flow"].split()[0]) == pytest.approx(42.0, abs=0.2)


@pytest.mark.parametrize(
    ("sleep", "variant"),
    [("43.0", "droops"), ("42.4", "droops"), ("42.0", "unreachable"), ("43.6", None)],
)
def test_a_drive_slows_down_to_the_summit_of_a_curve_that_droops(
    sleep: str, variant: str | None
) -> None:
    """240 ft at no flow, 251.5 at 300 gpm. By hand as above, sqrt(128.0 / 240) of 1770 rpm and
    4.7 rpm of slip are 43.25 Hz; at the summit sqrt(240 / 251.5) of that, 42.25 Hz."""
    document = changed(booster(), {f"{POINTS}/0/head": q("240", "ft")})
    document = changed(document, left(sleep_frequency=q(sleep, "Hz")))
    found = of_rule(judged(document), "loop.sleep-order")
    assert [each.variant for each in found] == [variant] * (variant is not None)
    for each in found:
        if variant == "droops":
            assert float(each.parameters["slowest"].split()[0]) == pytest.approx(42.25, abs=0.1)


def driven(ratio: str, speed: str = "1420", highest: str = "1500"):
    """By a belt: 1775 rpm over 1.25 are 1420 rpm."""
    return changed(booster(), {
        "/pump_set/transmission": "belt", "/pump_set/transmission_ratio": q(ratio, "1"),
        "/pump/rated_speed": q(speed, "rpm"), "/pump/maximum_speed_permitted": q(highest, "rpm"),
    })  # fmt: skip


@pytest.mark.parametrize(
    ("ratio", "curve", "fast"),
    [
        ("1.25", [], []),
        # 1775 x 1.25 = 2219 rpm: told by the ratio alone.
        ("0.8", [("review", "turned")], []),
        # 1775 rpm: the pump turns too fast, or belt or plate are entered wrong.
        ("1", [("review", "apart")], [("stop", "pump_apart")]),
    ],
)
def test_a_transmission_that_does_not_fit(ratio, curve, fast):
    assert verdicts(driven(ratio), "curve.speed") == curve
    assert verdicts(driven(ratio), "speed.maximum-speed") == fast


def test_a_pump_that_is_only_run_too_fast_is_told_as_such():
    slow = driven("1.25", highest="1400")
    assert verdicts(slow, "speed.maximum-speed") == [("stop", "pump")]


def test_what_the_ratio_should_be_is_told():
    (finding,) = of_rule(judged(driven("0.8")), "curve.speed")
    assert (finding.parameters["ratio"], finding.parameters["other"]) == ("0.8", "1.25")
    (waiting,) = lacking(judged(driven("0.8")), "speed.maximum-speed")
    assert waiting.waits_for == "curve.speed"
