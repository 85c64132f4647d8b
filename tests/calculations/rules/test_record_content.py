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
from tests.calculations.building_plates import q
from tests.calculations.rules.missing_content import RULE, excused, missing, visit
from tests.calculations.stations import well
from tests.calculations.whole_stations import LEFT, left, lift_station

MODELS = (Drive, Event, Instrument, Motor, Parties, Pump, PumpSet, Sensor, Settings, SettingsPair,
          Site, Vessel)  # fmt: skip


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


def test_settings_are_told_with_their_state():
    found = of_rule(judged(without(booster(), "/event/settings/as_left")), "record.missing")
    assert "settings as left" in {each.parameters["part"] for each in found}


@pytest.mark.parametrize(
    ("purpose", "told"), [("drive_nameplate", "drive nameplate"), (None, "file")]
)
def test_a_file_without_a_name_is_told_by_what_it_is_for(purpose, told):
    subject = read(Subject, booster())
    nameless = NotReceived.model_construct(name=None, purpose=purpose)
    event = subject.event.model_copy(update={"attachments": [nameless]})
    [finding] = of_rule(judge(subject.model_copy(update={"event": event})), "record.not-received")
    assert finding.parameters["names"] == told


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
        ({"/site/liquid_kind": "other"},
         [("/site", "liquid density, liquid vapour pressure absolute")]),
        ({"/site/liquid_kind": "other", "/site/liquid_density": q("1025", "kg/m3")},
         [("/site", "liquid vapour pressure absolute")]),
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


def test_only_a_loop_needs_sensors():
    closed = changed(without(booster(), "/sensors"), {"/event/sensor_verifications": None})
    assert ("/sensors", "") in missing(closed)
    assert ("/sensors", "") not in missing(changed(closed, left(regulation="open_loop")))


@pytest.mark.parametrize(("tag", "is_left"), [("PT-101", False), ("PT-100", True)])
def test_work_on_another_sensor_excuses_no_regulating_one(tag, is_left):
    document = without(booster(), "/event/sensor_verifications/0")
    document = excused(document, [f"sensor verification of {tag}"])
    chain = ("/event/sensor_verifications", "regulating sensor at three points or more")
    assert (chain in missing(document)) is is_left


def test_a_part_of_the_visit_is_called_by_its_last_name():
    (found,) = of_rule(judged(without(booster(), "/event/motor_tests/insulation")), RULE)
    assert found.parameters["part"] == "insulation"


def test_fixed_speed_needs_no_drive():
    fixed = {"/pump_set/drive": None, "/event/rotation/bypass_direction": "correct"}
    document = without(
        changed(booster(), fixed),
        "/drive", "/event/settings", "/event/settings_file", "/event/step_tests",
    )  # fmt: skip
    assert missing(document) == []
    unseen = {"/event/rotation": {"bypass_direction": "not_checked"}}
    assert missing(changed(document, unseen)) == [("/event/rotation", "bypass direction")]


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


SPAN = "three inputs or more over half of the span"


@pytest.mark.parametrize(
    ("applied", "names"),
    [
        (("100",), SPAN),
        (("0", "10", "20"), SPAN),  # a tenth of 200 psi
        (("50", "100", "149"), SPAN),
        (("50", "100", "150"), ""),
    ],
)
def test_points_that_do_not_show_the_span(applied, names):
    """IEC 61298-2: five points over the span; three over half of it: common practice."""
    points = [
        {"direction": way, "applied": q(value, "psi"),
         "signal": q(f"{4 + 16 * float(value) / 200:.3f}", "mA")}
        for way in ("up", "down") for value in applied
    ]  # fmt: skip
    given = verification("PT-101", 50, ("4.01",)) | {"as_found": points}
    found = missing(visit("re_verification", sensors=["PT-101"], sensor_verifications=[given]))
    assert found == ([("/event/sensor_verifications/0", names)] if names else [])


def test_points_in_another_unit_are_asked_by_their_own_rule():
    """0 to 200 psi written down as 0 to 13.79 psi look like a tenth of the span."""
    given = verification("PT-101", 50, ("4.00", "8.00", "12.00", "16.00", "20.00"))
    for point in given["as_found"]:
        bar = float(point["applied"]["value"]) * 0.0689476
        point["applied"] = q(f"{bar:.3f}", "psi")
    assert missing(visit("re_verification", sensors=["PT-101"], sensor_verifications=[given])) == []


def test_a_level_shows_its_span_over_a_quarter():
    """A well is rarely as deep as the range of what hangs in it."""
    given = verification("PT-100", 50, ("4.01",))
    for top, names in (("2.5", ""), ("2.4", SPAN)):
        points = [
            {"direction": way, "applied": q(value, "m"),
             "signal": q(f"{4 + 1.6 * float(value):.3f}", "mA")}
            for way in ("up", "down") for value in ("0.0", "1.0", top)
        ]  # fmt: skip
        document = visit(
            "re_verification",
            sensors=["PT-100"],
            sensor_verifications=[given | {"as_found": points}],
        )
        level = {"quantity": "level", "reference": "gauge", "lower_range_value": q("0", "m"),
                 "upper_range_value": q("10", "m")}  # fmt: skip
        sensor = {f"/sensors/1/{name}": value for name, value in level.items()}
        found = missing(changed(document, sensor | {"/pump_set/suction_sensor": None}))
        assert [each[1] for each in found if "verifications" in each[0]] == (
            [names] if names else []
        )


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
