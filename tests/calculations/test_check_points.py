"""Points at which a sensor is checked: shares of its span, and the signal of IEC 60381 there."""

from typing import Any

import pytest

from calculations.aspects.check_points import check_points, signal_unit
from calculations.expecting import expect
from calculations.inputs.reading import read
from calculations.inputs.sensor import Sensor
from calculations.inputs.subject import Subject
from tests.calculations.building import booster
from tests.calculations.building_plates import q


def told(**plate: Any) -> list[tuple[str, str, str]]:
    """Way, what is applied and the signal of every point, with their units."""
    return [
        (point.way, shown(point.applied), shown(point.signal))
        for point in check_points(read(Sensor, {"quantity": "pressure"} | plate))
    ]


def shown(value: Any) -> str:
    return f"{value.value} {value.unit}" if value else ""


def test_quarters_of_span_up_and_down():
    """0 to 10 bar on 4 to 20 mA: 2.5 bar and 4 mA a quarter, by hand."""
    ranged = {"lower_range_value": q("0", "bar"), "upper_range_value": q("10.0", "bar")}
    assert told(**ranged, output="4-20 mA") == [
        ("up", "0 bar", "4 mA"), ("up", "2.5 bar", "8 mA"), ("up", "5 bar", "12 mA"),
        ("up", "7.5 bar", "16 mA"), ("up", "10 bar", "20 mA"), ("down", "5 bar", "12 mA"),
        ("down", "0 bar", "4 mA"),
    ]  # fmt: skip


def test_degrees_are_temperatures_and_not_differences():
    """14 to 212 degF: a quarter of 198 degF is 49.5, so 63.5 degF; 0 to 10 V gives 2.5 V."""
    points = told(
        quantity="temperature", lower_range_value=q("14", "degF"),
        upper_range_value=q("212", "degF"), output="0-10 V",
    )  # fmt: skip
    assert points[:3] == [
        ("up", "14 degF", "0 V"), ("up", "63.5 degF", "2.5 V"), ("up", "113 degF", "5 V"),
    ]  # fmt: skip


def test_a_range_in_two_units_is_told_in_the_upper_ones():
    """-100 mbar to 1.9 bar: -0.1, 0.4, 0.9 bar at the first quarters."""
    ranged = {"lower_range_value": q("-100", "mbar"), "upper_range_value": q("1.9", "bar")}
    applied = [applied for _, applied, _ in told(**ranged, output="1-5 V")]
    assert applied[:3] == ["-0.1 bar", "0.4 bar", "0.9 bar"]


def test_what_is_not_known_is_left_open():
    ranged = {"lower_range_value": q("0", "bar"), "upper_range_value": q("10", "bar")}
    assert {signal for _, _, signal in told(**ranged, output="digital")} == {""}
    assert {signal for _, _, signal in told(**ranged)} == {""}
    without = told(lower_range_value=q("0", "bar"), output="4-20 mA")
    assert without[0] == ("up", "", "4 mA")


@pytest.mark.parametrize(
    ("output", "unit"),
    [("4-20 mA", "mA"), ("0.5-4.5 V", "V"), ("2-10 V", "V"), ("digital", ""), (None, "")],
)
def test_each_output_has_its_unit(output, unit):
    assert signal_unit(output) == unit


def test_a_set_is_expected_with_the_points_of_each_of_its_sensors():
    subject = read(Subject, booster())
    found = expect(subject)
    assert [len(points) for points in found.sensors] == [7] * len(subject.sensors or ())
    assert found.sensors[0] == check_points(subject.sensors[0])


def test_least_insulation_is_told_in_either_degrees():
    """10, 20, 30, 40 degC are 50, 68, 86, 104 degF."""
    found = expect(read(Subject, booster())).insulation
    assert [shown(each.temperature_in("degF")) for each in found] == [
        "50 degF", "68 degF", "86 degF", "104 degF",
    ]  # fmt: skip
    assert [shown(each.temperature_in("degC")) for each in found][-1] == "40 degC"
