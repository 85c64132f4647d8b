"""Leak sensor, explosive air, and thermal sensor of a motor in it."""

import pytest

from calculations.judging import finding_document
from tests.calculations.building import changed, judged, lacking, of_rule, verdicts, without
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import LEFT, left, lift_station

LEAK, AREA, THERMAL = "motor.leak-sensor", "motor.hazardous-area", "motor.thermal-sensor"
MARKING = "/motor/explosion_protection"


# -- leak sensor --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fitted", "response", "expected"),
    [
        (True, "none", [("review", "unused")]), (True, "alarm", []), (True, "trip", []),
        (False, "none", []), (None, "none", []),
    ],
)  # fmt: skip
def test_a_leak_sensor_that_nothing_responds_to(fitted, response, expected):
    changes = {"/motor/leak_sensor": fitted} | left(leak_sensor_response=response)
    assert verdicts(changed(lift_station(), changes), LEAK) == expected


def test_what_responds_to_it_is_asked_for():
    document = changed(without(lift_station(), f"{LEFT}/leak_sensor_response"),
                       {"/motor/leak_sensor": True})  # fmt: skip
    (missing,) = lacking(judged(document), LEAK)
    assert missing.needs == (f"{LEFT}/leak_sensor_response",)


# -- explosive air ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("area", "enclosure", "expected"),
    [
        ("zone_1", "submersible", [("review", "enclosure")]),
        ("zone_1", "totally_enclosed", [("review", "enclosure")]),
        ("zone_1", "explosion_protected", []),
        ("zone_2", "submersible", []),
        ("class1_div2", "submersible", []),
        ("none", "submersible", []),
        ("unknown", "submersible", []),
    ],
)
def test_a_motor_in_the_well(area, enclosure, expected):
    changes = {"/site/hazardous_area": area, "/motor/enclosure": enclosure, MARKING: None,
               "/motor/thermal_sensor": "ptc"}  # fmt: skip
    assert verdicts(changed(lift_station(), changes), AREA) == expected


def test_a_motor_that_stands_dry_is_not_in_the_well():
    changes = {"/site/hazardous_area": "zone_1", "/motor/immersed": False}
    assert verdicts(changed(lift_station(), changes), AREA) == []


@pytest.mark.parametrize(
    ("kind", "suction", "expected"),
    [
        ("lift_station", None, True),
        ("raw_water", "wet_well", True),
        ("raw_water", "flooded_tank", False),
    ],
)
def test_a_well_is_one_by_the_kind_of_station_or_of_suction(kind, suction, expected):
    changes = {"/site/hazardous_area": "zone_1", "/site/kind": kind, "/site/suction_kind": suction}
    assert bool(verdicts(changed(lift_station(), changes), AREA)) is expected


def test_an_unknown_enclosure_is_asked_for():
    changes = {"/site/hazardous_area": "zone_1", "/motor/enclosure": "unknown", MARKING: None}
    (missing,) = lacking(judged(changed(lift_station(), changes)), AREA)
    assert missing.needs == ("/motor/enclosure",)


PROTECTED = {
    "/site/hazardous_area": "zone_1", "/motor/enclosure": "explosion_protected", MARKING: None,
}  # fmt: skip


def test_a_protected_motor_on_a_drive_without_a_thermal_sensor():
    document = changed(lift_station(), PROTECTED | {"/motor/thermal_sensor": "none"})
    (finding,) = of_rule(judged(document), AREA)
    assert (finding.severity, finding.variant) == ("review", "no_sensor")
    told = str(finding_document(finding, "")["sentence"])
    assert "its thermal sensor is recorded as none: its certificate" in told
    unknown = changed(lift_station(), PROTECTED | {"/motor/thermal_sensor": "unknown"})
    assert verdicts(unknown, AREA) == []


