"""Insulation test; E01 for the correction to 40 degC (IEEE 43-2013 6.3, from memory)."""

import pytest

from calculations import catalogue
from calculations.rules.insulation import dew_point
from tests.calculations.building import (
    booster,
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
from tests.calculations.stations import well

TEST = "/event/motor_tests/insulation"
MINIMUM = "insulation.minimum"


def measured(resistance: str, celsius: str = "20", **more: object) -> Document:
    """The booster with another reading; thermosetting at 20 degC: factor 0.7622."""
    values: dict[str, object] = {
        f"{TEST}/resistance_1_min": q(resistance, "Mohm"),
        f"{TEST}/winding_temperature": q(celsius, "degC"),
    }
    return changed(booster(), values | {k.replace("__", "/"): v for k, v in more.items()})


@pytest.mark.parametrize(
    ("resistance", "celsius", "year", "corrected"),
    [
        ("250", "25", 2020, "204.6"),  # E01a, thermosetting
        ("120", "20", 2020, "91.47"),  # E01c
        ("1000", "10", 2020, "656"),  # E01d
        ("40", "60", 2020, "90.07"),  # E01b
        ("120", "20", 1960, "30"),  # E01c, thermoplastic: half for each 10 K
    ],
)
def test_correction_to_40_degrees(resistance: str, celsius: str, year: int, corrected: str) -> None:
    document = measured(resistance, celsius, **{"/motor/year_built": year})
    assert derived(judged(document), "insulation.at-40-degrees").shown.value == corrected


@pytest.mark.parametrize(
    ("resistance", "expected"),
    [
        # At 20 degC: 5 Mohm at 40 degC are 5 / 0.7622 = 6.56 Mohm on the meter.
        ("6.50", [("stop", "low")]),  # 4.95 Mohm
        ("6.60", []),  # 5.03 Mohm
        ("0", [("stop", "low")]),
        ("2000", []),
    ],
)
def test_boundary_of_a_dry_motor(resistance: str, expected: list[tuple[str, str]]) -> None:
    document = measured(resistance)
    assert verdicts(document, MINIMUM) == expected
    assert verdicts(in_metric(document), MINIMUM) == expected


@pytest.mark.parametrize(("resistance", "expected"), [("6.1", []), ("6.0", [("stop", "low")])])
def test_rounding_of_the_reading_is_granted(
    resistance: str, expected: list[tuple[str, str]]
) -> None:
    """At 25 degC (E01a: 204.6 of 250) 5 Mohm are 6.109 Mohm on the meter; "6.1" is up to 6.15."""
    assert verdicts(measured(resistance, "25"), MINIMUM) == expected


def test_480_v_does_not_mean_1_48_megohm() -> None:
    # The rule of kV + 1 is for windings before 1970: 3 Mohm at 40 degC is too little today.
    assert verdicts(measured("3", "40"), MINIMUM) == [("stop", "low")]
    old = measured("3", "40", **{"/motor/year_built": 1962})
    assert verdicts(old, MINIMUM) == []  # 460 V: 1.46 Mohm
    old = measured("1.3", "40", **{"/motor/year_built": 1962})
    assert verdicts(old, MINIMUM) == [("stop", "low")]


@pytest.mark.parametrize(
    ("resistance", "plate", "expected"),
    [
        # Of unknown year: 460 V and 1 Mohm are 1.46 Mohm before 1970 (IEEE 43, from memory).
        ("1.46", {}, [("review", "year")]),
        ("1.45", {}, [("stop", "low")]),  # up to 1.455 by its digits
        ("4.9", {}, [("review", "year")]),
        ("5", {}, []),
        ("3", {"/motor/rewound_on": "2020-05-04"}, [("stop", "low")]),
        ("3", {"/motor/rewound_on": "1969-05-04"}, []),
    ],
)
def test_a_winding_of_unknown_year(resistance, plate, expected) -> None:
    document = changed(measured(resistance, "40", **{"/motor/year_built": None}), plate)
    assert verdicts(document, MINIMUM) == expected


def test_what_is_said_of_a_winding_of_unknown_year() -> None:
    document = measured("3", "40", **{"/motor/year_built": None})
    (found,) = of_rule(judged(document), MINIMUM)
    assert catalogue.rule(MINIMUM).sentence(found) == (
        "Insulation of 3 Mohm at 40 degC is 3 Mohm at 40 degC, below the minimum of 5 Mohm; in "
        "which year the motor was made or rewound is not known, and before 1970 it would be enough."
    )


def test_form_wound_from_1_kv_has_100_megohm() -> None:
    volts = {f"/motor/ratings/{i}/voltage": q("4160", "V") for i in (0, 1)}
    document = changed(measured("90", "40"), volts)
    assert verdicts(document, MINIMUM) == [("stop", "low")]
    assert verdicts(changed(measured("101", "40"), volts), MINIMUM) == []


@pytest.mark.parametrize(
    ("year", "resistance", "notes"),
    [
        (2026, "90", True),
        (2024, "90", True),
        (2023, "90", False),
        (2026, "101", False),
        (2026, "99.5", True),
    ],
)
def test_a_new_motor_below_100_megohm_is_noted(year: int, resistance: str, notes: bool) -> None:
    document = measured(resistance, "40", **{"/motor/year_built": year})  # visit in 2026
    assert verdicts(document, MINIMUM) == ([("note", "new")] if notes else [])


@pytest.mark.parametrize(
    ("resistance", "expected"),
    [
        ("25", []),
        ("2.1", []),  # new in its well: 2, from memory
        ("1.90", [("review", "cable")]),
        ("0.40", [("stop", "cable")]),
    ],
)
def test_boundaries_of_an_immersed_motor(resistance: str, expected: list[tuple[str, str]]) -> None:
    values = {
        f"{TEST}/resistance_1_min": q(resistance, "Mohm"),
        f"{TEST}/winding_temperature": q("40", "degC"),
    }
    assert verdicts(changed(well(), values), MINIMUM) == expected


@pytest.mark.parametrize(("resistance", "notes"), [("20.1", False), ("19.8", True)])
def test_a_new_immersed_motor_without_its_cable_has_20_megohm(resistance: str, notes: bool) -> None:
    # From memory.
    values = {
        f"{TEST}/resistance_1_min": q(resistance, "Mohm"),
        f"{TEST}/winding_temperature": q("40", "degC"), f"{TEST}/includes_cable": False,
    }  # fmt: skip
    assert verdicts(changed(well(), values), MINIMUM) == ([("note", "new")] if notes else [])


def test_a_used_immersed_motor_at_5_megohm_is_fit() -> None:
    values = {f"{TEST}/resistance_1_min": q("5", "Mohm"), "/motor/year_built": 2012}
    assert verdicts(changed(well(), values), MINIMUM) == []


def test_below_10_degrees_an_immersed_motor_is_not_judged() -> None:
    document = changed(well(), {f"{TEST}/winding_temperature": q("8", "degC")})
    judgement = judged(document)
    assert of_rule(judgement, "insulation.temperature") == []
    (missing,) = lacking(judgement, MINIMUM)
    assert "10 to 85" in missing.because


@pytest.mark.parametrize(("kind", "asked"), [("start_up", True), ("settings_change", False)])
def test_only_new_work_has_to_be_tested(kind: str, asked: bool) -> None:
    untested = changed(without(booster(), TEST), {"/event/kind": kind})
    for rule in (MINIMUM, "insulation.temperature", "insulation.test-voltage"):
        assert bool(lacking(judged(untested), rule)) is asked
        assert lacking(judged(booster()), rule) == []


def test_missing_values_are_named() -> None:
    document = without(booster(), f"{TEST}/winding_temperature", "/motor/immersed")
    (missing,) = lacking(judged(document), MINIMUM)
    assert missing.needs == (f"{TEST}/winding_temperature",)
    unknown = changed(without(booster(), "/motor/immersed"), {"/motor/cooling": "other"})
    (missing,) = lacking(judged(unknown), MINIMUM)
    assert missing.needs == ("/motor/immersed",)


def test_a_fan_on_its_shaft_shows_that_a_motor_is_dry() -> None:
    """3 Mohm at 18 degC are less than 3 Mohm at 40 degC by any law: below the 5 Mohm of IEEE
    43-2013 table 3 (from memory).
    """
    low = {f"{TEST}/resistance_1_min": q("3", "Mohm"),
           f"{TEST}/winding_temperature": q("18", "degC")}  # fmt: skip
    document = without(changed(booster(), low), "/motor/immersed")
    assert verdicts(document, MINIMUM) == [("stop", "low")]


# -- how it was made ----------------------------------------------------------------------------


def test_a_connected_drive_makes_the_reading_worthless() -> None:
    document = measured("3", **{f"{TEST}/drive_disconnected": False})
    judgement = judged(document)
    assert [each.rule for each in judgement.findings] == ["insulation.drive-connected"]
    (waiting,) = lacking(judgement, MINIMUM)
    assert waiting.waits_for == "insulation.drive-connected"


@pytest.mark.parametrize(
    ("celsius", "humidity", "dew"),
    # 17.62 t / (243.12 + t) by hand: 25 degC and 50 %: 0.94977, 243.12 x 0.94977 / 16.67023.
    [(25, 0.5, 13.852), (20, 1.0, 20.0)],
)
def test_dew_point(celsius: float, humidity: float, dew: float) -> None:
    assert dew_point(celsius + 273.15, humidity) - 273.15 == pytest.approx(dew, abs=0.005)


@pytest.mark.parametrize(
    ("celsius", "variant"),
    # Air at 21.1 degC and 45 %: dew point 8.7 degC by Magnus' formula.
    [("12", ""), ("10", ""), ("9", "range"), ("8", "dew"), ("85", ""), ("86", "range")],
)
def test_boundaries_of_the_temperature(celsius: str, variant: str) -> None:
    found = verdicts(measured("99", celsius), "insulation.temperature")
    assert found == ([("review", variant)] if variant else [])


@pytest.mark.parametrize(
    ("resistance", "expected"),
    [("99", [("review", "range")]), ("100", [("note", "high")]), ("1400", [("note", "high")])],
)
def test_far_above_the_minimum_a_cold_winding_is_no_question(
    resistance: str, expected: list[tuple[str, str]]
) -> None:
    # 20 x 5 Mohm; common practice. The minimum itself stays unjudged.
    judgement = judged(measured(resistance, "9"))
    assert [
        (f.severity, f.variant) for f in of_rule(judgement, "insulation.temperature")
    ] == expected
    assert lacking(judgement, MINIMUM)


@pytest.mark.parametrize(("celsius", "severity"), [("1", "note"), ("-1", "review")])
def test_a_frozen_winding_is_a_question_whatever_it_reads(celsius: str, severity: str) -> None:
    # Ice insulates: common practice, no source.
    dry = without(measured("1400", celsius), f"{TEST}/humidity")
    found = verdicts(dry, "insulation.temperature")
    assert [each for each, _ in found] == [severity]


@pytest.mark.parametrize(
    ("volts", "variant"),
    [
        ("500", ""), ("525", ""), ("425", ""), ("575", ""),  # within 15 %
        ("420", "low"), ("250", "low"), ("580", "high"), ("1000", "high"),
    ],
)  # fmt: skip
def test_boundaries_of_the_test_voltage(volts: str, variant: str) -> None:
    document = changed(booster(), {f"{TEST}/test_voltage": q(volts, "V")})
    found = verdicts(document, "insulation.test-voltage")
    assert found == ([("review", variant)] if variant else [])


@pytest.mark.parametrize(
    ("volts", "variant"), [("500", ""), ("1000", ""), ("1160", "high"), ("420", "low")]
)
def test_above_500_v_a_winding_is_tested_with_up_to_1000_v(volts: str, variant: str) -> None:
    # IEC 60364-6 table 6A, from memory.
    values = {f"/motor/ratings/{i}/voltage": q("575", "V") for i in (0, 1)}
    document = changed(booster(), values | {f"{TEST}/test_voltage": q(volts, "V")})
    found = verdicts(document, "insulation.test-voltage")
    assert found == ([("review", variant)] if variant else [])


# -- readings in reverse ------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("megohms", "expected"),
    [
        (("3900", "1400", "900"), [("review", "reverse")]),
        (("900", "1400", "3900"), []),
        (("1000", "899", "808"), [("review", "reverse")]),  # each below 90 % of the one before
        (("1000", "899", "810"), []),
        (("1000", "901", "700"), [("note", "falling")]),
        (("112", "111", "99"), [("note", "falling")]),
        (("150", "130", "101"), [("review", "reverse")]),
        (("150", "130", "99"), [("note", "falling")]),  # wet enough to fall by itself
    ],
)
def test_readings_from_the_last_to_the_first(megohms, expected):
    """What a dry winding absorbs falls, so that its resistance rises: common practice."""
    names = ("resistance_30_s", "resistance_1_min", "resistance_10_min")
    read = {f"{TEST}/{name}": q(value, "Mohm") for name, value in zip(names, megohms, strict=True)}
    assert verdicts(changed(booster(), read), "insulation.polarization") == expected


