"""Of which subjects rules ask at all: what is not asked is neither judged nor said to be lacking.

What belongs together follows from what is there: no drive, no settings of one; one phase, no
unbalance. Common practice, no source.
"""

import pytest

from calculations.catalogue import rule
from calculations.rules import ramps, scope, speed_and_system, speed_limits, winding
from tests.calculations.building import booster, case, changed, q, without
from tests.calculations.stations import LEFT, fed_by_one_phase
from tests.calculations.whole_stations import lift_station

SCREW = {"/pump/type": "progressive_cavity"}
MAIN = {"/site/pipeline": {"length": q("2000", "ft")}}
POWERS = [f"/event/duty_points/{at}/power_drive_{side}" for at in range(3) for side in (
    "input", "output"
)]  # fmt: skip
SPEEDS = [f"/event/duty_points/{at}/speed" for at in range(3)]
WINDING = "/event/motor_tests/winding_resistance"
LOW_SUCTION = "/site/suction_pressure_low"


def fixed(**left):
    """The booster across the line, with a soft starter's overload relay and `left`."""
    document = changed(without(booster(), "/drive"), {"/pump_set/drive": None})
    return changed(document, {LEFT: {"overload_current": q("68.7", "A")} | left})


def motor_away(document):
    """A drive by itself, on the bench: no set, no motor, no settings."""
    return without(document, "/pump_set", "/motor", "/event/settings")


@pytest.mark.parametrize(
    ("identity", "document", "asked"),
    [
        ("drive.single-phase-input", booster(), False),
        ("drive.single-phase-input", fed_by_one_phase(), True),
        ("protection.delay-set", booster(), True),
        ("protection.delay-set", fixed(), False),
        ("protection.delay-set", without(booster(), "/event/settings"), False),
        ("insulation.drive-connected", booster(), True),
        ("insulation.drive-connected", fixed(), False),
        ("insulation.drive-connected", changed(
            without(booster(), "/event/motor_tests"), {"/event/kind": "re_verification"}), False),
        ("protection.low-suction-limit", booster(), True),
        ("protection.low-suction-limit", without(booster(), LOW_SUCTION), False),
        ("protection.low-suction-limit", without(booster(), f"{LEFT}/low_suction_limit"), False),
        ("protection.low-suction-limit", fixed(low_suction_limit=q("12", "psi")), False),
        ("loop.feedback-filter", booster(), True),
        ("loop.feedback-filter", without(booster(), f"{LEFT}/feedback_filter_time"), False),
        ("loop.feedback-filter", changed(booster(), {f"{LEFT}/regulation": "hand_only"}), False),
        ("load.power", booster(), True),
        ("load.power", without(booster(), *POWERS), False),
        ("load.power", motor_away(booster()), False),
        ("speed.measured", booster(), True),
        ("speed.measured", without(booster(), *SPEEDS), False),
        ("speed.measured", motor_away(booster()), False),
        ("ramp.too-short", booster(), True),
        ("ramp.too-short", without(booster(), f"{LEFT}/ramp_up_time"), False),
        ("ramp.too-short", fixed(ramp_up_time=q("10", "s")), False),
        ("ramp.too-long", booster(), True),
        ("ramp.too-long", without(booster(), f"{LEFT}/ramp_up_time"), False),
        ("ramp.too-long", fixed(ramp_up_time=q("10", "s")), False),
        ("rotation.reversed", booster(), True),
        ("rotation.reversed", without(booster(), "/event/rotation"), True),
        ("rotation.reversed", changed(booster(), {"/event/kind": "re_verification"}), True),
        ("rotation.reversed", changed(
            without(booster(), "/event/rotation"), {"/event/kind": "re_verification"}), False),
        ("rotation.reversed", motor_away(booster()), False),
        ("winding.resistance-unbalance", booster(), True),
        ("winding.resistance-unbalance", without(booster(), WINDING), True),
        ("winding.resistance-unbalance", changed(
            booster(), {"/event/kind": "re_verification"}), True),
        ("winding.resistance-unbalance", changed(
            without(booster(), WINDING), {"/event/kind": "re_verification"}), False),
        ("winding.resistance-unbalance", changed(booster(), {"/motor/phases": 1}), False),
    ],
)  # fmt: skip
def test_a_rule_asks_where_what_it_judges_is_there(identity, document, asked):
    assert bool(rule(identity).applies(case(document))) is asked


