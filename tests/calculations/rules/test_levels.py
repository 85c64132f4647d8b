"""Levels of the lift station: 0.35 cut-off, 0.6 stop, 1.4 start, 1.7 lag, 2.2 alarm, 2.45 float,
2.8 m overflow over the floor at -5.0 m; the transmitter's zero lies 0.1 m over the floor.
"""

import pytest

from calculations.aspects.in_order import odd_ones
from calculations.rules.levels import BACKUP
from tests.calculations.building import changed, judged, lacking, of_rule, verdicts, without
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import LEFT, left, lift_station

ORDER = "level.order"


def levels(**values: str):
    return left(**{name: q(value, "m") for name, value in values.items()})


# -- level.order --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "odd"),
    [
        ({}, None),
        (levels(start_level="0.61"), None),
        (levels(start_level="0.6"), "start_level"),
        (levels(start_level="14"), "start_level"),  # a digit slip
        (levels(stop_level="1.5"), "start_level"),  # either of the two; the later is pointed at
        (levels(stop_level="1.8"), "stop_level"),  # past the lag start as well
        (levels(low_level_cutoff="1.5"), "low_level_cutoff"),
        (levels(lag_start_level="1.2"), "lag_start_level"),
        (levels(high_level_alarm="1.6"), "high_level_alarm"),
        (levels(stop_level="0.2"), "stop_level"),
    ],
)
def test_a_well_that_is_emptied(changes, odd):
    found = of_rule(judged(changed(lift_station(), changes)), ORDER)
    assert [each.severity for each in found] == (["stop"] if odd else [])
    assert [each.subject for each in found] == ([f"{LEFT}/{odd}"] if odd else [])


@pytest.mark.parametrize("known", ["start_level", "stop_level"])
def test_one_level_alone_has_no_order(known):
    others = ("low_level_cutoff", "stop_level", "start_level", "lag_start_level",
              "high_level_alarm")  # fmt: skip
    document = changed(lift_station(), left(**{each: None for each in others if each != known}))
    (missing,) = lacking(judged(document), ORDER)
    assert missing.needs == (f"{LEFT}/start_level", f"{LEFT}/stop_level")


@pytest.mark.parametrize(("stop", "expected"), [("0.6", []), ("1.4", [("stop", "emptying")])])
def test_two_levels_have_an_order(stop, expected):
    """The pump starts at a level above that at which it stops: here at 1.2 m."""
    others = dict.fromkeys(("low_level_cutoff", "lag_start_level", "high_level_alarm"))
    document = changed(lift_station(), left(**others) | levels(start_level="1.2", stop_level=stop))
    assert verdicts(document, ORDER) == expected


@pytest.mark.parametrize(
    ("start", "probably"),
    [
        # 1.2 ft are 0.37 m, below the stop at 0.6 m; 4.0 m are above the alarm.
        (q("1.2", "ft"), "Probably 1.2 m, as the others are written. "),
        (q("4.0", "m"), ""),
    ],
)
def test_one_level_in_another_unit_is_named(start, probably):
    others = dict.fromkeys(("lag_start_level", "low_level_cutoff"))
    document = changed(lift_station(), left(**others, start_level=start)
                       | levels(stop_level="0.6", high_level_alarm="2.4"))  # fmt: skip
    (found,) = of_rule(judged(document), ORDER)
    assert found.parameters["probably"] == probably


def filling(**values: str):
    """A tank that is filled: start below stop."""
    order = {"low_level_cutoff": "0.5", "lag_start_level": "1.5", "start_level": "2.0",
             "stop_level": "3.0", "high_level_alarm": "3.5"} | values  # fmt: skip
    kept = left(regulated_quantity="level_filling", action="rising_feedback_slows")
    return changed(lift_station(), kept | levels(**order))


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ({}, []),
        ({"start_level": "3.2"}, [("stop", "filling")]),
        ({"stop_level": "3.6"}, [("stop", "filling")]),
        ({"lag_start_level": "2.1"}, [("stop", "filling")]),
    ],
)
def test_a_tank_that_is_filled(values, expected):
    assert verdicts(filling(**values), ORDER) == expected


