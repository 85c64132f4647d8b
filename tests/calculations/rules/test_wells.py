"""Wells: dry run, depths, starts of a wet well's pump."""

import re

import pytest

from calculations.catalogue import rule
from calculations.judging import finding_document
from calculations.rules.wells import STARTS, taking_turns
from tests.calculations.building import (
    case,
    changed,
    derived,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_plates import q
from tests.calculations.stations import well, well_across_the_line
from tests.calculations.whole_stations import LEFT, left, lift_station

# -- well.dry-run -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("method", "response", "tested", "expected"),
    [
        ("underload", "stop", "1400", []),
        ("level", "stop_and_retry", "100", []),
        ("none", None, "1400", [("review", "none")]),
        ("level", "alarm", "1400", [("review", "no_stop")]),
        # 0.845 of rated torque at 1000 gpm: 3600 - 150 x 0.845 (3471 / 3440)^2 = 3471 rpm at 60 Hz,
        # 1009.0 gpm.
        ("none", None, "1010", [("review", "none")]),
        ("none", None, "1008", [("stop", "none_short")]),
        ("level", "none", "900", [("stop", "no_stop_short")]),
    ],
)
def test_dry_run(method, response, tested, expected):
    document = changed(
        well(),
        left(dry_run_method=method, dry_run_response=response)
        | {"/site/tested_yield": q(tested, "gpm")},
    )
    assert verdicts(document, "well.dry-run") == expected


@pytest.mark.parametrize(
    ("method", "response", "tested", "expected"),
    [
        ("level", "stop", "900", []),
        ("none", None, "1400", [("review", "none")]),
        # 1000 gpm at its rated speed: no frequency comes in.
        ("none", None, "1000", [("review", "none")]),
        ("none", None, "999", [("stop", "none_short")]),
        ("float", "alarm", "1400", [("review", "no_stop")]),
    ],
)
def test_dry_run_across_the_line(method, response, tested, expected):
    """A well runs dry whatever feeds the motor: common practice, no source."""
    given = {"dry_run_method": method} | ({"dry_run_response": response} if response else {})
    document = changed(well_across_the_line(**given), {"/site/tested_yield": q(tested, "gpm")})
    assert verdicts(document, "well.dry-run") == expected


def test_what_keeps_it_from_running_dry_across_the_line_is_asked_for():
    (missing,) = lacking(judged(well_across_the_line()), "well.dry-run")
    assert missing.needs == (f"{LEFT}/dry_run_method",)


def test_without_a_tested_yield_it_is_a_review():
    document = without(changed(well(), left(dry_run_method="none")), "/site/tested_yield")
    assert verdicts(document, "well.dry-run") == [("review", "none")]


@pytest.mark.parametrize(("tested", "severity"), [("999", "stop"), ("1000", "review")])
def test_without_the_pumps_speed_its_rated_flow_counts(tested, severity):
    document = changed(
        without(well(), "/pump/rated_speed"),
        left(dry_run_method="none") | {"/site/tested_yield": q(tested, "gpm")},
    )
    assert [each for each, _ in verdicts(document, "well.dry-run")] == [severity]


def test_dry_run_names_what_it_lacks():
    (missing,) = lacking(judged(without(well(), f"{LEFT}/dry_run_response")), "well.dry-run")
    assert missing.needs == (f"{LEFT}/dry_run_response",)


def test_a_lift_station_is_no_well():
    assert lacking(judged(lift_station()), "well.dry-run") == []


# -- well.levels --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "odd"),
    [
        # 45 ft static, 56 ft pumping, pump at 150 ft, bottom at 300 ft.
        ({}, None),
        ({"static_water_depth": "56"}, None),  # a generous well
        ({"static_water_depth": "56", "pump_setting_depth": "300"}, "well_depth"),
        ({"static_water_depth": "56", "pumping_water_depth": "56.1"}, None),
        ({"static_water_depth": "57"}, "pumping_water_depth"),
        ({"pumping_water_depth": "150"}, "pump_setting_depth"),
        ({"pump_setting_depth": "50"}, "pump_setting_depth"),
        ({"pump_setting_depth": "300"}, "well_depth"),
        ({"well_depth": "30"}, "well_depth"),
    ],
)
def test_depths(changes, odd):
    depths = {f"/site/{name}": q(value, "ft") for name, value in changes.items()}
    found = of_rule(judged(changed(well(), depths)), "well.levels")
    assert [each.subject for each in found] == ([f"/site/{odd}"] if odd else [])
    assert all(each.severity == "review" for each in found)


