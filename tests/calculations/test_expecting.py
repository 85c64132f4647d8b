"""What is to be expected before a visit, and what is missing for it."""

import re
from dataclasses import replace

import pytest

from calculations import expecting
from calculations.errors import Beyond, InvalidInput
from calculations.expecting import Expectation, Lacking, LeastInsulation, expect
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.rule import Value, fixed
from calculations.units import Quantity
from tests.calculations import stations, whole_stations
from tests.calculations.building import booster, case, changed, without
from tests.calculations.building_plates import q

LEFT = "/event/settings/as_left"


def expected(document) -> Expectation:
    return expect(read(Subject, document))


def names(found) -> set[str]:
    return {each.id for each in found}


def told(quantity) -> str:
    return f"{quantity.value} {quantity.unit}"


def register_only():
    """The station before its first visit: plates, no settings."""
    document = booster()
    del document["event"]
    return document


def test_plates_alone_give_what_follows_from_them_and_name_the_settings_for_the_rest():
    found = expected(register_only())
    # 120 x 60 / 4 = 1800 rpm; 25 / 1800 = 1.38889 %: definition.
    shown = {each.id: str(each.shown) for each in found.derived}
    assert (shown["motor.synchronous-speed"], shown["motor.slip"]) == ("1800 rpm", "1.39 %")
    needs = {each.id: each.needs for each in found.lacking}
    assert needs["sensor.signal-at-set-point"] == (f"{LEFT}/set_point",)
    assert needs["drive.volts-per-hertz-set"] == (
        f"{LEFT}/motor_voltage", f"{LEFT}/motor_frequency",
    )  # fmt: skip


def test_the_settings_known_so_far_give_the_rest():
    found = expected(booster())
    # 85 psi of 0 to 200 psi on 4 to 20 mA: 4 + 16 x 85/200 = 10.8 mA.
    shown = {each.id: str(each.shown) for each in found.derived}
    assert shown["sensor.signal-at-set-point"] == "10.8 mA"
    assert "speed.zero-flow-at-lowest-suction" in shown
    assert names(found.lacking) == {
        "sensor.loop-resistance-allowed",
        "pump.boiling-time-per-gallon",  # no shaft power at no flow
    }


def test_readings_are_not_looked_at_and_not_asked_for():
    readings = expected(booster())
    settings = booster()
    settings["event"] = {"settings": {"as_left": settings["event"]["settings"]["as_left"]}}
    assert readings == expected(settings)
    resting = {"insulation.at-40-degrees", "winding.resistance-unbalance", "duty.total-head"}
    assert not resting & (names(readings.derived) | names(readings.lacking))


def test_a_missing_value_of_a_plate_is_named():
    found = expected(without(booster(), "/motor/efficiency_class", "/site/elevation"))
    needs = {each.id: each.needs for each in found.lacking}
    assert needs["npsh.atmospheric-pressure"] == ("/site/elevation",)


def test_what_waits_for_a_contradiction_says_so():
    found = expected(changed(booster(), {"/pump/rated_speed": q("1470", "rpm")}))
    waiting = {each.id for each in found.lacking if each.waits_for == "curve.speed"}
    assert "speed.zero-flow-at-lowest-suction" in waiting


@pytest.mark.parametrize(
    "document",
    [{}, {"event": {}}, {"motor": {"kind": "induction"}}, {"pump": {"type": "end_suction"}},
     register_only(), stations.well(), whole_stations.lift_station(),
     stations.permanent_magnet()],
)  # fmt: skip
def test_whatever_is_known_every_gap_has_its_reason(document):
    for each in expected(document).lacking:
        assert each.needs or each.waits_for or each.because, each.id


# -- points -------------------------------------------------------------------------------------


def test_points_run_from_the_lowest_to_the_highest_frequency():
    points = expected(booster()).points
    assert [point.frequency.value for point in points] == ["36.0", "42.0", "48.0", "54.0", "60.0"]


