"""The supply as measured; M13 for the unbalance (NEMA MG 1 12.45), limits as the rules state."""

import pytest

from tests.calculations.building import (
    booster,
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

VOLTAGES = "/event/supply/line_voltages"
UNBALANCE = "supply.unbalance"
RANGE = "supply.voltage-range"
FREQUENCY = "supply.frequency"
FIXED = {"/pump_set/drive": None}


def measured(*volts: str, **more: Document | str | int | None) -> Document:
    """The booster (480 V, drive 380 to 500 V, 10 % tolerance) with other voltages."""
    values = {VOLTAGES: [q(each, "V") for each in volts]}
    return changed(booster(), values | {k.replace("__", "/"): v for k, v in more.items()})


def direct(*volts: str) -> Document:
    """The same with a bypass: the motor can see the supply."""
    return changed(measured(*volts), {"/pump_set/bypass": "manual"})


# -- phases -------------------------------------------------------------------------------------


def test_as_many_voltages_as_the_supply_has() -> None:
    assert verdicts(booster(), "supply.phases") == []
    assert verdicts(measured("480"), "supply.phases") == [("review", "count")]
    assert verdicts(measured("480", "479"), "supply.phases") == [("review", "count")]
    single = changed(booster(), {"/site/supply_phases": 1})
    assert verdicts(single, "supply.phases") == [("review", "count")]
    assert verdicts(changed(single, {VOLTAGES: [q("480", "V")]}), "supply.phases") == []


# -- unbalance ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("volts", "percent"),
    [
        (("460", "467", "450"), "1.961"),  # M13a
        (("462", "463", "455"), "1.087"),  # M13b
        (("480", "476", "472"), "0.8403"),  # M13c; (max - min) / mean would be 1.68 %
        (("400", "395", "388"), "1.606"),  # M13d; a public example has 1.45 %, which is wrong
        (("478", "471", "484"), "1.396"),  # D03
    ],
)
def test_unbalance_as_published(volts: tuple[str, ...], percent: str) -> None:
    assert derived(judged(measured(*volts)), "supply.unbalance").shown.value == percent


def test_the_iec_figure_is_another_one() -> None:
    value = derived(judged(measured("460", "467", "450")), "supply.negative-sequence-unbalance")
    assert value.si == pytest.approx(0.021465, abs=5e-6)  # M13a


@pytest.mark.parametrize(
    ("third", "severity"),
    [
        # 480, 480, x: mean (960 + x) / 3, deviation 2 (480 - x) / (960 + x)
        ("465.5", []),  # 2.03 %, within the rounding of 0.10 %
        ("464.0", ["note"]),  # 2.25 %
        ("458.5", ["note"]),  # 3.03 %
        ("457.5", ["review"]),  # 3.18 %
        ("444.5", ["review"]),  # 5.05 %
        ("443.0", ["stop"]),  # 5.27 %
    ],
)
def test_boundaries_on_a_drive(third: str, severity: list[str]) -> None:
    found = verdicts(measured("480", "480", third), UNBALANCE)
    assert [each for each, _ in found] == severity


def test_across_the_line_two_percent_are_asked() -> None:
    (found,) = of_rule(judged(direct("480", "480", "464.0")), UNBALANCE)  # 2.25 %
    assert (found.severity, found.variant) == ("review", "direct")
    # NEMA MG 1 Fig. 14-1: 0.95 at 2.0 %, 0.93 at 2.5 %: 0.94 between them
    assert found.parameters["derating"] == "94 %"


@pytest.mark.parametrize(
    ("third", "severity"),
    # 480, 480, x: 1.40, 2.03 (0.10 % is rounding) and 2.25 %; the limit is 2 %.
    [("470.0", []), ("465.5", []), ("464.0", ["review"])],
)
def test_boundary_across_the_line(third: str, severity: list[str]) -> None:
    assert [each for each, _ in verdicts(direct("480", "480", third), UNBALANCE)] == severity


def test_a_lost_phase_is_told_once() -> None:
    judgement = judged(measured("480", "480", "0"))
    assert [(each.rule, each.severity) for each in judgement.findings] == [(UNBALANCE, "stop")]
    (waiting,) = lacking(judgement, RANGE)
    assert waiting.waits_for == UNBALANCE


