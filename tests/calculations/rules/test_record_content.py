"""What a kind of visit demands and a record lacks. No published source."""

import pytest

from calculations.aspects.content import CONDITIONS, marked
from calculations.inputs.drive import Drive
from calculations.inputs.event import Event, NotReceived, Parties, SettingsPair
from calculations.inputs.motor import Motor
from calculations.inputs.pump import Pump
from calculations.inputs.pump_set import PumpSet
from calculations.inputs.reading import read
from calculations.inputs.sensor import Instrument, Sensor, Vessel
from calculations.inputs.settings import Settings
from calculations.inputs.site import Site
from calculations.inputs.subject import Subject
from calculations.judging import finding_document, judge
from calculations.rules.record_content import tasks_of
from tests.calculations.building import (
    booster,
    changed,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_event import verification
from tests.calculations.building_plates import Document, q
from tests.calculations.stations import well
from tests.calculations.whole_stations import LEFT, left, lift_station

RULE = "record.missing"
MODELS = (Drive, Event, Instrument, Motor, Parties, Pump, PumpSet, Sensor, Settings, SettingsPair,
          Site, Vessel)  # fmt: skip


def missing(document: Document) -> list[tuple[str, str]]:
    """Place and missing names of every finding."""
    return [
        (finding.subject, finding.parameters["names"])
        for finding in of_rule(judged(document), RULE)
    ]


def test_every_condition_of_a_field_is_known():
    """A condition that nobody asks would make its field never needed, without a word."""
    written = {each for model in MODELS for _, named in marked(model) for each in named if each}
    assert written <= CONDITIONS.keys()


def test_every_condition_that_is_asked_is_written_at_a_field():
    written = {each for model in MODELS for _, named in marked(model) for each in named if each}
    assert CONDITIONS.keys() <= written


# -- files ---------------------------------------------------------------------------------------


def test_a_file_that_has_not_come_is_told_and_nothing_is_guessed():
    """As the book tells it; a document alone cannot say so, and then nobody is asked."""
    document = booster()
    assert of_rule(judged(document), "record.not-received") == []
    subject = read(Subject, document)
    named = subject.event.attachments
    one = NotReceived.model_construct(**dict(named[1]))
    event = subject.event.model_copy(update={"attachments": [named[0], one, *named[2:]]})
    [finding] = of_rule(judge(subject.model_copy(update={"event": event})), "record.not-received")
    assert (finding.severity, finding.parameters["names"]) == ("note", "drive_plate.jpg")


# -- start-up -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("removed", "expected"),
    [
        ("/event/supply", ("/event/supply", "")),
        ("/event/earth_tests", ("/event/earth_tests", "")),
        ("/event/mechanical_checks", ("/event/mechanical_checks", "")),
        ("/event/motor_tests", ("/event/motor_tests", "")),
        ("/event/motor_tests/insulation", ("/event/motor_tests/insulation", "")),
        ("/event/motor_tests/winding_resistance", ("/event/motor_tests/winding_resistance", "")),
        ("/event/rotation", ("/event/rotation", "")),
        ("/event/rotation/drive_direction", ("/event/rotation", "drive direction")),
        ("/event/duty_points", ("/event/duty_points", "")),
        ("/event/duty_points/0", ("/event/duty_points", "1 more point")),
        ("/event/step_tests", ("/event/step_tests", "")),
        ("/event/protection_tests", ("/event/protection_tests", "")),
        ("/event/parties", ("/event/parties", "")),
        ("/event/parties/performed_by", ("/event/parties", "performed by")),
        ("/event/isolation_confirmed", ("/event", "isolation confirmed")),
        ("/event/liquid_temperature", ("/event", "liquid temperature")),
        ("/event/instruments", ("/event", "instruments")),
        ("/event/settings_file", ("/event/settings_file", "")),
        ("/event/settings", ("/event/settings/as_left", "")),
        (f"{LEFT}/overload_current", (LEFT, "overload current")),
        ("/event/attachments/0", ("/event/attachments", "photograph of the motor plate")),
        ("/site/elevation", ("/site", "elevation")),
        ("/pump/curve_origin", ("/pump", "curve origin")),
        ("/motor/insulation_class", ("/motor", "insulation class")),
        ("/drive/firmware", ("/drive", "firmware")),
        ("/sensors/1/damping_time", ("/sensors/1", "damping time")),
        ("/vessels/0/pre_charge_pressure_design", ("/vessels/0", "pre charge pressure design")),
    ],
)
def test_one_finding_for_each_missing_part(removed, expected):
    assert missing(without(booster(), removed)) == [expected]