@pytest.mark.parametrize(
    ("document", "expected"),
    [
        (changed(booster(), MAIN), True),
        (booster(), False),
        (changed(booster(), MAIN | SCREW), False),
        (changed(fixed(), MAIN), True),
        (fixed(), False),
        (changed(fixed(), MAIN | SCREW), False),
    ],
)
def test_a_centrifugal_pump_stops_into_its_main_with_and_without_a_drive(document, expected):
    assert ramps.stops_into_main(case(document)) is expected


@pytest.mark.parametrize(
    ("document", "expected"),
    [(booster(), True), (fixed(), False), (changed(booster(), SCREW), False)],
)
def test_a_pump_on_a_drive_is_a_centrifugal_one(document, expected):
    assert speed_limits.has_pump_on_drive(case(document)) is expected


@pytest.mark.parametrize(
    ("phases", "expected"), [(1, False), (3, True), (None, True)]
)  # fmt: skip
def test_a_motor_has_three_phases_unless_one_is_known(phases, expected):
    assert winding.has_three_phases(case(changed(booster(), {"/motor/phases": phases}))) is expected


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({}, False),
        ({"/motor/enclosure": "submersible"}, True),
        ({"/motor/cooling": "immersed"}, True),
        ({"/motor/cooling": "jacket"}, True),
        ({"/pump/type": "submersible_well"}, True),
        ({"/pump/type": "submersible_sewage"}, True),
        ({"/pump/type": "submersible_well", "/motor/immersed": False}, False),
    ],
)
def test_any_one_sign_of_the_liquid_tells_that_a_motor_may_be_in_it(changes, expected):
    document = changed(without(booster(), "/motor/immersed"), changes)
    assert scope.may_be_immersed(case(document)) is expected


@pytest.mark.parametrize(
    ("immersed", "cooling", "dry"),
    [
        (True, "shaft_fan", False),
        (False, "jacket", True),
        (None, "shaft_fan", True),
        (None, "jacket", False),
    ],
)
def test_what_was_said_of_the_liquid_goes_before_how_a_motor_is_built(immersed, cooling, dry):
    changes = {"/motor/immersed": immersed, "/motor/cooling": cooling}
    assert scope.is_dry(case(changed(booster(), changes))) is dry


@pytest.mark.parametrize(
    ("pump", "cooling", "enclosure", "dry"),
    [
        ("other", "shaft_fan", None, True),
        ("other", "separate_fan", None, True),
        ("other", "non_ventilated", None, False),
        ("other", None, "open_drip_proof", True),
        ("end_suction", None, None, True),
        ("end_suction", "non_ventilated", None, False),
    ],
)
def test_a_motor_that_nobody_said_to_be_dry_shows_it_by_its_build(pump, cooling, enclosure, dry):
    changes = {"/motor/immersed": None, "/pump/type": pump, "/motor/cooling": cooling,
               "/motor/enclosure": enclosure}  # fmt: skip
    assert scope.is_dry(case(changed(booster(), changes))) is dry


@pytest.mark.parametrize(("document", "drive"), [(booster(), True), (fixed(), False)])
@pytest.mark.parametrize(("demand", "expected"), [(True, True), (None, True), (False, False)])
def test_valves_may_close_unless_some_demand_is_always_there(document, drive, demand, expected):
    asked = case(changed(document, {"/site/zero_demand_possible": demand}))
    assert speed_and_system.may_meet_closed_valves(asked) is (drive and expected)


@pytest.mark.parametrize(
    ("changes", "waits"),
    [
        ({}, True),
        ({f"{LEFT}/regulated_quantity": "discharge_pressure"}, True),
        ({f"{LEFT}/regulated_quantity": "discharge_pressure",
          "/pump_set/regulating_sensor": "FT-301"}, False),
    ],
)  # fmt: skip
def test_a_level_waits_for_the_scaling_of_the_loop_only_where_the_loop_shows_it(changes, waits):
    """On level, or by the very sensor that the drive is regulated on."""
    document = changed(lift_station(), changes)
    assert rule("level.zero-offset").waits_at(case(document), "/event/level_tests/0") is waits
