"""Flow measured against pump and main: continuity of heads, by hand; limits common practice.

The lift station's pump has H = 26 - 0.00055625 Q^2 (m, m3/h) at 1460 rpm; its main asks for 10.2 m
and 17.5 m at 110 m3/h. With a valve nearly shut the pump gives 70, 60 and 36 m3/h where it gave
110, 93 and 56: its head there is 4.0, 2.8 and 1.0 m more, 0.39, 0.275 and 0.10 bar.
"""

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
from tests.calculations.building_plates import Document, q
from tests.calculations.whole_stations import left, lift_station

RULE, POINTS = "system.flow", "/event/duty_points"
NEARLY_SHUT = (("70", "1.65"), ("60", "1.326"), ("36", "0.805"))


def shut(*points: int) -> Document:
    return changed(lift_station(), {
        f"{POINTS}/{at}/{name}": value for at in points for name, value in (
            ("flow", q(NEARLY_SHUT[at][0], "m3/h")),
            ("discharge_pressure", q(NEARLY_SHUT[at][1], "bar")),
        )
    })  # fmt: skip


def test_a_right_station_and_one_throttled_point_are_silent() -> None:
    assert verdicts(lift_station(), RULE) == []
    assert lacking(judged(lift_station()), RULE) == []
    assert verdicts(shut(1), RULE) == []


@pytest.mark.parametrize(
    "document", [booster(), changed(lift_station(), {"/pump/type": "progressive_cavity"})]
)
def test_where_a_pressure_is_kept_or_no_curve_says_the_flow_it_is_not_judged(document) -> None:
    judgement = judged(document)
    assert of_rule(judgement, RULE) == lacking(judgement, RULE) == []


def test_a_main_nearly_shut_is_told_once() -> None:
    judgement = judged(shut(0, 1, 2))
    (found,) = of_rule(judgement, RULE)
    assert (found.severity, found.subject) == ("review", f"{POINTS}/0/flow")
    assert of_rule(judgement, "curve.point") == []
    # 70 of about 110 m3/h that were measured with the main open: 63.6 %.
    assert float(found.parameters["share"].removesuffix(" %")) == pytest.approx(63.6, abs=1)


def test_valves_that_were_throttled_to_try_the_pump_are_no_fault_of_the_main() -> None:
    """48.3 Hz throughout: 60 and 36 m3/h have 0.72 and 2.00 m more head than 70, by the curve."""
    pressures = {1: "1.721", 2: "1.847"}
    tried = changed(shut(0, 1, 2), {
        f"{POINTS}/{at}/{name}": value for at, pressure in pressures.items() for name, value in (
            ("frequency", q("48.3", "Hz")), ("speed", q("1409", "rpm")),
            ("discharge_pressure", q(pressure, "bar")),
        )
    })  # fmt: skip
    judgement = judged(tried)
    assert of_rule(judgement, RULE) == of_rule(judgement, "curve.point") == []
    # With one more at 44 Hz and the same valve it is the main.
    again = shut(0, 1)["event"]["duty_points"]
    assert verdicts(changed(tried, {POINTS: [*tried["event"]["duty_points"], again[1]]}), RULE)


@pytest.mark.parametrize(("bar", "told"), [("0.704", []), ("0.706", [("review", "below")])])
def test_each_point_has_clearly_more_head_than_the_main_asks_for(
    bar: str, told: list[tuple[str, str]]
) -> None:
    """27 m3/h at 34.4 Hz: the main asks for 10.2 m + 7.3 m (27 / 110)^2 = 10.64 m, 11.70 m are 10 %
    more. Less 4.5 m from level to gauge and 0.01 m of velocity they are 7.195 m, 0.7049 bar.
    """
    slow = {
        f"{POINTS}/2/frequency": q("34.4", "Hz"),
        f"{POINTS}/2/speed": None,
        f"{POINTS}/2/flow": q("27", "m3/h"),
        f"{POINTS}/2/discharge_pressure": q(bar, "bar"),
    }
    document = without(changed(shut(0), slow), f"{POINTS}/1")
    assert of_rule(judged(document), "curve.point") == []
    assert verdicts(document, RULE) == told


