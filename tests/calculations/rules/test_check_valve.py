"""A station without a check valve. Limits: common practice, no source; heads worked by hand."""

from typing import Any

import pytest

from calculations.rules.check_valve import CHECK_VALVE
from tests.calculations import stations
from tests.calculations.building import (
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

RULE = "station.check-valve"
NONE = {"/site/check_valve_kind": "none"}
PATIENT = left(restart_delay=q("30", "s"), automatic_reset_delay=q("30", "s"))
NOTED = [("note", "runs_back")]


def beside(document: Any, header: str | None, ours: str | None = "H-1") -> Any:
    """The same with another set, each on a header that may be named."""
    neighbour = {"pump_set": {"tag": "PS-102"} | ({"discharge_header": header} if header else {})}
    return changed(
        document, NONE | {"/neighbours": [neighbour], "/pump_set/discharge_header": ours}
    )


@pytest.mark.parametrize("kind", ["swing", "ball", "pump_control_valve", "unknown", None])
def test_it_is_of_stations_that_are_known_to_have_none(kind: str | None) -> None:
    document = changed(lift_station(), {"/site/check_valve_kind": kind})
    assert verdicts(document, RULE) == []


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        (PATIENT, NOTED),
        (PATIENT | left(restart_delay=q("29.9", "s")), [("review", "restart")]),
        (PATIENT | left(automatic_reset_delay=q("29.9", "s")), [("review", "restart")]),
        (
            PATIENT | left(automatic_reset_delay=q("0", "s"), automatic_reset_count=0),
            NOTED,
        ),
        (left(restart_delay=q("0", "s"), start_mode="catch_spinning"), NOTED),
        (PATIENT | left(restart_delay=q("0", "s"), restart_after_power_loss="stay_stopped"), NOTED),
        (
            PATIENT | left(restart_delay=None, restart_after_power_loss="restart"),
            [("review", "restart")],
        ),
        (PATIENT | left(restart_after_power_loss="restart"), NOTED),
        # A screw holds what stands over it.
        (PATIENT | {"/pump/type": "progressive_cavity"}, []),
    ],
)
def test_the_column_runs_back(changes: Any, expected: Any) -> None:
    assert verdicts(changed(lift_station(), NONE | changes), RULE) == expected


@pytest.mark.parametrize(("lift", "expected"), [("1.00", []), ("1.01", NOTED), ("-3", [])])
def test_what_stands_over_the_pump(lift: str, expected: Any) -> None:
    lifts = {"/site/static_lift_low": q(lift, "m"), "/site/static_lift_high": q(lift, "m")}
    assert verdicts(changed(lift_station(), NONE | PATIENT | lifts), RULE) == expected


@pytest.mark.parametrize(
    ("test", "expected"),
    [
        ({"function": "reverse_rotation", "passed": True}, []),
        ({"function": "reverse_rotation", "passed": False}, NOTED),
        ({"function": "reverse_rotation"}, NOTED),
        ({"function": "power_loss_restart", "passed": True}, NOTED),
    ],
)
def test_what_was_seen_to_stand_still_is_held(test: Any, expected: Any) -> None:
    document = changed(lift_station(), NONE | PATIENT)
    document["event"]["protection_tests"].append(test)
    assert verdicts(document, RULE) == expected


def test_a_main_over_a_crest_holds_nothing_back() -> None:
    """Outlet at the lowest level plus the highest lift; a crest counts from 1 m over it."""
    document = changed(lift_station(), NONE | PATIENT)
    site = document["site"]
    assert site["suction_level_low"]["unit"] == site["static_lift_high"]["unit"] == "m"
    ends = [
        (site[f"suction_level_{low}"], site[f"static_lift_{high}"])
        for low, high in (("low", "high"), ("high", "low"))
    ]
    outlet = max(float(level["value"]) + float(lift["value"]) for level, lift in ends)
    for over, expected in ((0.99, NOTED), (1.01, [])):
        pipeline = dict(site.get("pipeline") or {})
        pipeline["high_point_elevation"] = q(f"{outlet + over:.2f}", "m")
        assert verdicts(changed(document, {"/site/pipeline": pipeline}), RULE) == expected


