"""Cooling, ambient and altitude, bearings, thermal sensor; limits from memory."""

import pytest

from calculations.rules.motor_cooling import is_cooled_by_air
from tests.calculations.building import (
    booster,
    case,
    changed,
    derived,
    judged,
    lacking,
    of_rule,
    q,
    verdicts,
    without,
)
from tests.calculations.building_plates import Document
from tests.calculations.rules.test_scope import motor_away
from tests.calculations.stations import LEFT, high_site, settings, well

COOLING = "motor.cooling"
AMBIENT = "motor.ambient-altitude"


KEPT = {f"{LEFT}/regulation": "closed_loop_in_drive",
        f"{LEFT}/regulated_quantity": "discharge_pressure"}  # fmt: skip
"""A pressure, so that demand alone says how little flows."""

# -- in a well ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("flow", "expected"),
    [
        # 10 in less 5.6 in: 0.03478 m2; 0.15 m/s are 5.217 L/s = 82.7 gpm
        ("83", []),
        ("82", [("note", "close")]),
        # 1 % of both diameters are 2 % x sqrt(10^4 + 5.6^4) / (10^2 - 5.6^2) = 3.05 % of the area:
        # 82.685 gpm / 1.0305 = 80.24 gpm
        ("80.3", [("note", "close")]),
        ("80.2", [("review", "slow")]),
    ],
)
def test_boundary_of_the_velocity(flow: str, expected: list[tuple[str, str]]) -> None:
    document = changed(well(), KEPT | {"/pump/minimum_continuous_flow": q(flow, "gpm")})
    assert verdicts(document, COOLING) == expected


@pytest.mark.parametrize(
    ("outside", "flow", "expected"),
    [
        # 6 in less 3.75 in: 0.011115 m2; 0.08 m/s are 0.8892 L/s = 14.09 gpm
        ("3.75", "14.2", []),
        ("3.75", "13.0", [("review", "slow")]),
        # 0.115 m = 4.53 in; 6 in less 4.53 in: 0.007843 m2; 0.15 m/s are 18.65 gpm
        ("4.53", "18.5", [("note", "close")]),
        # 6 in less 4.5 in: 0.007981 m2; 0.08 m/s are 10.12 gpm
        ("4.5", "10.3", []),
    ],
)
def test_a_slim_motor_needs_less(outside: str, flow: str, expected: list[tuple[str, str]]) -> None:
    # 0.08 m/s up to 0.115 m (4 in motors), from memory.
    values = {
        "/site/casing_inside_diameter": q("6", "in"), "/motor/outside_diameter": q(outside, "in"),
        "/pump/minimum_continuous_flow": q(flow, "gpm"),
    }  # fmt: skip
    assert verdicts(changed(well(), KEPT | values), COOLING) == expected


def of_flow(value: str, **more: object) -> Document:
    """The well, kept on its meter; at its lowest speed nothing flows yet."""
    values = {
        "regulation": "closed_loop_in_drive", "regulated_quantity": "flow",
        "set_point": q(value, "gpm"), "feedback_signal": "4-20 mA",
        "feedback_at_lower_signal": q("0", "gpm"), "feedback_at_upper_signal": q("1500", "gpm"),
        "speed_reference_signal": None, "frequency_at_lower_reference": None,
        "frequency_at_upper_reference": None, "minimum_frequency": q("30", "Hz"),
        **dict.fromkeys(("wake_value", "sleep_boost", "low_discharge_limit",
                         "high_discharge_limit")),
    } | more  # fmt: skip
    meant = {f"{LEFT}/{name}": each for name, each in values.items()}
    chain = {"/pump_set/regulating_sensor": "FT-101", "/event/step_tests": None}
    return changed(well(), meant | chain)


