"""What the loop does: direction, lost signal, terms, other controllers."""

import pytest

from tests.calculations.building import (
    booster,
    changed,
    judged,
    lacking,
    of_rule,
    severities,
    verdicts,
    without,
)
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import LEFT, left, lift_station, raw_water

# -- loop.action --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("regulated", "right"),
    [
        # Polarity of loops (L09): derived from the process, not from a label.
        ("discharge_pressure", "rising_feedback_slows"),
        ("differential_pressure", "rising_feedback_slows"),
        ("flow", "rising_feedback_slows"),
        ("level_filling", "rising_feedback_slows"),
        ("level_emptying", "rising_feedback_speeds_up"),
        ("suction_pressure", "rising_feedback_speeds_up"),
    ],
)
def test_action(regulated, right):
    actions = {"rising_feedback_slows", "rising_feedback_speeds_up"}
    (wrong,) = actions - {right}
    base = changed(booster(), left(regulated_quantity=regulated))
    assert verdicts(changed(base, left(action=right)), "loop.action") == []
    found = verdicts(changed(base, left(action=wrong)), "loop.action")
    assert [severity for severity, _ in found] == ["stop"]


def test_action_of_a_temperature_depends_on_the_process():
    document = changed(booster(), left(regulated_quantity="temperature"))
    assert verdicts(document, "loop.action") == []


def test_action_names_what_it_lacks_and_unknown_is_missing():
    document = changed(booster(), left(action="unknown"))
    (missing,) = lacking(judged(document), "loop.action")
    assert missing.needs == (f"{LEFT}/action",)


def test_no_loop_in_the_drive_no_action():
    assert lacking(judged(raw_water()), "loop.action") == []


@pytest.mark.parametrize(
    ("said", "action", "levels", "expected"),
    [
        # Start below stop and a rising level that slows: a tank is filled, whatever is said.
        ("level_emptying", "rising_feedback_slows", ("1.0", "2.0"), [("stop", "other_way")]),
        # The site is a lift station as well: most likely a word of the record.
        ("level_filling", "rising_feedback_speeds_up", ("2.0", "1.0"), [("review", "other_way")]),
        ("level_emptying", "rising_feedback_slows", ("2.0", "1.0"), [("stop", "must_speed_up")]),
        ("level_filling", "rising_feedback_speeds_up", ("1.0", "2.0"), [("stop", "must_slow")]),
        ("level_emptying", "rising_feedback_speeds_up", ("1.0", "2.0"), []),  # level.order's
    ],
)
def test_what_is_regulated_may_be_what_is_wrong(said, action, levels, expected):
    """Told once, and nobody is sent to turn a direction that is right."""
    start, stop = (q(each, "m") for each in levels)
    set_ = left(regulated_quantity=said, action=action, start_level=start, stop_level=stop,
                lag_start_level=None, low_level_cutoff=None, high_level_alarm=None)  # fmt: skip
    judgement = judged(changed(lift_station(), set_))
    found = of_rule(judgement, "loop.action")
    assert [(each.severity, each.variant) for each in found] == expected
    turned = not expected
    assert bool(of_rule(judgement, "level.order")) is turned
    if expected and expected[0][1] == "other_way":
        assert {each.rule for each in judgement.findings} & {"level.set-point", "level.order"} == (
            set()
        )
        (waiting,) = lacking(judgement, "level.order")
        assert waiting.waits_for == "loop.action"


# -- loop.signal-loss, loop.broken-wire -----------------------------------------------------------

WEAK = {"/site/discharge_pressure_limit": q("140", "psi"), "/site/relief_valve_setting": None}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        (left(signal_loss_response="stop"), []),
        (left(signal_loss_response="hold_speed"), []),
        (left(signal_loss_response="alarm"), []),
        (left(signal_loss_response="none"), [("review", "none")]),
        # 147.1 psi at full speed and no flow, pipework for 140 psi, no relief valve, and the
        # trip at 125 psi is read from the sensor that is lost.
        (WEAK | left(signal_loss_response="none"), [("stop", "full_speed")]),
        (WEAK | left(signal_loss_response="alarm"), [("stop", "full_speed")]),
        (WEAK | left(signal_loss_response="maximum_speed"), [("stop", "full_speed")]),
        (WEAK | left(signal_loss_response="stop"), []),
        # 175 psi of pipework bear full speed, but the trip at 125 psi hangs on the lost sensor.
        (left(signal_loss_response="maximum_speed"), [("review", "blind_limit")]),
        (left(signal_loss_response="maximum_speed", high_discharge_limit_response="alarm"),
         [("review", "blind")]),
        (left(signal_loss_response="maximum_speed",
              high_discharge_limit_measured_by="pressure_switch"), []),
        (WEAK | left(signal_loss_response="none",
                     high_discharge_limit_measured_by="pressure_switch"), [("review", "none")]),
        (WEAK | left(signal_loss_response="none") | {"/site/relief_valve_setting": q("135", "psi")},
         [("review", "none")]),
    ],
)  # fmt: skip
def test_signal_loss(changes, expected):
    assert verdicts(changed(booster(), changes), "loop.signal-loss") == expected


