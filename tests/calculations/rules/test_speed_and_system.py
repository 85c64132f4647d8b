"""The speed range against the system.

Raw water: zero flow at 1770 sqrt(150 / 260) rpm = 1344.4 rpm for the lowest lift, at 1770
sqrt(160 / 260) rpm = 1388.5 rpm for the highest. At no flow the pump asks for 0.380 of the rated
torque at 1770 rpm, so that of 25 rpm the motor slips 5.5 and 5.8: 45.00 Hz and 46.48 Hz. It may be
bowls of mixed flow: at the most 1.1 x 0.637 of the torque, as at 300 gpm, and a fifth more slip
than on the plate, 12.1 and 12.9 rpm: 0.22 and 0.24 Hz are uncertain.
"""

import pytest

from calculations.judging import finding_document
from calculations.rules.speed_and_system import relieved
from tests.calculations.building import (
    booster,
    case,
    changed,
    in_metric,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_plates import q
from tests.calculations.rules.test_scope import fixed
from tests.calculations.whole_stations import LEFT, left, lift_station, raw_water

# -- speed.zero-flow ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("minimum", "expected"),
    [
        ("46.4", []),
        ("46.1", [("note", "sometimes")]),
        ("44.5", [("note", "sometimes")]),  # 0.5 Hz below the lowest lift's: no evidence
        ("44.1", [("review", "never")]),
    ],
)
def test_minimum_against_static_lift(minimum, expected):
    document = changed(raw_water(), left(minimum_frequency=q(minimum, "Hz")))
    assert verdicts(document, "speed.zero-flow") == expected
    assert verdicts(in_metric(document), "speed.zero-flow") == expected


@pytest.mark.parametrize(
    ("minimum", "limit", "told"),
    [
        # The drive may make up for the slip: 1770 sqrt(150 / 260) = 1344.4 rpm of 1800 are 44.81
        # Hz, 0.18 Hz less; and the 0.5 Hz that are allowed.
        (
            "44.1",
            "at least 44.31 Hz",
            "begins to deliver at 45 Hz (0.18 Hz less to 0.22 Hz more), at",
        ),
        # 1770 sqrt(160 / 260) = 1388.5 rpm: 46.28 Hz.
        ("46.1", "at least 46.28 Hz", "from 46.48 Hz on (0.19 Hz less to 0.24 Hz more)."),
    ],
)
def test_the_limit_that_is_told_is_what_decides(minimum, limit, told):
    (finding,) = of_rule(
        judged(changed(raw_water(), left(minimum_frequency=q(minimum, "Hz")))), "speed.zero-flow"
    )
    assert finding.limit == limit
    assert told in str(finding_document(finding, "")["sentence"])
    edge = float(limit.split()[2])
    for beside, expected in ((-0.02, [(finding.severity, finding.variant)]), (0.02, None)):
        at = changed(raw_water(), left(minimum_frequency=q(f"{edge + beside:.2f}", "Hz")))
        found = verdicts(at, "speed.zero-flow")
        assert (found == expected) if expected else (finding.variant not in [v for _, v in found])


def test_a_pressure_at_no_flow_is_told_with_what_slip_leaves_uncertain():
    """260 ft (1790.3 / 1770)^2 = 266.0 ft, 115.2 psi over 33.9: 149.1 psi.

    0.604 of rated torque at the most, and a fifth more slip, leave 0.29 Hz of 60 Hz: twice that
    share of 115.2 psi. A drive that compensates the slip turns it faster and gives more.
    """
    (finding,) = of_rule(judged(bounded("110")), "speed.maximum-pressure")
    told = str(finding_document(finding, "")["sentence"])
    assert "the pressure is 149.1 psi (give or take 1.1 psi), above the 110 psi" in told


def test_what_regulates_is_asked_for():
    (missing,) = lacking(judged(without(booster(), f"{LEFT}/regulation")), "speed.zero-flow")
    assert missing.needs == (f"{LEFT}/regulation",)