# -- polarization index -------------------------------------------------------------------------


def test_a_random_wound_winding_of_index_1_is_healthy() -> None:
    for ten, expected in (("2000", []), ("1850", []), ("1700", [("note", "falling")])):
        document = changed(booster(), {f"{TEST}/resistance_10_min": q(ten, "Mohm")})
        assert verdicts(document, "insulation.polarization") == expected


@pytest.mark.parametrize(("ten", "notes"), [("700", False), ("500", False), ("480", True)])
def test_a_form_wound_winding_needs_2(ten: str, notes: bool) -> None:
    # E02: 700 over 250 is 2.80; minimum 2.0 from class B up.
    volts = {f"/motor/ratings/{i}/voltage": q("4160", "V") for i in (0, 1)}
    values = {f"{TEST}/resistance_10_min": q(ten, "Mohm")}
    document = changed(measured("250"), volts | values)
    expected = [("note", "low")] if notes else []
    assert verdicts(document, "insulation.polarization") == expected


def test_numbers_of_an_index() -> None:
    document = changed(booster(), {f"{TEST}/resistance_10_min": q("1500", "Mohm")})
    (found,) = of_rule(judged(document), "insulation.polarization")
    assert (found.parameters["index"], found.parameters["least"]) == ("0.75", "0.9")


