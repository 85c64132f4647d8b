"""Levels of the lift station over its floor; its transmitter reads 5.0 m from 0.1 m over it.

It reads 0.1 to 5.1 m. 20.5 mA are 103.125 % of 4 to 20 mA (NAMUR NE 43), so 5.256 m.
"""

import pytest

from calculations.aspects.levels import readable_range
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.judging import case_of
from calculations.rules.level_range import IN_RANGE
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
from tests.calculations.whole_stations import LEFT, left, lift_station

RANGE, AIM = "level.in-range", "level.set-point"


def levels(**values: str):
    return left(**{name: q(value, "m") for name, value in values.items()})


def found(document, rule):
    return [(each.subject.rsplit("/", 1)[-1], each.severity, each.variant)
            for each in of_rule(judged(document), rule)]  # fmt: skip


def deep_well():
    """Its overflow far above all levels."""
    return changed(lift_station(), {"/site/overflow_level": q("5", "m")})


# -- level.in-range -----------------------------------------------------------------------------

HIGH = {"lag_start_level": "5.8", "high_level_alarm": "6.0"}
LAG = ("lag_start_level", "review", "never_starts")
ALARM = ("high_level_alarm", "review", "high_alarm")


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ({}, []),
        ({"high_level_alarm": "5.1"}, []),
        ({"high_level_alarm": "5.11"}, [ALARM]),
        ({"start_level": "5.25"} | HIGH, [("start_level", "review", "outside"), LAG, ALARM]),
        ({"start_level": "5.26"} | HIGH, [("start_level", "stop", "never_starts"), LAG, ALARM]),
        ({"low_level_cutoff": "0.1"}, []),
        ({"low_level_cutoff": "0.09"}, [("low_level_cutoff", "review", "outside")]),
        (
            {"low_level_cutoff": "0.02", "stop_level": "0.05"},
            [("low_level_cutoff", "review", "outside"), ("stop_level", "review", "outside")],
        ),
    ],
)
def test_levels_of_a_well_against_its_transmitter(values, expected):
    assert found(changed(deep_well(), levels(**values)), RANGE) == expected


def test_a_float_that_was_seen_to_act_gives_the_alarm():
    test = {"name": "float", "level_measured": q("5.4", "m")}
    document = changed(deep_well(), levels(high_level_alarm="5.4"))
    assert found(document, RANGE) == [ALARM]
    document = changed(document, {"/event/level_tests/4": test})
    assert found(document, RANGE) == []
    assert found(changed(document, levels(high_level_alarm="5.45")), RANGE) == []
    assert found(changed(document, levels(high_level_alarm="5.46")), RANGE) == [ALARM]


def filling(**values: str):
    order = {"low_level_cutoff": "0.5", "lag_start_level": "1.5", "start_level": "2.0",
             "stop_level": "3.0", "high_level_alarm": "3.5"} | values  # fmt: skip
    kept = left(regulated_quantity="level_filling", action="rising_feedback_slows")
    return changed(lift_station(), kept | levels(**order))


def test_a_tank_is_filled_from_a_level_that_is_never_reached():
    """3.8 mA are -1.25 %: 0.0375 m over the floor."""
    low = {"low_level_cutoff": "0.01", "lag_start_level": "0.02", "start_level": "0.03"}
    assert ("start_level", "stop", "never_starts") in found(filling(**low), RANGE)
    assert found(filling(stop_level="5.4", high_level_alarm="5.5"), RANGE) == [
        ("stop_level", "review", "outside"), ALARM,
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("start", "expected"),
    [("0.03", ("stop", "never_starts")), ("0.04", ("review", "outside")), ("0.1", None)],
)
def test_below_the_floor_of_the_range_by_less_than_its_signal_shows(start, expected):
    """1.25 % of 5.0 m below 0.1 m are 0.0375 m."""
    low = {"low_level_cutoff": "0.01", "lag_start_level": "0.02", "start_level": start}
    of_start = [each[1:] for each in found(filling(**low), RANGE) if each[0] == "start_level"]
    assert of_start == ([expected] if expected else [])