def test_a_pump_across_the_line_has_no_minimum():
    for document in (fixed(), fixed(ramp_up_time=q("10", "s"))):
        assert verdicts(document, "speed.zero-flow") == []
        assert lacking(judged(document), "speed.zero-flow") == []


@pytest.mark.parametrize(
    ("summit", "minimum", "expected"),
    [
        # 180 ft over -2 and -6 ft are 182 and 186 ft: 1770 sqrt(182 / 260) rpm = 1480.9 rpm, which
        # is 49.58 Hz with its slip, and 1497.1 rpm, 50.13 Hz; 0.22 Hz are uncertain.
        ("180", "50.4", []),
        ("180", "49.7", [("note", "sometimes")]),
        ("180", "48.7", [("review", "never")]),
        # The outlet lies at 148 to 154 ft; up to 3.3 ft over it the high point is the outlet.
        ("157", "47.0", []),
        ("100", "47.0", []),
    ],
)
def test_flow_begins_over_the_main_s_high_point(summit, minimum, expected):
    high = {"/site/pipeline/high_point_elevation": q(summit, "ft")}
    document = changed(raw_water(), left(minimum_frequency=q(minimum, "Hz")) | high)
    assert verdicts(document, "speed.zero-flow") == expected
    assert verdicts(in_metric(document), "speed.zero-flow") == expected
    flow = next(each.si for each in judged(document).derived
                if each.id == "system.flow-at-minimum-speed")  # fmt: skip
    assert (flow == 0) == bool(expected)
    for finding in of_rule(judged(document), "speed.zero-flow"):
        assert str(finding_document(finding, "")["sentence"]).endswith(
            "; it has to lift over the main's high point at 180 ft, above the outlet, before "
            "anything flows, and no siphon is counted on."
        )


@pytest.mark.parametrize(
    ("summit", "variant", "first"),
    [
        (None, "not_at_all_lifts", False),
        ("600", "at_no_lift", True),
    ],
)
def test_a_high_point_that_is_lifted_over_is_checked_first(summit, variant, first):
    lifts = {"/site/static_lift_high": q("270", "ft"), "/site/system_design_head": q("275", "ft")}
    high = {"/site/pipeline/high_point_elevation": q(summit, "ft")} if summit else {}
    (finding,) = of_rule(judged(changed(raw_water(), lifts | high)), "speed.zero-flow")
    assert finding.variant == variant
    remedy = str(finding_document(finding, "")["remedy"])
    told = "Check the high point of the main (high_point_elevation) first. Check the "
    assert remedy.startswith(told) is first


def test_a_high_point_needs_the_suction_it_is_lifted_from():
    high = {"/site/pipeline/high_point_elevation": q("180", "ft")}
    document = without(changed(raw_water(), high), "/site/suction_level_low")
    (missing,) = lacking(judged(document), "speed.zero-flow")
    assert missing.needs == ("/site/suction_level_low",)


def test_a_pressure_loop_may_go_below_zero_flow():
    """No demand is no flow in either case; what protects the pump decides (dead-head)."""
    assert (
        verdicts(changed(booster(), left(minimum_frequency=q("32", "Hz"))), "speed.zero-flow") == []
    )


def test_a_level_loop_is_judged_by_its_lift():
    """26 m at no flow, 9.0 m: 859 rpm and 4.8 rpm of slip, 28.79 Hz; 10.2 m: 30.66 Hz."""
    for minimum, expected in (("31.4", []), ("30", ["note"]), ("28", ["review"])):
        document = changed(lift_station(), left(minimum_frequency=q(minimum, "Hz")))
        found = [severity for severity, _ in verdicts(document, "speed.zero-flow")]
        assert found == expected