@pytest.mark.parametrize(
    ("least", "casing", "kept", "expected"),
    [
        # What the pump might give at the least does not count where a loop keeps more: 500 gpm =
        # 31.55 L/s; 0.15 m/s over 0.2103 m2, in with 5.6 in = 0.01589 m2: 0.5366 m = 21.13 in.
        ("100", "21.0", "500", []),
        ("100", "21.3", "500", [("note", "close")]),
        # 1 % of such diameters: 2 % x sqrt(21.6^4 + 5.6^4) / (21.6^2 - 5.6^2) = 2.15 % of the area;
        # 0.2103 x 1.0215 + 0.01589 = 0.2307 m2: 0.5420 m = 21.34 in.
        ("100", "21.5", "500", [("review", "slow")]),
        # A loop that keeps less than the pump may give: that is what flows. 82.7 gpm in 10 in.
        ("100", "10", "79", [("review", "slow")]),
        ("70", "10", "83", []),
    ],
)
def test_a_flow_that_is_kept_is_what_flows(
    least: str, casing: str, kept: str, expected: list[tuple[str, str]]
) -> None:
    values = {"/pump/minimum_continuous_flow": q(least, "gpm"),
              "/site/casing_inside_diameter": q(casing, "in")}  # fmt: skip
    assert verdicts(changed(of_flow(kept), values), COOLING) == expected


def test_the_least_of_its_set_points_counts() -> None:
    by_night = [{"set_point": q("79", "gpm"), "schedule": "night"}]
    document = of_flow("500", set_point_alternatives=by_night)
    (finding,) = of_rule(judged(document), COOLING)
    assert (finding.variant, finding.parameters["flow"]) == ("slow", "79 gpm")


@pytest.mark.parametrize(
    "others",
    [
        {"set_point_source": "remote"},  # it may be written lower
        {"pumps_in_group": 2, "pumps_maximum_running": 2},  # the flow is that of both
    ],
)
def test_a_set_point_that_tells_nothing_of_this_pump(others: dict[str, object]) -> None:
    document = changed(of_flow("500", **others), {"/pump/minimum_continuous_flow": q("79", "gpm")})
    assert verdicts(document, COOLING) == [("review", "slow")]


def test_a_flow_that_the_lowest_speed_exceeds_is_never_kept() -> None:
    document = of_flow("79", minimum_frequency=q("41", "Hz"))
    assert verdicts(document, COOLING) == [("note", "allowed")]


def test_a_lift_lets_no_less_flow_than_at_the_lowest_speed() -> None:
    """Hundreds of gpm at 41 Hz, where 83 would do; near the start of flow there are fewer."""
    slow = changed(well(), {"/pump/minimum_continuous_flow": q("50", "gpm")})
    (finding,) = of_rule(judged(slow), COOLING)
    assert (finding.severity, finding.variant) == ("note", "allowed")
    assert float(finding.parameters["own"].split()[0]) > 85
    wide = changed(slow, {"/site/casing_inside_diameter": q("40", "in")})
    assert verdicts(wide, COOLING) == [("review", "slow")]
    assert verdicts(changed(slow, KEPT), COOLING) == [("review", "slow")]
    assert verdicts(without(slow, "/pump/curve_points"), COOLING) == [("review", "slow")]


@pytest.mark.parametrize(
    ("header", "running", "expected"),
    [
        # Another one on the same main pushes it back, down to nothing where it runs faster.
        ("H-1", None, ("review", "slow")),
        (None, None, ("review", "slow")),
        ("H-1", 2, ("review", "slow")),
        ("H-2", None, ("note", "allowed")),
        ("H-1", 1, ("note", "allowed")),  # never both at once
        ("none", 2, ("review", "slow")),  # not described, and running all the same
    ],
)
def test_another_well_on_the_main_leaves_less_at_the_lowest_speed(
    header: str | None, running: int | None, expected: tuple[str, str]
) -> None:
    neighbour = {"pump_set": {"tag": "PS-102", "discharge_header": header}}
    document = changed(
        well(),
        {
            "/pump/minimum_continuous_flow": q("50", "gpm"),
            "/neighbours": [] if header == "none" else [neighbour],
            f"{LEFT}/pumps_maximum_running": running,
        },
    )
    assert verdicts(document, COOLING) == [expected]


