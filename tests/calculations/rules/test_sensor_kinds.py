"""Kinds of quantity of a verification's readings, and of what sensors and instruments state."""

import pytest

from calculations.inputs.reading import InvalidDocument, read
from calculations.inputs.sensor import Instrument, Sensor
from tests.calculations.building import booster, changed, judged, of_rule, serious, verdicts
from tests.calculations.building_event import TRACE, verification
from tests.calculations.building_plates import q

RULE = "sensor.kinds"
AT = "/event/sensor_verifications/0"
POINT = f"{AT}/as_found/3"


@pytest.mark.parametrize(
    ("name", "value", "variant"),
    [
        ("applied", q("150", "gpm"), "kind"),
        ("indicated", q("66", "degC"), "kind"),
        ("indicated", q("105", "m"), "kind"),
        ("signal", q("1", "V"), "voltage"),
    ],
)
def test_one_reading_of_another_kind_is_the_only_finding(name, value, variant):
    judgement = judged(changed(booster(), {f"{POINT}/{name}": value}))
    assert serious(judgement) == [(RULE, "review")]
    (found,) = of_rule(judgement, RULE)
    assert (found.variant, found.subject) == (variant, f"{POINT}/{name}")
    assert "sensor.error-as-left" in {
        each.rule for each in judgement.not_evaluated if each.waits_for == RULE
    }


def test_a_voltage_over_a_known_resistor_is_offered_as_current():
    """4.003 V over 250 ohm: 16.01 mA."""
    read_ = {f"{POINT}/signal": q("4.003", "V"), "/sensors/0/loop_load": q("250", "ohm")}
    (found,) = of_rule(judged(changed(booster(), read_)), RULE)
    assert (found.variant, found.parameters["current"]) == ("voltage_over", "16.01 mA")


def test_no_current_is_made_of_a_resistor_of_nothing():
    read_ = {f"{POINT}/signal": q("4.003", "V"), "/sensors/0/loop_load": q("0", "ohm")}
    (found,) = of_rule(judged(changed(booster(), read_)), RULE)
    assert (found.variant, found.parameters["current"]) == ("voltage", "")


@pytest.mark.parametrize(
    ("names", "told"),
    [({}, "PT-101"), ({"tag": None}, "S-3301"), ({"tag": None, "serial": None}, "The sensor")],
)
def test_the_sensor_is_named_by_tag_else_by_serial_number(names, told):
    sensor = {f"/sensors/0/{name}": value for name, value in names.items()}
    verified = dict.fromkeys(
        ("/sensors/0/id", f"{AT}/sensor", "/pump_set/regulating_sensor"), TRACE
    )
    wrong = {f"{POINT}/applied": q("150", "gpm")}
    (found,) = of_rule(judged(changed(booster(), sensor | verified | wrong)), RULE)
    assert found.parameters["sensor"] == told


@pytest.mark.parametrize("name", ["applied", "indicated"])
def test_a_share_of_the_span_is_of_every_kind(name):
    value = {"applied": "75", "indicated": "75.1"}[name]
    assert verdicts(changed(booster(), {f"{POINT}/{name}": q(value, "%")}), RULE) == []


def test_a_voltage_output_is_not_read_as_a_current():
    found = verification("PT-101", 50, ("4.00", "8.00", "12.00", "16.00", "20.00"))
    document = changed(booster(), {"/sensors/0/output": "0-10 V", AT: found})
    assert ("review", "current") in verdicts(document, RULE)


# -- what is refused ------------------------------------------------------------------------------


SENSOR = booster()["sensors"][0]
GAUGE = booster()["instruments"][0]


@pytest.mark.parametrize(
    ("quantity", "changes", "pointer"),
    [
        ("pressure", {"upper_range_value": q("10", "m3/h")}, "/upper_range_value/unit"),
        ("level", {"upper_range_value": q("5", "m")}, "/upper_range_value/unit"),  # from 0 psi
        ("pressure", {"range_limit_high": q("10", "m")}, "/range_limit_high/unit"),
        (None, {"upper_range_value": q("10", "m3/h")}, "/upper_range_value/unit"),
    ],
)
def test_a_range_of_two_kinds_is_refused(quantity, changes, pointer):
    with pytest.raises(InvalidDocument) as refused:
        read(Sensor, SENSOR | {"quantity": quantity} | changes)
    assert [problem.pointer for problem in refused.value.problems] == [pointer]


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"range_low": q("0", "degC"), "range_high": q("5", "bar")}, "/range_low/unit"),
        ({"resolution": q("1", "A")}, "/resolution/unit"),
        ({"uncertainty": q("0.1", "%")}, "/uncertainty/unit"),
    ],
)
def test_an_instrument_of_two_kinds_is_refused(changes, pointer):
    with pytest.raises(InvalidDocument) as refused:
        read(Instrument, GAUGE | changes)
    assert [problem.pointer for problem in refused.value.problems] == [pointer]


