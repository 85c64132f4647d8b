"""Readings that no drive can have given, and times that do not fit a delay.

A rectifier's link stands at sqrt(2) of the line without load: 479.3 V give 678 V. Bands: common
practice, no source. Live zero: IEC 60381-1.
"""

import pytest

from calculations.judging import finding_document
from calculations.rules.point_readings import DC_LINK
from tests.calculations import stations
from tests.calculations.building import (
    booster,
    changed,
    judged,
    of_rule,
    serious,
    verdicts,
    without,
)
from tests.calculations.building_event import three
from tests.calculations.building_plates import Document, q
from tests.calculations.whole_stations import LEFT, left, raw_water

POINT = "/event/duty_points/0"
DC = "/event/supply/dc_bus_voltage"


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        ("678", []),
        ("640", []),  # loaded: 1.34
        ("900", []),  # fed back into the supply: 1.88
        ("6500", [("review", "digits")]),
        ("6300", [("review", "high")]),  # 630 V would be 1.31, no rectifier's 1.35 to 1.41
        ("6900", [("review", "high")]),  # 690 V would be 1.44
        ("876", []),
        ("500", [("review", "low")]),  # 1.04
        ("1006", []),  # 2.1, the band's upper end
        ("1008", [("review", "high")]),
        ("1100", [("review", "high")]),  # 2.3
        ("50000", [("review", "high")]),
    ],
)
def test_dc_link(value, expected):
    assert verdicts(changed(booster(), {DC: q(value, "V")}), "supply.dc-link") == expected


def test_the_digits_meant_are_offered():
    (found,) = of_rule(judged(changed(booster(), {DC: q("6500", "V")})), "supply.dc-link")
    assert finding_document(found, "")["sentence"].startswith("Probably 650 V.")


@pytest.mark.parametrize(("line", "found"), [("999", True), ("1000", False)])
def test_from_1_kv_on_drives_are_made_of_cells(line, found):
    """Each with a link of its own; 1 kV: IEC 60038, from memory."""
    fed = {"/event/supply/line_voltages": [q(line, "V")] * 3, DC: q("3000", "V"),
           "/site/supply_nominal_voltage": q(line, "V"),
           "/drive/input_voltage_max": q("1100", "V")}  # fmt: skip
    assert bool(verdicts(changed(booster(), fed), "supply.dc-link")) is found


@pytest.mark.parametrize(
    ("line", "of_range", "waits"),
    [
        ("530", "nominal", False),  # 10.4 % over the site's 480 V, and the drive bears 550
        ("560", "drive", True),
    ],
)
def test_what_rests_on_a_voltage_waits_where_no_drive_bears_it(line, of_range, waits):
    document = changed(booster(), {"/event/supply/line_voltages": [q(line, "V")] * 3,
                                   "/event/supply/line_to_earth_voltages": None,
                                   DC: q("400", "V")})  # fmt: skip
    judgement = judged(document)
    found = {each.rule: each.variant for each in judgement.findings}
    assert found["supply.voltage-range"] == of_range
    assert ("supply.dc-link" in found) is not waits
    for name in ("supply.dc-link", "load.voltage"):
        held = [each for each in judgement.not_evaluated
                if (each.rule, each.waits_for) == (name, "supply.voltage-range")]  # fmt: skip
        assert bool(held) is waits
    accepted = judged(document, accepted=[("supply.voltage-range", "/event/supply/line_voltages")])
    assert of_rule(accepted, "supply.dc-link")


def test_without_voltage_measured_the_nominal_one_counts():
    none = {"/event/supply/line_voltages": [q("0", "V")] * 3, DC: q("6500", "V")}
    document = without(changed(booster(), none), "/drive/input_voltage_min")
    (found,) = of_rule(judged(document), "supply.dc-link")
    assert (found.variant, found.parameters["line"]) == ("digits", "480 V")


def test_a_moved_point_is_found_by_what_was_expected_at_this_speed():
    """At half speed 230 V are expected: 2300 V are its digits, of 460 V they are not."""
    changes = {f"{POINT}/frequency": q("30", "Hz"),
               f"{POINT}/voltages_drive_output": [q("2300", "V")]}  # fmt: skip
    (found,) = of_rule(judged(changed(booster(), changes)), "load.voltage")
    assert (found.variant, "230" in found.parameters["probably"]) == ("high", True)