@pytest.mark.parametrize("start", ["0.02", "5.5"])
def test_where_nobody_knows_what_the_pump_does_to_the_level_it_is_no_stop(start):
    unknown = {"/site/kind": None, "/site/suction_kind": None, "/pump_set/level_sensor": "LT-201"}
    document = changed(deep_well(), unknown | left(
        regulation="open_loop", regulated_quantity=None, low_level_cutoff=None, stop_level=None,
        lag_start_level=None, high_level_alarm=None,
    ) | levels(start_level=start))  # fmt: skip
    assert found(document, RANGE) == [("start_level", "review", "outside")]


def test_levels_in_percent_stand_within():
    document = changed(lift_station(), left(start_level=q("26", "%")))
    assert found(document, RANGE) == []


def test_a_drive_scaled_in_percent_reads_the_same_heights():
    """What is scaled in % counts from the transmitter's zero, 0.1 m over the floor."""
    scaled = left(feedback_at_lower_signal=q("0", "%"), feedback_at_upper_signal=q("100", "%"))
    case = case_of(read(Subject, changed(lift_station(), scaled)))
    assert readable_range(case) == pytest.approx((0.1, 5.1))


@pytest.mark.parametrize(
    ("name", "percent", "told"),
    [
        # By hand: 104 % of 5.1 m falling to 0.1 m are -0.1 m, -4 % of the range from its floor.
        ("low_level_cutoff", "104", [("outside", "-4 %")]),
        ("high_level_alarm", "-4", [("high_alarm", "104 %")]),
        ("start_level", "104", [("outside", "-4 %")]),
        ("start_level", "-4", [("never_starts", "104 %")]),
        ("start_level", "74", []),
    ],
)
def test_an_inverted_transmitter_reads_percent_from_the_top(name, percent, told):
    inverted = left(feedback_at_lower_signal=q("5.1", "m"), feedback_at_upper_signal=q("0.1", "m"))
    deep = changed(lift_station(), {"/site/overflow_level": q("6", "m")})
    document = changed(deep, inverted | left(**{name: q(percent, "%")}))
    findings = IN_RANGE.check(case_of(read(Subject, document)), "")
    assert [(each.variant, each.parameters["share"]) for each in findings] == told


@pytest.mark.parametrize(
    ("scale", "level", "expected"),
    [
        # 5 m of range. Up: 20.5 mA are 5.256 m. Down, with 4 mA at the top: 3.8 mA are 5.1625 m.
        (("0.1", "5.1"), "5.25", "outside"),
        (("0.1", "5.1"), "5.27", "never_starts"),
        (("5.1", "0.1"), "5.15", "outside"),
        (("5.1", "0.1"), "5.17", "never_starts"),
    ],
)
def test_an_inverted_transmitter_has_its_little_room_at_the_top(scale, level, expected):
    """NAMUR NE 43, from memory: a signal goes from 3.8 to 20.5 mA."""
    ends = left(
        feedback_at_lower_signal=q(scale[0], "m"), feedback_at_upper_signal=q(scale[1], "m")
    )
    deep = changed(lift_station(), {"/site/overflow_level": q("6", "m")})
    given = levels(start_level=level, lag_start_level="5.3", high_level_alarm="5.4")
    findings = IN_RANGE.check(case_of(read(Subject, changed(deep, ends | given))), "")
    told = {each.parameters["name"]: each.variant for each in findings}
    assert told["start"] == expected


def test_without_a_range_nothing_is_judged():
    scale = (f"{LEFT}/feedback_at_lower_signal", f"{LEFT}/feedback_at_upper_signal")
    document = without(lift_station(), *scale, "/sensors/0/upper_range_value")
    (missing,) = lacking(judged(document), RANGE)
    assert "/sensors/0/upper_range_value" in missing.needs


def test_without_levels_there_is_nothing_to_say():
    names = ("low_level_cutoff", "stop_level", "start_level", "lag_start_level", "high_level_alarm")
    document = without(lift_station(), *(f"{LEFT}/{name}" for name in names))
    assert (found(document, RANGE), lacking(judged(document), RANGE)) == ([], [])


