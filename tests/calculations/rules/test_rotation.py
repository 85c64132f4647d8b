"""Direction of rotation, on the drive and over the bypass; 40 to 78 % from memory."""

import pytest

from calculations.judging import finding_document
from tests.calculations.building import (
    booster,
    changed,
    judged,
    lacking,
    of_rule,
    q,
    verdicts,
    without,
)
from tests.calculations.building_plates import Document
from tests.calculations.stations import permanent_magnet, well

REVERSED = "rotation.reversed"
BYPASS = "rotation.bypass"
UNSEEN = {"/event/rotation/method": "flow"}


def closed(discharge: str, **more: object) -> Document:
    """The booster with a closed valve at 60.0 Hz and 32 psi before it.

    Curve: 260 ft at 1770 rpm; at 60 Hz and no flow 1790.3 rpm (9.7 rpm of slip), 266.0 ft, 115.2
    psi of water at
    60 degF, less 0.4 psi for the gauge 1 ft higher.
    """
    point = {
        "purpose": "shut_off", "frequency": q("60.0", "Hz"), "other_pumps_running": 0,
        "suction_pressure": q("32.0", "psi"), "suction_gauge_elevation": q("2.0", "ft"),
        "discharge_pressure": q(discharge, "psi"), "discharge_gauge_elevation": q("3.0", "ft"),
    }  # fmt: skip
    changes: dict[str, object] = {"/event/duty_points/-": point}
    return changed(booster(), changes | more)


def test_seen_wrong_must_not_stay() -> None:
    document = changed(booster(), {"/event/rotation/drive_direction": "reversed"})
    assert verdicts(document, REVERSED) == [("stop", "seen")]


@pytest.mark.parametrize(
    ("discharge", "expected"),
    [
        # share of 115.2 psi: (p - 32 + 0.43) / 115.2
        ("76.0", []),  # 38.6 %: less than a reversed pump makes
        ("78.2", [("stop", "shut_off")]),  # 40.5 %
        ("120.5", [("stop", "shut_off")]),  # 77.2 %
        ("122.5", []),  # 79.0 %
        ("144.5", []),  # 98.1 %
    ],
)
def test_boundaries_at_closed_valve(discharge: str, expected: list[tuple[str, str]]) -> None:
    assert verdicts(closed(discharge, **UNSEEN), REVERSED) == expected


@pytest.mark.parametrize(
    ("above", "below", "expected"),
    [
        # 69 - 32 psi are 37 psi, 32.7 %; 21 ft between the gauges are 9.1 psi, together 40.7 %.
        ("23", "2", [("stop", "shut_off")]),
        ("2", "2", []),
        ("23", None, []),  # a height that is not known counts as none
        (None, "2", []),
    ],
)
def test_the_height_between_the_gauges_belongs_to_the_head(above, below, expected) -> None:
    document = closed("69.0", **UNSEEN)
    point = document["event"]["duty_points"][-1]
    point |= {"discharge_gauge_elevation": above and q(above, "ft"),
              "suction_gauge_elevation": below and q(below, "ft")}  # fmt: skip
    assert verdicts(document, REVERSED) == expected


def test_a_direction_that_was_seen_keeps_it_a_question() -> None:
    assert verdicts(closed("90.0"), REVERSED) == [("review", "shut_off_seen")]


def test_a_pump_of_high_specific_speed_keeps_it_a_question() -> None:
    # 1770 rpm, 1000 gpm, 20 ft in one stage: 1770 x 31.6 / 9.46 = 5920 in US units
    axial = {"/pump/rated_head": q("20", "ft"), "/pump/stages": 1}
    assert verdicts(closed("90.0", **UNSEEN, **axial), REVERSED) == [("review", "shut_off")]


@pytest.mark.parametrize(
    ("changes", "severity"),
    [
        # 1770 rpm and 1000 gpm: 48 ft in one stage are 3069 in US units, 28 ft 4598, halves of it
        # by two sides 3251; what is not told counts as one.
        ({"/pump/rated_head": q("48", "ft"), "/pump/stages": None}, "stop"),
        ({"/pump/rated_head": q("28", "ft"), "/pump/stages": 1}, "review"),
        ({"/pump/rated_head": q("28", "ft"), "/pump/stages": 1, "/pump/suction_sides": None},
         "review"),
        ({"/pump/rated_head": q("28", "ft"), "/pump/stages": 1, "/pump/suction_sides": 2}, "stop"),
        ({"/pump/rated_head": None}, "review"),
    ],
)  # fmt: skip
def test_only_a_radial_impeller_convicts(changes, severity) -> None:
    found = verdicts(closed("90.0", **UNSEEN, **changes), REVERSED)
    assert found == [(severity, "shut_off")]


def test_numbers_of_a_reversed_pump() -> None:
    """(90.0 - 32.0 + 0.43) psi of 115.2 psi."""
    (found,) = of_rule(judged(closed("90.0", **UNSEEN)), REVERSED)
    assert float(found.parameters["ratio"].split()[0]) == pytest.approx(50.7, abs=0.2)
    assert (found.subject, found.limit) == ("/event/duty_points/3", "40 % to 78 % of the curve")