@pytest.mark.parametrize(("value", "low"), [("47", False), ("45", True)])
def test_a_drive_that_saves_flux_is_not_far_below_its_line(value, low):
    """At half speed 230 V are expected, 115 V from a drive that saves flux, 46 V are 40 % of it."""
    changes = {f"{POINT}/frequency": q("30", "Hz"),
               f"{POINT}/voltages_drive_output": [q(f"{value}.0", "V")]}  # fmt: skip
    found = of_rule(judged(changed(booster(), changes)), "load.voltage")
    assert [each.parameters["expected"] for each in found] == (["230 V"] if low else [])
    assert [each.limit for each in found] == (["at least 46 V"] if low else [])


@pytest.mark.parametrize("name", ["voltages_drive_display", "voltages_drive_output"])
@pytest.mark.parametrize(
    ("value", "expected"),
    [("421", []), ("622", []), ("626", [("load.voltage", "review")]),  # 130 % of 479.3 V
     ("4210", [("load.voltage", "review")])],
)  # fmt: skip
def test_voltages_of_a_point(name, value, expected):
    document = changed(booster(), {f"{POINT}/{name}": [q(value, "V")]})
    assert serious(judged(document)) == expected


@pytest.mark.parametrize(
    ("volts", "expected"),
    [
        (("421", "421", "390"), []),  # mean 410.7 V: 5.03 %, half a volt of it 0.12 %
        (("421", "421", "388"), [("review", "uneven")]),  # mean 410 V: 5.37 %
        (("421", "421", "42.1"), [("review", "low")]),  # a digit is told alone
        (("421", "388", "421"), [("review", "uneven")]),
        (("421",), []),
    ],
)
def test_a_drive_makes_its_three_voltages_alike(volts, expected):
    """Common practice, no source."""
    document = changed(booster(), {f"{POINT}/voltages_drive_output": [q(v, "V") for v in volts]})
    assert verdicts(document, "load.voltage") == expected
    at_input = {f"{POINT}/voltages_drive_input": [q(v, "V") for v in volts]}
    assert ("review", "uneven") not in verdicts(changed(booster(), at_input), "load.voltage")


@pytest.mark.parametrize(
    ("name", "value", "expected"),
    [
        # 60 hp / 0.95 x 1.15 x 1.5 = 81.2 kW; 30.9 kW were measured at the output.
        ("power_drive_display", "81", [("review", "display")]),
        ("power_drive_display", "81.0", [("review", "display")]),
        ("power_drive_display", "81.5", [("review", "high")]),
        ("power_drive_display", "83", [("review", "high")]),
        ("power_drive_display", "310", [("review", "high")]),
        ("power_drive_display", "38.5", []),
        ("power_drive_display", "39.0", [("review", "display")]),  # 25.9 %, of digits 0.3 %
        ("power_drive_display", "39.5", [("review", "display")]),
        ("power_drive_display", "22.5", [("review", "display")]),
        ("power_drive_display", "22.9", [("review", "display")]),
        ("power_drive_display", "23.2", []),
        ("power_drive_display", "23.5", []),
    ],
)
def test_power_of_a_point(name, value, expected):
    document = changed(booster(), {f"{POINT}/{name}": q(value, "kW")})
    assert verdicts(document, "load.power") == expected


@pytest.mark.parametrize(("measured", "expected"), [("8.9", []), ("9.0", [("review", "display")])])
def test_a_display_is_compared_from_a_fifth_of_the_rated_power_on(measured, expected):
    """A fifth of 44.74 kW is 8.95 kW."""
    powers = {f"{POINT}/power_drive_output": q(measured, "kW"),
              f"{POINT}/power_drive_display": q("14.0", "kW")}  # fmt: skip
    assert verdicts(changed(booster(), powers), "load.power") == expected


@pytest.mark.parametrize(("value", "expected"), [("70.5", []), ("71.0", ["high"])])
def test_without_a_service_factor_the_plate_counts_once(value, expected):
    """60 hp / 0.950 = 47.1 kW, 150 % of it 70.7 kW; the drive's output is not read."""
    document = changed(booster(), {
        "/motor/service_factor": None, "/event/duty_points/0/power_drive_output": None,
        "/event/duty_points/0/power_drive_display": q(value, "kW"),
    })  # fmt: skip
    found = verdicts(document, "load.power")
    assert [variant for _, variant in found] == expected


def test_a_display_counts_where_the_output_was_not_read():
    document = changed(booster(), {
        "/event/duty_points/0/power_drive_output": None,
        "/event/duty_points/0/power_drive_display": q("35.0", "kW"),
    })  # fmt: skip
    assert verdicts(document, "load.drive-power") == [("review", "display")]


