"""Motor current under load; the torque model by hand, its no-load share from memory."""

import pytest

from calculations.rules.load import model_margin, no_load_range
from tests.calculations.building import (
    booster,
    case,
    changed,
    derived,
    in_metric,
    judged,
    lacking,
    of_rule,
    q,
    verdicts,
    without,
)
from tests.calculations.building_plates import Document
from tests.calculations.stations import permanent_magnet, settings, well

NAMEPLATE = "load.current-nameplate"
EXPECTED = "load.current-expected"
POINT = "/event/duty_points/0"


def drew(amperes: str, station: Document | None = None) -> Document:
    """A station whose motor drew another current at the first point; exact ammeter."""
    document = without(station or booster(), f"{POINT}/instruments")
    return changed(document, {f"{POINT}/currents_drive_output": [q(amperes, "A")] * 3})


@pytest.mark.parametrize(
    ("amperes", "severity"),
    [
        # Plate 68.7 A; rounding 0.07 % on both sides
        ("72.1", []),  # 104.95 %
        ("72.3", ["review"]),  # 105.24 %
        ("79.0", ["review"]),  # 114.99 %
        ("79.3", ["stop"]),  # 115.43 %
    ],
)
def test_boundaries_against_the_plate(amperes: str, severity: list[str]) -> None:
    found = verdicts(drew(amperes), NAMEPLATE)
    assert [each for each, _ in found] == severity


def test_the_ammeter_is_allowed_its_accuracy() -> None:
    # 1 % of reading: 72.3 A could be 71.6 A, 104.2 %
    document = changed(booster(), {f"{POINT}/currents_drive_output": [q("72.3", "A")] * 3})
    assert verdicts(document, NAMEPLATE) == []


@pytest.mark.parametrize(("amperes", "fires"), [("95", False), ("100", False), ("102", True)])
def test_an_immersed_motor_may_use_its_service_factor(amperes: str, fires: bool) -> None:
    # 96.0 A at the service factor; 105 % are 100.8 A
    assert bool(verdicts(drew(amperes, well()), NAMEPLATE)) is fires


def test_across_the_line_the_service_factor_holds() -> None:
    # 76 A is 110.6 % of the plate, within 1.15 and 5 %
    fixed = without(drew("52.7"), "/drive", "/event/settings")
    fixed = changed(fixed, {"/pump_set/drive": None})
    for amperes, expected in (("76.0", []), ("84.0", [("review", "across_the_line")])):
        document = changed(fixed, {f"{POINT}/currents_drive_input": [q(amperes, "A")] * 3})
        assert verdicts(document, NAMEPLATE) == expected


def across(*readings: str, at: str = f"{POINT}/currents_drive_input", **supply: object) -> Document:
    """The booster's first point alone, across the line, with its currents read somewhere else."""
    fixed = without(booster(), "/drive", "/event/settings", f"{POINT}/instruments",
                    f"{POINT}/currents_drive_output", "/event/duty_points/2",
                    "/event/duty_points/1", "/event/supply/under_load")  # fmt: skip
    given = {f"/event/supply/{name}": value for name, value in supply.items()}
    return changed(fixed, {"/pump_set/drive": None, at: [q(v, "A") for v in readings], **given})


SUPPLY, MEASURED = "/event/supply/currents", "/event/supply/measured_at"


@pytest.mark.parametrize("at", [
    f"{POINT}/currents_drive_input", f"{POINT}/currents_drive_output",
    f"{POINT}/currents_drive_display", SUPPLY,
])  # fmt: skip
def test_across_the_line_a_current_is_the_motors_wherever_it_is_read(at: str) -> None:
    # 1.15 x 68.7 A x 1.05 are 82.95 A. Kirchhoff: one current all along the line.
    told = [("review", "across_the_line")]
    assert verdicts(across("84.0", "84.0", "84.0", at=at), NAMEPLATE) == told
    assert verdicts(across("82.0", "82.0", "82.0", at=at), NAMEPLATE) == []
    # Largest deviation of 60, 60, 75 from 65: 15.4 %
    uneven = across("60.0", "60.0", "75.0", at=at)
    assert verdicts(uneven, "winding.current-unbalance") == [("review", "unexplained")]


@pytest.mark.parametrize(("where", "severity"), [
    ("drive_input", "stop"), ("incoming_terminals", "review"), ("generator", "review"),
])  # fmt: skip
def test_what_else_hangs_on_the_supply_may_be_in_its_currents(where: str, severity: str) -> None:
    # 100 A are 126.6 % of 79.0 A
    document = across("100", "100", "100", at=SUPPLY, measured_at=where)
    assert verdicts(document, NAMEPLATE) == [(severity, "across_the_line")]


