"""Judging on the device: the same as with the service, and what has to wait is told."""

import json
from copy import deepcopy

import pytest

from calculations import judging, offline
from calculations.catalogue import VERSION
from calculations.inputs.reading import InvalidDocument, read
from calculations.inputs.subject import Subject

from . import offline_bench
from .building import booster, changed
from .building_plates import q
from .packing import pack_of
from .test_told_once import EACH, POINTS, currents

WRONG_FREQUENCY = {"/event/settings/as_left/motor_frequency": q("50", "Hz")}
FIRST = {"record_id": "r", "number": 1, "performed_at": "2025-01-01T00:00:00Z"}


def judged(subject, **changes):
    pack, pump_set, event = pack_of(changed(subject, changes.pop("at", {})))
    return offline.judged(pack | changes, pump_set, event)


def rules(found, severity):
    return {each["rule"] for each in found["findings"] if each["severity"] == severity}


def test_it_says_what_the_service_says_of_the_same_documents():
    subject = changed(booster(), WRONG_FREQUENCY)
    # The booster's event names no file that was kept: none of them has come.
    document = deepcopy(subject)
    document["event"].pop("settings_file", None)
    document["event"].pop("attachments", None)
    pack, pump_set, event = pack_of(document)
    here = offline.judged(pack, pump_set, event)
    there = judging.judge(read(Subject, document))
    assert [each["sentence"] for each in here["findings"]] == [
        judging.finding_document(each, "")["sentence"] for each in there.findings
    ]
    assert "drive.volts-per-hertz" in rules(here, "stop")
    assert here["judged"] == there.judged > 50
    assert here["catalogue"] == VERSION


def test_what_was_answered_at_a_point_is_told_there_by_text_too():
    """As the service tells it, so that what is signed asks for no second answer."""
    rule, (pack, pump_set, event) = "load.current-expected", pack_of(currents(0.5, 0.5, 0.5))
    texts = json.dumps(pack), pump_set, json.dumps(event), "[]"
    for answered, subjects in (([], [POINTS]), ([[rule, EACH[1]]], EACH)):
        told = json.loads(offline.judged_text(*texts, json.dumps(answered)))
        assert [each["subject"] for each in told["findings"] if each["rule"] == rule] == subjects


def test_text_in_and_text_out_lose_no_digit():
    pack, pump_set, event = pack_of(booster())
    text = json.dumps(event).replace('"value": "35.0"', '"value": 35.00')
    told = json.loads(offline.judged_text(json.dumps(pack), pump_set, text))
    assert told["refused"] == []


def test_a_value_that_cannot_be_taken_is_told_and_the_rest_is_judged():
    bad = WRONG_FREQUENCY | {
        "/event/settings/as_left/motor_speed": {"value": "17x", "unit": "rpm"},
        "/event/supply/line_voltages": [q("460", "V"), None, q("461", "V")],
        "/event/remarks": 7,
    }
    found = judged(booster(), at=bad)
    places = {each["pointer"] for each in found["refused"]}
    assert places == {
        "/settings/as_left/motor_speed/value", "/supply/line_voltages/1", "/remarks",
    }  # fmt: skip
    assert "drive.volts-per-hertz" in rules(found, "stop")


@pytest.mark.parametrize(
    ("values", "wrong"),
    [("/event/supply/line_voltages", "1"), ("/event/duty_points/0/voltages_drive_output", "2")],
)
def test_a_list_of_values_is_left_out_as_one(values, wrong):
    found = judged(booster(), at={f"{values}/{wrong}": q("46x", "V")})
    at = values.removeprefix("/event")
    assert [each["pointer"] for each in found["refused"]] == [f"{at}/{wrong}/value"]
    expected = judged(booster(), at={values: None})
    for name in ("judged", "derived", "findings", "not_evaluated"):
        assert found[name] == expected[name]


def test_each_value_that_cannot_be_taken_is_told_once():
    names = ("motor_power", "motor_speed", "ramp_up_time")
    left = "/settings/as_left"
    bad = {f"/event{left}/{name}": {"value": "1x", "unit": "rpm"} for name in names}
    found = judged(booster(), at=bad | {"/event/remarks": 7})
    places = sorted(each["pointer"] for each in found["refused"])
    assert len(places) == len(set(places))
    assert {place.rsplit("/", 1)[0] for place in places} >= {f"{left}/motor_speed"}
    expected = judged(booster(), at={f"/event{left}/{name}": None for name in names})
    assert found["judged"] == expected["judged"]


def test_an_element_without_what_it_must_have_is_left_out_and_told():
    subject = booster()
    subject["event"]["protection_tests"].insert(0, {"observed": "it tripped"})
    found = judged(subject)
    assert [each["pointer"] for each in found["refused"]] == ["/protection_tests/0/function"]
    assert found["judged"] == judged(booster())["judged"]