@pytest.mark.parametrize(("letter", "notes"), [("A", False), ("B", True), (None, True)])
def test_an_old_class_has_a_lower_index(letter: str | None, notes: bool) -> None:
    """IEEE 43-2013 table 2, from memory: 1.5 for class A, 2.0 from class B up. 425 / 250 = 1.7."""
    volts = {f"/motor/ratings/{i}/voltage": q("4160", "V") for i in (0, 1)}
    values = {f"{TEST}/resistance_10_min": q("425", "Mohm"), "/motor/insulation_class": letter}
    document = changed(measured("250"), volts | values)
    assert verdicts(document, "insulation.polarization") == ([("note", "low")] if notes else [])


def test_above_5000_megohm_the_index_says_nothing() -> None:
    # E02b: 6200 Mohm at 40 degC, index 1.2
    volts = {f"/motor/ratings/{i}/voltage": q("4160", "V") for i in (0, 1)}
    values = {f"{TEST}/resistance_10_min": q("7440", "Mohm")}
    document = changed(measured("6200", "40"), volts | values)
    assert verdicts(document, "insulation.polarization") == []


def test_without_ten_minutes_nothing_is_asked() -> None:
    assert lacking(judged(booster()), "insulation.polarization") == []


def test_the_dew_point_is_left_open_where_the_motor_may_be_immersed() -> None:
    """Winding at 50 degF, air at 70 degF and 70 %: dew point 60 degF."""
    wet = {
        "/event/motor_tests/insulation/winding_temperature": q("50", "degF"),
        "/event/motor_tests/insulation/humidity": q("70", "%"),
    }
    unsaid = without(changed(booster(), wet), "/motor/immersed")
    document = changed(unsaid, {"/motor/cooling": "other"})
    (missing,) = lacking(judged(document), "insulation.temperature")
    assert missing.needs == ("/motor/immersed",)
    assert verdicts(changed(booster(), wet), "insulation.temperature") == [("review", "dew")]


def test_of_an_immersed_motor_it_has_to_be_known_whether_the_cable_was_in_it() -> None:
    """6 Mohm at 60 degF are 4.3 Mohm at 40 degC: enough through a cable, not at the winding."""
    document = changed(
        well(),
        {"/event/motor_tests/insulation/resistance_1_min": q("6", "Mohm"),
         "/event/motor_tests/insulation/resistance_30_s": q("6", "Mohm")},
    )  # fmt: skip
    assert verdicts(document, "insulation.minimum") == []
    open_ = without(document, "/event/motor_tests/insulation/includes_cable")
    (missing,) = lacking(judged(open_), "insulation.minimum")
    assert missing.needs == ("/event/motor_tests/insulation/includes_cable",)


@pytest.mark.parametrize(
    ("answer", "expected"), [(True, []), (None, []), (False, [("review", "charged")])]
)
def test_a_winding_that_was_not_discharged(answer, expected):
    """IEEE 43-2013, from memory."""
    document = changed(booster(), {"/event/motor_tests/insulation/discharged": answer})
    assert verdicts(document, "insulation.discharged") == expected