def test_an_instrument_without_a_range_is_of_one_kind_too():
    two = {"resolution": q("0.1", "psi"), "uncertainty": q("0.1", "A")}
    rangeless = {n: v for n, v in GAUGE.items() if n not in ("range_low", "range_high")}
    with pytest.raises(InvalidDocument) as refused:
        read(Instrument, rangeless | two)
    assert [problem.pointer for problem in refused.value.problems] == ["/uncertainty/unit"]


@pytest.mark.parametrize(
    ("field", "stated"),
    [
        ("range_high", {"range_low": q("0", "mA"), "range_high": q("24", "mA")}),
        ("uncertainty", {"uncertainty": q("0.01", "mA")}),
        ("resolution", {"resolution": q("0.01", "mA")}),
    ],
)
def test_the_field_of_another_kind_is_named(field, stated):
    share = {"percent_of_range": q("0.1", "%")} if field == "range_high" else {}
    given = {"serial": "I-1", "kind": "loop_calibrator"} | stated | share
    document = booster()
    document["instruments"][0] = given
    lacking = [
        each
        for each in judged(document).not_evaluated
        if each.rule == "sensor.reference-uncertainty"
    ]
    assert {each.needs for each in lacking} == {(f"/instruments/0/{field}",)}


def test_the_accuracy_of_another_kind_of_range_says_nothing():
    """0.5 % of 200 kW is no accuracy of a current: only a share of the reading is."""
    of_range = {"/instruments/2/percent_of_range": q("20", "%")}
    amperes = {"/event/duty_points/0/currents_drive_output": [q("36", "A")] * 3}  # 52.7 expected
    document = changed(booster(), of_range | amperes)
    assert verdicts(document, "load.current-expected") == [("review", "low")]


def test_the_accuracy_of_a_loop_calibrator_is_not_one_of_pressure():
    calibrator = {
        "/instruments/0/kind": "loop_calibrator",
        "/instruments/0/range_low": q("0", "mA"), "/instruments/0/range_high": q("24", "mA"),
    }  # fmt: skip
    judgement = judged(changed(booster(), calibrator))
    assert serious(judgement) == []
    lacking = [e for e in judgement.not_evaluated if e.rule == "sensor.reference-uncertainty"]
    assert [each.because for each in lacking] == ["its accuracy is not that of a pressure"] * 2


@pytest.mark.parametrize("kind", ["loop_calibrator", "insulation_tester", "pressure_calibrator"])
def test_a_share_of_the_reading_is_of_what_an_instrument_reads(kind):
    """0.02 % of the reading of 0 to 24 mA is no accuracy of the pressure that was applied."""
    calibrator = {
        "kind": kind, "serial": "I-1", "percent_of_reading": q("0.02", "%"),
        "calibrated_on": "2026-01-10", "due_on": "2027-01-10",
    }  # fmt: skip
    judgement = judged(changed(booster(), {"/instruments/0": calibrator}))
    lacking = [e for e in judgement.not_evaluated if e.rule == "sensor.reference-uncertainty"]
    told = [(each.needs, each.because) for each in lacking][:1]
    wrong = [((f"{AT}/instrument",), "it does not read what was applied")]
    assert told == ([] if kind == "pressure_calibrator" else wrong)
    allowed = [each for each in judgement.derived if each.id == "sensor.allowed-error"]
    assert bool(allowed) is (kind == "pressure_calibrator")


def test_over_a_resistor_of_nothing_no_current_is_offered():
    read_ = {f"{POINT}/signal": q("4.003", "V"), "/sensors/0/loop_load": q("0", "ohm")}
    assert verdicts(changed(booster(), read_), RULE) == [("review", "voltage")]


@pytest.mark.parametrize(("tag", "told"), [("PT-101", "PT-101"), (None, "S-1")])
def test_a_sensor_is_named_by_its_tag_else_by_its_serial_number(tag, told):
    names = {"/sensors/0/tag": tag, "/sensors/0/serial": "S-1", f"{AT}/sensor": told,
             "/pump_set/regulating_sensor": told, f"{POINT}/signal": q("1", "V")}  # fmt: skip
    (found,) = of_rule(judged(changed(booster(), names)), RULE)
    assert found.parameters["sensor"] == told
