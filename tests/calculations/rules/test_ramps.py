"""Ramps: through the bearing's speed, and torque to start."""

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
from tests.calculations.stations import well
from tests.calculations.whole_stations import LEFT, left

# -- ramp.submersible ---------------------------------------------------------------------------


def ramped(**values: str):
    return changed(well(), left(**{name: q(value, "s") for name, value in values.items()}))


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        # 30 Hz within 1 s, as the pump's manual has it here.
        ({}, []),
        ({"first_ramp_time": "1.01"}, [("review", "up")]),
        ({"last_ramp_time": "1.01"}, [("review", "down")]),
        (
            {"first_ramp_time": "5", "last_ramp_time": "5"},
            [("review", "up"), ("review", "down")],
        ),
    ],
)
def test_through_the_bearing_s_speed(changes, expected):
    assert verdicts(ramped(**changes), "ramp.submersible") == expected


def test_the_ordinary_ramp_counts_where_no_first_one_is_set():
    """15 s to 60 Hz: 7.5 s to 30 Hz."""
    document = without(well(), f"{LEFT}/first_ramp_time", f"{LEFT}/first_ramp_to_frequency")
    (finding,) = of_rule(judged(document), "ramp.submersible")
    assert (finding.variant, finding.parameters["taken"]) == ("up", "7.5 s")


def test_a_first_ramp_that_ends_at_rest_is_none():
    """15 s to 60 Hz: 7.5 s to 30 Hz."""
    document = changed(well(), left(first_ramp_to_frequency=q("0", "Hz")))
    (finding,) = of_rule(judged(document), "ramp.submersible")
    assert finding.parameters["taken"] == "7.5 s"


def test_a_first_ramp_that_ends_too_early():
    """0.5 s to 20 Hz, and 10 Hz of 15 s / 60 Hz: 3.0 s."""
    document = changed(ramped(first_ramp_time="0.5"), left(first_ramp_to_frequency=q("20", "Hz")))
    (finding,) = of_rule(judged(document), "ramp.submersible")
    assert finding.parameters["taken"] == "3 s"


def test_the_ramp_s_reference_counts():
    """15 s to the rated 60 Hz are 7.5 s to 30 Hz; to a maximum of 50 Hz they are 9 s."""
    document = without(
        changed(well(), left(maximum_frequency=q("50", "Hz"))),
        f"{LEFT}/first_ramp_time", f"{LEFT}/first_ramp_to_frequency",
    )  # fmt: skip
    for reference, expected in (("to_rated_frequency", "7.5 s"), ("to_maximum_frequency", "9 s")):
        (finding,) = of_rule(
            judged(changed(document, left(ramp_reference=reference))), "ramp.submersible"
        )
        assert finding.parameters["taken"] == expected
    (missing,) = lacking(judged(without(document, f"{LEFT}/ramp_reference")), "ramp.submersible")
    assert missing.needs == (f"{LEFT}/ramp_reference",)


@pytest.mark.parametrize(("time", "expected"), [("2.0", []), ("2.05", [("review", "up")])])
def test_without_a_manual_two_seconds_to_30_hertz(time, expected):
    """From memory, common practice of well pumps."""
    document = without(
        ramped(first_ramp_time=time), "/pump/bearing_frequency", "/pump/bearing_time_limit"
    )
    assert verdicts(document, "ramp.submersible") == expected


def test_coasting_needs_no_last_ramp():
    document = changed(ramped(last_ramp_time="9"), left(stop_mode="coast"))
    assert verdicts(document, "ramp.submersible") == []


def test_other_pumps_may_ramp_slowly():
    assert verdicts(changed(booster(), left(ramp_up_time=q("60", "s"))), "ramp.submersible") == []


def test_half_of_a_last_ramp_is_not_judged_as_none():
    document = without(well(), f"{LEFT}/last_ramp_time")
    (missing,) = lacking(judged(document), "ramp.submersible")
    assert missing.needs == (f"{LEFT}/last_ramp_time",)


# -- ramp.too-short -------------------------------------------------------------------------------

MAIN = {"/site/pipeline": {"length": q("300", "ft")}}
INERTIA = {"/motor/inertia": q("1.0", "kg.m2"), "/pump/inertia": q("0.5", "kg.m2")}