@pytest.mark.parametrize("rule", ["winding.current-unbalance", "load.current-expected"])
def test_what_else_hangs_on_the_supply_is_not_laid_to_the_motor(rule: str) -> None:
    uneven = across("60.0", "60.0", "90.0", at=SUPPLY, measured_at="drive_input")
    assert verdicts(uneven, "winding.current-unbalance") != []
    (missing,) = lacking(judged(changed(uneven, {MEASURED: "incoming_terminals"})), rule)
    assert missing.needs == (f"{POINT}/currents_drive_input",)


def test_no_relay_trips_by_what_else_hangs_on_the_supply() -> None:
    setting = {"/event/settings": {"as_left": {"overload_current": q("68.7", "A")}}}
    document = changed(across("78", "78", "78", at=SUPPLY, measured_at="drive_input"), setting)
    assert verdicts(document, "motor.overload-relay") == [("review", "at_plate")]
    shared = changed(document, {MEASURED: "incoming_terminals"})
    assert verdicts(shared, "motor.overload-relay") == []


@pytest.mark.parametrize("change", [
    {"/event/supply/under_load": False},
    {f"{POINT}/other_pumps_running": 1},
    {"/event/duty_points/1": {"purpose": "minimum"}},
])  # fmt: skip
def test_other_currents_of_the_supply_are_not_the_motors(change: Document) -> None:
    document = across("84.0", "84.0", "84.0", at=SUPPLY)
    document["event"]["duty_points"] += [{}] if "/event/duty_points/1" in change else []
    missing = lacking(judged(changed(document, change)), NAMEPLATE)
    assert missing[0].needs == (f"{POINT}/currents_drive_input",)


def test_the_supplys_currents_are_not_those_behind_a_drive() -> None:
    document = without(booster(), *(f"/event/duty_points/{n}" for n in (2, 1)),
                       f"{POINT}/currents_drive_output")  # fmt: skip
    document = changed(document, {SUPPLY: [q("90", "A")] * 3})
    (missing,) = lacking(judged(document), NAMEPLATE)
    assert missing.needs == (f"{POINT}/currents_drive_output",)


def test_currents_of_the_drive_input_are_no_answer() -> None:
    document = changed(
        without(booster(), f"{POINT}/currents_drive_output"),
        {f"{POINT}/currents_drive_input": [q("90", "A")] * 3},
    )
    (missing,) = lacking(judged(document), NAMEPLATE)
    assert missing.needs == (f"{POINT}/currents_drive_output",)


def test_the_drives_own_display_will_do() -> None:
    document = changed(
        without(drew("52.7"), f"{POINT}/currents_drive_output"),
        {f"{POINT}/currents_drive_display": [q("80.0", "A")]},
    )
    assert verdicts(document, NAMEPLATE) == [("stop", "above")]


# -- torque model -------------------------------------------------------------------------------


def test_the_model_by_hand() -> None:
    # 29.4 kW at 1630 rpm: 172 N.m of 240.7; 68.7 sqrt(0.16 + 0.84 x 0.7145^2) = 52.7 A
    value = derived(judged(booster()), "duty.expected-current", POINT)
    assert value.si == pytest.approx(52.7, rel=0.01)
    # Not by the cube of the speed: 68.7 x (1630 / 1775)^3 would be 53.2 A here, but 68.7 x
    # (1289 / 1775)^3 = 26.3 A at the last point, where 37.8 A are right.
    value = derived(judged(booster()), "duty.expected-current", "/event/duty_points/2")
    assert value.si == pytest.approx(37.8, rel=0.01)


@pytest.mark.parametrize(
    ("factor", "highest"),
    [
        ("0.86", 0.5),  # 0.95 sqrt(1 - 0.86^2) = 0.4848: less than usual motors have
        ("0.63", 0.7378),  # 0.95 x 0.7766; the share is from memory
    ],
)
def test_a_low_power_factor_leaves_more_no_load_current_open(factor: str, highest: float) -> None:
    document = changed(booster(), {f"/motor/ratings/{i}/power_factor": factor for i in (0, 1)})
    assert no_load_range(case(document)) == (0.3, pytest.approx(highest, abs=1e-4))


def test_what_it_leaves_open_by_hand() -> None:
    # Torque 0.708: I / I_n is 0.762 with 0.4 for k, 0.879 with 0.7378, 0.739 with 0.3.
    values = {f"/motor/ratings/{i}/power_factor": "0.63" for i in (0, 1)}
    subject = case(changed(booster(), values))
    assert model_margin(subject, POINT, above=True) == pytest.approx(0.153, abs=0.002)
    assert model_margin(subject, POINT, above=False) == pytest.approx(0.030, abs=0.002)