@pytest.mark.parametrize(
    ("volts", "meant"),
    [
        (("48.1", "479", "478"), "481 V"),
        (("479", "4810", "478"), "481 V"),
        (("479", "478", "841"), "481 V"),
        (("479", "478", "0"), None),  # a lost phase
        (("479", "478", "277"), None),  # one was read to neutral
        (("479", "400", "48.1"), None),  # the other two are not alike
        (("505", "459", "48.1"), "481 V"),  # 4.8 % over their mean
        (("507", "457", "48.1"), None),  # 5.2 %
        # 640 V beside 460 V are 23 % of unbalance; 750 V beside 570 V are 19 %, and may be so.
        (("460", "460", "640"), "460 V"),
        (("570", "570", "750"), None),
    ],
)
def test_a_slip_in_one_of_three_is_named(volts: tuple[str, ...], meant: str | None) -> None:
    (finding,) = of_rule(judged(measured(*volts)), UNBALANCE)
    assert finding.severity == "stop"
    assert finding.parameters["meant"] == (meant or "")
    assert (finding.variant == "digits") is (meant is not None)


def test_a_single_phase_supply_has_no_unbalance() -> None:
    document = changed(measured("480"), {"/site/supply_phases": 1})
    judgement = judged(document)
    assert of_rule(judgement, UNBALANCE) == []
    assert lacking(judgement, UNBALANCE) == []


def test_missing_voltages_are_named() -> None:
    (missing,) = lacking(judged(without(booster(), VOLTAGES)), UNBALANCE)
    assert missing.needs == (VOLTAGES,)


# -- voltage range ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("volts", "fires"),
    [
        ("550", False),  # 500 V and 10 %
        ("551", True),  # beyond half a volt of rounding
        ("342", False),  # 380 V less 10 %
        ("341", True),
    ],
)
def test_boundaries_of_the_range(volts: str, fires: bool) -> None:
    expected = ("stop", "drive") if fires else ("review", "nominal")
    assert verdicts(measured(volts, volts, volts), RANGE) == [expected]


def test_a_drive_that_states_no_tolerance_gets_ten_percent() -> None:
    document = without(measured("545", "545", "545"), "/drive/input_voltage_tolerance")
    assert verdicts(document, RANGE) == [("review", "nominal")]
    stated = changed(document, {"/drive/input_voltage_tolerance": q("5", "%")})
    assert verdicts(stated, RANGE) == [("stop", "drive")]  # 525 V


@pytest.mark.parametrize(
    ("volts", "variant"),
    [("550", "nominal"), ("551", "drive"), ("342", "nominal"), ("341", "drive")],
)
def test_boundaries_of_a_range_without_a_tolerance(volts: str, variant: str) -> None:
    """500 V and 10 %, 380 V less 10 %: common practice."""
    silent = without(measured(volts, volts, volts), "/drive/input_voltage_tolerance")
    assert [each for _, each in verdicts(silent, RANGE)] == [variant]


@pytest.mark.parametrize(
    ("volts", "variant"),
    # 480 V / 1.732 = 277.1 V; 6 % less and more are 260.5 V and 293.8 V.
    [
        ("277", "phase_voltage"), ("261", "phase_voltage"), ("260", "drive"),
        ("293", "phase_voltage"), ("294", "drive"),
    ],
)  # fmt: skip
def test_line_to_neutral_is_named(volts: str, variant: str) -> None:
    assert verdicts(measured(volts, volts, volts), RANGE) == [("stop", variant)]


@pytest.mark.parametrize(("third", "waits"), [("349.5", False), ("348.5", True)])
def test_a_mean_of_what_cannot_be_together_is_not_judged(third: str, waits: bool) -> None:
    """480 V, 480 V and 349.1 V are 436.4 V in the mean, of which the last lacks a fifth."""
    judgement = judged(measured("480", "480", third))
    assert [each.waits_for for each in lacking(judgement, RANGE)] == [UNBALANCE] * waits


def test_a_motor_behind_a_drive_never_sees_the_supply() -> None:
    # 400 V motor on 480 V through a drive: 20 % above its plate, and ordinary.
    plate = {
        f"/motor/ratings/1/{name}": value
        for name, value in (("voltage", q("400", "V")), ("current", q("79.0", "A")))
    }
    assert verdicts(changed(booster(), plate), RANGE) == []


def test_over_a_bypass_the_plate_counts() -> None:
    assert verdicts(direct("480", "480", "480"), RANGE) == []  # +4.3 %
    assert verdicts(direct("505", "505", "505"), RANGE) == []  # +9.8 %
    assert verdicts(direct("512", "512", "512"), RANGE) == [("review", "plate")]  # +11.3 %