@pytest.mark.parametrize(
    ("minimum", "stage_off", "expected"),
    [
        ("36", None, [("review", "header")]),  # 40.83 Hz hold the header at the highest suction
        ("36", "43", []),  # taken out before it is shut off
        ("40.4", None, []),
    ],
)
def test_one_of_several_pumps_on_a_header(minimum, stage_off, expected):
    several = {"pumps_maximum_running": 2, "minimum_frequency": q(minimum, "Hz"),
               "sleep_method": "none"}  # fmt: skip
    if stage_off:
        several["stage_off_frequency"] = q(stage_off, "Hz")
    document = changed(booster(), left(**several) | {"/site/zero_demand_possible": False})
    document = without(document, f"{LEFT}/sleep_frequency")
    assert verdicts(document, "speed.zero-flow") == expected


def test_zero_flow_needs_the_lift():
    document = without(raw_water(), "/site/static_lift_low")
    (missing,) = lacking(judged(document), "speed.zero-flow")
    assert missing.needs == ("/site/static_lift_low",)


def test_a_lowest_lift_above_the_highest_is_no_ground_to_judge():
    document = changed(raw_water(), {"/site/static_lift_low": q("170", "ft")})
    judgement = judged(document)
    (waiting,) = lacking(judgement, "speed.zero-flow")
    assert waiting.waits_for == "site.order"
    assert [each.rule for each in judgement.findings if each.severity != "note"] == ["site.order"]


# At 60 Hz the field turns at 1800 rpm: 268.9 ft at the most, 266.0 ft with the slip of no flow.
@pytest.mark.parametrize(
    ("low", "high", "expected"),
    [
        ("150", "268", [("note", "sometimes")]),
        ("150", "270", [("review", "not_at_all_lifts")]),
        ("261", "270", [("review", "not_at_all_lifts")]),
        ("270", "272", [("review", "at_no_lift")]),
    ],
)
def test_a_lift_beyond_the_pump_is_told_once(low, high, expected):
    lifts = {"static_lift_low": low, "static_lift_high": high, "system_design_head": "275"}
    document = changed(raw_water(), {f"/site/{name}": q(value, "ft") for name, value in
                                     lifts.items()})  # fmt: skip
    judgement = judged(document)
    assert verdicts(document, "speed.zero-flow") == expected
    assert verdicts(in_metric(document), "speed.zero-flow") == expected
    (velocity,) = lacking(judgement, "main.velocity") or [None]
    if expected == [("review", "at_no_lift")]:
        assert velocity.waits_for == "speed.zero-flow"
    else:
        assert velocity is None
    (surge,) = lacking(judgement, "ramp.surge") or [None]
    assert (surge is not None and surge.waits_for == "speed.zero-flow") == (high > "261")


# -- speed.dead-head ----------------------------------------------------------------------------


def unprotected(**more: object):
    return changed(booster(), left(sleep_method="none") | more)


def test_nothing_protects_at_no_demand():
    assert verdicts(unprotected(), "speed.dead-head") == [("review", "none")]


@pytest.mark.parametrize(
    "way",
    [
        {"/site/minimum_flow_path": "recirculation"},
        {"/site/zero_demand_possible": False},
        left(no_flow_response="stop_and_retry"),
        left(dry_run_method="flow_switch", dry_run_response="stop"),
        left(sleep_method="flow"),
    ],
)
def test_any_way_out_is_enough(way):
    assert verdicts(changed(unprotected(), way), "speed.dead-head") == []


@pytest.mark.parametrize("response", ["none", "alarm"])
def test_an_alarm_alone_is_no_way_out(response):
    document = changed(unprotected(), left(no_flow_response=response))
    assert verdicts(document, "speed.dead-head") == [("review", "none")]


def test_an_unreachable_sleep_is_named_by_its_own_rule():
    document = changed(booster(), left(sleep_frequency=q("38", "Hz")))
    assert verdicts(document, "speed.dead-head") == []
    assert verdicts(document, "loop.sleep-order") == [("review", "unreachable")]


def test_a_low_minimum_frequency_alone_is_never_the_point():
    assert verdicts(unprotected(**left(minimum_frequency=q("45", "Hz"))), "speed.dead-head") == [
        ("review", "none")
    ]