@pytest.mark.parametrize("station", [stations.permanent_magnet, stations.eighty_seven_hertz])
def test_stretched_and_synchronous_motors_are_silent(station):
    assert verdicts(station(), "load.power") == verdicts(station(), "load.voltage") == []


@pytest.mark.parametrize(("value", "expected"), [("61", False), ("62.5", True)])
def test_power_of_a_motor_as_it_is_stretched(value, expected):
    """22 kW / 0.93 x 400 V / 230 V x 1.0 x 1.5 = 61.7 kW."""
    document = changed(
        stations.eighty_seven_hertz(), {f"{POINT}/power_drive_display": q(value, "kW")}
    )
    assert (("review", "high") in verdicts(document, "load.power")) is expected


@pytest.mark.parametrize("removed", [(), ("/motor/ratings/1/frequency",)])
def test_permission_alone_stretches_no_power(removed):
    """Set to its plate's frequency, or to none that is known: 60 hp / 0.95 x 1.15 x 1.5."""
    permitted = {"/motor/extended_constant_torque": True}
    powers = {f"{POINT}/power_drive_display": q("83", "kW")}
    document = without(changed(booster(), permitted | powers), *removed)
    assert verdicts(document, "load.power") == [("review", "high")]


# -- loop.loss-threshold, ramp.too-short ----------------------------------------------------------


@pytest.mark.parametrize(
    ("threshold", "expected"),
    [
        (q("3.6", "mA"), []),
        (q("4", "mA"), []),
        (q("4.2", "mA"), [("review", "always")]),
        (q("21", "mA"), []),  # the transmitter reports its own failure upwards
        (q("30", "mA"), [("review", "never")]),
        (q("0", "mA"), [("review", "never")]),
        (q("1", "V"), [("review", "kind")]),
        (q("50", "%"), []),  # of what is not said
    ],
)
def test_threshold_of_a_lost_signal(threshold, expected):
    document = changed(booster(), left(signal_loss_threshold=threshold))
    assert verdicts(document, "loop.loss-threshold") == expected


def test_a_client_may_say_how_high_a_signal_goes():
    """21.5 mA is lost above the range; of a transmitter that ends at 21 mA it never comes."""
    document = changed(booster(), left(signal_loss_threshold=q("21.5", "mA")))
    assert verdicts(document, "loop.loss-threshold") == []
    judgement = judged(document, limits={"loop.loss-threshold.highest": 1.05})
    (found,) = of_rule(judgement, "loop.loss-threshold")
    assert (found.variant, found.limit) == ("never", "above 0 up to 4 mA, or 20 mA to 21 mA")


@pytest.mark.parametrize(
    ("signal", "threshold", "limit", "usual"),
    [
        # 24 mA of 20 mA: from memory; 6 V of 5 V by the same ratio, no source.
        ("4-20 mA", q("4.2", "mA"), "above 0 up to 4 mA, or 20 mA to 24 mA", True),
        ("1-5 V", q("1.2", "V"), "above 0 up to 1 V, or 5 V to 6 V", False),
        ("1-5 V", q("6.1", "V"), "above 0 up to 1 V, or 5 V to 6 V", False),
    ],
)
def test_limit_and_remedy_of_the_threshold_are_of_its_signal(signal, threshold, limit, usual):
    selector = "current" if signal == "4-20 mA" else "voltage"
    changes = {"/sensors/0/output": signal} | left(
        feedback_signal=signal, input_selector=selector, signal_loss_threshold=threshold
    )
    (found,) = of_rule(judged(changed(booster(), changes)), "loop.loss-threshold")
    assert found.limit == limit
    assert ("3.6 mA" in str(finding_document(found, "")["remedy"])) is usual


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ({"ramp_up_time": q("0.01", "s")}, [("review", "up")]),
        ({"ramp_up_time": q("0.5", "s")}, []),
        ({"ramp_down_time": q("0.01", "s")}, [("review", "down")]),
        ({"ramp_down_time": q("0.01", "s"), "stop_mode": "coast"}, []),
    ],
)
def test_ramps_that_are_none(values, expected):
    assert verdicts(changed(booster(), left(**values)), "ramp.too-short") == expected


def test_a_ramp_into_a_main_is_judged_by_its_surge():
    document = changed(raw_water(), left(ramp_down_time=q("0.01", "s")))
    assert verdicts(document, "ramp.too-short") == []


def test_a_dc_link_is_granted_its_rounding():
    """2.1 times 479.3 V are 1006.6 V: 1.05 kV may be 1045 V, 1.0 kV may be 950 V."""
    fine = changed(booster(), {DC: q("1.0", "kV")})
    assert verdicts(fine, "supply.dc-link") == []
    coarse = changed(booster(), {DC: q("1.05", "kV")})
    assert verdicts(coarse, "supply.dc-link") == [("review", "high")]