@pytest.mark.parametrize(
    ("static", "pumped"), [(q("3", "ft"), q("0.9144", "m")), (q("0.9144", "m"), q("3", "ft"))]
)
def test_the_same_depth_in_two_units_is_one_depth(static, pumped):
    """3 ft are 0.9144 m: the well does not fall, and its grade is known."""
    depths = {"/site/static_water_depth": static, "/site/pumping_water_depth": pumped}
    judgement = judged(changed(well(), depths))
    assert of_rule(judgement, "well.levels") == []
    assert not [each for each in judgement.not_evaluated if each.waits_for == "well.levels"]


@pytest.mark.parametrize(
    ("name", "depth", "meant"),
    [
        # Among 45, 56, 150 and 300 ft: 45 m are 148 ft, below the pumping level.
        ("static_water_depth", q("13.7", "m"), None),  # 44.9 ft, right as it stands
        ("static_water_depth", q("5.5", "m"), None),  # 18 ft; 5.5 ft lie farther from 56
        ("pumping_water_depth", q("56", "m"), ("order", None)),  # 184 ft, below the pump
        ("well_depth", q("300", "m"), ("unit", "300 ft")),  # 984 ft, below all
        ("well_depth", q("91.4", "m"), None),  # 300 ft; 91.4 ft lie above the pump
    ],
)
def test_one_depth_in_another_unit(name, depth, meant):
    found = of_rule(judged(changed(well(), {f"/site/{name}": depth})), "well.levels")
    told = [(each.variant, each.parameters.get("meant")) for each in found]
    assert told == ([meant] if meant else [])


def test_what_is_said_of_a_depth_in_another_unit():
    """45 ft among 56, 150 and 300 m, which are 184, 492 and 984 ft."""
    metres = {f"/site/{name}": q(value, "m") for name, value in
              (("pumping_water_depth", "56"), ("pump_setting_depth", "150"),
               ("well_depth", "300"))}  # fmt: skip
    (found,) = of_rule(judged(changed(well(), metres)), "well.levels")
    assert (found.subject, found.severity) == ("/site/static_water_depth", "review")
    assert rule("well.levels").sentence(found) == (
        "Probably the static water depth is 45 m, not 45 ft: it stands in another unit than the "
        "other depths (static water depth 45 ft, pumping water depth 56 m, pump setting depth "
        "150 m, well depth 300 m), and in theirs it lies nearer to them."
    )


def test_one_depth_alone_has_no_order():
    names = ("static_water_depth", "pumping_water_depth", "pump_setting_depth", "well_depth")
    document = without(well(), *(f"/site/{name}" for name in names[1:]))
    (missing,) = lacking(judged(document), "well.levels")
    assert missing.needs == tuple(f"/site/{name}" for name in names)
    deep = changed(document, {"/site/well_depth": q("40", "ft")})  # 45 ft to the water
    assert verdicts(deep, "well.levels") == [("review", "order")]


def test_depths_name_what_they_lack():
    names = ("static_water_depth", "pumping_water_depth", "pump_setting_depth", "well_depth")
    document = without(well(), *(f"/site/{name}" for name in names))
    (missing,) = lacking(judged(document), "well.levels")
    assert missing.needs == tuple(f"/site/{name}" for name in names)


# -- well.starts --------------------------------------------------------------------------------


def cycling(start: str, **more: object):
    """Stop at 0.6 m; at 34 Hz and the lowest lift 53.9 m3/h flow.

    s^2 26 - 5.556e-4 Q^2 = 9.0 + (7.3 / 110^2) Q^2 with s = 0.6895 (1020 rpm less 13 rpm of slip
    at 0.69 of rated torque at 1460 rpm) gives Q = 53.9 m3/h. Starts per
    hour at half of that as inflow: Q / (4 V); two pumps take turns.
    """
    return changed(lift_station(), left(start_level=q(start, "m")) | more)


@pytest.mark.parametrize(
    ("start", "expected"),
    [
        # 15 starts an hour of each pump: V = 53.9 / (4 x 2 x 15) = 0.449 m3 = 0.112 m x 4.0 m2.
        ("0.72", []),
        ("0.69", [("review", "above_plate")]),
    ],
)
def test_starts(start, expected):
    assert verdicts(cycling(start), "well.starts") == expected