def test_a_loop_that_sleeps_is_woken_at_once() -> None:
    (finding,) = of_rule(judged(changed(booster(), NONE)), RULE)
    # 85 psi are 196.4 ft; lowest suction 30 psi are 69.3 ft; tapping and gauge heights 1 ft or so.
    assert (finding.severity, finding.variant) == ("review", "sleep")
    assert 125 < float(finding.parameters["head"].split()[0]) < 131
    awake = NONE | PATIENT | left(sleep_method="none")
    assert verdicts(changed(booster(), awake), RULE) == NOTED


def test_another_set_on_the_header_pumps_through_it() -> None:
    document = beside(lift_station(), "H-1")
    (finding,) = of_rule(judged(document), RULE)
    assert (finding.severity, finding.variant) == ("review", "parallel")
    assert "PS-102" in CHECK_VALVE.sentence(finding)


def test_a_header_of_its_own_has_no_other_to_pump_through_it() -> None:
    document = changed(beside(lift_station(), "H-2"), PATIENT)
    assert verdicts(document, RULE) == NOTED
    assert lacking(judged(document), RULE) == []


@pytest.mark.parametrize(
    ("theirs", "ours", "needs"),
    [
        (None, "H-1", ("/neighbours/0/pump_set/discharge_header",)),
        ("H-1", None, ("/pump_set/discharge_header",)),
    ],
)
def test_headers_that_are_not_named_are_asked_for(theirs: Any, ours: Any, needs: Any) -> None:
    document = changed(beside(lift_station(), theirs, ours), PATIENT)
    assert verdicts(document, RULE) == NOTED
    (missing,) = lacking(judged(document), RULE)
    assert missing.needs == needs


def test_a_pause_of_wells_is_told_by_their_own_rule() -> None:
    short = changed(stations.well(), NONE | PATIENT | left(restart_delay=q("9.9", "s")))
    assert verdicts(short, RULE) == NOTED
    assert verdicts(short, "well.restart") == [("review", "power")]
    longer = changed(stations.well(), NONE | PATIENT | left(restart_delay=q("10", "s")))
    assert verdicts(longer, RULE) == [("review", "restart")]
    assert verdicts(longer, "well.restart") == []


def test_across_the_line_nothing_catches_a_motor() -> None:
    document = stations.well_across_the_line(
        restart_delay=q("20", "s"), restart_after_power_loss="restart_after_delay"
    )
    (finding,) = of_rule(judged(changed(document, NONE)), RULE)
    assert (finding.severity, finding.variant) == ("review", "across_the_line")
    # There is no drive that could be told to catch it.
    assert "start mode" not in CHECK_VALVE.sentence(finding)
    assert "drive" not in str(CHECK_VALVE.remedy(finding))


def test_it_asks_for_what_it_lacks() -> None:
    document = changed(lift_station(), NONE | left(restart_delay=q("5", "s")))
    (missing,) = lacking(judged(without(document, f"{LEFT}/start_mode")), RULE)
    assert missing.needs == (f"{LEFT}/start_mode",)
    (missing,) = lacking(judged(without(document, "/site/static_lift_high")), RULE)
    assert missing.needs == ("/site/static_lift_high",)


def test_magnets_keep_the_terminals_live() -> None:
    document = changed(lift_station(), NONE | PATIENT)
    (plain,) = of_rule(judged(document), RULE)
    assert "live" not in CHECK_VALVE.sentence(plain)
    document = changed(document, {"/motor/kind": "permanent_magnet"})
    (finding,) = of_rule(judged(document), RULE)
    assert "terminals live" in CHECK_VALVE.sentence(finding)


@pytest.mark.parametrize("variant", CHECK_VALVE.sentences)
def test_an_open_isolator_alone_keeps_nobody_safe(variant: str) -> None:
    assert "lock the discharge valve" in CHECK_VALVE.remedies[variant]
