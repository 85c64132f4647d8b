"""Every set point that a loop may aim at: alternatives by schedule, and what flow raises it to.

The booster keeps 85 psi of a span of 200 psi; its suction is 30 to 33 psi. At 60 Hz and the lowest
suction it holds 142.8 psi at no flow (`test_loop_set_point.py`).
"""

import pytest

from tests.calculations.building import changed, judged, of_rule
from tests.calculations.building_plates import q
from tests.calculations.rules.test_loop_set_point import FREE
from tests.calculations.whole_stations import LEFT, left, lift_station, raw_water

NIGHT = f"{LEFT}/set_point_alternatives/0/set_point"


def at_night(value: str, unit: str = "psi", document=FREE, **more: object):
    night = [{"set_point": q(value, unit), "schedule": "night"}]
    return changed(document, left(set_point_alternatives=night, **more))


def told(document, rule):
    found = of_rule(judged(document), rule)
    return [(each.severity, each.variant) for each in found if each.subject == NIGHT]


RULES = ("loop.set-point-unit", "loop.limits-order", "loop.wake", "loop.set-point-in-span",
         "loop.set-point-reachable")  # fmt: skip


@pytest.mark.parametrize("rule", RULES)
def test_an_alternative_like_the_set_point_is_right(rule):
    assert told(at_night("85"), rule) == []


def test_an_alternative_in_another_unit():
    """5.9 bar are 85.6 psi."""
    (finding,) = of_rule(judged(at_night("5.9")), "loop.set-point-unit")
    assert (finding.subject, finding.severity) == (NIGHT, "stop")
    assert finding.parameters["read"] == "5.9 bar"
    assert finding.parameters["which"] == "Alternative set point (night)"


def test_one_that_suction_alone_holds_may_be_meant():
    """At night the main alone may be enough: that is asked, and is no stop."""
    assert told(at_night("20"), "loop.set-point-unit") == [("review", "below_suction")]


@pytest.mark.parametrize(("value", "expected"), [("142", []), ("145.5", [("review", "never")])])
def test_an_alternative_within_reach(value, expected):
    found = told(at_night(value), "loop.set-point-reachable")
    assert [each for each in found if each[0] != "note"] == expected


def test_an_alternative_below_the_service_and_below_the_low_limit():
    document = changed(FREE, {"/site/minimum_service_pressure": q("60", "psi")})
    document = changed(document, left(low_discharge_limit=q("40", "psi"), wake_basis=None))
    assert told(at_night("59", document=document), "loop.limits-order") == [("review", "service")]
    low = changed(document, {"/site/minimum_service_pressure": q("35", "psi")})
    assert told(at_night("40", document=low), "loop.limits-order") == [("review", "low_set_point")]
    assert told(at_night("41", document=low), "loop.limits-order") == []


@pytest.mark.parametrize(
    ("basis", "wake", "expected"),
    [
        ("absolute", "79", [("review", "wrong_side")]),
        ("absolute", "71", []),
        ("below_set_point", "6", []),  # from whichever set point holds
    ],
)
def test_one_wake_value_for_every_set_point(basis, wake, expected):
    document = at_night("72", wake_value=q(wake, "psi"), wake_basis=basis)
    assert told(document, "loop.wake") == expected


@pytest.mark.parametrize(
    ("value", "expected"),
    [("4.6", []), ("4.61", [("note", "near_end")]), ("4.86", [("review", "outside")]),
     ("5.3", [("review", "beyond")])],
)  # fmt: skip
def test_a_level_by_night_in_the_span(value, expected):
    """0.1 to 5.1 m: 90 % are 4.6 m, 95 % 4.85 m."""
    assert told(at_night(value, "m", lift_station()), "loop.set-point-in-span") == expected


@pytest.mark.parametrize(("value", "expected"), [("820", []), ("850", [("review", "flow")])])
def test_a_flow_by_night_within_reach(value, expected):
    kept = left(
        regulation="closed_loop_in_drive", regulated_quantity="flow", feedback_signal="4-20 mA",
        action="rising_feedback_slows", set_point=q("820", "gpm"),
        feedback_at_lower_signal=q("0", "gpm"), feedback_at_upper_signal=q("1500", "gpm"),
    )  # fmt: skip
    document = changed(raw_water(), kept | {"/pump_set/regulating_sensor": "FT-101"})
    assert told(at_night(value, "gpm", document), "loop.set-point-reachable") == expected
