"""The booster regulated on a sensor 100 ft above its pump, 2,000 ft down the main.

Water of 60 degF weighs 62.37 lb/ft3 (steam tables), 0.4331 psi for each foot: 43.3 psi more at the
pump than at the sensor, by hydrostatics. Pump: 260 ft at no flow, 95 ft less at 1000 gpm.
"""

import pytest

from tests.calculations.building import (
    booster,
    changed,
    derived,
    in_metric,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_plates import Document, q
from tests.calculations.whole_stations import left

RELIEF, PIPEWORK = "/site/relief_valve_setting", "/site/discharge_pressure_limit"
TAPPING = "/sensors/0/tapping_elevation"


def remote(**more: object) -> Document:
    """42 psi are kept at the sensor, 85.3 at the pump; it trips at 82 psi, 125.3 at the pump."""
    changes = {
        "/sensors/0/location": "remote",
        TAPPING: q("100", "ft"),
        "/sensors/0/upper_range_value": q("100", "psi"),
        "/site/minimum_service_pressure": q("30", "psi"),
        "/site/system_design_head": q("142", "ft"),
        # 42 psi at 100 ft take 96.9 + 100 - 69.2 (30 psi) = 127.7 ft from the lowest suction, less
        # the gauge's own 2 ft: 125.7 ft at no flow, and the main loses the rest.
    }
    set_ = {
        "set_point": q("42", "psi"), "wake_value": q("36", "psi"),
        "feedback_at_upper_signal": q("100", "psi"), "low_discharge_limit": q("10", "psi"),
        "high_discharge_limit": q("82", "psi"),
    }  # fmt: skip
    return changed(booster(), changes | left(**(set_ | more)))


def test_where_nothing_is_wrong_nothing_is_told() -> None:
    for rule in ("speed.maximum-pressure", "protection.high-limit", "loop.limits-order"):
        assert verdicts(remote(), rule) == []
        assert verdicts(in_metric(remote()), rule) == []


@pytest.mark.parametrize(
    ("trip", "expected"),
    [
        # Pipework 140 psi, "140" may be 140.5: less 43.3 psi of height that is 97.2 at the sensor.
        ("97.0", []),
        ("97.5", [("review", "above_part_remote")]),
    ],
)
def test_a_trip_counts_with_the_sensor_s_height(trip: str, expected: list[object]) -> None:
    wide = {"/sensors/0/upper_range_value": q("150", "psi")}
    document = changed(remote(high_discharge_limit=q(trip, "psi")), wide)
    document = changed(document, left(feedback_at_upper_signal=q("150", "psi")))
    document = without(changed(document, {PIPEWORK: q("140", "psi")}), RELIEF)
    assert verdicts(document, "protection.high-limit") == expected
    for finding in of_rule(judged(document), "protection.high-limit"):
        assert float(finding.parameters["at_pump"].split()[0]) == pytest.approx(97.5 + 43.31, 1e-3)
        there = finding.parameters["lower"].removeprefix("set the high limit below ")
        assert float(there.split()[0]) == pytest.approx(140 - 43.31, 1e-3)


def test_a_relief_valve_at_the_pump_opens_before_a_trip_far_above() -> None:
    """82 psi at the sensor are 125.3 psi at the pump."""
    assert verdicts(changed(remote(), {RELIEF: q("120", "psi")}), "protection.high-limit") == [
        ("note", "above_relief_remote")
    ]
    assert verdicts(changed(remote(), {RELIEF: q("126", "psi")}), "protection.high-limit") == []


@pytest.mark.parametrize(
    ("pipework", "expected"),
    [
        # Shut-off 33.9 + 115.2 = 149.1 psi; the drive stops at 82 psi there, 125.3 psi here.
        ("150", []),
        ("126", [("review", "remote")]),
        ("124", [("stop", "too_high_there")]),
    ],
)
def test_a_remote_stop_protects_what_stands_at_the_pump(
    pipework: str, expected: list[object]
) -> None:
    document = without(changed(remote(), {PIPEWORK: q(pipework, "psi")}), RELIEF)
    assert verdicts(document, "speed.maximum-pressure") == expected


def test_a_valve_or_a_switch_at_the_pump_is_enough() -> None:
    weak = changed(remote(), {PIPEWORK: q("126", "psi"), RELIEF: q("125", "psi")})
    assert verdicts(weak, "speed.maximum-pressure") == []
    switch = left(high_discharge_limit=q("125", "psi"),
                  high_discharge_limit_measured_by="pressure_switch")  # fmt: skip
    assert verdicts(without(changed(weak, switch), RELIEF), "speed.maximum-pressure") == []


def test_what_the_loop_aims_at_counts_at_the_pump() -> None:
    """42 psi and 3 of boost are 45 + 43.3 = 88.3 psi at the pump."""
    for name, place in (("pipework", PIPEWORK), ("relief", RELIEF)):
        bears = changed(remote(), {place: q("90", "psi")})
        assert verdicts(bears, "loop.limits-order") == []
        weak = changed(remote(), {place: q("87", "psi")})
        assert verdicts(weak, "loop.limits-order") == [("review", f"top_{name}_remote")]
        (finding,) = of_rule(judged(weak), "loop.limits-order")
        assert finding.parameters["at_pump"] == "88.31 psi"


def test_a_set_point_beyond_a_part_without_any_height_is_a_stop() -> None:
    """45 psi at the sensor alone, boost included, against "44" and "45" psi of pipework."""
    for bears, severity in (("44", "stop"), ("45", "review")):
        weak = without(changed(remote(), {PIPEWORK: q(bears, "psi")}), RELIEF)
        assert verdicts(weak, "loop.limits-order") == [(severity, "top_pipework_remote")]


def test_a_height_over_the_sea_stops_nobody_and_asks_for_no_vacuum() -> None:
    """600 ft are 260 psi: less than nothing would be left of any limit at the sensor."""
    judgement = judged(changed(remote(), {TAPPING: q("600", "ft")}))
    assert not [each for each in judgement.findings if each.severity == "stop"]
    (found,) = of_rule(judgement, "protection.high-limit")
    assert found.parameters["lower"] == ""


def test_a_vessel_beside_the_pump_is_charged_for_the_pressure_there() -> None:
    """It wakes at 36 psi at the sensor, 79.3 psi at the pump: 69 psi are 87 % of that.

    60, 80 and 95 % of 79.3 psi are 47.6, 63.4 and 75.3 psi.
    """

    def charged(psi: str, **vessel: object) -> Document:
        check = {f"/event/vessel_checks/0/pre_charge_as_{each}": q(psi, "psi")
                 for each in ("found", "left")}  # fmt: skip
        return changed(remote(), check | {f"/vessels/0/{k}": v for k, v in vessel.items()})

    rule = "vessel.precharge"
    assert verdicts(charged("69"), rule) == []
    assert verdicts(charged("47.0"), rule) == [("review", "low")]
    assert verdicts(charged("48.0"), rule) == [("note", "below_target")]
    assert verdicts(charged("79.0"), rule) == [("note", "above_target")]
    assert verdicts(charged("79.6"), rule) == [("review", "high")]
    assert verdicts(charged("31", location="remote"), rule) == []  # 86 % of 36 psi
    target = derived(judged(remote()), "vessel.pre-charge-target").si / 6894.757
    assert target == pytest.approx(0.875 * (36 + 43.31), rel=1e-3)


def test_what_the_vessel_gives_is_reckoned_at_the_vessel() -> None:
    """p0 69 psi, wake 79.31 psi, stop 45 + 43.31 psi, air of 500 ft 14.43 psi (ISO 2533).

    130 gal x 83.43 x (1 / 93.74 - 1 / 102.74) = 10.1 gal.
    """
    assert derived(judged(remote()), "vessel.usable-volume").shown.value == "10.1"


def test_a_sensor_below_the_pump_takes_nothing_off() -> None:
    """What stands there at the pump is less, but the pipes down there see what it reads."""
    low = changed(remote(), {TAPPING: q("-100", "ft"), PIPEWORK: q("81", "psi")})
    assert verdicts(without(low, RELIEF), "protection.high-limit") == [("review", "above_part")]


def test_without_its_height_nothing_passes() -> None:
    document = without(changed(remote(), {PIPEWORK: q("126", "psi")}), RELIEF, TAPPING)
    above_trip = changed(document, left(set_point=q("90", "psi")))  # both are read there
    assert verdicts(above_trip, "loop.limits-order") == [("review", "top_high")]
    for rule in ("speed.maximum-pressure", "protection.high-limit", "loop.limits-order"):
        assert [each.needs for each in lacking(judged(document), rule)] == [(TAPPING,)]


def test_a_closed_valve_is_read_at_the_pump() -> None:
    """A remote sensor sees nothing of it: 33.9 + 260 ft x 0.4331 x (1775 rpm + slip)^2 at 60 Hz."""
    there = derived(judged(booster()), "pressure.shut-off-at-maximum-speed").si
    here = derived(judged(remote()), "pressure.shut-off-at-maximum-speed").si
    assert (here - there) / 6894.757 == pytest.approx(3.0 * 0.4331, rel=1e-3)


def test_the_main_s_loss_counts_in_what_flows_as_it_falls_asleep() -> None:
    """H = 260 s2 - 95 (Q / 1000)2 against 125.7 ft + (142 - 125.7) (Q / 1000)2, s = 45.5 / 60.

    The set point takes 42 / 0.4331 + 100 - 30 / 0.4331 - 2 = 125.7 ft. Without loss
    Q2 = (260 s2 - 125.7) / 95, with it / (95 + 16.3): sqrt(95 / 111.3) = 0.924 of the flow.
    """
    asleep = remote(sleep_frequency=q("45.5", "Hz"))
    lossless = changed(asleep, {"/site/system_design_head": q("120", "ft")})  # below the set point
    with_loss, without_loss = (
        derived(judged(each), "sleep.flow").si for each in (asleep, lossless)
    )
    assert with_loss / without_loss == pytest.approx(0.924, abs=0.002)


@pytest.mark.parametrize(("head", "variant"), [("142", "droops"), ("300", "unreachable")])
def test_a_main_that_loses_much_hides_the_summit_of_a_curve(head: str, variant: str) -> None:
    """240 ft at no flow, 251.5 at 300 gpm, where the main loses 0.09 of what it does at 1000 gpm.

    16.3 ft: 1.5 ft there, and the drive slows down to sqrt(240 / 250) of 42.9 Hz, 42.0 Hz; 174 ft:
    15.7 ft there, more than the 11.5 ft of the summit, so that flow never takes less speed.
    """
    droopy = {
        "/pump/curve_points/0/head": q("240", "ft"),
        "/site/system_design_head": q(head, "ft"),
    }
    document = changed(remote(sleep_frequency=q("42.5", "Hz")), droopy)
    (found,) = of_rule(judged(document), "loop.sleep-order")
    assert found.variant == variant
    if variant == "droops":
        assert float(found.parameters["slowest"].split()[0]) == pytest.approx(42.0, abs=0.1)


@pytest.mark.parametrize(("head", "expected"), [("142", []), ("300", [("note", "little_flow")])])
def test_a_main_that_loses_much_leaves_little_flow(head: str, expected: list[object]) -> None:
    """At 60 Hz: Q = 1000 sqrt((262 - 125.7) / (95 + 16.3)) = 1107 gpm, and with 174 ft of loss
    1000 sqrt(136 / 269) = 711 gpm, less than 900 of the 1000 gpm of the design."""
    document = changed(remote(), {"/site/system_design_head": q(head, "ft")})
    assert verdicts(document, "loop.set-point-reachable") == expected