def test_velocity_by_hand() -> None:
    # 100 gpm = 6.309 L/s over 0.03478 m2 = 0.181 m/s = 0.595 ft/s
    value = derived(judged(well()), "motor.cooling-velocity")
    assert (value.shown.value, value.shown.unit) == ("0.595", "ft/s")
    metric = changed(well(), {"/pump/minimum_continuous_flow": q("22.71", "m3/h")})
    value = derived(judged(metric), "motor.cooling-velocity")
    assert (float(value.shown.value), value.shown.unit) == (pytest.approx(0.1814, rel=3e-3), "m/s")


def test_a_shroud_or_jacket_ends_the_question() -> None:
    slow = changed(well(), {"/pump/minimum_continuous_flow": q("20", "gpm")})
    for change in ({"/site/cooling_shroud": True}, {"/motor/cooling": "jacket"}):
        assert verdicts(changed(slow, change), COOLING) == []


def test_the_motors_diameter_is_asked_only_where_it_decides() -> None:
    unknown = without(well(), "/motor/outside_diameter")
    # 0.15 m/s in the empty casing of 10 in are 7.60 L/s = 120.5 gpm
    enough = changed(unknown, {"/pump/minimum_continuous_flow": q("125", "gpm")})
    assert lacking(judged(enough), COOLING) == []
    (missing,) = lacking(judged(unknown), COOLING)
    assert missing.needs == ("/motor/outside_diameter",)


# -- in a wet well ------------------------------------------------------------------------------


def pit(stop: str, **more: object) -> Document:
    """An immersed motor without jacket whose top is 3.0 ft over the datum, the floor at -10 ft."""
    values = {
        "/site/suction_kind": "wet_well", "/site/wet_well_floor": q("-10.0", "ft"),
        "/motor/minimum_liquid_level": q("-6.0", "ft"), f"{LEFT}/stop_level": q(stop, "ft"),
        f"{LEFT}/level_reference": "floor",
    }  # fmt: skip
    return changed(well(), values | more)


@pytest.mark.parametrize(
    ("stop", "fires"),
    [("4.0", False), ("3.9", False), ("3.8", True)],  # 4.0 ft over the floor cover it
)
def test_boundary_of_the_stop_level(stop: str, fires: bool) -> None:
    assert verdicts(pit(stop), COOLING) == ([("review", "uncovered")] if fires else [])


def test_level_by_the_site_datum() -> None:
    by_datum = {f"{LEFT}/level_reference": "site_datum"}
    assert verdicts(pit("-6.0", **by_datum), COOLING) == []
    assert verdicts(pit("-7.0", **by_datum), COOLING) == [("review", "uncovered")]


def test_a_jacket_may_be_uncovered() -> None:
    assert verdicts(pit("1.0", **{"/motor/cooling": "jacket"}), COOLING) == []


def test_missing_levels_are_named() -> None:
    document = without(pit("4.0"), "/motor/minimum_liquid_level")
    (missing,) = lacking(judged(document), COOLING)
    assert missing.needs == ("/motor/minimum_liquid_level",)


# -- separate fan -------------------------------------------------------------------------------


def test_a_separate_fan_is_proven() -> None:
    document = changed(booster(), {"/motor/cooling": "separate_fan"})
    assert verdicts(document, COOLING) == []
    checks = [{"item": "cooling_path_clear", "result": "not_ok"}]
    bad = changed(document, {"/event/mechanical_checks": checks})
    assert verdicts(bad, COOLING) == [("review", "fan")]
    (missing,) = lacking(judged(without(document, "/event/mechanical_checks")), COOLING)
    assert missing.needs == ("/event/mechanical_checks",)