@pytest.mark.parametrize(
    ("lowest", "points"),
    [("0", ["60.0"]), ("0.8", ["0.8", "15.6", "30.4", "45.2", "60.0"]), ("60", ["60.0"])],
)
def test_a_lowest_frequency_that_spans_no_range_leaves_one_point(lowest, points):
    found = expected(changed(booster(), {f"{LEFT}/minimum_frequency": q(lowest, "Hz")})).points
    assert [point.frequency.value for point in found] == points


def test_decimals_of_points():
    """1177.4 gpm at 60 Hz are 74.28 L/s and 1.695 MGD by definition of the units."""
    first, *_, last = expected(booster()).points
    assert [told(point.flow) for point in (first, last)] == ["0 gpm", "1177 gpm"]
    assert re.fullmatch(r"\d+\.\d psi", told(last.shut_off))
    for unit, design, shown in (("L/s", "63.09020", "74.3 L/s"), ("MGD", "1.44", "1.7 MGD")):
        document = changed(booster(), {"/site/system_design_flow": q(design, unit)})
        assert told(expected(document).points[-1].flow) == shown


def test_pressure_at_a_closed_valve_goes_with_the_square_of_frequency():
    """Affinity law: linear in f2, from 36 Hz over 48 Hz to 60 Hz (2304 - 1296 of 3600 - 1296)."""
    low, _, middle, _, high = (float(p.shut_off.value) for p in expected(booster()).points)
    assert middle == pytest.approx(low + (high - low) * (2304 - 1296) / (3600 - 1296), abs=0.1)
    # 33 psi and 266.0 ft of water at 62.4 lb/ft3 (1790.3 rpm at no flow), less the gauges' heights.
    assert high == pytest.approx(33 + 266 * 62.4 / 144, abs=0.7)


def test_flow_is_where_pump_and_system_meet():
    """System: 120 ft static, 128 ft at 1000 gpm; the pump stands on it at each frequency."""
    for point in expected(booster()).points[1:]:
        flow = float(point.flow.value)
        [head] = [float(v.shown.value) for v in point.values if v.id == "duty.curve-head"]
        assert head == pytest.approx(120 + 8 * (flow / 1000) ** 2, abs=0.3)


def test_below_zero_flow_nothing_flows():
    assert float(expected(booster()).points[0].flow.value) == 0


def test_voltage_goes_with_frequency():
    """Constant volts per hertz: 460 V at 60 Hz are 276 V at 36 Hz."""
    first, *_, last = expected(booster()).points
    volts = [v.shown.value for p in (first, last) for v in p.values if "voltage" in v.id]
    assert volts == ["276", "460"]


def test_a_pump_without_a_drive_has_one_point():
    document = changed(without(booster(), "/drive", "/event/settings"), {"/pump_set/drive": None})
    assert [point.frequency.value for point in expected(document).points] == ["60.0"]


def test_without_a_curve_a_point_tells_what_it_can():
    [*_, last] = expected(without(booster(), "/pump/curve_points")).points
    assert (last.flow, last.shut_off) == (None, None)
    assert {value.id for value in last.values} == {"duty.expected-output-voltage"}


def test_a_pump_that_must_not_run_at_a_closed_valve_has_no_pressure_there():
    found = expected(changed(booster(), {"/pump/type": "axial_or_mixed_flow"}))
    assert len(found.points) == 5
    assert {point.shut_off for point in found.points} == {None}
    assert not [n for n in names(found.derived) | names(found.lacking) if "shut-off" in n]


def test_a_positive_displacement_pump_has_no_such_points():
    document = changed(booster(), {"/pump/type": "progressive_cavity"})
    assert expected(document).points == ()


# -- what a visit has to bring home ---------------------------------------------------------------


def test_least_insulation_is_5_megohm_at_40_degrees_and_more_below():
    """IEEE 43-2013, table 3 (from memory): 5 Mohm for random windings below 1 kV."""
    least = {each.temperature.value: each.resistance for each in expected(booster()).insulation}
    assert [least["40"].value, least["40"].unit] == ["5", "Mohm"]
    values = [float(each.value) for each in least.values()]
    assert values == sorted(values, reverse=True)
    assert values[0] > values[-1]
    assert list(least) == ["10", "20", "30", "40"]
    # 5 Mohm exp(1245 (1 / (t + 273) - 1 / 313)), to two digits.
    assert [each.value for each in least.values()] == ["7.6", "6.6", "5.7", "5"]