@pytest.mark.parametrize(
    ("area", "practice", "marking", "expected"),
    [
        # IEC 60079-14, from memory: zone 0 asks for Ga, 1 for Ga or Gb, 2 for Ga, Gb or Gc.
        ("zone_0", "iec", "epl_ga", []),
        ("zone_0", "iec", "epl_gb", ["marking"]),
        ("zone_0", "iec", "none", ["unmarked"]),
        ("zone_0", "us_nec", "class1_div1", ["marking"]),
        ("zone_1", "iec", "epl_ga", []),
        ("zone_1", "iec", "epl_gb", []),
        ("zone_1", "iec", "epl_gc", ["marking"]),
        ("zone_1", "iec", "none", ["unmarked"]),
        ("zone_2", "iec", "epl_ga", []),
        ("zone_2", "iec", "epl_gb", []),
        ("zone_2", "iec", "epl_gc", []),
        ("zone_2", "iec", "none", ["unmarked"]),
        # NFPA 70 505.20(C), from memory: in zone 2 an ordinary motor in which nothing sparks.
        ("zone_2", "us_nec", "none", []),
        ("zone_2", "canadian", "none", "asked"),
        # NFPA 70 505.20(B) and (C), from memory: listed for division 1 or 2, in North America.
        ("zone_1", "us_nec", "class1_div1", []),
        ("zone_1", "canadian", "class1_div1", []),
        ("zone_1", "us_nec", "class1_div2", ["marking"]),
        ("zone_1", "iec", "class1_div1", "asked"),
        ("zone_1", "iec", "class1_div2", ["marking"]),
        ("zone_2", "us_nec", "class1_div2", []),
        ("zone_2", "iec", "class1_div2", "asked"),
        # NFPA 70 501.5 and 500.8, from memory: of the levels only Ga in division 1.
        ("class1_div1", "us_nec", "class1_div1", []),
        ("class1_div1", "us_nec", "epl_ga", []),
        ("class1_div1", "us_nec", "epl_gb", ["marking"]),
        ("class1_div1", "us_nec", "class1_div2", ["marking"]),
        ("class1_div1", "canadian", "epl_gb", "asked"),
        ("class1_div2", "us_nec", "class1_div2", []),
        ("class1_div2", "us_nec", "epl_gc", []),
        ("class1_div2", "us_nec", "none", []),
        ("class1_div2", "us_nec", "other", []),
        ("zone_1", "iec", "other", "asked"),
        ("zone_2", "iec", None, "asked"),
    ],
)
def test_what_the_motor_is_marked_for(area, practice, marking, expected):
    document = changed(
        lift_station(),
        {"/site/hazardous_area": area, "/site/electrical_practice": practice, MARKING: marking,
         "/motor/thermal_sensor": "ptc"},
    )  # fmt: skip
    judgement = judged(document)
    found = [each.variant for each in of_rule(judgement, AREA)]
    asked = [each.needs for each in lacking(judgement, AREA)]
    assert (found, asked) == (([], [(MARKING,)]) if expected == "asked" else (expected, []))


@pytest.mark.parametrize(
    ("enclosure", "found", "asked"),
    [
        # A flameproof enclosure is level Gb: IEC 60079-1, from memory.
        ("explosion_protected", [], [(MARKING,)]),
        ("submersible", ["enclosure"], []),
    ],
)
def test_an_enclosure_says_too_little_for_zone_0(enclosure, found, asked):
    judgement = judged(changed(lift_station(), {
        "/site/hazardous_area": "zone_0", "/motor/enclosure": enclosure, MARKING: None,
        "/motor/thermal_sensor": "ptc",
    }))  # fmt: skip
    assert [each.variant for each in of_rule(judgement, AREA)] == found
    assert [each.needs for each in lacking(judgement, AREA)] == asked


@pytest.mark.parametrize("area", ["zone_20", "zone_21", "zone_22", "class2_div1", "class2_div2"])
@pytest.mark.parametrize("immersed", [True, False])
@pytest.mark.parametrize("marking", ["epl_ga", "none", None])
def test_dust_is_not_judged_and_said_so(area, immersed, marking):
    """Levels for gas do not hold in dust: IEC 60079-14, NFPA 70 502.5, from memory."""
    judgement = judged(changed(lift_station(), {
        "/site/hazardous_area": area, "/motor/immersed": immersed, MARKING: marking,
    }))  # fmt: skip
    (missing,) = lacking(judgement, AREA)
    assert (of_rule(judgement, AREA), missing.needs) == ([], (MARKING,))
    assert missing.because == "only the certificate tells what may be used in dust"


@pytest.mark.parametrize("area", [None, "unknown"])
@pytest.mark.parametrize(
    ("changes", "told"),
    [({}, True), ({"/motor/immersed": False}, False), ({"/site/kind": "raw_water"}, False)],
)
def test_what_the_air_of_a_lift_stations_well_is_called_is_asked_for(area, changes, told):
    document = changed(lift_station(), {"/site/hazardous_area": area} | changes)
    asked = [each.needs for each in lacking(judged(document), AREA)]
    assert asked == ([("/site/hazardous_area",)] if told else [])


def test_a_marking_says_what_is_wanted_in_place_of_it():
    document = changed(lift_station(), {"/site/hazardous_area": "zone_1", MARKING: "epl_gc"})
    (finding,) = of_rule(judged(document), AREA)
    told = str(finding_document(finding, "")["sentence"])
    assert "(zone 1), but it is marked for protection level Gc; protection level Ga or" in told
    assert finding.limit == "protection level Ga or protection level Gb"


@pytest.mark.parametrize("area", ["zone_1", "class1_div2"])
def test_a_protected_enclosure_without_a_marking_contradicts_itself(area):
    document = changed(lift_station(), PROTECTED | {"/site/hazardous_area": area, MARKING: "none"})
    assert verdicts(document, AREA) == [("review", "contradicts")]


