"""A pump's curve against its own columns: hp = gpm ft / (3960 eta), cold water (HI, US units).

The booster's curve has 165 ft and 82.5 % at its rated 1000 gpm; its plate has 165 ft, two stages.
"""

import pytest

from tests.calculations.building import booster, changed, judged, of_rule, verdicts, without
from tests.calculations.building_plates import Document, q

RULE, POINTS = "curve.columns", "/pump/curve_points"
POWERS = ("38.1", "46.9", "50.3", "50.5", "47.9", "42.3")
"""Of points 2 to 7: 300 x 251.5 / (3960 x 0.50), 600 x 225.8 / (3960 x 0.73) and so on."""


def powered(unit: str = "hp", powers: tuple[str, ...] = POWERS) -> Document:
    return changed(booster(), {
        f"{POINTS}/{index}/shaft_power": q(power, unit) for index, power in enumerate(powers, 1)
    })  # fmt: skip


def column(document: Document, name: str, unit: str, times: float = 1.0) -> Document:
    """One column with other units or other values."""
    rows = document["pump"]["curve_points"]
    return changed(document, {
        f"{POINTS}/{index}/{name}": q(f"{float(row[name]['value']) * times:.4g}", unit)
        for index, row in enumerate(rows) if name in row
    })  # fmt: skip


def without_efficiencies(document: Document) -> Document:
    return without(document, *(f"{POINTS}/{index}/efficiency" for index in range(1, 7)))


@pytest.mark.parametrize(
    ("document", "expected"),
    [
        (booster(), []),
        (powered(), []),
        (without_efficiencies(powered()), []),
        (powered("kW"), [("review", "shaft_power")]),  # 1.341 times what flow and head need
        (powered("hp", tuple(f"{float(each) * 0.7457:.4g}" for each in POWERS)),
         [("review", "shaft_power")]),
        # 82.5 % over 0.7457: 110 %
        (without_efficiencies(powered("hp", tuple(f"{float(p) * 0.7457:.4g}" for p in POWERS))),
         [("review", "too_good")]),
        (column(powered(), "head", "m"), [("review", "head")]),
        (column(powered(), "flow", "m3/h"), [("review", "flow")]),
        (column(booster(), "head", "m"), [("review", "either_head")]),  # no power tells which
        (column(column(powered(), "head", "ft", 0.5), "shaft_power", "hp", 0.5),
         [("review", "stages")]),
        (column(powered(), "head", "ft", 0.5), [("review", "head_of_stage")]),
        (changed(powered(), {"/pump/rated_head": q("165", "m")}), [("review", "rated_head")]),
        (changed(powered(), {f"{POINTS}/4/efficiency": q("28.5", "%")}), [("review", "row")]),
        # 9.5 % off, 10.5 %, and 22 % off
        (column(powered(), "shaft_power", "hp", 1.095), []),
        (column(powered(), "shaft_power", "hp", 1.105), [("note", "power")]),
        (column(powered(), "shaft_power", "hp", 1.22), [("review", "power")]),
        # 180.1 ft at 917 gpm (1000 / 1.09) and 7 % more are 193; twice the room, 1000 / 1.18 and
        # 14 %, are 219 ft
        (changed(booster(), {"/pump/rated_head": q("192", "ft")}), []),
        (changed(booster(), {"/pump/rated_head": q("194", "ft")}), [("note", "rated")]),
        (changed(booster(), {"/pump/rated_head": q("225", "ft")}), [("review", "rated")]),
        (changed(booster(), {"/pump/rated_flow": q("1600", "gpm")}), [("review", "rated_beyond")]),
        # Rated at the curve's end, 86.9 ft: 121 gpm more are about 30 ft less, straight on.
        (changed(booster(), {"/pump/rated_flow": q("1350", "gpm"),
                             "/pump/rated_head": q("60", "ft")}), []),
        (changed(booster(), {"/pump/rated_flow": q("1350", "gpm"),
                             "/pump/rated_head": q("45", "ft")}), [("note", "rated")]),
    ],
)  # fmt: skip
def test_columns(document: Document, expected: list[tuple[str, str]]) -> None:
    assert verdicts(document, RULE) == expected