def test_levels_in_percent_of_span():
    """5.0 m of span over 0.1 m: 50 % are 2.6 m, above the alarm at 2.2 m."""
    assert verdicts(changed(lift_station(), left(start_level=q("26", "%"))), ORDER) == []
    document = changed(lift_station(), left(start_level=q("50", "%")))
    assert verdicts(document, ORDER) == [("stop", "emptying")]


@pytest.mark.parametrize(("start", "expected"), [("11.0", []), ("9.0", [("stop", "emptying")])])
def test_percent_and_metres_are_compared_from_one_reference(start, expected):
    """Stop at 0.6 m over the floor is (0.6 - 0.1)/5 = 10 % of the span over the zero at 0.1 m."""
    scaled = left(
        feedback_at_lower_signal=q("0", "%"), feedback_at_upper_signal=q("100", "%"),
        set_point=q("20", "%"), start_level=q(start, "%"), lag_start_level=None,
    )  # fmt: skip
    document = changed(lift_station(), scaled)
    assert verdicts(document, ORDER) == expected


def test_levels_all_in_percent_need_no_height_of_the_transmitter():
    percent = {"low_level_cutoff": "5", "stop_level": "10", "start_level": "9",
               "lag_start_level": "32", "high_level_alarm": "42"}  # fmt: skip
    scaled = left(
        feedback_at_lower_signal=q("0", "%"), feedback_at_upper_signal=q("100", "%"),
        **{name: q(value, "%") for name, value in percent.items()},
    )  # fmt: skip
    document = changed(lift_station(), scaled | {"/sensors/0/zero_elevation": None})
    assert verdicts(document, ORDER) == [("stop", "emptying")]


def test_levels_that_are_not_set_are_not_compared():
    document = without(lift_station(), f"{LEFT}/low_level_cutoff", f"{LEFT}/lag_start_level")
    assert verdicts(document, ORDER) == []


def test_levels_name_what_they_lack():
    names = ("low_level_cutoff", "stop_level", "start_level", "lag_start_level", "high_level_alarm")
    document = without(lift_station(), *(f"{LEFT}/{name}" for name in names))
    (missing,) = lacking(judged(document), ORDER)
    assert missing.needs == (f"{LEFT}/start_level", f"{LEFT}/stop_level")


def test_both_are_named_where_either_may_be_wrong():
    document = changed(lift_station(), levels(stop_level="1.5"))
    (finding,) = of_rule(judged(document), ORDER)
    assert finding.parameters["odd"] == "stop or start"


@pytest.mark.parametrize(
    ("values", "odd"),
    [
        ([1, 2, 3], ()),
        ([], ()),
        ([5, 2, 3], (0,)),
        ([1, 9, 3, 4], (1,)),
        ([1, 2, 3, 0], (3,)),
        ([1, 1], (0, 1)),
        ([4, 3, 2, 1], (1,)),  # nothing alone puts it right: the later of the first pair
    ],
)
def test_odd_ones(values, odd):
    assert odd_ones(values) == odd


# -- level.alarm-below-overflow -------------------------------------------------------------------


@pytest.mark.parametrize(
    ("alarm", "expected"),
    [("2.79", []), ("2.80", [("review", "above")]), ("3", [("review", "above")])],
)
def test_alarm_below_the_overflow(alarm, expected):
    """-5.0 m + 2.8 m = -2.2 m, where it overflows."""
    document = changed(lift_station(), levels(high_level_alarm=alarm))
    assert verdicts(document, "level.alarm-below-overflow") == expected


