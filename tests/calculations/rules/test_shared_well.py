"""Start and stop levels of two pump sets that empty one well; common practice, no source.

The lift station starts at 1.40 m and stops at 0.60 m over the floor; its pumps alternate.
"""

import pytest

from tests.calculations.building import (
    Document,
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

RULE = "station.shared-well"
BESIDE = {
    "regulated_quantity": "level_emptying", "level_reference": "floor",
    "start_level": q("1.40", "m"), "stop_level": q("0.60", "m"), "pump_arrangement": "lead_lag",
    "alternation": "none",
}  # fmt: skip
FIXED_ROLES = left(pump_arrangement="lead_lag", alternation="none")


def pair(ours: int | None = 1, theirs: int | None = 2, **levels: object) -> Document:
    """The lift station with another set on its well, and the positions of both."""
    neighbour = {"pump_set": {"tag": "P-2"}, "settings": BESIDE | levels}
    if theirs is not None:
        neighbour["pump_set"]["position_in_group"] = theirs
    document = changed(lift_station(), {"/neighbours": [neighbour]})
    return changed(document, {"/pump_set/position_in_group": ours})


def test_equal_levels_of_sets_that_take_turns_are_silent() -> None:
    assert verdicts(pair(), RULE) == []
    assert lacking(judged(pair()), RULE) == []


@pytest.mark.parametrize(
    ("start", "stop", "expected"),
    [
        ("0.61", "0.50", []),  # overlaps by a centimetre
        ("0.60", "0.50", [("review", "above")]),
        ("0.55", "0.50", [("review", "above")]),
        ("1.80", "1.39", []),
        ("1.80", "1.40", [("review", "below")]),
        ("1.80", "1.50", [("review", "below")]),
    ],
)
def test_bands_apart_of_sets_that_take_turns(start, stop, expected) -> None:
    document = pair(start_level=q(start, "m"), stop_level=q(stop, "m"))
    assert verdicts(document, RULE) == expected


def test_both_bands_are_told() -> None:
    document = pair(start_level=q("0.55", "m"), stop_level=q("0.50", "m"))
    (found,) = of_rule(judged(document), RULE)
    assert found.subject == "/neighbours/0/settings/start_level"
    told = {"start": "0.55 m", "stop": "0.50 m", "other": "0.6 m", "tag": "P-2"}
    assert told.items() <= found.parameters.items()
    assert found.limit == "above 0.6 m"


@pytest.mark.parametrize(
    ("ours", "start", "stop", "expected"),
    [
        # Stages: the lag pump takes the upper part of the well and leaves the rest to the lead.
        (1, "2.00", "1.50", []),
        (3, "2.00", "1.50", [("review", "below")]),
        (3, "0.55", "0.50", []),
        (1, "0.55", "0.50", [("review", "above")]),
    ],
)
def test_stages_of_fixed_roles(ours, start, stop, expected) -> None:
    document = pair(ours, 2, start_level=q(start, "m"), stop_level=q(stop, "m"))
    assert verdicts(changed(document, FIXED_ROLES), RULE) == expected


@pytest.mark.parametrize(
    "turns",
    [{"pump_arrangement": "alternating"}, {"alternation": "hours"}],
)
def test_either_says_that_sets_take_turns(turns) -> None:
    """At the other set alone, where this one has a fixed role above a lead pump's."""
    document = pair(1, 2, start_level=q("2.00", "m"), stop_level=q("1.50", "m"), **turns)
    assert verdicts(changed(document, FIXED_ROLES), RULE) == [("review", "below")]


@pytest.mark.parametrize(("start", "stop"), [("2.00", "1.50"), ("0.55", "0.50")])
def test_of_sets_in_one_position_none_is_the_lead(start, stop) -> None:
    document = pair(2, 2, start_level=q(start, "m"), stop_level=q(stop, "m"))
    assert verdicts(changed(document, FIXED_ROLES), RULE) == []


def test_an_alternation_that_is_not_known_is_none() -> None:
    document = pair(1, 2, start_level=q("2.00", "m"), stop_level=q("1.50", "m"),
                    alternation="unknown", pump_arrangement="unknown")  # fmt: skip
    assert verdicts(changed(document, FIXED_ROLES), RULE) == []


def test_roles_that_are_not_known_are_asked_for() -> None:
    document = changed(
        pair(1, None, start_level=q("2", "m"), stop_level=q("1.5", "m")), FIXED_ROLES
    )
    (missing,) = lacking(judged(document), RULE)
    assert missing.needs == ("/neighbours/0/pump_set/position_in_group",)


@pytest.mark.parametrize(
    "theirs",
    [
        {"level_reference": "transmitter_zero"},
        {"start_level": q("11", "%"), "stop_level": q("10", "%")},
    ],
)
def test_levels_from_another_zero_are_not_compared(theirs) -> None:
    low = {"start_level": q("0.55", "m"), "stop_level": q("0.50", "m")}
    (missing,) = lacking(judged(pair(**(low | theirs))), RULE)
    assert missing.needs == ("/neighbours/0/settings/level_reference",)


def test_levels_in_percent_of_one_sensor_are_compared() -> None:
    document = changed(
        pair(start_level=q("9", "%"), stop_level=q("8", "%")),
        left(start_level=q("26", "%"), stop_level=q("10", "%"), lag_start_level=q("32", "%"),
             high_level_alarm=q("42", "%"), low_level_cutoff=q("5", "%"))
        | {"/neighbours/0/pump_set/regulating_sensor": "LT-1", "/sensors/0/tag": "LT-1",
           "/pump_set/regulating_sensor": "LT-1"},
    )  # fmt: skip
    assert verdicts(document, RULE) == [("review", "above")]


@pytest.mark.parametrize(
    ("ours", "theirs"), [("LT-1", "LT-2"), ("LT-1", None), (None, None), (None, "LT-1")]
)
def test_levels_in_percent_of_two_sensors_are_not_compared(ours, theirs) -> None:
    document = changed(
        pair(start_level=q("9", "%"), stop_level=q("8", "%")),
        left(start_level=q("26", "%"), stop_level=q("10", "%"), lag_start_level=q("32", "%"),
             high_level_alarm=q("42", "%"), low_level_cutoff=q("5", "%"))
        | {"/neighbours/0/pump_set/regulating_sensor": theirs, "/sensors/0/tag": "LT-1",
           "/pump_set/regulating_sensor": ours},
    )  # fmt: skip
    (missing,) = lacking(judged(document), RULE)
    assert missing.needs == ("/neighbours/0/settings/level_reference",)


def test_one_sensor_does_not_tell_where_levels_count_from() -> None:
    """In m they count from what the settings say, whichever sensor measures them."""
    low = {"start_level": q("0.55", "m"), "stop_level": q("0.50", "m"), "level_reference": None}
    one = {"/neighbours/0/pump_set/regulating_sensor": "LT-201",
           "/pump_set/regulating_sensor": "LT-201"}  # fmt: skip
    (missing,) = lacking(judged(changed(pair(**low), one)), RULE)
    assert missing.needs == ("/neighbours/0/settings/level_reference",)


AT = "/neighbours/0/settings"


@pytest.mark.parametrize(
    ("neighbour", "needs"),
    [
        ({"pump_set": {"tag": "P-2"}}, (f"{AT}/start_level", f"{AT}/stop_level")),
        ({"settings": BESIDE | {"start_level": None}}, (f"{AT}/start_level",)),
        (
            {"settings": BESIDE | {"regulated_quantity": "level_filling", "stop_level": None}},
            None,
        ),
    ],
)
def test_levels_of_the_well_that_are_not_known_are_asked_for(neighbour, needs) -> None:
    """Not those of a set that fills another tank."""
    judgement = judged(changed(lift_station(), {"/neighbours": [neighbour]}))
    assert of_rule(judgement, RULE) == []
    assert [each.needs for each in lacking(judgement, RULE)] == ([needs] if needs else [])


def test_a_set_whose_levels_are_not_known_hides_no_other() -> None:
    unknown = {"pump_set": {"tag": "P-3"}, "settings": BESIDE | {"stop_level": None}}
    low = pair(start_level=q("0.55", "m"), stop_level=q("0.50", "m"))["neighbours"][0]
    judgement = judged(changed(pair(), {"/neighbours": [unknown, low]}))
    assert [each.parameters["tag"] for each in of_rule(judgement, RULE)] == ["P-2"]
    (missing,) = lacking(judgement, RULE)
    assert missing.needs == ("/neighbours/0/settings/stop_level",)


@pytest.mark.parametrize(
    "first",
    [
        {"pump_set": {"tag": "P-2"}},
        {"settings": BESIDE | {"regulated_quantity": "discharge_pressure"}},
        {"settings": BESIDE | {"start_level": None}},
        {"settings": BESIDE},
    ],
)
def test_a_set_that_says_nothing_hides_no_other(first) -> None:
    low = {"start_level": q("0.55", "m"), "stop_level": q("0.50", "m")}
    third = {"pump_set": {"tag": "P-3"}, "settings": BESIDE | low}
    (found,) = of_rule(judged(changed(pair(), {"/neighbours": [first, third]})), RULE)
    assert (found.variant, found.parameters["tag"]) == ("above", "P-3")


def test_a_set_alone_on_its_well_is_asked_for_no_levels() -> None:
    document = without(lift_station(), f"{LEFT}/start_level")
    assert lacking(judged(document), RULE) == []


def test_own_levels_are_needed_and_have_to_be_in_order() -> None:
    document = without(pair(), f"{LEFT}/start_level")
    assert [each.needs for each in lacking(judged(document), RULE)] == [(f"{LEFT}/start_level",)]
    swapped = changed(pair(), left(start_level=q("0.6", "m"), stop_level=q("1.4", "m")))
    (waiting,) = lacking(judged(swapped), RULE)
    assert waiting.waits_for == "level.order"


def test_a_group_on_pressure_has_no_such_levels() -> None:
    document = changed(booster(), {"/neighbours": [{"settings": BESIDE}]})
    judgement = judged(document)
    assert (of_rule(judgement, RULE), lacking(judgement, RULE)) == ([], [])
