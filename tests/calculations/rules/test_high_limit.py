"""The high-pressure trip of the booster: relief valve 150 psi, pipework 175, vessel 200, pump 230.

The condition is logic and has no source.
"""

import pytest

from tests.calculations.building import (
    booster,
    changed,
    in_metric,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_plates import Document, q
from tests.calculations.whole_stations import booster_in_percent, left

RULE = "protection.high-limit"
RELIEF, PIPEWORK = "/site/relief_valve_setting", "/site/discharge_pressure_limit"


def tripping_at(psi: str, document: Document | None = None, **more: object) -> Document:
    return changed(document or booster(), left(high_discharge_limit=q(psi, "psi"), **more))


@pytest.mark.parametrize(
    ("psi", "expected"),
    [
        ("125", []),
        ("150", []),
        ("150.5", []),  # "150" of the relief valve may be 150.5
        ("151", [("note", "above_relief")]),
        ("175.5", [("note", "above_relief")]),  # "175" may be 175.5
        ("176", [("review", "above_both")]),
    ],
)
def test_above_what_stands_over_it(psi: str, expected: list[tuple[str, str]]) -> None:
    assert verdicts(tripping_at(psi), RULE) == expected
    if "." not in psi:  # converted with all their digits, limits have no last digit to grant
        assert verdicts(in_metric(tripping_at(psi)), RULE) == expected


def test_another_finding_on_the_same_value_does_not_hide_it() -> None:
    """250 psi lie beyond the transmitter's 200 psi as well: both are said."""
    document = tripping_at("250")
    assert verdicts(document, "loop.limit-measurable") == [("review", "limit")]
    assert verdicts(document, RULE) == [("review", "above_both")]
    answered = judged(
        document,
        accepted=[("loop.limit-measurable", "/event/settings/as_left/high_discharge_limit")],
    )
    assert [each.variant for each in of_rule(answered, RULE)] == ["above_both"]


def test_neither_scaling_nor_set_point_has_to_be_right() -> None:
    """A pressure is a pressure, whatever the drive makes of its feedback."""
    document = tripping_at(
        "176", feedback_at_upper_signal=q("300", "psi"), input_selector="voltage"
    )
    assert verdicts(document, RULE) == [("review", "above_both")]
    assert verdicts(tripping_at("176", set_point=q("300", "psi")), RULE) == [
        ("review", "above_both")
    ]


def test_in_percent_it_rests_on_the_scaling() -> None:
    """88 % of 200 psi are 176 psi."""
    document = changed(booster_in_percent(), left(high_discharge_limit=q("88", "%")))
    assert verdicts(document, RULE) == [("review", "above_both")]
    (waiting,) = lacking(judged(changed(document, left(feedback_signal="0-10 V"))), RULE)
    assert waiting.waits_for == "loop.signal-type"


def test_the_remedy_names_the_least() -> None:
    (finding,) = of_rule(judged(tripping_at("176")), RULE)
    assert finding.limit == "at most 150 psi"
    weak = changed(booster(), {RELIEF: q("190", "psi")})
    (finding,) = of_rule(judged(tripping_at("176", weak)), RULE)
    assert (finding.variant, finding.limit) == ("above_part", "at most 175 psi")


def test_pump_and_vessel_bear_it_as_well() -> None:
    bare = without(booster(), PIPEWORK, RELIEF)
    assert verdicts(tripping_at("200", bare), RULE) == []
    (finding,) = of_rule(judged(tripping_at("201", bare)), RULE)
    assert finding.parameters["whose"] == "vessel V-1"
    (finding,) = of_rule(judged(tripping_at("231", without(bare, "/vessels"))), RULE)
    assert finding.parameters["whose"] == "pump"


def test_a_vessel_on_the_suction_side_does_not_count() -> None:
    bare = changed(without(booster(), PIPEWORK, RELIEF), {"/vessels/0/location": "suction"})
    assert verdicts(tripping_at("201", bare), RULE) == []


def test_with_no_limit_known_it_is_not_passed() -> None:
    bare = without(booster(), PIPEWORK, RELIEF, "/vessels", "/pump/maximum_working_pressure")
    (missing,) = lacking(judged(bare), RULE)
    assert missing.needs == (RELIEF, PIPEWORK)


def test_without_a_trip_there_is_nothing_to_say() -> None:
    document = without(booster(), "/event/settings/as_left/high_discharge_limit")
    assert verdicts(document, RULE) == []
    assert lacking(judged(document), RULE) == []