COVER, CUT_OFF = "/motor/minimum_liquid_level", f"{LEFT}/low_level_cutoff"
UNDER = {"/site/hazardous_area": "class1_div1", MARKING: "none"}


@pytest.mark.parametrize(
    ("cover", "expected"),
    [
        # The low cut-off stands 0.4 m over the floor, which is at -5.0 m.
        ("-4.7", []), ("-4.6", []), ("-4.5", [("review", "uncovered")]),
    ],
)  # fmt: skip
def test_an_unprotected_motor_in_division_1_stays_under_liquid(cover, expected):
    level = {CUT_OFF: q("0.4", "m"), COVER: q(cover, "m")}
    assert verdicts(changed(lift_station(), UNDER | level), AREA) == expected


@pytest.mark.parametrize(
    ("cover", "severity"),
    [
        # The low cut-off stands 0.4 m over the floor, which is at -5.0 m.
        ("-4.6", "review"), ("-4.5", "stop"), (None, "review"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("area", ["zone_1", "zone_2"])
def test_an_unprotected_motor_that_runs_uncovered_in_a_zone_must_not_stay(area, cover, severity):
    """IEC 60079-14, levels that zones ask for; kept under liquid: from memory."""
    level = {CUT_OFF: q("0.4", "m"), COVER: q(cover, "m") if cover else None}
    place = {"/site/hazardous_area": area, "/site/electrical_practice": "iec", MARKING: "none"}
    assert verdicts(changed(lift_station(), place | level), AREA) == [(severity, "unmarked")]


@pytest.mark.parametrize(
    ("tests", "told"),
    [
        ([], True),
        ([{"function": "low_level", "passed": True}], False),
        ([{"function": "low_level", "passed": False}], True),
        ([{"function": "high_level", "passed": True}], True),
    ],
)
def test_a_cut_off_keeps_it_under_only_where_it_was_seen_to_stop_the_pump(tests, told):
    """NFPA 820, from memory: that it stays under liquid is the protection, and has to act."""
    level = {CUT_OFF: q("0.4", "m"), COVER: q("-4.7", "m"), "/event/protection_tests": tests}
    judgement = judged(changed(lift_station(), UNDER | level))
    asked = [each.needs for each in lacking(judgement, AREA)]
    assert asked == ([("/event/protection_tests",)] if told else [])


def test_what_keeps_it_under_is_asked_for():
    document = changed(lift_station(), UNDER | {COVER: None, CUT_OFF: None})
    (missing,) = lacking(judged(document), AREA)
    assert missing.needs == (MARKING, COVER, CUT_OFF)


@pytest.mark.parametrize(
    ("marking", "expected"),
    [("none", ["sliding"]), ("class1_div2", []), (None, [])],
)
def test_slip_rings_in_division_2(marking, expected):
    """NFPA 70 501.125(B), from memory: sliding contacts are identified for the location."""
    changes = {"/site/hazardous_area": "class1_div2", "/motor/kind": "wound_rotor",
               MARKING: marking, "/motor/thermal_sensor": "ptc"}  # fmt: skip
    judgement = judged(changed(lift_station(), changes))
    assert [each.variant for each in of_rule(judgement, AREA)] == expected
    assert [each.needs for each in lacking(judgement, AREA)] == ([] if marking else [(MARKING,)])


def test_a_marking_alone_makes_the_thermal_sensor_count():
    changes = {"/site/hazardous_area": "zone_2", MARKING: "epl_gc", "/motor/thermal_sensor": "none"}
    assert verdicts(changed(lift_station(), changes), AREA) == [("review", "no_sensor")]


@pytest.mark.parametrize(
    ("changes", "response", "expected"),
    [
        (PROTECTED, "none", [("review", "explosion")]),
        (PROTECTED, "alarm", [("review", "explosion")]),
        (PROTECTED, "trip", []),
        # An ordinary motor would do there: NFPA 70 501.125(B), 505.20(C), from memory.
        (PROTECTED | {"/site/hazardous_area": "class1_div2"}, "alarm", []),
        (
            PROTECTED | {"/site/hazardous_area": "zone_2", "/site/electrical_practice": "us_nec"},
            "alarm",
            [],
        ),
        (
            PROTECTED | {"/site/hazardous_area": "zone_2", "/site/electrical_practice": "iec"},
            "alarm",
            [("review", "explosion")],
        ),
        ({MARKING: None}, "none", [("review", "unused")]),
        ({MARKING: None}, "alarm", []),
    ],
)
def test_the_thermal_sensor_of_a_protected_motor_trips(changes, response, expected):
    fitted = {"/motor/thermal_sensor": "ptc"} | left(motor_thermal_sensor_response=response)
    assert verdicts(changed(lift_station(), changes | fitted), THERMAL) == expected