def test_several_values_of_a_part_are_one_finding():
    document = without(booster(), "/motor/insulation_class", "/motor/duty", "/motor/cooling")
    assert missing(document) == [("/motor", "duty, insulation class, cooling")]


def test_unknown_is_an_answer_where_a_plate_is_silent():
    assert missing(changed(booster(), {"/motor/duty": "unknown"})) == []
    assert missing(without(booster(), "/motor/duty")) == [("/motor", "duty")]


def test_unknown_is_none_where_it_can_be_read_or_tried():
    settings = changed(booster(), {f"{LEFT}/restart_after_power_loss": "unknown"})
    assert missing(settings) == [(LEFT, "restart after power loss")]
    turned = changed(booster(), {"/event/rotation/drive_direction": "unknown"})
    assert missing(turned) == [("/event/rotation", "drive direction")]


def test_a_motor_in_a_well_has_no_class_of_temperature_rise():
    assert missing(without(booster(), "/motor/temperature_rise_class")) == [
        ("/motor", "temperature rise class")
    ]
    assert missing(without(well(), "/motor/temperature_rise_class")) == []


@pytest.mark.parametrize(
    ("place", "part"),
    [
        ("/sensors/1/damping_time", "sensor PT-100"),
        ("/vessels/0/pre_charge_pressure_design", "vessel V-1"),
        ("/motor/insulation_class", "motor M-101"),
    ],
)
def test_a_piece_is_named_by_its_tag_and_its_plate_belongs_to_the_register(place, part):
    (found,) = of_rule(judged(without(booster(), place)), "record.missing")
    assert finding_document(found, "")["remedy"].startswith(
        f"It belongs to the register of {part}, not to the visit"
    )


def test_without_a_tag_it_is_named_by_its_place():
    bare = without(booster(), "/sensors/1/damping_time", "/sensors/1/tag", "/sensors/1/serial")
    (found,) = [
        each for each in of_rule(judged(bare), "record.missing") if each.subject == "/sensors/1"
    ]
    assert found.parameters["part"] == "sensor 2"


def test_what_belongs_to_the_visit_is_added_there():
    (found,) = of_rule(judged(without(booster(), "/event/supply")), "record.missing")
    assert finding_document(found, "")["remedy"].startswith("Add it, or say under what was not")


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        # Conditions are asked: the field alone, then with what makes it needed.
        ({"/motor/bearing_current_protection": None}, []),
        # 75 kW at 460 V, 0.950 and 0.86 take 115.2 A; 75 kW typed for 60 hp at 68.7 A do not count.
        ({"/motor/ratings/1/power": q("75", "kW"), "/motor/ratings/1/current": q("115", "A")},
         [("/motor", "bearing current protection")]),
        ({"/motor/ratings/1/power": q("75", "kW")}, []),
        # A motor in the liquid has no bearings in the air.
        ({"/motor/ratings/1/power": q("75", "kW"), "/motor/ratings/1/current": q("115", "A"),
          "/motor/immersed": True}, []),
        ({"/pump_set/bypass": "manual"}, [("/pump_set", "bypass own overload"),
                                          ("/event/rotation", "bypass direction")]),
        ({"/drive/output_switch": True}, [("/drive", "output switch interlocked")]),
        ({"/site/supply_earthing": "unearthed", f"{LEFT}/emc_filter_earthed": None},
         [(LEFT, "emc filter earthed")]),
        ({"/pump_set/transmission": "belt"}, [("/pump_set", "transmission ratio")]),
        ({"/site/available_fault_current": None}, [("/site", "available fault current")]),
        ({"/site/available_fault_current": None, "/site/electrical_practice": "iec"}, []),
        ({"/site/pipeline": {"length": q("300", "ft")}, "/site/surge_protection": None},
         [("/site", "surge protection")]),
        ({f"{LEFT}/set_point_datum": None}, [(LEFT, "set point datum")]),
    ],
)  # fmt: skip
def test_conditions_are_asked(changes, expected):
    assert missing(changed(booster(), changes)) == expected


def test_open_loop_needs_no_step_trace_and_no_sensor_chain():
    document = without(
        changed(booster(), left(regulation="open_loop")),
        "/event/step_tests", "/event/sensor_verifications",
    )  # fmt: skip
    assert missing(document) == []


def test_the_regulating_sensor_needs_three_points():
    short = verification("PT-101", 50, ("4.01", "8.02", "12.02", "16.01", "20.00"))
    short["as_found"] = short["as_found"][:2]
    document = changed(booster(), {"/event/sensor_verifications/0": short})
    assert missing(document) == [
        ("/event/sensor_verifications", "regulating sensor at three points or more")
    ]