def test_levels_over_the_transmitter_s_zero():
    """2.75 m over a zero at -4.9 m are -2.15 m."""
    zero = left(
        level_reference="transmitter_zero", feedback_at_lower_signal=q("0", "m"),
        feedback_at_upper_signal=q("5", "m"),
    )  # fmt: skip
    document = changed(lift_station(), zero | levels(high_level_alarm="2.75"))
    assert verdicts(document, "level.alarm-below-overflow") == [("review", "above")]


def test_overflow_names_what_it_lacks():
    document = without(lift_station(), "/site/overflow_level")
    (missing,) = lacking(judged(document), "level.alarm-below-overflow")
    assert missing.needs == ("/site/overflow_level",)


# -- level.zero-offset ----------------------------------------------------------------------------


def taped(*differences: float):
    """Level tests whose display differs from the tape by so much [m]."""
    tests = [
        {"name": "start", "level_measured": q(f"{1 + index}.00", "m"),
         "level_indicated": q(f"{1 + index + difference:.3f}", "m")}
        for index, difference in enumerate(differences)
    ]  # fmt: skip
    return changed(lift_station(), {"/event/level_tests": tests})


@pytest.mark.parametrize(
    ("differences", "expected"),
    [
        # 1 % of a span of 5 m are 50 mm: from memory.
        ((0.05, -0.05), []),
        ((0.06, 0.01), [("review", "reference")]),  # 0.1 m lie between zero and floor
        ((0.1, 0.1), [("review", "reference")]),
        ((0.3, 0.3), [("review", "plain")]),
        ((4.9, 4.9), [("review", "reference")]),  # transmitter's zero against the site datum
    ],
)
def test_tape_against_display(differences, expected):
    assert verdicts(taped(*differences), "level.zero-offset") == expected


@pytest.mark.parametrize(
    ("span", "difference", "expected"),
    [
        # 1 % of 2 m are 20 mm: less than the 30 mm of tape and waves. Neither with a source.
        ("2", 0.030, []),
        ("2", 0.031, [("review", "plain")]),
        ("4", 0.040, []),
        ("4", 0.041, [("review", "plain")]),
        (None, 0.030, []),
        (None, 0.031, [("review", "plain")]),
    ],
)
def test_what_tape_and_waves_leave_open(span, difference, expected):
    upper = q(span, "m") if span else None
    sensor = next(index for index, each in enumerate(lift_station()["sensors"])
                  if each["quantity"] == "level")  # fmt: skip
    document = changed(taped(difference), {
        f"/sensors/{sensor}/upper_range_value": upper, "/event/sensor_verifications": None,
        f"{LEFT}/feedback_at_upper_signal": None, f"{LEFT}/feedback_at_lower_signal": None,
        f"/sensors/{sensor}/zero_elevation": None, "/site/wet_well_floor": None,
    })  # fmt: skip
    assert verdicts(document, "level.zero-offset") == expected


def test_the_worst_of_the_levels_is_pointed_at():
    (found,) = of_rule(judged(taped(0.06, 0.30, -0.08)), "level.zero-offset")
    told = {"difference": "0.3 m", "count": "3"}
    assert found.subject == "/event/level_tests/1"
    assert told.items() <= found.parameters.items()
    assert found.limit == "at most 0.05 m"


@pytest.mark.parametrize(
    ("below", "expected"),
    [
        (("4.40", "3.90", "3.40"), [("review", "depth")]),  # 5.4 m less 1.0, 1.5 and 2.0 m
        (("4.45", "3.90", "3.40"), [("review", "depth")]),  # 50 mm of waves
        (("4.48", "3.90", "3.40"), [("review", "depth")]),  # 80 mm of twice 50 mm
        (("4.52", "3.90", "3.40"), [("review", "plain")]),  # 120 mm
        (("4.40", "4.20", "3.40"), [("review", "plain")]),
        (("4.40",), [("review", "plain")]),  # one level tells no direction
    ],
)
def test_a_depth_below_a_cover_is_no_level(below, expected):
    tests = [
        {"name": "start", "level_measured": q(depth, "m"), "level_indicated": q(shown, "m")}
        for depth, shown in zip(below, ("1.00", "1.50", "2.00"), strict=False)
    ]
    document = changed(lift_station(), {"/event/level_tests": tests})
    assert verdicts(document, "level.zero-offset") == expected