def test_an_axial_pump_is_not_judged_by_its_head_at_a_closed_valve() -> None:
    axial = {"/pump/type": "axial_or_mixed_flow"}
    assert verdicts(closed("90.0", **axial), REVERSED) == []
    unknown = {"/event/rotation/drive_direction": "not_checked"}
    judgement = judged(closed("90.0", **unknown, **axial))
    assert lacking(judgement, REVERSED)[0].needs == ("/event/rotation/drive_direction",)


def test_little_head_at_every_point_is_a_question_unless_seen() -> None:
    low = {
        f"/event/duty_points/{i}/discharge_pressure": q(value, "psi")
        for i, value in enumerate(("58.0", "60.0", "62.0"))
    }
    assert verdicts(changed(booster(), low | UNSEEN), REVERSED) == [("review", "points")]
    assert verdicts(changed(booster(), low), REVERSED) == []


def test_two_points_are_enough_for_a_question() -> None:
    """27 psi less at both are half of their heads of 125.6 and 123.8 ft; no direction was seen."""
    low = {f"/event/duty_points/{index}/discharge_pressure": q("58", "psi") for index in (0, 1)}
    document = changed(without(booster(), "/event/duty_points/2"), low | UNSEEN)
    assert ("review", "points") in verdicts(document, REVERSED)


def test_one_point_alone_says_nothing() -> None:
    low = {"/event/duty_points/0/discharge_pressure": q("58.0", "psi")}
    document = changed(booster(), low | UNSEEN)
    assert verdicts(document, REVERSED) == []
    alone = without(document, "/event/duty_points/2", "/event/duty_points/1")
    assert verdicts(alone, REVERSED) == []


def test_an_unchecked_direction_is_not_a_pass() -> None:
    document = changed(booster(), {"/event/rotation/drive_direction": "not_checked"})
    (missing,) = lacking(judged(document), REVERSED)
    assert missing.needs == ("/event/rotation/drive_direction",)


def test_a_good_closed_valve_proves_an_unseen_direction() -> None:
    document = closed("144.5", **{"/event/rotation/drive_direction": "not_checked"})
    assert verdicts(document, REVERSED) == []
    assert lacking(judged(document), REVERSED) == []


def test_a_well_is_judged_by_its_water_level() -> None:
    assert verdicts(well(), REVERSED) == []
    low = {
        f"/event/duty_points/{i}/suction_level_depth": q(value, "ft")
        for i, value in enumerate(("10", "5", "0"))
    }
    assert verdicts(changed(well(), low), REVERSED) == [("review", "points")]


# -- bypass -------------------------------------------------------------------------------------


def bypass(direction: str) -> Document:
    """The booster with a manual bypass."""
    values = {"/pump_set/bypass": "manual", "/event/rotation/bypass_direction": direction}
    return changed(booster(), values)


def test_the_bypass_has_a_direction_of_its_own() -> None:
    assert verdicts(bypass("correct"), BYPASS) == []
    assert verdicts(bypass("reversed"), BYPASS) == [("stop", "reversed")]
    (missing,) = lacking(judged(bypass("not_checked")), BYPASS)
    assert missing.needs == ("/event/rotation/bypass_direction",)


def test_without_bypass_nothing_is_asked() -> None:
    judgement = judged(booster())
    assert of_rule(judgement, BYPASS) == []
    assert lacking(judgement, BYPASS) == []
    document = without(bypass("correct"), "/event/rotation/bypass_direction")
    assert lacking(judged(document), BYPASS) != []


FIXED = {"/pump_set/drive": None}


def across(direction: str) -> Document:
    """The booster without a drive; the direction is that across the line."""
    turned = {"/event/rotation/bypass_direction": direction}
    document = without(changed(booster(), FIXED | turned), "/drive")
    return without(document, "/event/settings", "/event/rotation/drive_direction")


def test_at_fixed_speed_the_direction_across_the_line_counts() -> None:
    assert verdicts(across("reversed"), BYPASS) == [("stop", "reversed_fixed")]
    assert verdicts(across("reversed"), REVERSED) == []
    assert verdicts(across("correct"), BYPASS) == []
    (missing,) = lacking(judged(across("not_checked")), REVERSED)
    assert missing.needs == ("/event/rotation/bypass_direction",)


def test_low_heads_by_a_wrong_plate_are_not_a_reversed_pump() -> None:
    """1450 rpm entered for 1775 rpm: rated slip would give other speeds than there were."""
    wrong = changed(booster(), UNSEEN | {"/motor/ratings/1/frequency": q("50", "Hz")})
    unread = without(wrong, *(f"/event/duty_points/{i}/speed" for i in range(3)))
    for index in range(3):
        unread["event"]["duty_points"][index]["speed_measured"] = False
    assert of_rule(judged(unread), REVERSED) == []


def test_low_head_at_a_closed_valve_counts_with_a_synchronous_motor_too() -> None:
    """120 Hz and 8 poles: 1800 rpm, so that 118 Hz are 1770 rpm, where the curve has 260 ft."""
    document = permanent_magnet()
    point = closed("96.5")["event"]["duty_points"][-1] | {"frequency": q("118.0", "Hz")}
    low = changed(document, {"/event/duty_points/-": point})
    # 64.5 psi and 1 ft are 149.9 ft: 57.7 %.
    assert verdicts(low, REVERSED) == [("review", "shut_off_seen")]