def test_fixed_speed_needs_no_drive():
    fixed = {"/pump_set/drive": None, "/event/rotation/bypass_direction": "correct"}
    document = without(
        changed(booster(), fixed),
        "/drive", "/event/settings", "/event/settings_file", "/event/step_tests",
    )  # fmt: skip
    assert missing(document) == []


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


def excused(document: Document, tasks: list[str]) -> Document:
    listed = [{"task": task, "reason": "pump locked out"} for task in tasks]
    return changed(document, {"/event/not_possible": listed})


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


def test_nothing_is_demanded_of_a_visit_of_unknown_kind():
    document = without(booster(), "/event/kind", "/event/supply")
    assert missing(document) == []
    (unknown,) = lacking(judged(document), RULE)
    assert unknown.needs == ("/event/kind",)


def test_no_visit_no_record():
    assert lacking(judged(without(booster(), "/event")), RULE) == []


def test_severity_is_review():
    assert verdicts(without(booster(), "/event/supply"), RULE) == [("review", "part")]


# -- other kinds ----------------------------------------------------------------------------------


def visit(kind: str, **parts: object) -> Document:
    """A visit with nothing but these parts."""
    document = without(booster(), "/event")
    people = {"kind": kind, "parties": {"performed_by": "First technician"}}
    return changed(document, {"/event": people | parts})


def test_re_verification_of_sensors():
    good = verification("PT-101", 50, ("4.01", "8.02", "12.02", "16.01", "20.00"))
    assert missing(visit("re_verification", sensors=["PT-101"], sensor_verifications=[good])) == []
    assert missing(visit("re_verification", sensors=["PT-101"])) == [
        ("/event/sensor_verifications", "")
    ]
    half = good | {"as_found": good["as_found"][:5]}
    half.pop("instrument")
    assert missing(visit("re_verification", sensors=["PT-101"], sensor_verifications=[half])) == [
        ("/event/sensor_verifications/0", "as found down, instrument")
    ]


def test_a_verification_is_named_by_its_sensors_tag_however_the_sensor_is_named():
    tag, id_ = "PT-101", "01890a5d-ac96-774b-bcce-b302099a8057"
    half = verification(tag, 50, ("4.01", "8.02", "12.02", "16.01", "20.00"))
    half.pop("instrument")
    for reference in (tag, id_):
        document = visit("re_verification", sensor_verifications=[half | {"sensor": reference}])
        (found,) = of_rule(judged(changed(document, {"/sensors/0/id": id_})), RULE)
        assert found.parameters["part"] == "sensor verification 1 of PT-101"


def test_settings_audit():
    whole = booster()["event"]["settings"]["as_left"]
    assert missing(visit("settings_change", settings={"as_found": whole})) == []
    assert missing(visit("settings_change")) == [("/event/settings/as_found", "")]
    part = {name: value for name, value in whole.items() if name != "motor_speed"}
    assert missing(visit("settings_change", settings={"as_found": part})) == [
        ("/event/settings/as_found", "motor speed")
    ]


def test_replacement_of_a_motor():
    piece = {"resource": "motor", "tag": "M-101", "old_serial": "A", "new_serial": "W60-1187"}
    parts = ("rotation", "motor_tests", "settings", "protection_tests")
    done = {name: booster()["event"][name] for name in parts}
    assert missing(visit("replacement", replaced=[piece], **done)) == []
    found = dict(missing(visit("replacement", replaced=[{"resource": "motor"}])))
    assert found == {
        "/event/replaced/0": "old serial, new serial", "/event/rotation": "",
        "/event/motor_tests/insulation": "", LEFT: "overload current",
        "/event/protection_tests": "",
    }  # fmt: skip


def test_replacement_of_a_sensor_needs_its_verification_only():
    piece = {"resource": "sensor", "tag": "PT-101", "old_serial": "A", "new_serial": "S-3301"}
    assert missing(visit("replacement", replaced=[piece])) == [("/event/sensor_verifications", "")]


def test_investigation_needs_people_only():
    assert missing(visit("investigation")) == []


def test_a_lift_station_is_complete():
    assert missing(lift_station()) == []
    assert missing(without(lift_station(), "/site/hazardous_area")) == [("/site", "hazardous area")]
    assert missing(without(lift_station(), "/motor/leak_sensor")) == [("/motor", "leak sensor")]
    assert missing(without(lift_station(), "/sensors/0/zero_elevation")) == [
        ("/sensors/0", "zero elevation")
    ]