@pytest.mark.parametrize(("unit", "shown"), [("degC", "41.50"), ("degF", "107")])
def test_a_temperature_is_told_as_it_was_entered_or_to_three_digits(unit, shown):
    # 41.5 degC are 106.7 degF by definition.
    found = LeastInsulation(
        Quantity.of("41.50", "degC", "temperature"), Quantity.of("5", "Mohm", "resistance")
    )
    assert told(found.temperature_in(unit)) == f"{shown} {unit}"


def test_an_immersed_motor_is_expected_with_its_cable():
    """2 Mohm at 40 degC for a motor in a well with cable: common practice, from memory."""
    least = {e.temperature.value: e.resistance.value for e in expected(stations.well()).insulation}
    assert least["40"] == "2"


def test_limits_of_the_client_count():
    limits = {"insulation.minimum.random-wound": 20e6}
    found = expect(read(Subject, booster()), limits).insulation
    assert [each.resistance.value for each in found if each.temperature.value == "40"] == ["20"]


def test_settings_are_those_that_a_start_up_needs():
    names_ = expected(booster()).settings
    assert {"motor_current", "set_point", "feedback_signal"} <= set(names_)
    without_sensor = without(register_only(), "/pump_set/regulating_sensor", "/sensors")
    assert "set_point" not in expected(without_sensor).settings
    assert "set_point" in expected(register_only()).settings  # it has a sensor to regulate on
    assert "level_reference" not in names_
    assert "level_reference" in expected(whole_stations.lift_station()).settings


def test_protections_are_those_of_the_kind_of_station():
    words = {functions for _, functions in expected(stations.well()).protections}
    assert ("dry_run",) in words
    words = {functions for _, functions in expected(whole_stations.lift_station()).protections}
    assert ("float_backup",) in words
    assert expected({"motor": {}}).protections == ()


def test_of_a_set_without_a_drive_what_its_plates_lack_is_named():
    """It has no settings of a drive to ask for, and all the rest."""
    document = changed(without(booster(), "/drive", "/event/settings"), {"/pump_set/drive": None})
    needs = {each.id: each.needs for each in expected(document).lacking}
    assert needs["sensor.loop-resistance-allowed"] == ("/sensors/0/supply_voltage_minimum",)
    assert not [each for place in needs.values() for each in place if each.startswith(LEFT)]


def test_a_value_that_a_wrong_plate_leaves_none_of_says_why():
    """A motor of 5.6 in in a casing of 5.6 in."""
    narrow = changed(stations.well(), {"/site/casing_inside_diameter": q("5.6", "in")})
    because = {each.id: each.because for each in expected(narrow).lacking}
    assert "expected less than the casing's inside diameter" in because["motor.cooling-velocity"]


@pytest.mark.parametrize(
    ("error", "because"),
    [
        (InvalidInput("speed", "expected more than 0"), "speed: expected more than 0"),
        (OverflowError(), str(Beyond())),
    ],
)
def test_a_value_at_a_point_whose_equation_does_not_hold_says_why(error, because):
    def compute(case, place):
        raise error

    value = Value("duty.curve-head", "", "", "", fixed("m"), compute_each=compute)
    lacking = expecting._value(value, case(booster()), "/event/duty_points/0")
    assert lacking == Lacking(value.id, "/event/duty_points/0", because=because)


def test_a_pressure_overloads_what_bears_least_beyond_its_limit_alone():
    """Of the booster's pipework, 150 psi."""
    found = expected(changed(booster(), {"/site/discharge_pressure_limit": q("150", "psi")}))
    psi = 6894.757
    assert found.overloads(149.9 * psi) == found.overloads(150 * psi) == ""
    assert found.overloads(150.2 * psi).endswith("(150 psi)")
    assert replace(found, weakest=None).overloads(1000 * psi) == ""
