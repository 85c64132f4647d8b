"""What was not possible on the day excuses the part and the value that it names alone.

No published source.
"""

import pytest

from calculations.judging import finding_document
from calculations.rules.record_content import tasks_of
from tests.calculations.building import booster, changed, judged, of_rule, without
from tests.calculations.building_event import verification
from tests.calculations.building_plates import Document
from tests.calculations.rules.missing_content import RULE, excused, missing, visit
from tests.calculations.whole_stations import LEFT


@pytest.mark.parametrize(
    ("task", "removed", "excused"),
    [
        ("supply", "/event/supply", True),
        ("Insulation", "/event/motor_tests/insulation", True),
        ("duty points", "/event/duty_points", True),
        ("duty_points at full flow", "/event/duty_points", True),
        ("rotation", "/event/supply", False),
        ("motor plate", "/motor/insulation_class", True),
        ("motor", "/motor/insulation_class", False),
        ("motor tests", "/motor/insulation_class", False),
        ("insulation_class", "/motor/insulation_class", True),
        ("drive", "/drive/firmware", False),  # work on the drive is no reason
        ("drive plate", "/drive/firmware", True),
        ("firmware", "/drive/firmware", True),
        ("settings as left", "/event/settings/as_left", True),
        ("sensor PT-100 plate", "/sensors/1/damping_time", True),
        ("sensor PT-100 verification", "/sensors/1/damping_time", False),  # work on the sensor
        ("insulation", "/event/motor_tests", False),  # the winding is not excused with it
    ],
)
def test_what_was_impossible_is_excused(task, removed, excused):
    excuse = {"/event/not_possible": [{"task": task, "reason": "pump locked out"}]}
    document = changed(without(booster(), removed), excuse)
    assert (missing(document) == []) is excused


def excuses(document: Document) -> list[str]:
    """The tasks that are offered for everything that is missing."""
    found = [finding_document(each, "") for each in of_rule(judged(document), RULE)]
    return [task for each in found
            for task in tasks_of(str(each["subject"]), str(each["sentence"]))]  # fmt: skip


@pytest.mark.parametrize(
    ("removed", "expected"),
    [
        ("/event/supply", ["supply"]),
        ("/event/motor_tests/insulation", ["insulation"]),
        ("/event/duty_points", ["duty points"]),
        ("/event/duty_points/0", ["1 more point"]),
        ("/event/rotation/drive_direction", ["drive direction"]),
        ("/event/parties/performed_by", ["performed by"]),
        ("/event/liquid_temperature", ["liquid temperature"]),
        ("/event/settings_file", ["settings file"]),
        ("/event/settings", ["settings as left"]),
        (f"{LEFT}/overload_current", ["overload current"]),
        ("/event/attachments/0", ["photograph of the motor plate"]),
        ("/site/elevation", ["site plate, elevation"]),
        ("/motor/insulation_class", ["motor plate, insulation class"]),
        ("/sensors/1/damping_time", ["sensor PT-100 plate, damping time"]),
        ("/vessels/0/pre_charge_pressure_design", ["vessel V-1 plate, pre charge pressure design"]),
        ("/motor", ["motor plate"]),
    ],
)
def test_the_tasks_that_are_offered_excuse_what_is_missing(removed, expected):
    document = without(booster(), removed)
    tasks = excuses(document)
    assert set(expected) <= set(tasks)
    assert missing(excused(document, tasks)) == []


def test_each_task_excuses_its_own_value_alone():
    document = without(booster(), "/motor/insulation_class", "/motor/duty",
                       "/event/motor_tests/insulation")  # fmt: skip
    assert excuses(document) == [
        "motor plate, duty", "motor plate, insulation class", "insulation"
    ]  # fmt: skip
    # What the plate does not say is no reason to leave out a test.
    assert missing(excused(document, ["motor plate, insulation class"])) == [
        ("/motor", "duty"), ("/event/motor_tests/insulation", "")
    ]  # fmt: skip


DAMPING = ("/sensors/0/damping_time", "/sensors/1/damping_time")
SERIALS = ("/motor/serial", "/drive/serial")


@pytest.mark.parametrize(
    ("removed", "task", "left"),
    [
        # A plate's value counts for that plate, and a sensor's for that sensor.
        (SERIALS, "motor plate, serial", [("/drive", "serial")]),
        (SERIALS, "serial of the motor", [("/motor", "serial"), ("/drive", "serial")]),
        (DAMPING, "sensor PT-100 plate, damping time", [("/sensors/0", "damping time")]),
        (DAMPING, "PT-100 plate", [("/sensors/0", "damping time")]),
        # What says of none which it means counts where one alone lacks it.
        (DAMPING, "damping time",
         [("/sensors/0", "damping time"), ("/sensors/1", "damping time")]),
        (DAMPING, "sensor plate, damping time",
         [("/sensors/0", "damping time"), ("/sensors/1", "damping time")]),
        (DAMPING, "sensor plate",
         [("/sensors/0", "damping time"), ("/sensors/1", "damping time")]),
        (DAMPING[:1], "damping time", []),
        (DAMPING[:1], "sensor plate, damping time", []),
        (DAMPING[:1], "sensor plate", []),
        (DAMPING[:1], "sensor PT-100 plate, damping time", [("/sensors/0", "damping time")]),
        # A value is named exactly.
        (("/motor/duty",), "duty points", [("/motor", "duty")]),
        (("/motor/duty", "/event/duty_points"), "duty points", [("/motor", "duty")]),
        (("/motor/duty", "/event/duty_points"), "Motor plate: DUTY", [("/event/duty_points", "")]),
        (("/event/liquid_temperature",), "visit of the utility",
         [("/event", "liquid temperature")]),
    ],
)  # fmt: skip
def test_a_task_excuses_what_it_names_and_no_more(removed, task, left):
    assert missing(excused(without(booster(), *removed), [task])) == left


def test_a_verification_is_excused_by_its_own_sensors_tag():
    half = verification("PT-101", 50, ("4.01", "8.02", "12.02", "16.01", "20.00"))
    half.pop("instrument")
    both = visit("re_verification", sensor_verifications=[half, half | {"sensor": "PT-100"}])
    of_both = [(f"/event/sensor_verifications/{index}", "instrument") for index in (0, 1)]
    assert missing(both) == of_both
    assert excuses(both) == [
        "sensor verification 1 of PT-101, instrument", "sensor verification 2 of PT-100, instrument"
    ]  # fmt: skip
    assert missing(excused(both, ["sensor verification 1 of PT-101, instrument"])) == of_both[1:]
    assert missing(excused(both, ["sensor verification of PT-100"])) == of_both[:1]
    assert missing(excused(both, ["instrument"])) == of_both
    assert missing(excused(both, ["sensor verifications"])) == []


def test_another_sensors_verification_is_none_of_the_loops():
    document = without(booster(), "/event/sensor_verifications")
    lacking_chain = [
        ("/event/sensor_verifications", "regulating sensor at three points or more")
    ]  # fmt: skip
    assert missing(excused(document, ["sensor verification of PT-100"])) == lacking_chain
    assert missing(excused(document, ["sensor verification of PT-101"])) == []