def test_a_fixed_speed_set_is_judged_by_the_plate() -> None:
    document = changed(without(measured("512", "512", "512"), "/drive", "/event/settings"), FIXED)
    assert verdicts(document, RANGE) == [("review", "plate")]


@pytest.mark.parametrize(
    ("volts", "expected"),
    [
        ("432", []),  # 90 % of 480 V
        ("431", [("review", "nominal")]),  # half a volt is 0.1 %
        ("528", []),
        ("529", [("review", "nominal")]),
    ],
)
def test_a_supply_far_from_its_nominal_voltage(volts: str, expected: list[tuple[str, str]]) -> None:
    """10 % either way: IEC 60038, from memory. The drive's own range is 342 to 550 V."""
    document = changed(booster(), {VOLTAGES: [q(f"{volts}.0", "V")] * 3})
    assert verdicts(document, "supply.voltage-range") == expected


def test_a_later_visit_need_not_read_a_supply_that_nobody_knows() -> None:
    unread = {"/event/supply": None, "/event/kind": "re_verification"}
    unknown = changed(booster(), unread | {"/site/supply_nominal_voltage": None})
    assert lacking(judged(unknown), RANGE) == []
    assert verdicts(unknown, RANGE) == []
    # With a nominal voltage the drive is held against that.
    known = changed(booster(), unread | {"/site/supply_nominal_voltage": q("230", "V")})
    assert verdicts(known, RANGE) == [("stop", "drive")]


def test_one_line_may_be_fed_to_a_drive_from_line_to_neutral() -> None:
    """480 V / sqrt(3) = 277 V into a drive for 200 to 300 V: the nominal 480 V stand."""
    document = changed(
        booster(),
        {VOLTAGES: [q("277", "V")], "/drive/input_voltage_min": q("200", "V"),
         "/drive/input_voltage_max": q("300", "V"), "/site/supply_phases": 1},
    )  # fmt: skip
    assert verdicts(document, "supply.voltage-range") == []


def test_before_the_visit_the_nominal_voltage_counts() -> None:
    document = without(
        changed(booster(), {"/site/supply_nominal_voltage": q("240", "V")}), "/event"
    )
    assert verdicts(document, RANGE) == [("stop", "drive")]


# -- frequency ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("source", "hertz", "fires"),
    [
        ("utility", "61.2", False),  # 2.0 %
        ("utility", "61.3", True),  # 2.17 %, rounding 0.08 %
        ("generator", "63.0", False),  # 5.0 %
        ("generator", "63.1", True),  # 5.17 %
        ("utility_and_generator", "61.3", True),
    ],
)
def test_boundaries_of_the_frequency(source: str, hertz: str, fires: bool) -> None:
    document = changed(
        booster(), {"/event/supply/frequency": q(hertz, "Hz"), "/site/supply_source": source}
    )
    assert bool(verdicts(document, FREQUENCY)) is fires


def test_the_other_mains_frequency_is_named() -> None:
    document = changed(booster(), {"/event/supply/frequency": q("50.0", "Hz")})
    assert verdicts(document, FREQUENCY) == [("review", "other_mains")]


def test_on_a_generator_five_percent_are_allowed() -> None:
    document = changed(
        booster(),
        {"/event/supply/frequency": q("62.0", "Hz"), "/event/supply/measured_at": "generator"},
    )
    assert verdicts(document, FREQUENCY) == []


def test_between_the_limits_the_source_must_be_known() -> None:
    document = without(
        changed(booster(), {"/event/supply/frequency": q("62.0", "Hz")}), "/site/supply_source"
    )
    (missing,) = lacking(judged(document), FREQUENCY)
    assert missing.needs == ("/site/supply_source",)


def test_across_the_line_the_plate_s_own_contradiction_comes_first() -> None:
    """480 V against a plate voltage of 230 V whose current and power are those of 460 V."""
    fixed = {"/pump_set/drive": None, "/motor/ratings/1/voltage": q("230", "V")}
    document = without(changed(booster(), fixed), "/drive", "/event/settings")
    (waiting,) = lacking(judged(document), "supply.voltage-range")
    assert waiting.waits_for == "motor.power-balance"
    low = changed(document, {"/motor/rating_in_use": 0})
    assert verdicts(low, "supply.voltage-range") == [("review", "plate")]