@pytest.mark.parametrize(
    ("frequency", "expected"),
    # 40 % of 460 V x (5.5 / 60)^2 are 1.5 V; below 5 Hz a drive raises the voltage: no source.
    [("4.9", []), ("5.0", [("review", "low")]), ("5.5", [("review", "low")])],
)
def test_nothing_is_said_of_the_voltage_of_a_motor_that_stands(frequency, expected):
    changes = {"frequency": q(frequency, "Hz"), "voltages_drive_output": [q("1.0", "V")] * 3}
    document = changed(booster(), {f"{POINT}/{name}": each for name, each in changes.items()})
    assert verdicts(document, "load.voltage") == expected


@pytest.mark.parametrize(("power", "expected"), [("109", []), ("112", [("review", "high")])])
def test_a_plate_without_efficiency_is_granted_a_poor_one(power, expected):
    """44.74 kW / 0.7 x 1.15 are 73.5 kW, half as much again 110.3 kW."""
    document = changed(booster(), {f"{POINT}/power_drive_output": q(power, "kW")})
    document = without(document, "/motor/ratings/1/efficiency")
    assert verdicts(document, "load.power") == expected


# -- a drive that doubles a single phase ----------------------------------------------------------


def doubling(plate: str = "230", line: str = "120", **more: object) -> Document:
    """A motor of this voltage on a drive that is fed by one phase."""
    document = changed(
        booster(),
        {"/site/supply_phases": 1, "/site/supply_nominal_voltage": q(line, "V"),
         "/event/supply/line_voltages": [q(line, "V")], "/motor/rating_in_use": 0,
         "/motor/ratings/0/voltage": q(plate, "V"),
         **dict.fromkeys(("/drive/input_voltage_min", "/drive/input_voltage_max"), q(line, "V")),
         f"{LEFT}/motor_voltage": q(plate, "V")},
    )  # fmt: skip
    return changed(document, more)


@pytest.mark.parametrize(
    ("read", "plate", "expected"),
    [
        ("339", "230", []),  # 2 x 1.414 x 120 V
        ("324", "230", []),  # 1.35 x 240 V
        ("503", "230", []),  # 2.1 x 240 V, half a volt allowed
        ("505", "230", [("review", "high")]),
        ("276", "230", []),  # 1.15 x 240 V
        ("170", "230", []),  # 1.414 x 120 V: it may not double
        ("265", "230", [("review", "low")]),  # 1.10 x 240 V and 2.2 x 120 V
        ("339", "120", [("review", "high")]),  # nobody asks for more than the supply
        ("339", "133", [("review", "high")]),  # it runs at 10 % less, 119.7 V
        ("339", "134", []),  # 120.6 V
    ],
)
def test_a_dc_link_of_a_drive_that_doubles(read, plate, expected):
    """A doubler rectifies each half wave into a capacitor of its own: twice the peak (derived)."""
    document = doubling(plate, **{"/event/supply/dc_bus_voltage": q(read, "V")})
    assert verdicts(document, "supply.dc-link") == expected


def test_what_is_expected_of_a_doubler_is_told():
    """1.414 times 240 V."""
    document = doubling(**{"/event/supply/dc_bus_voltage": q("560", "V")})
    (found,) = of_rule(judged(document), "supply.dc-link")
    said = DC_LINK.sentence(found)
    assert "120 V of supply, which the drive doubles for this motor, about 339 V are" in said


@pytest.mark.parametrize(
    ("name", "value", "plate", "expected"),
    [
        ("output", "230", "230", []),
        ("output", "311", "230", []),  # 130 % of 240 V are 312 V, half a volt allowed
        ("output", "313", "230", [("review", "high")]),
        ("display", "311", "230", []),
        ("output", "230", "115", [("review", "high")]),  # twice what this motor asks for
        ("input", "156", "230", []),  # 130 % of 120 V
        ("input", "157", "230", [("review", "high")]),  # what comes in is not doubled
        ("output", "57", "230", [("review", "low")]),  # 40 % of 0.915 x 210 V are 77 V
    ],
)
def test_voltages_of_a_drive_that_doubles(name, value, plate, expected):
    point = {"purpose": "design", "frequency": q("54.9", "Hz"),
             f"voltages_drive_{name}": three(value, "V")}  # fmt: skip
    document = doubling(plate, **{"/event/duty_points": [point]})
    assert verdicts(document, "load.voltage") == expected