def test_an_ordinary_motor_is_not_asked() -> None:
    judgement = judged(booster())
    assert of_rule(judgement, COOLING) == []
    assert lacking(judgement, COOLING) == []


# -- ambient and altitude -----------------------------------------------------------------------


@pytest.mark.parametrize(
    ("document", "by_air"),
    [
        (booster(), True),
        (changed(booster(), {"/motor/immersed": True}), False),
        (without(booster(), "/event"), False),
        (motor_away(booster()), False),
    ],
)
def test_which_motors_the_air_of_the_day_cools(document: Document, by_air: bool) -> None:
    assert is_cooled_by_air(case(document)) is by_air


def warm(celsius: str, amperes: str, station: Document | None = None) -> Document:
    """A station in warm air, the motor loaded with a current; dry air."""
    values = {
        "/event/ambient_temperature": q(celsius, "degC"),
        "/event/motor_tests/insulation/humidity": q("10", "%"),
        "/event/duty_points/0/currents_drive_output": [q(amperes, "A")] * 3,
    }
    return changed(station or booster(), values)


@pytest.mark.parametrize(
    ("celsius", "amperes", "fires"),
    [
        ("45", "68.0", True),  # torque 0.99 of rated, 40 degC allowed
        ("40", "68.0", False),
        ("41", "68.0", True),
        # 90 % of torque: 68.7 sqrt(0.16 + 0.84 x 0.81) = 63.0 A
        ("45", "62.5", False),
        ("45", "63.5", True),
    ],
)
def test_boundaries_of_the_ambient(celsius: str, amperes: str, fires: bool) -> None:
    found = verdicts(warm(celsius, amperes), AMBIENT)
    assert found == ([("review", "warm")] if fires else [])


def test_at_1800_m_a_rise_of_class_b_allows_33_degrees() -> None:
    # 40 degC less 8 x 0.8 K (IEC 60034-1, from memory).
    assert derived(judged(high_site()), "motor.allowed-ambient").si == pytest.approx(306.75)
    assert verdicts(warm("33", "68.0", high_site()), AMBIENT) == []
    assert verdicts(warm("35", "68.0", high_site()), AMBIENT) == [("review", "warm")]


ALL = ["/event/ambient_temperature", "/drive/ambient_at_drive", "/event/liquid_temperature",
       "/site/liquid_temperature_max"]  # fmt: skip


@pytest.mark.parametrize(
    ("gone", "elevation", "shown"),
    [
        # 40 degC less 8 x 0.8 K: 33.6 degC, 92.48 degF.
        ([], "ft", ("92.48", "degF")),
        (["/event/ambient_temperature"], "ft", ("92.48", "degF")),
        (ALL, "ft", ("92.48", "degF")),
        (ALL, "m", ("33.6", "degC")),  # nothing here but a plate, which is in degC everywhere
    ],
)
def test_it_is_told_as_temperatures_are_read_there(gone, elevation, shown) -> None:
    high = q("1800", "m") if elevation == "m" else q("5905.5", "ft")
    document = without(high_site(), *gone)
    document = changed(document, {"/site/elevation": high, "/motor/ambient_rated": q("40", "degC")})
    found = derived(judged(document), "motor.allowed-ambient").shown
    assert (found.value, found.unit) == shown


@pytest.mark.parametrize(
    ("rise", "insulation", "celsius"),
    [
        # 8 x 0.6, 0.75, 0.8, 1.0 and 1.25 K below 40 degC; IEC 60034-1, from memory.
        ("A", "F", 35.2), ("E", "F", 34.0), ("B", "F", 33.6), ("F", "H", 32.0), ("H", "H", 30.0),
        ("unknown", "B", 33.6), ("unknown", "H", 30.0), ("unknown", "unknown", 32.0),
        ("unknown", "other", 32.0),
    ],
)  # fmt: skip
def test_what_altitude_takes_goes_by_the_thermal_class(rise, insulation, celsius) -> None:
    plate = {"/motor/temperature_rise_class": rise, "/motor/insulation_class": insulation}
    found = derived(judged(changed(high_site(), plate)), "motor.allowed-ambient")
    assert found.si == pytest.approx(273.15 + celsius)