def test_a_magnet_motor_draws_in_proportion_to_torque() -> None:
    # 0.721 x 74.0 A = 53.4 A
    value = derived(judged(permanent_magnet()), "duty.expected-current", POINT)
    assert value.si == pytest.approx(53.4, rel=0.015)


@pytest.mark.parametrize(("amperes", "expected"), [("60.5", []), ("62.5", [("note", "high")])])
def test_no_magnetizing_current_leaves_nothing_open(amperes, expected) -> None:
    """53.4 A to within 1.5 %: 13.3 % more, and 17.0 %; k from 0.3 to 0.5 would leave 3.5 % open."""
    assert verdicts(drew(amperes, permanent_magnet()), EXPECTED) == expected


@pytest.mark.parametrize(
    ("amperes", "severity"),
    [
        # Expected 52.3 A by the fitted curve. What k leaves open: with 0.3 and 0.5 for 0.4 the
        # model gives 50.5 and 54.6 A at torque 0.708: 3.4 % less, 4.4 % more.
        ("61.5", []),  # +17.6 %
        ("62.0", []),  # +18.5 %, with the digits 15 + 4.4 + 0.1 %
        ("62.5", ["note"]),  # +19.5 %
        ("63.0", ["note"]),  # +20.5 %
        ("64.0", ["note"]),  # +22.4 %
        ("64.6", ["note"]),  # +23.5 %
        ("65.1", ["review"]),  # +24.5 %
        ("66.0", ["review"]),  # +26.2 %
        ("43.0", []),  # -17.8 %
        ("41.5", ["note"]),  # -20.7 %
        ("39.0", ["review"]),  # -25.4 %
    ],
)
def test_boundaries_against_the_model(amperes: str, severity: list[str]) -> None:
    document = drew(amperes)
    assert [each for each, _ in verdicts(document, EXPECTED)] == severity
    assert [each for each, _ in verdicts(in_metric(document), EXPECTED)] == severity


def test_half_of_parallel_leads_is_named() -> None:
    assert verdicts(drew("26.2"), EXPECTED) == [("review", "half")]


def test_one_conductor_has_no_parallel_lead() -> None:
    one = changed(drew("26.2"), {"/drive/motor_cable_conductors_in_parallel": 1})
    assert verdicts(one, EXPECTED) == [("review", "low")]


@pytest.mark.parametrize(
    ("amperes", "variant"),
    [("38.0", "low"), ("38.5", "input"), ("41.0", "input")],
)
def test_the_current_of_the_drives_input_is_named(amperes: str, variant: str) -> None:
    """31.9 kW at 480 V are 38.4 A at a power factor of 1 (45.1 A at 0.85, common practice)."""
    assert verdicts(drew(amperes), EXPECTED)[0][1] == variant


def test_less_flux_by_intention_is_no_more_than_a_note() -> None:
    quadratic = settings({"control_mode": "volts_per_hertz_quadratic"})
    assert verdicts(changed(drew("38.0"), quadratic), EXPECTED) == [("note", "low")]


def test_without_curve_the_output_power_tells_the_load() -> None:
    # 30.9 kW x 0.95 = 29.4 kW
    document = without(drew("66.0"), "/pump/curve_points")
    assert verdicts(document, EXPECTED) == [("review", "high")]
    document = without(document, f"{POINT}/power_drive_output")
    places = [each.needs for each in lacking(judged(document), EXPECTED)]
    assert ("/pump/curve_points",) in places


def test_what_the_plate_already_tells_is_told_once() -> None:
    judgement = judged(drew("80.0"))
    assert [each.rule for each in of_rule(judgement, NAMEPLATE)] == [NAMEPLATE]
    (waiting,) = lacking(judgement, EXPECTED)
    assert waiting.waits_for == NAMEPLATE


def test_a_point_without_frequency_is_not_judged() -> None:
    document = without(booster(), f"{POINT}/frequency")
    missing = lacking(judged(document), EXPECTED)
    assert [each.needs for each in missing] == [(f"{POINT}/frequency",)]


def test_no_points_at_a_start_up_are_named() -> None:
    document = without(booster(), "/event/duty_points")
    for rule in (NAMEPLATE, EXPECTED):
        (missing,) = lacking(judged(document), rule)
        assert missing.needs == ("/event/duty_points",)


def test_the_limits_are_told_as_shares_of_the_plate() -> None:
    """5 and 15 % above it."""
    (found,) = of_rule(judged(drew("79.3")), NAMEPLATE)
    assert found.limit == "105 % review, 115 % stop"