@pytest.mark.parametrize(
    ("shown", "below", "expected"),
    [("1.10", "4.30", "plain"), ("1.11", "4.29", "depth")],
)
def test_levels_too_near_for_waves_tell_no_direction(shown, below, expected):
    """5.4 m less 1.00 m, and less a level as far away as twice 50 mm of waves, or 10 mm more."""
    pairs = (("start", "1.00", "4.40"), ("stop", shown, below))
    tests = [
        {"name": name, "level_measured": q(depth, "m"), "level_indicated": q(level, "m")}
        for name, level, depth in pairs
    ]
    document = changed(lift_station(), {"/event/level_tests": tests})
    assert verdicts(document, "level.zero-offset") == [("review", expected)]


def test_a_level_that_nothing_showed_ends_no_comparison():
    document = taped(0.0, 0.3)
    float_alone = {"name": "float", "level_measured": q("2.45", "m")}
    first = changed(document, {"/event/level_tests/0": float_alone})
    (found,) = of_rule(judged(first), "level.zero-offset")
    assert found.subject == "/event/level_tests/1"


@pytest.mark.parametrize("metres", [0.1, 1.0, 4.9])
def test_without_heights_no_reference_explains_a_difference(metres):
    silent = {"/sensors/0/zero_elevation": None, "/site/wet_well_floor": None}
    document = changed(taped(metres, metres), silent)
    assert verdicts(document, "level.zero-offset") == [("review", "plain")]


@pytest.mark.parametrize("reference", ["floor", "site_datum"])
def test_tape_and_display_count_alike_whatever_levels_count_from(reference):
    """Floor 10 m below the datum: what counts is that both say the same."""
    document = changed(taped(0.0, 0.0), {f"{LEFT}/level_reference": reference})
    assert verdicts(document, "level.zero-offset") == []


def test_a_level_test_without_display_says_nothing():
    tests = [{"name": "float", "level_measured": q("2.45", "m")}]
    document = changed(lift_station(), {"/event/level_tests": tests})
    (missing,) = lacking(judged(document), "level.zero-offset")
    assert missing.needs == ("/event/level_tests",)


# -- level.backup -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("height", "expected"),
    [
        ("1.71", []),
        ("1.70", [("review", "low")]),  # the lag pump starts at 1.7 m
        ("2.79", []),
        ("2.80", [("review", "high")]),
    ],
)
def test_float_between_start_and_overflow(height, expected):
    document = changed(lift_station(), {"/event/level_tests/4/level_measured": q(height, "m")})
    assert verdicts(document, "level.backup") == expected


@pytest.mark.parametrize("height", ["1.70", "2.80"])
def test_the_remedy_says_between_what_the_float_hangs(height):
    document = changed(lift_station(), {"/event/level_tests/4/level_measured": q(height, "m")})
    (finding,) = of_rule(judged(document), "level.backup")
    assert BACKUP.remedy(finding) == (
        "Hang the float above the highest start level and below the overflow."
    )