def test_the_plates_own_ambient_and_altitude_go_first() -> None:
    own = {"/motor/ambient_rated": q("50", "degC"), "/motor/altitude_rated": q("2000", "m")}
    document = changed(warm("45", "68.0", high_site()), own)
    assert verdicts(document, AMBIENT) == []


def test_an_immersed_motor_has_no_air() -> None:
    judgement = judged(well())
    assert of_rule(judgement, AMBIENT) == []
    assert lacking(judgement, AMBIENT) == []


def test_missing_air_is_named() -> None:
    (missing,) = lacking(judged(without(booster(), "/event/ambient_temperature")), AMBIENT)
    assert missing.needs == ("/event/ambient_temperature",)


# -- bearings and thermal sensor ----------------------------------------------------------------


@pytest.mark.parametrize(
    ("power", "protection", "notes"),
    [
        ("75", "none", True), ("75", None, True), ("75", "unknown", True), ("74", "none", False),
        ("75", "shaft_ring", False), ("90", "insulated_bearing", False),
    ],
)  # fmt: skip
def test_bearing_currents(power: str, protection: str | None, notes: bool) -> None:
    rating = {"power": q(power, "kW"), "frequency": q("50", "Hz"), "voltage": q("400", "V")}
    motor = {"kind": "induction", "ratings": [rating], "bearing_current_protection": protection}
    document: Document = {"motor": motor, "drive": {}}
    expected = [("note", "none")] if notes else []
    assert verdicts(document, "motor.bearing-currents") == expected


def test_a_thermal_sensor_is_used() -> None:
    rule = "motor.thermal-sensor"
    unused = settings({"motor_thermal_sensor_response": "none"})
    assert verdicts(changed(booster(), unused), rule) == [("review", "unused")]
    alarm = settings({"motor_thermal_sensor_response": "alarm"})
    assert verdicts(changed(booster(), alarm), rule) == []
    assert verdicts(changed(booster(), unused | {"/motor/thermal_sensor": "none"}), rule) == []
    document = without(booster(), f"{LEFT}/motor_thermal_sensor_response")
    (missing,) = lacking(judged(document), rule)
    assert missing.needs == (f"{LEFT}/motor_thermal_sensor_response",)


@pytest.mark.parametrize(
    ("least", "expected"),
    [
        (q("-140", "ft"), []),
        (q("-56", "ft"), []),  # the pumping water stands at 56 ft
        (q("-54", "ft"), [("review", "never_covered")]),
        (q("140", "ft"), [("review", "never_covered")]),  # a depth written as a height
        (None, []),
    ],
)
def test_the_pumping_water_covers_the_motor_of_a_well(least, expected):
    document = changed(well(), {"/motor/minimum_liquid_level": least})
    assert verdicts(document, COOLING) == expected
    if expected:
        unknown = without(document, "/site/pumping_water_depth")
        assert verdicts(unknown, COOLING) == []


@pytest.mark.parametrize(
    ("changes", "expected", "asks"),
    [
        ({}, [("note", "none")], False),
        ({"/motor/immersed": True}, [], False),
        ({"/motor/immersed": None}, [("note", "none")], False),  # a fan on its shaft: it is dry
        ({"/motor/immersed": None, "/motor/enclosure": "submersible"}, [], True),
    ],
)
def test_bearings_of_motors_in_the_liquid_have_no_ring(
    changes: dict[str, object], expected: list[tuple[str, str]], asks: bool
) -> None:
    large = {"/motor/ratings/1/power": q("125", "hp"), "/motor/bearing_current_protection": None}
    document = changed(booster(), large | changes)
    assert verdicts(document, "motor.bearing-currents") == expected
    assert bool(lacking(judged(document), "motor.bearing-currents")) is asks