@pytest.mark.parametrize(
    ("more", "who"),
    [
        ({}, "each of the 2 pumps that take turns (then at"),
        (left(pump_arrangement="single", alternation="none"), "the pump (then at"),
    ],
)
def test_it_says_whether_pumps_take_turns(more, who):
    (finding,) = of_rule(judged(changed(cycling("0.69"), more)), "well.starts")
    assert who in STARTS.sentence(finding)


def test_without_a_plate_limit_many_starts_are_a_note():
    document = without(
        cycling("0.69"), "/motor/maximum_starts_per_hour", "/pump/maximum_starts_per_hour"
    )
    assert verdicts(document, "well.starts") == [("note", "unstated")]


@pytest.mark.parametrize(("area", "expected"), [("4.6", []), ("4.3", [("note", "unstated")])])
def test_how_many_are_many(area, expected):
    """53.9 / (4 x 2 x 0.1 m x 4.6 m2) = 14.6 an hour, of 4.3 m2 15.7."""
    document = changed(cycling("0.7"), {"/site/wet_well_area": q(area, "m2")})
    bare = without(document, "/motor/maximum_starts_per_hour", "/pump/maximum_starts_per_hour")
    assert verdicts(bare, "well.starts") == expected


def test_one_pump_alone_starts_twice_as_often():
    alone = left(pump_arrangement="single", alternation="none")
    assert verdicts(changed(cycling("0.75"), alone), "well.starts") == [("review", "above_plate")]


def test_a_small_inflow_starts_it_less():
    """Peak inflow 2 m3/h: nearly V / 2 m3/h of filling, 0.36 m3 in 650 s."""
    assert verdicts(cycling("0.69", **{"/site/inflow_peak": q("2", "m3/h")}), "well.starts") == []


def test_starts_are_told_in_the_units_of_the_levels():
    """53.9 m3/h are 15.0 L/s or 237 gpm, to within the fit of the curve; 0.69 m and 0.6 m are
    2.264 ft and 1.969 ft.

    Levels are read in the unit of the first one that is set.
    """
    (metric,) = of_rule(judged(cycling("0.69")), "well.starts")
    assert flow_told(metric, "L/s") == pytest.approx(14.96, rel=0.01)
    in_feet = left(
        start_level=q("2.264", "ft"), stop_level=q("1.969", "ft"),
        lag_start_level=q("4.6", "ft"), high_level_alarm=q("6.0", "ft"),
        low_level_cutoff=q("1.6", "ft"),
    )  # fmt: skip
    (american,) = of_rule(judged(changed(lift_station(), in_feet)), "well.starts")
    assert flow_told(american, "gpm") == pytest.approx(237.2, rel=0.01)


def flow_told(finding, unit: str) -> float:
    sentence = str(finding_document(finding, "")["sentence"])
    (value,) = re.findall(rf"\(then at ([0-9.]+) {unit}\)", sentence)
    return float(value)


def test_starts_of_the_published_example():
    """H15b: 1000 gal between the levels, 400 gpm, inflow 130 gpm: 5.27 starts an hour.

    The inflow is held at 130 gpm by its minimum and peak; 400 gpm at the maximum frequency with
    start and stop on level at that speed.
    """
    area = 133.681 / 10  # 1000 gal = 133.681 ft3 over 10 ft
    rows = [("0", "50"), ("200", "45"), ("400", "30"), ("600", "5")]
    # All of the motor's 11 kW, so that it runs at its rated speed.
    curve = [{"flow": q(flow, "gpm"), "head": q(head, "ft"), "shaft_power": q("11", "kW")}
             for flow, head in rows]  # fmt: skip
    document = changed(
        lift_station(),
        {"/site/wet_well_area": q(f"{area:.5f}", "ft2"), "/pump/curve_points": curve,
         "/site/system_curve_points": [{"flow": q("0", "gpm"), "head": q("20", "ft")},
                                       {"flow": q("400", "gpm"), "head": q("30", "ft")},
                                       {"flow": q("800", "gpm"), "head": q("60", "ft")}],
         "/site/static_lift_low": q("20", "ft"), "/site/static_lift_high": q("20", "ft"),
         "/site/inflow_minimum": q("130", "gpm"), "/site/inflow_peak": q("130", "gpm")}
        | left(regulation="open_loop", start_level=q("12", "ft"), stop_level=q("2", "ft"),
               lag_start_level=None, high_level_alarm=None, low_level_cutoff=None,
               pump_arrangement="single", alternation="none"),
    )  # fmt: skip
    assert derived(judged(document), "well.starts-per-hour").si == pytest.approx(5.27, abs=0.01)