@pytest.mark.parametrize(("limit", "expected"), [("147.4", ["stop"]), ("148.2", [])])
def test_pipework_is_compared_at_the_datum_wherever_the_sensor_is(limit, expected):
    """149.1 psi at the datum, 147.8 psi if slip is compensated; 20 ft above it 9 psi less."""
    changes = WEAK | left(signal_loss_response="maximum_speed") | {
        "/site/discharge_pressure_limit": q(limit, "psi"),
        "/sensors/0/tapping_elevation": q("20", "ft"),
    }  # fmt: skip
    found = severities(changed(booster(), changes), "loop.signal-loss")
    assert [each for each in found if each == "stop"] == expected


NO_FLOAT = ("/event/level_tests/4", "/event/protection_tests/0")


@pytest.mark.parametrize(
    ("changes", "by_float", "alone"),
    [
        # A lost level: the pump stops or is too slow for the inflow, and the well fills.
        ({"signal_loss_response": "stop"}, [], [("review", "well_floods")]),
        ({"signal_loss_response": "minimum_speed"}, [], [("review", "well_floods")]),
        ({"signal_loss_response": "alarm"}, [], [("review", "well_floods")]),
        ({"signal_loss_response": "preset_speed"}, [], []),
        # Full speed empties it: a high float starts nothing that would help, a low one does.
        ({"signal_loss_response": "maximum_speed"}, [], []),
        ({"signal_loss_response": "maximum_speed", "dry_run_method": "underload"}, [], []),
        *(
            ({"signal_loss_response": "maximum_speed", "dry_run_method": method},
             [("review", "well_dry")], [("review", "well_dry")])
            for method in ("level", "none", None)
        ),
        ({"signal_loss_response": "maximum_speed", "dry_run_response": "alarm"},
         [("review", "well_dry")], [("review", "well_dry")]),
    ],
)  # fmt: skip
def test_a_lost_level_neither_floods_nor_runs_dry(changes, by_float, alone):
    document = changed(lift_station(), left(**changes) | {"/event/kind": "settings_change"})
    assert verdicts(document, "loop.signal-loss") == by_float
    assert verdicts(without(document, *NO_FLOAT), "loop.signal-loss") == alone


def test_at_a_start_up_the_missing_test_of_the_float_is_told_once():
    stops = without(changed(lift_station(), left(signal_loss_response="stop")), *NO_FLOAT)
    assert ("stop", "float") in verdicts(stops, "protection.missing")
    assert verdicts(stops, "loop.signal-loss") == []
    assert [each.waits_for for each in lacking(judged(stops), "loop.signal-loss")] == [
        "protection.missing"
    ]
    (missing,) = [each for each in of_rule(judged(stops), "protection.missing")
                  if each.variant == "float"]  # fmt: skip
    known = judged(stops, accepted=[(missing.rule, missing.subject)])
    assert [each.variant for each in of_rule(known, "loop.signal-loss")] == ["well_floods"]
    excused = changed(stops, {"/event/not_possible": [{"task": "float backup", "reason": "none"}]})
    assert verdicts(excused, "protection.missing") == []
    assert verdicts(excused, "loop.signal-loss") == [("review", "well_floods")]


def test_a_response_that_is_not_set_needs_no_test_of_it():
    document = changed(booster(), left(signal_loss_response="none"))
    tests = [each for each in document["event"]["protection_tests"]
             if each["function"] != "loss_of_feedback"]  # fmt: skip
    untested = changed(document, {"/event/protection_tests": tests})
    assert verdicts(untested, "loop.signal-loss") == [("review", "none")]
    assert verdicts(untested, "protection.missing") == []
    proven = changed(untested, left(signal_loss_response="stop"))
    assert verdicts(proven, "protection.missing") == [("review", "plain")]


def test_either_record_of_the_float_counts():
    stops = changed(lift_station(), left(signal_loss_response="stop"))
    for each in NO_FLOAT:
        assert verdicts(without(stops, each), "loop.signal-loss") == []
    failed = changed(without(stops, NO_FLOAT[0]), {f"{NO_FLOAT[1]}/passed": False})
    assert verdicts(failed, "loop.signal-loss") == [("review", "well_floods")]