def test_dead_head_asks_whether_demand_can_end():
    document = without(unprotected(), "/site/zero_demand_possible")
    (missing,) = lacking(judged(document), "speed.dead-head")
    assert missing.needs == ("/site/zero_demand_possible",)


# -- speed.maximum-pressure ---------------------------------------------------------------------


def bounded(limit: str, **more: object):
    """Shut-off at 60 Hz: 260 (1775 / 1770)^2 ft / 2.309 ft/psi = 113.2 psi.

    With 33 psi at 2 ft, at the datum 33 + 0.9 psi: 147.1 psi.
    """
    document = changed(booster(), {"/site/discharge_pressure_limit": q(limit, "psi")} | more)
    return without(document, "/site/relief_valve_setting")


@pytest.mark.parametrize(
    ("limit", "expected"),
    # At the datum 33.9 psi and 115.2 psi at no flow; 113.9 psi if the slip is compensated.
    [("148.2", []), ("147.4", [("stop", "unprotected")])],
)
def test_shut_off_against_the_weakest_part(limit, expected):
    document = bounded(limit, **left(high_discharge_limit_response="alarm"))
    assert verdicts(document, "speed.maximum-pressure") == expected
    assert verdicts(in_metric(document), "speed.maximum-pressure") == expected


@pytest.mark.parametrize(
    ("protection", "expected"),
    [
        (left(high_discharge_limit=q("125", "psi")), []),
        (left(high_discharge_limit=q("141", "psi")), [("stop", "unprotected")]),
        ({"/site/relief_valve_setting": q("140", "psi")}, []),
        ({"/site/relief_valve_setting": q("141", "psi")}
         | left(high_discharge_limit_response="none"), [("stop", "unprotected")]),
    ],
)  # fmt: skip
def test_relief_or_trip_at_the_limit_or_below(protection, expected):
    assert verdicts(changed(bounded("140"), protection), "speed.maximum-pressure") == expected


def test_a_vessel_may_be_the_weakest_part():
    document = bounded("175", **{"/vessels/0/maximum_pressure": q("120", "psi")})
    (finding,) = of_rule(judged(document), "speed.maximum-pressure")
    assert finding.parameters["whose"] == "vessel V-1"
    (finding,) = of_rule(judged(without(document, "/vessels/0/tag")), "speed.maximum-pressure")
    assert finding.parameters["whose"] == "vessel 1"


def test_a_suction_vessel_bears_no_discharge_pressure():
    weak = {"/vessels/0/maximum_pressure": q("60", "psi"), "/vessels/0/location": "suction"}
    assert verdicts(bounded("175", **weak), "speed.maximum-pressure") == []


# -- speed.minimum-pressure -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("minimum", "expected"),
    [
        # At the datum 33.9 psi plus 115.2 (f / 60)^2 psi against 90 psi: 41.9 Hz, 0.16 Hz
        # uncertain.
        ("42.0", []),
        ("42.6", [("review", "above")]),  # 91.0 psi
    ],
)
def test_pressure_at_the_minimum_frequency(minimum, expected):
    limited = {"/site/discharge_pressure_limit": q("90", "psi"),
               "/site/relief_valve_setting": q("89", "psi")}  # fmt: skip
    document = changed(booster(), limited | left(minimum_frequency=q(minimum, "Hz")))
    assert verdicts(document, "speed.minimum-pressure") == expected


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        # The relief valve opens at 150 psi, 1.034 MPa; the drive stops at 125 psi, 0.862 MPa.
        ({}, True),
        ({"/site/relief_valve_setting": q("160", "psi")}, True),
        ({"/site/relief_valve_setting": None}, True),
        ({"/site/relief_valve_setting": None, f"{LEFT}/high_discharge_limit": None}, False),
        ({"/site/relief_valve_setting": None,
          f"{LEFT}/high_discharge_limit_response": "alarm"}, False),
    ],
)  # fmt: skip
def test_a_valve_or_a_stop_at_a_limit_relieves(changes, expected):
    assert relieved(case(changed(booster(), changes)), 1.04e6) is expected