@pytest.mark.parametrize(
    ("name", "time", "changes", "expected"),
    [
        # 0.5 s: common practice, no source.
        ("up", "0.5", {}, []),
        ("up", "0.4", {}, [("review", "up")]),
        ("up", "0.4", MAIN | left(stop_mode="coast"), [("review", "up")]),
        ("up", "0.4", INERTIA, []),  # its torque is computed
        ("down", "0.5", {}, []),
        ("down", "0.4", {}, [("review", "down")]),
        ("down", "0.4", INERTIA, [("review", "down")]),
        ("down", "0.4", MAIN, []),  # its surge is computed
        ("down", "0.4", left(stop_mode="coast"), []),
    ],
)
def test_a_ramp_that_is_none(name, time, changes, expected):
    document = changed(booster(), left(**{f"ramp_{name}_time": q(time, "s")}) | changes)
    assert verdicts(document, "ramp.too-short") == expected


# -- ramp.start-torque ----------------------------------------------------------------------------


def starting(ramp: str, **more: object):
    """1.5 kg m2 to 1775 rpm (185.9 rad/s); rated torque 240.7 N m.

    The pump takes (60 / 63.22)^2 = 90.1 % at 60 Hz; the drive gives 110 % x 77 / 68.7 = 123.3 %.
    33.2 % or 79.9 N m are left: 1.5 x 185.9 / 79.9 = 3.49 s.
    """
    inertia = {"/motor/inertia": q("1.0", "kg.m2"), "/pump/inertia": q("0.5", "kg.m2")}
    return changed(booster(), inertia | left(ramp_up_time=q(ramp, "s")) | more)


@pytest.mark.parametrize(
    ("ramp", "expected"),
    [("3.5", []), ("3.4", [("review", "too_fast")]), ("0.9", [("review", "too_fast")])],
)
def test_torque_to_start(ramp, expected):
    assert verdicts(starting(ramp), "ramp.start-torque") == expected


@pytest.mark.parametrize(("ramp", "expected"), [("2.7", []), ("2.55", [("review", "too_fast")])])
def test_torque_to_start_through_a_gear(ramp, expected):
    """Half of the motor's speed at the pump, whose 0.5 kg m2 are a fourth there: 1.125 kg m2, 2.62
    s. Its curve is that of 885 rpm, so that it takes as much."""
    geared = {
        "/pump_set/transmission": "gear", "/pump_set/transmission_ratio": q("2", "1"),
        "/pump/rated_speed": q("885", "rpm"), "/pump/maximum_speed_permitted": q("900", "rpm"),
        "/event/duty_points": [],
    }  # fmt: skip
    assert verdicts(starting(ramp, **geared), "ramp.start-torque") == expected


def test_torque_to_start_waits_for_what_the_pump_takes():
    """3.5 s are enough by the pump's curve; with the motor's rated torque at the end they are not:
    5 s would be, 23.3 % or 56.1 N m being left. Which counts is not known while the density of the
    liquid is in doubt."""
    heavy = starting("3.5", **{"/site/liquid_density": q("1113", "kg/m3")})
    told = judged(heavy)
    assert of_rule(told, "ramp.start-torque") == []
    assert [each.waits_for for each in lacking(told, "ramp.start-torque")] == [
        "site.liquid-density"
    ]


def test_the_remedy_is_the_shortest_start():
    (finding,) = of_rule(judged(starting("2")), "ramp.start-torque")
    assert float(finding.parameters["sensible"].split()[0]) == pytest.approx(3.49, abs=0.02)


def too_small_a_drive(document):
    """What is said of the start where the size of the drive was accepted."""
    found = of_rule(judged(document), "drive.rated-current")
    accepted = {(each.rule, each.subject) for each in found}
    assert accepted
    told = of_rule(judged(document, accepted=accepted), "ramp.start-torque")
    return [(each.severity, each.variant) for each in told]


def test_a_drive_that_is_too_weak_for_any_ramp():
    weak = {"/drive/rated_current_normal_duty": q("55", "A")}  # 88.1 %
    assert too_small_a_drive(starting("60", **weak)) == [("review", "too_weak")]