def dead_zero(**more: object):
    """0 to 10 V, which is legal."""
    volts = {"/sensors/0/output": "0-10 V"} | left(
        feedback_signal="0-10 V", input_selector="voltage"
    )
    return changed(booster(), volts | more)


def test_a_dead_zero_is_legal_and_noted():
    assert verdicts(dead_zero(), "loop.broken-wire") == [("note", "dead_zero")]
    assert verdicts(dead_zero(), "loop.signal-loss") == []


def test_a_dead_zero_never_triggers_its_response():
    """With pipework for 140 psi the stop on loss of signal does not help: it is not seen."""
    assert verdicts(dead_zero(**WEAK), "loop.signal-loss") == [("stop", "full_speed")]


def test_below_a_dead_zero_nothing_is_lost():
    threshold = left(signal_loss_threshold=q("1", "V"))
    assert verdicts(dead_zero(**threshold), "loop.loss-threshold") == []


@pytest.mark.parametrize("signal", ["4-20 mA", "2-10 V", "1-5 V", "0.5-4.5 V", "digital"])
def test_a_live_zero_shows_a_broken_wire(signal):
    document = changed(
        booster(), {"/sensors/0/output": signal} | left(feedback_signal=signal, input_selector=None)
    )
    assert verdicts(document, "loop.broken-wire") == []


def test_signal_loss_names_what_it_lacks():
    (missing,) = lacking(
        judged(without(booster(), f"{LEFT}/signal_loss_response")), "loop.signal-loss"
    )
    assert missing.needs == (f"{LEFT}/signal_loss_response",)


# -- loop.two-controllers -------------------------------------------------------------------------


def beside(group: str | None, ours: str | None = None, **settings: object):
    """A second pump set on the header that keeps its pressure as well."""
    other = {"regulation": "closed_loop_in_drive", "regulated_quantity": "discharge_pressure",
             "set_point": q("85", "psi")} | settings  # fmt: skip
    neighbour = {"pump_set": {"tag": "PS-102", "group": group}, "settings": other}
    return changed(booster(), {"/neighbours": [neighbour], "/pump_set/group": ours})


@pytest.mark.parametrize(
    ("document", "expected"),
    [
        (beside(None), [("review", "beside")]),
        (beside("G-1", "G-1"), []),
        (beside("G-2", "G-1"), [("review", "beside")]),
        (beside(None, regulated_quantity="suction_pressure"), []),
        (beside(None, regulation="open_loop"), []),
        (changed(beside(None), left(pumps_maximum_running=1)), []),
        (changed(beside(None), left(pump_arrangement="duty_standby")), []),
    ],
)
def test_two_drives_on_one_header(document, expected):
    assert verdicts(document, "loop.two-controllers") == expected


@pytest.mark.parametrize(
    ("ours", "theirs", "expected"),
    [
        ("HD-1", "HD-1", [("review", "beside")]),
        ("HD-1", "HD-2", []),
        ("HD-1", None, [("review", "beside")]),  # a neighbour is one on the same header
        (None, "HD-2", [("review", "beside")]),
    ],
)
def test_a_set_on_another_header_is_no_rival(ours, theirs, expected):
    headers = {"/pump_set/discharge_header": ours,
               "/neighbours/0/pump_set/discharge_header": theirs}  # fmt: skip
    assert verdicts(changed(beside(None), headers), "loop.two-controllers") == expected


@pytest.mark.parametrize(("tag", "told"), [({"tag": "PS-102"}, "PS-102"), ({}, "neighbour 2")])
def test_the_rival_is_named_whoever_stands_before_it(tag, told):
    rival = beside(None)["neighbours"][0]
    rival["pump_set"] = {each: value for each, value in rival.get("pump_set", {}).items()
                         if each != "tag"} | tag  # fmt: skip
    bare = {each: value for each, value in rival.items() if each != "settings"}
    document = changed(booster(), {"/neighbours": [bare, rival]})
    (found,) = of_rule(judged(document), "loop.two-controllers")
    assert (found.subject, found.parameters["tag"]) == ("/neighbours/1", told)


def test_a_controller_above_the_drive():
    document = changed(booster(), left(speed_reference_signal="4-20 mA"))
    assert verdicts(document, "loop.two-controllers") == [("review", "above")]
    outside = changed(document, left(regulation="speed_from_external_controller"))
    assert verdicts(outside, "loop.two-controllers") == []