def test_the_largest_impellers_curve_is_named() -> None:
    """10 in of 11.2 in: 1.12 times the flows and 1.254 times the heads, by affinity."""
    of_largest = column(column(booster(), "flow", "gpm", 1.12), "head", "ft", 1.2544)
    inside = {
        "/pump/impeller_diameter": q("10", "in"),
        "/pump/impeller_diameter_max": q("11.2", "in"),
    }
    assert verdicts(changed(of_largest, inside), RULE) == [("review", "impeller")]
    assert verdicts(of_largest, RULE) == [("review", "rated")]  # no diameter tells why


def test_a_plate_of_the_largest_impeller_is_no_contradiction() -> None:
    """Its 1120 gpm and 207 ft are 1000 gpm and 165 ft with 10 in of 11.2 in."""
    plate = {
        "/pump/rated_flow": q("1120", "gpm"), "/pump/rated_head": q("207", "ft"),
        "/pump/impeller_diameter": q("10", "in"), "/pump/impeller_diameter_max": q("11.2", "in"),
    }  # fmt: skip
    assert verdicts(changed(booster(), plate), RULE) == []


def test_readings_are_not_blamed_for_a_curve_in_another_unit() -> None:
    for column_, unit in (("head", "m"), ("flow", "m3/h")):
        judgement = judged(column(powered(), column_, unit))
        assert {each.rule for each in judgement.findings if each.severity != "note"} == {RULE}
        assert {"curve.point"} <= {
            each.rule for each in judgement.not_evaluated if each.waits_for == RULE
        }


def test_powers_in_another_unit_leave_the_rest_to_be_judged() -> None:
    """The motor is not told to be overloaded: power follows from flow, head and efficiency."""
    judgement = judged(powered("kW"))
    assert {each.rule for each in judgement.findings if each.severity != "note"} == {RULE}
    assert not [each for each in judgement.not_evaluated if each.waits_for == RULE]


@pytest.mark.parametrize(
    ("plate", "waits"),
    [({}, False), ({"/pump/rated_head": None, "/pump/rated_flow": None}, True)],
)
@pytest.mark.parametrize(("share", "variant"), [(0.7457, "too_good"), (0.4, "too_good_plain")])
def test_powers_that_are_too_low_leave_what_the_rated_point_shows_to_be_right(
    plate: dict[str, None], waits: bool, share: float, variant: str
) -> None:
    """Without a rated point it may as well be flow or head that is in another unit."""
    low = tuple(f"{float(each) * share:.4g}" for each in POWERS)
    document = changed(without_efficiencies(powered("hp", low)), plate)
    assert verdicts(document, RULE) == [("review", variant)]
    judgement = judged(document)
    assert {each.rule for each in judgement.findings if each.severity != "note"} == {RULE}
    assert any(each.waits_for == RULE for each in judgement.not_evaluated) is waits


def test_accepted_the_curve_is_used_as_it_is() -> None:
    document = column(powered(), "head", "m")
    judgement = judged(document, accepted=[(RULE, POINTS)])
    assert of_rule(judgement, "curve.point")


def test_a_doubted_plate_leaves_the_curve() -> None:
    judgement = judged(changed(powered(), {"/pump/rated_head": q("165", "m")}))
    assert {each.rule for each in judgement.findings if each.severity != "note"} == {RULE}
    assert not [each for each in judgement.not_evaluated if each.waits_for == RULE]


@pytest.mark.parametrize(
    ("best", "expected"),
    [
        (q("1000", "gpm"), []),
        (q("1000", "m3/h"), [("review", "best")]),  # 4403 gpm: the curve ends at 1350
        (q("1600", "gpm"), []),  # the curve may end before the best flow
        (q("5000", "gpm"), []),  # neither m3/h nor L/s would fit
    ],
)
def test_a_best_flow_in_another_unit_is_named(best: dict[str, str], expected: object) -> None:
    assert verdicts(changed(booster(), {"/pump/best_efficiency_flow": best}), RULE) == expected