def test_a_lift_station_without_float_by_tape_is_not_passed():
    (missing,) = lacking(judged(without(lift_station(), "/event/level_tests/4")), "level.backup")
    assert missing.because == "no level of a float by tape"


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        # -5.0 m of floor: the start at 1.4 m is -3.6 m, the inlet at -3.2 m
        ({}, []),
        ({"/site/inlet_invert": q("-3.6", "m")}, []),
        ({"/site/inlet_invert": q("-3.9", "m")}, [("review", "above")]),
        (left(start_level=q("2.0", "m"), lag_start_level=q("2.1", "m")), [("review", "above")]),
        # Lag start and alarm may stand above it.
        (left(lag_start_level=q("2.1", "m")), []),
        # Without a start level the level that is kept counts: 1.1 m are -3.9 m.
        (left(start_level=None) | {"/site/inlet_invert": q("-3.95", "m")}, []),
        (left(start_level=None) | {"/site/inlet_invert": q("-4.2", "m")}, [("review", "kept")]),
        # With one it counts as well: 1.9 m are -3.1 m, with their digits -3.15 m, as the inlet.
        (left(set_point=q("1.9", "m")), []),
        (left(set_point=q("2.0", "m")), [("review", "kept")]),
        ({"/site/inlet_invert": None}, []),
        (left(start_level=None, set_point=None) | {"/site/inlet_invert": q("-4.2", "m")}, []),
        ({"/site/inlet_invert": q("-4.2", "m"), "/site/suction_kind": "flooded_tank"}, []),
    ],
)
def test_the_first_pump_starts_below_the_inlet(changes, expected):
    """30 TAC 217.60(a)(1), secondary text; heights by hand."""
    assert verdicts(changed(lift_station(), changes), "level.inlet") == expected


def test_lead_and_lag_that_start_together_are_to_be_answered():
    """Both run, and nothing is burst or drowned by it: no stop."""
    together = left(lag_start_level=q("1.4", "m"))
    assert verdicts(changed(lift_station(), together), "level.order") == [("review", "together")]
    swapped = left(lag_start_level=q("1.3", "m"))
    assert verdicts(changed(lift_station(), swapped), "level.order") == [("stop", "emptying")]
    more = together | left(stop_level=q("1.5", "m"))
    assert verdicts(changed(lift_station(), more), "level.order") == [("stop", "emptying")]


# -- heights of the well that are out of order ----------------------------------------------------


@pytest.mark.parametrize(
    ("height", "silent"),
    [
        # Lowest level -4.4 m, highest -3.6 m, inlet -3.2 m.
        ({"/site/wet_well_floor": q("5.0", "m")}, ("loop.scaling", "level.alarm-below-overflow")),
        ({"/site/wet_well_floor": q("-4.3", "m")}, ("loop.scaling",)),
        ({"/site/overflow_level": q("-22", "m")}, ("level.alarm-below-overflow", "level.backup")),
        ({"/site/overflow_level": q("-3.3", "m")}, ("level.alarm-below-overflow", "level.backup")),
    ],
)
def test_nothing_rests_on_a_height_that_is_out_of_order(height, silent):
    """A floor whose sign was lost is told by the order of the heights, and makes no stop."""
    document = changed(lift_station(), height)
    assert [variant for _, variant in verdicts(document, "site.order")] == ["levels"]
    judgement = judged(document)
    assert [each for name in silent for each in of_rule(judgement, name)] == []


@pytest.mark.parametrize("floor", ["-4.4", "-4.6"])
def test_a_floor_up_to_the_lowest_level_is_in_order(floor):
    """The drive adds 0.1 m; the transmitter's zero at -4.9 m is then 0.5 or 0.3 m below a floor."""
    document = changed(lift_station(), {"/site/wet_well_floor": q(floor, "m")})
    assert verdicts(document, "site.order") == []
    assert [severity for severity, _ in verdicts(document, "loop.scaling")] == ["stop"]


def test_a_quantity_that_is_no_level_tells_not_which_way_levels_go():
    """It is known; what is missing is another thing."""
    neither = {"/site/kind": "booster", "/site/suction_kind": "flooded_tank"}
    kept = left(regulated_quantity="discharge_pressure")
    (missing,) = lacking(judged(changed(lift_station(), neither | kept)), "level.order")
    assert missing.because == (
        "discharge pressure does not tell whether the pump empties or fills these levels"
    )
    unsaid = changed(lift_station(), neither | left(regulated_quantity=None))
    (missing,) = lacking(judged(unsaid), "level.order")
    assert missing.because == ""