def test_low_heads_at_speeds_that_were_measured_count_whatever_the_plate_says() -> None:
    """58, 60, 62 psi at the speeds read are half of the curve's heads, by no plate at all."""
    low = {
        f"/event/duty_points/{i}/discharge_pressure": q(value, "psi")
        for i, value in enumerate(("58.0", "60.0", "62.0"))
    }
    wrong = UNSEEN | {"/motor/ratings/1/frequency": q("50", "Hz")}
    assert verdicts(changed(booster(), low | wrong), REVERSED) == [("review", "points")]


@pytest.mark.parametrize(
    ("over_bypass", "on_drive", "expected"),
    [
        (None, "reversed", [("stop", "reversed_fixed")]),
        ("not_checked", "reversed", [("stop", "reversed_fixed")]),
        ("correct", "reversed", [("stop", "reversed_fixed")]),
        (None, "correct", []),
    ],
)
def test_at_fixed_speed_the_direction_counts_in_whichever_field(
    over_bypass: str | None, on_drive: str, expected: list[tuple[str, str]]
) -> None:
    document = changed(across("correct"), {"/event/rotation/drive_direction": on_drive})
    if over_bypass is None:
        document = without(document, "/event/rotation/bypass_direction")
    else:
        document = changed(document, {"/event/rotation/bypass_direction": over_bypass})
    judgement = judged(document)
    assert [(f.severity, f.variant) for f in of_rule(judgement, BYPASS)] == expected
    assert all(f.subject.endswith("drive_direction") for f in of_rule(judgement, BYPASS))
    assert of_rule(judgement, REVERSED) == lacking(judgement, BYPASS) == []
    assert lacking(judgement, REVERSED) == []
    missing = [f for f in of_rule(judgement, "record.missing") if f.subject == "/event/rotation"]
    assert missing == []


def test_a_head_like_a_reversed_pumps_names_the_rotation_first() -> None:
    """58 % of the curve's head: between 40 and 78 % (from memory), nobody saw the direction."""
    low = {"/event/duty_points/0/discharge_pressure": q("62.0", "psi")}
    for direction, named in (("not_checked", True), ("correct", False)):
        change = low | {"/event/rotation/drive_direction": direction}
        (found, *_) = of_rule(judged(changed(booster(), change)), "curve.point")
        remedy = finding_document(found, "")["remedy"]
        assert str(remedy).startswith("Prove the direction of rotation first") is named


def test_without_a_drive_the_supplys_frequency_is_that_of_a_point() -> None:
    document = without(across("correct"), "/event/duty_points/0/frequency")
    judgement = judged(changed(document, {"/event/supply/frequency": q("60.0", "Hz")}))
    needs = [need for each in judgement.not_evaluated for need in each.needs]
    assert "/event/duty_points/0/frequency" not in needs
    assert "drive.volts-per-hertz" not in [each.id for each in judgement.derived]


def test_of_two_closed_valves_the_first_is_named() -> None:
    """40.5 and 77.2 % of what a pump that runs forwards makes."""
    document = closed("78.2", **UNSEEN)
    again = document["event"]["duty_points"][-1] | {"discharge_pressure": q("119.0", "psi")}
    (found,) = of_rule(judged(changed(document, {"/event/duty_points/-": again})), REVERSED)
    assert found.subject == "/event/duty_points/3"


# -- exchanged at the supply ----------------------------------------------------------------------

AT_SUPPLY = "rotation.exchanged-at-supply"
EXCHANGED = {"/event/rotation/phases_swapped_at": "supply"}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        # A rectifier's output knows nothing of the order of its input (principle).
        ({"/event/rotation/method": "shaft_seen"}, [("note", "seen")]),
        ({"/event/rotation/method": "uncoupled_bump"}, [("note", "seen")]),
        ({"/event/rotation/method": "flow"}, [("review", "unseen")]),
        ({"/event/rotation/drive_direction": "not_checked"}, [("review", "unseen")]),
        ({"/event/rotation/drive_direction": "reversed"}, []),
        # Over a bypass the order of the supply is what counts.
        ({"/pump_set/bypass": "manual"}, []),
        ({"/event/rotation/phases_swapped_at": "motor"}, []),
        ({"/event/rotation/phases_swapped_at": "drive_output"}, []),
        ({"/event/rotation/phases_swapped_at": "not_swapped"}, []),
    ],
)
def test_the_order_at_the_supply_of_a_drive_changes_nothing(changes, expected) -> None:
    assert verdicts(changed(booster(), EXCHANGED | changes), AT_SUPPLY) == expected


def test_whether_there_is_a_bypass_must_be_known() -> None:
    judgement = judged(changed(without(booster(), "/pump_set/bypass"), EXCHANGED))
    assert of_rule(judgement, AT_SUPPLY) == []
    assert [each.needs for each in lacking(judgement, AT_SUPPLY)] == [("/pump_set/bypass",)]
