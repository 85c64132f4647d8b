"""Pieces of which something was not possible, named in words or by tag, and exchanged ones."""

import pytest

from tests.calculations.tasks.doing import AGAIN, KIND, done, results
from tests.calculations.tasks.test_performing import TESTS
from tests.calculations.tasks.test_sensors import CHECK


def test_not_possible_is_told_with_its_reason():
    excuse = {"task": "insulation", "reason": "The client kept the pump running."}
    found = done({"/event/not_possible": [excuse]}, "/event/motor_tests/insulation")
    left = found["insulation", "M-101"]
    assert (left.result, left.reason) == ("not_possible", excuse["reason"])


def test_what_was_done_all_the_same_was_possible():
    excuse = {"task": "insulation", "reason": "The client kept the pump running."}
    assert results({"/event/not_possible": [excuse]})["insulation", "M-101"] == "inside"


@pytest.mark.parametrize(
    ("words", "task"),
    [
        ("restart after power loss", ("protection.power-loss-restart", "PS-101")),
        ("sensor verification of PT-101", ("transmitter", "PT-101")),
        ("Draw-down", ("draw-down", "P-101")),
    ],
)
def test_not_possible_in_the_words_of_the_trade(words, task):
    left_out = (f"{TESTS}/3", CHECK)
    found = done({"/event/not_possible": [{"task": words, "reason": "Locked."}]}, *left_out)
    assert found[task].result == "not_possible"


VERIFIED = "/event/sensor_verifications"


@pytest.mark.parametrize(
    ("words", "tags"),
    [
        ("sensor verification", {"PT-100", "PT-101", "FT-101"}),
        ("sensor verification 1 of PT-101", {"PT-101"}),
        ("PT-101 drained", {"PT-101"}),
        ("sensor verification of PT-100 and PT-101", {"PT-100", "PT-101"}),
    ],
)
def test_what_was_not_possible_of_one_piece_says_nothing_of_another(words, tags):
    excuse = [{"task": words, "reason": "Isolating valve stuck."}]
    found = results(AGAIN | {"/event/not_possible": excuse}, VERIFIED)
    assert {tag for (task, tag), each in found.items() if each == "not_possible"} == tags


def test_a_piece_that_was_replaced_at_the_visit_has_its_new_serial_number():
    replaced = {
        "resource": "motor", "tag": "M-101", "old_serial": "W60-1187", "new_serial": "W60-2000",
    }  # fmt: skip
    found = done({KIND: "replacement", "/event/replaced": [replaced]})
    assert found["insulation", "M-101"].thing.serial == "W60-2000"
    assert found["settings-audit", "D-101"].thing.serial == "V77-5520"
