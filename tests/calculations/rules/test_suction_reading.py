"""Suction gauge against the site: the booster's main holds 28 to 33 psi at the suction sensor."""

import pytest

from calculations.rules import suction_reading
from tests.calculations.building import (
    booster,
    changed,
    in_metric,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_plates import q
from tests.calculations.test_machines_by_hand import out_of_a_pond
from tests.calculations.whole_stations import lift_station, raw_water

RULE = "suction.reading"
POINT = "/event/duty_points/0"


@pytest.mark.parametrize("station", [booster, raw_water, lift_station])
def test_ordinary_readings(station):
    judgement = judged(station())
    assert of_rule(judgement, RULE) == lacking(judgement, RULE) == []


def test_a_closed_valve_is_read_as_well():
    """At no flow there is a suction pressure all the same, and nothing divides by the flow."""
    closed = {"flow": q("0", "gpm"), "purpose": "shut_off", "suction_pressure": q("60", "psi")}
    document = changed(booster(), {f"{POINT}/{name}": each for name, each in closed.items()})
    judgement = judged(document)
    assert lacking(judgement, RULE) == []
    assert [each.variant for each in of_rule(judgement, RULE)] == ["above"]


def both_higher(by: float):
    """The first point with both gauges higher by so many psi: its head stays what it was."""
    first = booster()["event"]["duty_points"][0]
    gauges = {side: float(first[f"{side}_pressure"]["value"]) for side in ("suction", "discharge")}
    return changed(booster(), {
        f"{POINT}/{side}_pressure": q(f"{read + by:.1f}", "psi") for side, read in gauges.items()
    })  # fmt: skip


def highest() -> float:
    """What the first point's suction gauge shows at the highest suction, by its height [psi]."""
    document = booster()
    first, site = document["event"]["duty_points"][0], document["site"]
    (sensor,) = (each for each in document["sensors"] if each["location"] == "suction")
    apart = float(sensor["tapping_elevation"]["value"]) - float(
        first["suction_gauge_elevation"]["value"]
    )
    return float(site["suction_pressure_high"]["value"]) + 0.433 * apart  # psi to a foot of water


@pytest.mark.parametrize(
    ("above", "expected"),
    [
        # 0.5 bar are 7.25 psi, 2 bar 29.0 psi
        (7.0, []),
        (7.6, [("note", "above")]),
        (28.7, [("note", "above")]),
        (29.4, [("review", "above")]),
    ],
)
def test_above_the_highest_suction(above, expected):
    read = float(booster()["event"]["duty_points"][0]["suction_pressure"]["value"])
    document = both_higher(highest() + above - read)
    assert verdicts(document, RULE) == expected
    assert verdicts(in_metric(document), RULE) == expected


def test_psi_entered_as_bar():
    """29 psi are 2.0 bar: both gauges 27 bar too high leave the head as it was."""
    document = in_metric(booster())
    first = document["event"]["duty_points"][0]
    more = 29.0 - float(first["suction_pressure"]["value"])
    higher = float(first["discharge_pressure"]["value"]) + more
    wrong = changed(document, {
        f"{POINT}/suction_pressure": q("29", "bar"),
        f"{POINT}/discharge_pressure": q(f"{higher:.2f}", "bar"),
    })  # fmt: skip
    assert verdicts(wrong, RULE) == [("review", "unit")]
    (found,) = of_rule(judged(wrong), RULE)
    assert found.parameters["meant"] == "29 psi"
    assert found.subject == f"{POINT}/suction_pressure"


@pytest.mark.parametrize(
    ("read", "expected"),
    [
        ("-0.4", []),
        ("0.0", []),
        ("0.15", [("review", "sign")]),
        ("0.4", [("review", "sign")]),
        ("1.0", [("note", "above")]),
    ],
)
def test_a_vacuum_without_its_sign(read, expected):
    """The pond stands 3.0 to 4.2 m below the eye: the gauge shows -0.29 to -0.41 bar at rest."""
    point = {
        "frequency": q("50", "Hz"), "flow": q("40", "L/s"), "suction_pressure": q(read, "bar"),
        "suction_gauge_elevation": q("0", "m"),
    }  # fmt: skip
    assert verdicts(changed(out_of_a_pond(), {"/event/duty_points": [point]}), RULE) == expected


@pytest.mark.parametrize(("discharge", "expected"), [("1.99", "sign"), ("1.95", "absolute")])
def test_the_curve_tells_a_missing_sign_from_an_absolute_gauge(discharge, expected):
    """0.42 bar is -0.42 without its sign, or -0.457 less the 0.877 bar of air at 1200 m (ISO 2533).

    At 1462.5 rpm the curve gives 36 x 1.0173 - 7500 x 0.04^2 = 24.62 m, 2.41 bar of water of 20
    degC (9.789 kPa/m): gauges at one height show 1.99 bar over -0.42, and 1.95 over -0.457.
    """
    point = {
        "frequency": q("50", "Hz"), "flow": q("40", "L/s"), "suction_pressure": q("0.42", "bar"),
        "suction_gauge_elevation": q("0", "m"), "discharge_pressure": q(discharge, "bar"),
        "discharge_gauge_elevation": q("0", "m"), "bore_suction": q("150", "mm"),
        "bore_discharge": q("150", "mm"),
    }  # fmt: skip
    visit = {"/event/duty_points": [point], "/event/liquid_temperature": q("20", "degC")}
    assert verdicts(changed(out_of_a_pond(), visit), RULE) == [("review", expected)]


def test_a_point_at_closed_valve_is_read_like_any_other():
    """No flow is held against no grade: that is no reason to leave the gauge unread."""
    shut = {f"{POINT}/flow": q("0", "gpm"), f"{POINT}/purpose": "shut_off"}
    judgement = judged(changed(booster(), shut))
    assert of_rule(judgement, RULE) == lacking(judgement, RULE) == []
    high = changed(both_higher(10), shut)
    assert [each.subject for each in of_rule(judged(high), RULE)] == [f"{POINT}/suction_pressure"]


def test_it_lacks_the_gauges_height():
    (told,) = lacking(judged(without(booster(), f"{POINT}/suction_gauge_elevation")), RULE)
    assert told.needs == (f"{POINT}/suction_gauge_elevation",)


@pytest.mark.parametrize(
    ("value", "outside"),
    [(0.3, False), (0.1 + 0.2, False), (0.31, True), (0.1, False), (0.0, True)],
)
def test_a_reading_at_the_limit_to_the_last_bit_is_inside(value, outside):
    assert suction_reading._outside(value, 0.1, 0.3) is outside
