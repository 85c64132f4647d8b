"""What stands on site and is not in the register is told until it is entered."""

import pytest

from calculations.judging import finding_document
from tests.calculations.building import booster, changed, judged, lacking, verdicts, without

RULE = "record.not-in-register"
PLATE = {"plate": "pressure transmitter, 0 to 16 bar, 4 to 20 mA"}


def standing(**values: str):
    return changed(booster(), {"/event/not_in_register": [PLATE | values]})


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ({}, [("review", "untagged")]),
        ({"resource": "sensor", "tag": "PT-900"}, [("review", "at_a_tag")]),
        ({"resource": "other", "tag": "CV-1"}, [("review", "at_a_tag")]),
        ({"resource": "sensor", "tag": "PT-101"}, []),  # entered by now
        ({"tag": "PT-101"}, []),  # of whatever kind
        ({"resource": "motor", "tag": "PT-101"}, [("review", "at_a_tag")]),
    ],
)
def test_it_is_told_until_it_is_entered(values, expected):
    assert verdicts(standing(**values), RULE) == expected


def test_a_piece_that_was_entered_without_its_serial_number_is_in_the_register():
    subject = without(standing(resource="motor", tag="M-101"), "/motor/serial")
    assert verdicts(subject, RULE) == []


def test_what_its_plate_says_is_in_the_sentence():
    [finding] = [f for f in judged(standing(tag="PT-900")).findings if f.rule == RULE]
    sentence = finding_document(finding, "")["sentence"]
    assert "PT-900" in sentence
    assert "0 to 16 bar, 4 to 20 mA" in sentence


def test_where_all_is_registered_nothing_is_said():
    assert verdicts(booster(), RULE) == lacking(judged(booster()), RULE) == []