# -- level.set-point ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("aim", "expected"),
    [
        ("1.0", []),
        ("0.61", []),
        ("0.6", [("set_point", "review", "below")]),
        ("2.19", []),
        ("2.2", [("set_point", "review", "alarm")]),
    ],
)
def test_what_a_well_is_kept_at(aim, expected):
    """Stop at 0.6 m, high alarm at 2.2 m."""
    assert found(changed(lift_station(), levels(set_point=aim)), AIM) == expected


def test_a_well_kept_below_its_cut_off_names_that():
    document = changed(lift_station(), levels(stop_level="1.1", low_level_cutoff="1.0"))
    document = changed(document, levels(set_point="0.9"))
    (finding,) = of_rule(judged(document), AIM)
    assert finding.parameters["name"] == "low cut-off"


@pytest.mark.parametrize(
    ("aim", "expected"),
    [
        ("2.5", []),
        ("3.0", [("set_point", "review", "above")]),
        ("3.6", [("set_point", "review", "alarm")]),
        ("0.5", [("set_point", "review", "below")]),
        ("1.0", []),
    ],
)
def test_what_a_tank_is_kept_at(aim, expected):
    document = changed(filling(low_level_cutoff="0.6"), levels(set_point=aim))
    assert found(document, AIM) == expected


LEVELS = ("low_level_cutoff", "stop_level", "start_level", "lag_start_level", "high_level_alarm")


@pytest.mark.parametrize(
    ("station", "changes"),
    [
        (lift_station, left(regulation="open_loop") | levels(set_point="0.5")),
        (lift_station, left(set_point=None, **dict.fromkeys(LEVELS))),
        (booster, levels(high_level_alarm="1.0")),
    ],
)
def test_only_a_loop_on_level_between_levels_has_its_aim_judged(station, changes):
    document = changed(station(), changes)
    assert found(document, AIM) == lacking(judged(document), AIM) == []


def test_every_alternative_is_judged_alike():
    nights = [{"set_point": q("2.4", "m"), "schedule": "night"}, {"set_point": q("1.2", "m")}]
    document = changed(lift_station(), left(set_point_alternatives=nights))
    (finding,) = of_rule(judged(document), AIM)
    assert finding.subject == f"{LEFT}/set_point_alternatives/0/set_point"
    assert finding.parameters["which"] == "Alternative set point (night)"


def test_an_alarm_above_the_overflow_is_told_once():
    """Overflow at 2.8 m over the floor, the transmitter's top lowered to 2.6 m over it."""
    shorter = {"/sensors/0/upper_range_value": q("2.5", "m")}
    shorter |= levels(feedback_at_upper_signal="2.6", high_level_alarm="2.9")
    document = changed(lift_station(), shorter)
    assert verdicts(document, "level.alarm-below-overflow") == [("review", "above")]
    assert [each.waits_for for each in lacking(judged(document), RANGE)] == [
        "level.alarm-below-overflow"
    ]
    known = judged(document, accepted=[("level.alarm-below-overflow", f"{LEFT}/high_level_alarm")])
    assert [each.variant for each in of_rule(known, RANGE)] == ["high_alarm"]
    assert found(changed(document, levels(high_level_alarm="2.7")), RANGE) == [ALARM]


# -- level.alarm-below-overflow, of tanks -----------------------------------------------------


def test_a_tank_filled_from_elsewhere_alarms_before_it_overflows():
    """The floor at -5.0 m, so that an alarm of 3.5 m stands at -1.5 m."""
    tank = {"/site/suction_kind": "flooded_tank", "/site/overflow_level": q("-1.6", "m")}
    rule = "level.alarm-below-overflow"
    assert verdicts(changed(filling(), tank), rule) == [("review", "above")]
    higher = tank | {"/site/overflow_level": q("-1.4", "m")}
    assert verdicts(changed(filling(), higher), rule) == []
    assert verdicts(changed(filling(), tank | {"/site/suction_kind": "wet_well"}), rule) == []