@pytest.mark.parametrize("place", [0, 1])
def test_an_element_that_lacks_several_things_takes_none_of_its_neighbours_along(place):
    subject = booster()
    tests = subject["event"]["protection_tests"]
    tests.remove(next(each for each in tests if each["function"] == "power_loss_restart"))
    tasks = [{"task": "restart after power loss", "reason": "There is no second feed."}]
    subject["event"]["not_possible"] = tasks
    expected = judged(subject)
    assert "protection.missing" not in rules(expected, "review")
    subject["event"]["not_possible"] = [*tasks[:place], {"id": "one"}, *tasks[place:]]
    found = judged(subject)
    at = f"/not_possible/{place}"
    assert [each["pointer"] for each in found["refused"]] == [f"{at}/task", f"{at}/reason"]
    for name in ("judged", "findings", "not_evaluated"):
        assert found[name] == expected[name]


def test_what_is_wrong_with_the_pack_is_no_fault_of_the_entry():
    pack, pump_set, event = pack_of(booster())
    pack["site"]["kind"] = "castle"
    with pytest.raises(InvalidDocument):
        offline.judged(pack, pump_set, event)


def test_rows_of_a_trace_wait_for_signal():
    subject = booster()
    subject["event"]["step_tests"] = [{"trace": "00000000-0000-4000-8000-00000000000a"}]
    found = judged(subject)
    assert "trace.time" in {each["rule"] for each in found["waiting"]}
    assert "trace.time" not in {each["rule"] for each in found["not_evaluated"]}


def test_what_rests_on_other_records_waits_for_signal():
    pack, pump_set, event = pack_of(booster())
    compared = {"trend.head", "trend.efficiency", "trend.risen", "record.counters"}
    assert not compared & _waiting(pack, pump_set, event).keys()
    pack["pump_sets"][0]["first_record"] = FIRST
    waiting = _waiting(pack, pump_set, event)
    assert {waiting.get(rule) for rule in compared} == {
        "the service judges it: other records of the pump set stay with it"
    }


def _waiting(pack, pump_set, event):
    found = offline.judged(pack, pump_set, event)["waiting"]
    return {each["rule"]: each["because"] for each in found}


def test_the_limits_of_the_client_hold_here_too():
    limit = {"rule": "motor.slip", "limit": "from-15-kw", "value": "0.1", "unit": "%"}
    before, after = judged(booster()), judged(booster(), limits_changed=[limit])
    assert "motor.slip" not in {each["rule"] for each in before["findings"]}
    assert "motor.slip" in {each["rule"] for each in after["findings"]}


def test_a_file_on_the_device_counts_as_received():
    file = {"purpose": "settings_file", "name": "drive.bin", "sha256": "ab" * 32}
    subject = booster()
    subject["event"]["settings_file"] = file
    pack, pump_set, event = pack_of(subject)
    without = offline.judged(pack, pump_set, event)
    beside = offline.judged(pack, pump_set, event, [file])
    assert "record.not-received" in {each["rule"] for each in without["findings"]}
    assert "record.not-received" not in {each["rule"] for each in beside["findings"]}


def test_neighbours_come_along_as_they_were_left():
    left = {"motor_frequency": q("60", "Hz")}
    points = [{"frequency": q("55", "Hz")}]
    subject = booster()
    own = {name: subject[name] for name in ("pump_set", "pump", "motor", "drive")}
    subject["neighbours"] = [deepcopy(own) | {"settings": left, "duty_points": points}]
    subject["neighbours"][0]["pump_set"]["id"] = "00000000-0000-4000-8000-0000000000ff"
    pack, pump_set, event = pack_of(subject)
    [beside] = offline.subject_document(pack, pump_set, event)["neighbours"]
    assert beside["settings"] == left
    assert beside["duty_points"] == points


def test_a_visit_for_transmitters_alone_has_no_pump_set():
    pack, _, event = pack_of(booster())
    event.pop("pump_set", None)
    document = offline.subject_document(pack, "", event)
    assert "pump_set" not in document
    assert document["sensors"] == pack["sensors"]


@pytest.mark.slow
def test_the_fault_bench_is_told_alike_with_and_without_signal():
    """The promise is 99 % of single fields and pairs; what rests on a trace says that it waits."""
    found = offline_bench.run(range(9100, 9102))
    assert found.cases > 100
    assert found.share >= 0.99, found.different
    assert found.waited == found.traces > 0


@pytest.mark.parametrize(
    ("document", "named"),
    [
        ({}, set()),
        ({"instruments": ["I-1"], "duty_points": None, "sensor_verifications": None}, {"I-1"}),
        ({"duty_points": [{"instruments": ["I-2"]}, {}, {"instruments": ["I-3"]}]}, {"I-2", "I-3"}),
        ({"sensor_verifications": [{}, {"instrument": "I-4"}]}, {"I-4"}),
        (
            {"instruments": ["I-1"], "duty_points": [{"instruments": ["I-1", "I-2"]}],
             "sensor_verifications": [{"instrument": "I-3"}, {"instrument": None}]},
            {"I-1", "I-2", "I-3"},
        ),
    ],
)  # fmt: skip
def test_every_instrument_that_an_event_names(document, named):
    assert offline.instruments_named(document) == named


def test_a_rule_waits_once():
    found = judged(booster(), at={"/event/step_tests": [{"kind": "set_point_step"}]})
    waiting = [(each["rule"], each["subject"]) for each in found["waiting"]]
    assert waiting
    assert len(waiting) == len(set(waiting))
    told = {each["rule"] for each in found["findings"]}
    told |= {each["rule"] for each in found["not_evaluated"]}
    assert not told & {rule for rule, subject in waiting if subject == "/event"}