def test_starts_need_the_area():
    (missing,) = lacking(judged(without(lift_station(), "/site/wet_well_area")), "well.starts")
    assert missing.needs == ("/site/wet_well_area",)


KEPT = left(
    regulation="closed_loop_in_drive", regulated_quantity="discharge_pressure",
    set_point=q("60", "psi"),
)  # fmt: skip


def test_without_flow_a_well_stands_at_its_static_level():
    """60 psi kept at a head of 3 ft: 60 x 2.309 + 3 = 141.5 ft over the datum (at 60 degF).

    At the static 45 ft that is 186.5 ft of 260 ft at 3440 rpm: 2913.5 rpm. At no flow the motor
    slips 0.380 x 0.717 of 150 rpm: 49.24 Hz, however deep the well is pumped (56 ft: 50.7 Hz).
    """
    judgement = judged(changed(well(), KEPT))
    for end in ("lowest", "highest"):
        found = derived(judgement, f"speed.zero-flow-at-{end}-suction")
        assert found.si == pytest.approx(49.24, abs=0.02)


def test_at_its_least_flow_a_well_falls_in_proportion():
    """100 gpm are a tenth of the 1000 gpm that lower it by 11 ft: 1.1 ft at the curve's speed.

    259.05 ft at 100 gpm: s^2 259.05 = 186.5 + 1.1 s, s = 0.8506, 2926 rpm and 0.466 x 0.724 of
    150 rpm: 49.61 Hz (with the whole draw-down it would be 51 Hz).
    """
    judgement = judged(changed(well(), KEPT))
    for name in ("", "-at-highest-suction"):
        found = derived(judgement, f"speed.at-minimum-continuous-flow{name}")
        assert found.si == pytest.approx(49.61, abs=0.05)


@pytest.mark.parametrize("at", [None, q("0", "gpm")])
def test_a_draw_down_without_its_flow_is_not_guessed(at):
    document = changed(well(), KEPT | {"/site/pumping_water_depth_at_flow": at})
    with pytest.raises(LookupError):
        derived(judged(document), "speed.at-minimum-continuous-flow")


@pytest.mark.parametrize(
    ("arrangement", "alternation", "group", "expected"),
    [
        ("alternating", None, 2, 2),
        ("alternating", None, None, 1),
        (None, "at_sleep", 3, 3),
        (None, "none", 3, 1),
        (None, None, 3, 1),
    ],
)
def test_how_many_take_turns(arrangement, alternation, group, expected):
    document = changed(
        lift_station(),
        left(pump_arrangement=arrangement, alternation=alternation, pumps_in_group=group),
    )
    assert taking_turns(case(document)) == expected


def test_a_well_without_inflow_does_not_cycle():
    document = changed(lift_station(), {"/site/inflow_peak": q("0", "m3/h")})
    (missing,) = lacking(judged(document), "well.starts")
    assert missing.because == "the pump does not cycle at this inflow"


# -- well.yield -----------------------------------------------------------------------------------

FLOW_KEPT = left(
    regulation="closed_loop_in_drive", regulated_quantity="flow", set_point=q("900", "gpm"),
    feedback_at_lower_signal=q("0", "gpm"), feedback_at_upper_signal=q("1500", "gpm"),
    speed_reference_signal=None, frequency_at_lower_reference=None,
    frequency_at_upper_reference=None, wake_value=None, sleep_boost=None,
    low_discharge_limit=None, high_discharge_limit=None,
) | {"/pump_set/regulating_sensor": "FT-101", "/event/step_tests": None}  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({}, []),  # 1400 gpm
        ({"/site/tested_yield": q("900", "gpm")}, []),
        ({"/site/tested_yield": q("890", "gpm")}, [("review", "beyond")]),
        ({"/site/tested_yield": None}, []),
        # What a pressure takes is another matter, and a controller outside may know better.
        ({"/site/tested_yield": q("800", "gpm")} | left(
            regulation="speed_from_external_controller"), []),
    ],
)  # fmt: skip
def test_no_more_is_kept_than_the_well_yields(changes, expected):
    """By definition of the yield."""
    assert verdicts(changed(well(), FLOW_KEPT | changes), "well.yield") == expected