def test_the_torque_to_start_waits_where_the_drive_is_too_small_or_the_links_are_wrong():
    """Both have told why the drive's overload is no torque of this motor."""
    weak = starting("60", **{"/drive/rated_current_normal_duty": q("55", "A")})
    (waiting,) = lacking(judged(weak), "ramp.start-torque")
    assert waiting.waits_for == "drive.rated-current"
    other = starting("2", **left(motor_voltage=q("230", "V")))
    (waiting,) = lacking(judged(other), "ramp.start-torque")
    assert waiting.waits_for == "drive.volts-per-hertz"


def test_the_torque_to_start_waits_for_the_maximum_frequency_that_the_ramp_counts_to():
    """To 600 Hz in 20 s are 2 s to 60 Hz, which nobody meant."""
    tenfold = left(maximum_frequency=q("600", "Hz"), ramp_reference="to_maximum_frequency")
    found = judged(changed(starting("20"), tenfold))
    assert of_rule(found, "speed.maximum-speed") != []
    assert [each.waits_for for each in lacking(found, "ramp.start-torque")] == [
        "speed.maximum-speed"
    ]


def test_numbers_of_the_start():
    """In 2 s 1.5 x 185.9 / 2 = 139.4 N m, 57.9 % of rated; the pump's 90.1 %."""
    (found,) = of_rule(judged(starting("2")), "ramp.start-torque")
    told = {name: float(found.parameters[name].split()[0])
            for name in ("needed", "available", "load")}  # fmt: skip
    expected = {"needed": 148.0, "available": 123.3, "load": 90.1}
    assert told == pytest.approx(expected, rel=3e-3)
    assert float(found.limit.split()[0]) == pytest.approx(123.3, rel=3e-3)


@pytest.mark.parametrize(
    ("part", "ramp", "expected"),
    [
        # Without the other's: 1.0 kg m2 take 2.33 s, 0.5 kg m2 1.16 s.
        ("pump", "2.4", []),
        ("pump", "2.3", [("review", "too_fast")]),
        ("motor", "1.2", []),
        ("motor", "1.1", [("review", "too_fast")]),
    ],
)
def test_both_inertias_count(part, ramp, expected):
    light = {f"/{part}/inertia": q("0.0000001", "kg.m2")}
    assert verdicts(starting(ramp, **light), "ramp.start-torque") == expected
    unknown = judged(without(starting(ramp), f"/{part}/inertia"))
    assert of_rule(unknown, "ramp.start-torque") == lacking(unknown, "ramp.start-torque") == []


def test_the_duty_that_is_set_tells_the_current_of_the_drive():
    """Heavy, 60 A: 110 % x 60 / 68.7 = 96.1 %, 14.4 N m more than the pump's: 19.4 s."""
    heavy = {"/drive/rated_current_heavy_duty": q("60", "A")} | left(duty_class="heavy")
    assert too_small_a_drive(starting("19", **heavy)) == [("review", "too_fast")]
    assert too_small_a_drive(starting("20", **heavy)) == []
    untold = left(duty_class=None)
    assert verdicts(starting("3.4", **untold), "ramp.start-torque") == [("review", "too_fast")]
    assert verdicts(starting("3.5", **untold), "ramp.start-torque") == []


def test_numbers_of_a_slow_start_of_a_well_pump():
    (found,) = of_rule(judged(ramped(last_ramp_time="1.5")), "ramp.submersible")
    told = {"taken": "1.5 s", "bearing": "30 Hz", "allowed": "1 s"}
    assert told.items() <= found.parameters.items()
    assert (found.subject, found.limit) == (f"{LEFT}/ramp_down_time", "at most 1 s")


def test_without_inertia_nothing_is_said():
    assert lacking(judged(booster()), "ramp.start-torque") == []


@pytest.mark.parametrize(("ramp", "expected"), [("5.0", []), ("4.9", [("review", "too_fast")])])
def test_without_a_curve_the_pump_is_taken_to_need_the_rated_torque(ramp, expected):
    """123.3 % less 100 % are 56.1 N m: 1.5 x 185.9 / 56.1 = 4.97 s."""
    document = without(starting(ramp), "/pump/curve_points")
    assert verdicts(document, "ramp.start-torque") == expected
