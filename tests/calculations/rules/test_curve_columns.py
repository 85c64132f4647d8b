"""A pump's curve against its own columns: hp = gpm ft / (3960 eta), cold water (HI, US units).

The booster's curve has 165 ft and 82.5 % at its rated 1000 gpm; its plate has 165 ft, two stages.
"""

import pytest

from calculations.aspects import pumping
from tests.calculations.building import (
    booster,
    case,
    changed,
    judged,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_plates import Document, q

RULE, POINTS = "curve.columns", "/pump/curve_points"
POWERS = ("38.1", "46.9", "50.3", "50.5", "47.9", "42.3")
"""Of points 2 to 7: 300 x 251.5 / (3960 x 0.50), 600 x 225.8 / (3960 x 0.73) and so on."""

EXACT = (38.106, 46.866, 50.303, 50.505, 47.863, 42.322)
"""The same with more digits."""


def powered(unit: str = "hp", powers: tuple[str, ...] = POWERS) -> Document:
    return changed(booster(), {
        f"{POINTS}/{index}/shaft_power": q(power, unit) for index, power in enumerate(powers, 1)
    })  # fmt: skip


def exactly(unit: str, times: float) -> Document:
    """All powers so many times what belongs to flow, head and efficiency."""
    return powered(unit, tuple(f"{each * times:.5g}" for each in EXACT))


def column(document: Document, name: str, unit: str, times: float = 1.0) -> Document:
    """One column with other units or other values."""
    rows = document["pump"]["curve_points"]
    return changed(document, {
        f"{POINTS}/{index}/{name}": q(f"{float(row[name]['value']) * times:.4g}", unit)
        for index, row in enumerate(rows) if name in row
    })  # fmt: skip


def rated(flow: str, head: str, unit: str = "ft") -> Document:
    plate = {"/pump/rated_flow": q(flow, "gpm"), "/pump/rated_head": q(head, unit)}
    return changed(booster(), plate)


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
        (powered("kW", POWERS[:2]), [("review", "shaft_power")]),
        (powered("kW", POWERS[:1]), []),  # one point alone is no column
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
        # 9.5 % off, 10.5 %, and either side of 20 %
        (column(powered(), "shaft_power", "hp", 1.095), []),
        (column(powered(), "shaft_power", "hp", 1.105), [("note", "power")]),
        (exactly("hp", 1.195), [("note", "power")]),
        (exactly("hp", 1.205), [("review", "power")]),
        (exactly("hp", 0.805), [("note", "power")]),
        (exactly("hp", 0.795), [("review", "power")]),
        # 180.0 ft at 917 gpm (1000 / 1.09) and 7 % more are 192.7; twice the room, 191.8 ft at 847
        # gpm (1000 / 1.18) and 14 %, 218.6 ft
        (changed(booster(), {"/pump/rated_head": q("192", "ft")}), []),
        (changed(booster(), {"/pump/rated_head": q("194", "ft")}), [("note", "rated")]),
        (rated("1000", "218"), [("note", "rated")]),
        (rated("1000", "219.3"), [("review", "rated")]),
        # 147.1 ft at 1090 gpm less 7 % are 136.8 ft; 127.7 ft at 1180 gpm less 14 %, 109.8 ft
        (rated("1000", "137.2"), []),
        (rated("1000", "136.5"), [("note", "rated")]),
        (rated("1000", "110.3"), [("note", "rated")]),
        (rated("1000", "109.4"), [("review", "rated")]),
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


@pytest.mark.parametrize(
    ("times", "expected"),
    [
        # 82.5 % at the best point; over 0.8777 they are 94 %
        (0.880, []),
        (0.876, [("review", "too_good")]),
        # In kW 0.7457 of it: over 0.6545 they are 94 % of efficiency in kW as well.
        (0.656, [("review", "too_good")]),
        (0.652, [("review", "too_good_plain")]),
    ],
)
def test_no_pump_has_more_efficiency(times: float, expected: list[tuple[str, str]]) -> None:
    assert verdicts(without_efficiencies(exactly("hp", times)), RULE) == expected


@pytest.mark.parametrize(
    ("times", "variant"),
    [(1.028, "shaft_power"), (0.972, "shaft_power"), (1.032, "power"), (0.968, "power")],
)
def test_another_unit_of_the_powers_explains_all_but_three_percent(
    times: float, variant: str
) -> None:
    assert verdicts(exactly("kW", times), RULE) == [("review", variant)]


@pytest.mark.parametrize(
    ("flow", "metres", "variant"),
    [
        # 165 m with 8 % more and less are 178.2 m and 151.8 m.
        ("1000", "178", "either_head"),
        ("1000", "179", "rated"),
        ("1000", "152", "either_head"),
        ("1000", "151.5", "rated"),
        # Below 40 % of the curve's 1350 gpm it is flat: 260 ft - 95 ft x 0.541^2 = 232.2 ft.
        ("541", "232.2", "either_head"),
        ("539", "232.4", "rated"),
    ],
)
def test_another_unit_of_the_rated_head_explains_it_to_eight_percent(
    flow: str, metres: str, variant: str
) -> None:
    assert verdicts(rated(flow, metres, "m"), RULE) == [("review", variant)]


@pytest.mark.parametrize(
    ("kilowatts", "expected"),
    [
        # 1.341 times what belongs to the rest: of one point nothing can be told, of two it can.
        ({1}, []),
        ({1, 2}, [("review", "shaft_power")]),
    ],
)
def test_powers_of_two_points_tell_their_unit(
    kilowatts: set[int], expected: list[tuple[str, str]]
) -> None:
    powers = {
        f"{POINTS}/{index}/shaft_power": q(POWERS[index - 1], "kW") for index in kilowatts
    }  # fmt: skip
    assert verdicts(changed(booster(), powers), RULE) == expected


@pytest.mark.parametrize(("of", "expected"), [(4, [("review", "row")]), (3, [])])
def test_one_point_is_odd_beside_three_that_agree(of: int, expected: list[tuple[str, str]]) -> None:
    powers = {f"{POINTS}/{index}/shaft_power": q(POWERS[index - 1], "hp")
              for index in range(1, of + 1)}  # fmt: skip
    odd = changed(booster(), powers | {f"{POINTS}/2/efficiency": q("37.0", "%")})
    assert verdicts(odd, RULE) == expected


def test_the_largest_impellers_curve_is_named() -> None:
    """10 in of 11.2 in: 1.12 times the flows and 1.254 times the heads, by affinity."""
    of_largest = column(column(booster(), "flow", "gpm", 1.12), "head", "ft", 1.2544)
    inside = {
        "/pump/impeller_diameter": q("10", "in"),
        "/pump/impeller_diameter_max": q("11.2", "in"),
    }
    assert verdicts(changed(of_largest, inside), RULE) == [("review", "impeller")]
    assert verdicts(of_largest, RULE) == [("review", "rated")]  # no diameter tells why


@pytest.mark.parametrize(
    ("feet", "expected"),
    [
        ("207", []),
        # 8 % more and less: 223.5 ft and 190.4 ft
        ("223", []),
        ("224", [("review", "rated")]),
        ("191", []),
        ("190", [("note", "rated")]),
    ],
)
def test_a_plate_of_the_largest_impeller_is_no_contradiction(
    feet: str, expected: list[tuple[str, str]]
) -> None:
    """Its 1120 gpm and 207 ft are 1000 gpm and 165 ft with 10 in of 11.2 in.

    By the curve inside 198.9 ft (949 gpm and 14 %) are what a review begins at.
    """
    plate = {
        "/pump/rated_flow": q("1120", "gpm"), "/pump/rated_head": q(feet, "ft"),
        "/pump/impeller_diameter": q("10", "in"), "/pump/impeller_diameter_max": q("11.2", "in"),
    }  # fmt: skip
    assert verdicts(changed(booster(), plate), RULE) == expected


def test_beyond_the_curve_no_impeller_explains_the_plate() -> None:
    """1600 gpm of the largest are 1429 gpm of the one inside: the curve ends at 1350 gpm."""
    inside = {"/pump/impeller_diameter": q("10", "in"), "/pump/impeller_diameter_max":
              q("11.2", "in")}  # fmt: skip
    assert verdicts(changed(rated("1600", "165"), inside), RULE) == [("review", "rated_beyond")]


@pytest.mark.parametrize(
    ("document", "told"),
    [
        # 0.285 / 0.825 at point 5, in water of 998.2 kg/m3: 3960 is for 998.6 kg/m3; 34.56 %
        (changed(powered(), {f"{POINTS}/4/efficiency": q("28.5", "%")}),
         {"number": "5", "off": "-65.4 %"}),
        (exactly("hp", 1.205), {"off": "+20.5 %"}),
        # 82.5 % / 0.7
        (without_efficiencies(exactly("hp", 0.70)), {"best": "118 %"}),
    ],
)  # fmt: skip
def test_what_is_told_of_it(document: Document, told: dict[str, str]) -> None:
    (found,) = of_rule(judged(document), RULE)
    assert told.items() <= found.parameters.items()


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
        # 40 % and all of the curve's 1350 gpm
        (q("539", "m3/h"), []),
        (q("541", "m3/h"), [("review", "best")]),
        (q("1350", "m3/h"), [("review", "best")]),
        (q("1351", "m3/h"), []),
        # 200 m3/h are 881 gpm: a low best flow is none beyond the curve.
        (q("200", "gpm"), []),
    ],
)
def test_a_best_flow_in_another_unit_is_named(best: dict[str, str], expected: object) -> None:
    assert verdicts(changed(booster(), {"/pump/best_efficiency_flow": best}), RULE) == expected


@pytest.mark.parametrize(("times", "uses"), [(1.195, True), (1.205, False)])
def test_powers_that_contradict_their_efficiencies_are_left_out(times: float, uses: bool) -> None:
    """20 % off needs an answer: nothing tells which of the two columns is wrong."""
    document = exactly("hp", times)
    found = case(document)
    used = pumping.curve(found).shaft_power(flow=0.06, speed=29.5)  # 950 gpm at 1770 rpm
    assert (used is not None) is uses
    assert pumping.curve(found).head(flow=0.06, speed=29.5) is not None
    told = judged(document, accepted=[(RULE, "/pump/curve_points")])
    assert not [each for each in told.not_evaluated if each.waits_for == RULE]