@pytest.mark.parametrize(
    ("flow", "bar", "told"), [("85", "1.568", [("review", "below")]), ("87", "1.549", [])]
)
def test_of_the_flow_that_pump_and_main_agree_on_four_fifths_are_enough(
    flow: str, bar: str, told: list[tuple[str, str]]
) -> None:
    """At 48.3 Hz the pump turns at 1420 rpm, 1449 rpm less 0.71 of the rated 40 rpm of slip:
    24.6 m - 10.2 m = (5.5625e-4 + 6.033e-4) Q^2 gives 111.5 m3/h. 85 and 87 m3/h are 76.2 % and
    78.0 %; with 1 % of the meter's 200 m3/h and half a digit, 2.5 m3/h, 79.2 % and 80.9 %. Heads
    of 20.6 m and 20.4 m by the curve, 4.59 m of them over the level.
    """
    document = changed(shut(0, 2), {
        f"{POINTS}/0/flow": q(flow, "m3/h"), f"{POINTS}/0/discharge_pressure": q(bar, "bar"),
    })  # fmt: skip
    document = without(document, f"{POINTS}/1")
    assert of_rule(judged(document), "curve.point") == []
    assert verdicts(document, RULE) == told


@pytest.mark.parametrize(("hertz", "told"), [("48.8", []), ("48.9", [("review", "below")])])
def test_frequencies_half_a_hertz_apart_are_one(hertz: str, told: list[tuple[str, str]]) -> None:
    """60 m3/h at some 1442 rpm: 23.4 m by the curve, 4.545 m of them over the level."""
    document = changed(shut(0, 1), {
        f"{POINTS}/1/frequency": q(hertz, "Hz"), f"{POINTS}/1/speed": None,
        f"{POINTS}/1/discharge_pressure": q("1.843", "bar"),
    })  # fmt: skip
    document = without(document, f"{POINTS}/2")
    assert of_rule(judged(document), "curve.point") == []
    assert verdicts(document, RULE) == told


ALONE = {"pumps_in_group": 1, "pumps_maximum_running": 1, "pump_arrangement": "single"}


@pytest.mark.parametrize(
    ("others", "settings", "told"),
    [
        (1, {}, []),
        (2, {}, []),
        (None, {}, []),  # two may run
        (None, ALONE, [("review", "below")]),
        (1, ALONE, []),
    ],
)
def test_with_other_pumps_in_the_main_nothing_is_said(
    others: int | None, settings: Document, told: list[tuple[str, str]]
) -> None:
    running = {f"{POINTS}/{at}/other_pumps_running": others for at in range(3)}
    assert verdicts(changed(shut(0, 1, 2), running | left(**settings)), RULE) == told


def test_a_point_without_flow_tells_nothing_of_the_main() -> None:
    still = {f"{POINTS}/{at}/flow": q("0", "m3/h") for at in (1, 2)}
    assert verdicts(changed(shut(0, 1, 2), still), RULE) == []


def test_flows_that_the_main_explains_are_silent() -> None:
    """A longer main that asks for 21.5 m at 70 m3/h."""
    system = {
        "/site/system_design_flow": q("70", "m3/h"),
        "/site/system_design_head": q("21.5", "m"),
    }
    assert verdicts(changed(shut(0, 1, 2), system), RULE) == []


def test_a_recorded_system_that_ends_before_the_flows_is_not_judged() -> None:
    """Up to 80 m3/h: of 111, 94 and 56 m3/h the last alone is known."""
    rows = (("0", "10.2"), ("40", "11.17"), ("80", "14.06"))  # 10.2 m + 6.033e-4 Q^2
    recorded = [{"flow": q(flow, "m3/h"), "head": q(head, "m")} for flow, head in rows]
    judgement = judged(changed(shut(0, 1, 2), {"/site/system_curve_points": recorded}))
    (missing,) = lacking(judgement, RULE)
    assert of_rule(judgement, RULE) == []
    assert missing.because == "pump and system do not meet at two frequencies"


def test_without_the_systems_design_it_is_not_judged() -> None:
    bare = changed(shut(0, 1, 2), {"/site/system_design_head": None})
    (missing,) = lacking(judged(bare), RULE)
    assert "/site/system_design_head" in missing.needs


RUN_OUT = {"/site/system_design_head": q("10.5", "m")}
"""Entered without its friction: 10.2 m of lift and 0.3 m at 110 m3/h, in place of 7.3 m."""


def test_a_main_that_asks_for_too_little_is_told_by_the_flow_that_the_pump_runs_out_to() -> None:
    """At 118 m3/h and 1460 rpm the curve still has 18 m where so flat a main asks for 11 m."""
    judgement = judged(changed(lift_station(), RUN_OUT))
    (found,) = of_rule(judgement, "region.run-out")
    assert (found.severity, found.variant) == ("review", "beyond")
    assert of_rule(judgement, RULE) == []
    assert [each.waits_for for each in lacking(judgement, RULE)] == ["region.run-out"]
    accepted = judged(
        changed(lift_station(), RUN_OUT), accepted={("region.run-out", found.subject)}
    )
    assert len(of_rule(accepted, RULE)) == 1
