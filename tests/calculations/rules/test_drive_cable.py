"""Motor cable: length, reflected wave and voltage drop; E05, E06."""

import pytest

from calculations.judging import finding_document
from calculations.rules.drive_cable import is_unfiltered, may_reflect
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
from tests.calculations.rules.test_scope import fixed
from tests.calculations.stations import well

FILTER = "drive.output-filter-setting"
CARRIER = "drive.carrier-for-filter"
LENGTH = "drive.cable-length"
WAVE = "drive.reflected-wave"
DROP = "drive.cable-voltage-drop"


@pytest.mark.parametrize(("feet", "fires"), [("300", False), ("301", True)])
def test_the_drives_own_cable_limit(feet: str, fires: bool) -> None:
    document = changed(booster(), {"/drive/motor_cable_length": q(feet, "ft")})
    assert bool(verdicts(document, LENGTH)) is fires
    assert bool(verdicts(in_metric(document), LENGTH)) is fires


def plain_motor(metres: str, **more: object) -> Document:
    """The booster with a motor that states nothing, and another length of cable."""
    document = without(booster(), "/motor/peak_voltage_limit", "/motor/inverter_suitability")
    limit = {"/drive/maximum_motor_cable_length": q("300", "m")}
    return changed(document, {"/drive/motor_cable_length": q(metres, "m")} | limit | more)


@pytest.mark.parametrize(
    ("metres", "immersed", "expected"),
    [
        ("7.4", False, []),  # E05a: 0.1 us and 150 m/us give 7.5 m
        ("7.6", False, [("note", "near")]),
        ("30.0", False, [("note", "near")]),
        ("30.1", False, [("review", "far")]),
        ("15.0", True, [("note", "near")]),
        ("15.1", True, [("review", "far")]),
    ],
)
def test_boundaries_of_the_reflected_wave(
    metres: str, immersed: bool, expected: list[tuple[str, str]]
) -> None:
    assert verdicts(plain_motor(metres, **{"/motor/immersed": immersed}), WAVE) == expected


REACTOR = {"/drive/output_filter_fitted": "reactor"}


@pytest.mark.parametrize(
    ("metres", "immersed", "expected"),
    [
        # 100 m and 50 m: common practice, no source. A reactor slows the rise; it stops no wave.
        ("7.6", False, []),
        ("100", False, []),
        ("101", False, [("review", "far_slowed")]),
        ("50", True, []),
        ("51", True, [("review", "far_slowed")]),
    ],
)
def test_a_reactor_alone_does_for_a_cable_of_middling_length(metres, immersed, expected) -> None:
    document = plain_motor(metres, **REACTOR, **{"/motor/immersed": immersed})
    assert verdicts(document, WAVE) == expected
    assert verdicts(in_metric(document), WAVE) == expected


@pytest.mark.parametrize(("bears", "expected"), [
    ("1000", [("review", "peak_slowed")]), ("1426", []),  # 1290 V at the most
])  # fmt: skip
def test_behind_a_reactor_the_motors_peak_counts(bears, expected) -> None:
    peak = {"/motor/peak_voltage_limit": q(bears, "V")}
    assert verdicts(plain_motor("150", **REACTOR, **peak), WAVE) == expected
    assert verdicts(plain_motor("60", **REACTOR, **peak), WAVE) == []
    stated = {"/motor/inverter_suitability": "yes_stated"}
    assert verdicts(plain_motor("150", **REACTOR, **stated), WAVE) == []


def test_what_makes_a_long_cable_ordinary() -> None:
    far = plain_motor("100")
    assert verdicts(far, WAVE) == [("review", "far")]
    for change in (
        {"/motor/inverter_suitability": "yes_stated"},
        {"/motor/peak_voltage_limit": q("1426", "V")},  # 3.1 x 460 V; 1290 V reach it
        {"/drive/output_filter_fitted": "dv_dt"},
        {"/site/supply_nominal_voltage": q("240", "V")},
    ):
        assert verdicts(changed(far, change), WAVE) == []


@pytest.mark.parametrize(("volts", "expected"), [("379", []), ("380", [("review", "far")])])
def test_the_voltage_from_which_waves_matter(volts, expected) -> None:
    supply = {"/site/supply_nominal_voltage": q(volts, "V")}
    assert verdicts(plain_motor("100", **supply), WAVE) == expected


def test_peak_at_the_motor() -> None:
    # E06: 1.9 x sqrt(2) x 480 V = 1290 V
    assert derived(judged(booster()), "drive.terminal-peak").shown.value == "1290"
    bears = changed(booster(), {"/motor/peak_voltage_limit": q("1000", "V")})
    assert verdicts(bears, WAVE) == [("review", "peak")]


def drop(conductor: str, metres: str, **more: object) -> Document:
    """The booster (68.7 A, cos phi 0.86, 460 V) with another cable."""
    values = {
        "/drive/motor_cable_conductor": conductor,
        "/drive/motor_cable_length": q(metres, "m"),
        "/drive/maximum_motor_cable_length": q("1000", "m"),
    }
    return changed(booster(), values | more)


@pytest.mark.parametrize(
    ("metres", "expected"),
    [
        # 3 AWG, 26.67 mm2, at 75 degC: 0.01724 x 1.2161 / 26.67 = 0.7861 mohm/m
        # sqrt(3) 68.7 (0.7861 x 0.86 + 0.08 x 0.51) = 85.30 mV/m, 0.01854 % per m
        ("160", []),  # 2.97 %
        ("163", [("note", "cable")]),  # 3.02 %
        ("268", [("note", "cable")]),  # 4.97 %
        ("271", [("review", "cable")]),  # 5.03 %
    ],
)
def test_boundaries_of_the_voltage_drop(metres: str, expected: list[tuple[str, str]]) -> None:
    assert verdicts(drop("3 AWG", metres), DROP) == expected


@pytest.mark.parametrize(("metres", "expected"), [("162", []), ("165", [("note", "cable")])])
def test_a_usual_power_factor_where_the_plate_has_none(metres, expected) -> None:
    """0.7861 x 0.85 + 0.08 x 0.527 = 0.710: 84.5 mV/m, 0.01838 % per m; common practice."""
    document = without(drop("3 AWG", metres), "/motor/ratings/1/power_factor")
    assert verdicts(document, DROP) == expected


def test_the_filter_counts() -> None:
    filtered = {
        "/drive/output_filter_fitted": "sine_wave", "/drive/filter_voltage_drop": q("4", "%")
    }  # fmt: skip
    assert verdicts(drop("3 AWG", "20", **filtered), DROP) == []  # 4.4 %, as it usually loses
    volts = filtered | {"/drive/filter_voltage_drop": q("38", "V")}
    assert verdicts(drop("3 AWG", "20", **volts), DROP) == [("note", "filter_alone")]  # 8.3 + 0.4 %
    unknown = without(drop("3 AWG", "20", **filtered), "/drive/filter_voltage_drop")
    (missing,) = lacking(judged(unknown), DROP)
    assert missing.needs == ("/drive/filter_voltage_drop",)


@pytest.mark.parametrize(
    ("fitted", "lost", "metres", "expected"),
    [
        # 4 to 8 % in a sine-wave filter are ordinary (common practice); 0.01854 % per m of cable.
        ("sine_wave", "4", "20", []),  # 4.37 %
        ("sine_wave", "6", "106", []),  # 7.97 %
        ("sine_wave", "6", "110", [("note", "filter")]),  # 8.04 %
        ("sine_wave", "8.1", "20", [("note", "filter_alone")]),
        ("sine_wave", "8", "107", [("note", "filter")]),  # 9.98 %
        ("sine_wave", "1", "160", []),  # 2.97 % in the cable alone
        ("sine_wave", "1", "163", [("note", "filter")]),  # 3.02 %
        ("sine_wave", "8", "109", [("review", "filter")]),  # 10.02 %
        ("sine_wave", "1", "271", [("review", "filter")]),  # 5.03 % in the cable alone
        ("sine_wave", "1", "268", [("note", "filter")]),
        ("dv_dt", "4.5", "26", [("note", "filter_alone")]),  # 4.98 %
        ("dv_dt", "4.5", "28", [("review", "filter")]),  # 5.02 %
    ],
)
def test_what_a_sine_wave_filter_loses_is_granted(fitted, lost, metres, expected) -> None:
    filtered = {"/drive/output_filter_fitted": fitted, "/drive/filter_voltage_drop": q(lost, "%")}
    assert verdicts(drop("3 AWG", metres, **filtered), DROP) == expected


@pytest.mark.parametrize(
    ("lost", "remedy"),
    [
        # 60 Hz less 9 % and 0.37 % of 20 m of cable: 54.4 Hz
        ("9", "the filter alone loses 9 %: full flux ends at about 54.4 Hz"),
        ("7.9", "Take a larger conductor"),  # 8.27 %: without the cable it would pass
    ],
)
def test_no_conductor_cures_what_the_filter_loses(lost: str, remedy: str) -> None:
    filtered = {
        "/drive/output_filter_fitted": "sine_wave", "/drive/filter_voltage_drop": q(lost, "%")
    }  # fmt: skip
    (finding,) = of_rule(judged(drop("3 AWG", "20", **filtered)), DROP)
    assert remedy in str(finding_document(finding, "")["remedy"])


def test_a_long_well_cable_with_a_filter_is_ordinary() -> None:
    for rule in (LENGTH, WAVE, DROP, CARRIER, FILTER):
        assert verdicts(well(), rule) == []


@pytest.mark.parametrize(
    ("allowed", "expected"),
    [
        # 100 m to a motor that states nothing: 30 m at most, noted from 7.5 m (from memory).
        ("60", [("review", "far")]),  # shortened to 60 m it is still too long
        ("20", [("note", "near")]),  # shortened to 20 m it would do
    ],
)
def test_a_cable_too_long_for_the_drive_hides_no_reflected_wave(
    allowed: str, expected: list[tuple[str, str]]
) -> None:
    document = plain_motor("100", **{"/drive/maximum_motor_cable_length": q(allowed, "m")})
    assert verdicts(document, LENGTH) == [("review", "long")]
    assert verdicts(document, WAVE) == expected


@pytest.mark.parametrize(
    ("document", "expected"), [(booster(), True), (well(), False), (fixed(), False)]
)
def test_pulses_reach_a_motor_from_a_drive_without_a_filter(
    document: Document, expected: bool
) -> None:
    """The well has a sine-wave filter; across the line nothing pulses."""
    assert is_unfiltered(case(document)) is expected
    assert may_reflect(case(document)) is expected


AT_690 = REACTOR | {"/site/supply_nominal_voltage": q("690", "V")}


@pytest.mark.parametrize(
    ("metres", "immersed", "expected"),
    [
        # sqrt(2) 690 V = 975.8 V. What reaches a motor at 500 V and 100 m: 1.9 x 707.1 = 1343.5 V.
        # 975.8 (1 + 0.9 x) = 1343.5 at x = 0.4187: 41.9 m, immersed (50 m) 20.9 m.
        ("41", False, []),
        ("42.0", False, [("review", "far_slowed")]),
        ("60", False, [("review", "far_slowed")]),
        ("20.8", True, []),
        ("21.0", True, [("review", "far_slowed")]),
    ],
)
def test_above_500_v_a_reactor_does_for_less(metres, immersed, expected) -> None:
    """Travelling waves; that the wave grows in proportion up to 100 m: common practice."""
    document = plain_motor(metres, **AT_690, **{"/motor/immersed": immersed})
    assert verdicts(document, WAVE) == expected


def test_what_may_reach_a_motor_at_690_v() -> None:
    """At 60 m of 100 m: 975.8 (1 + 0.9 x 0.6) = 1503 V."""
    (found,) = of_rule(judged(plain_motor("60", **AT_690)), WAVE)
    assert found.parameters["peak"] == "1500 V"


@pytest.mark.parametrize(
    ("bears", "metres", "expected"),
    [
        # 1800 V are reached at x = (1800 / 975.8 - 1) / 0.9 = 0.9385, 93.9 m; 1854 V at the most.
        ("1800", "60", []),
        ("1800", "93", []),
        ("1800", "95", [("review", "peak_slowed")]),
        ("1860", "150", []),
        ("900", "8.0", [("review", "peak_slowed")]),  # not even the d.c. link's 976 V
    ],
)
def test_a_stated_peak_counts_at_690_v_as_well(bears, metres, expected) -> None:
    peak = {"/motor/peak_voltage_limit": q(bears, "V")}
    assert verdicts(plain_motor(metres, **AT_690, **peak), WAVE) == expected


@pytest.mark.parametrize(("volts", "expected"), [("500", []), ("501", [("review", "far_slowed")])])
def test_up_to_500_v_the_lengths_stand(volts, expected) -> None:
    """At 501 V 708.5 (1 + 0.9 x) = 1343.5 V at x = 0.9959, 99.6 m."""
    supply = REACTOR | {"/site/supply_nominal_voltage": q(volts, "V")}
    assert verdicts(plain_motor("99.9", **supply), WAVE) == expected


FAR, NEAR = [("review", "far")], [("note", "near")]


@pytest.mark.parametrize(
    ("volts", "metres", "expected"),
    [
        # E05a: the whole wave is back from 7.5 m on; at 690 V 1.9 x 976 = 1854 V.
        ("690", "7.4", []),
        ("690", "7.6", FAR),
        ("690", "25", FAR),
        ("690", "60", FAR),
        # MG 1 30.2.2.8 (from memory) knows motors of 600 V at the most: 1.9 x 849 = 1612 V.
        ("600", "7.6", NEAR),
        ("600", "25", NEAR),
        ("600", "31", FAR),
        ("601", "7.6", FAR),
    ],
)
def test_above_600_v_a_few_metres_without_a_filter_are_asked_about(volts, metres, expected) -> None:
    """A motor that states nothing is taken to bear what 600 V make of a long cable; no source."""
    document = plain_motor(metres, **{"/site/supply_nominal_voltage": q(volts, "V")})
    assert verdicts(document, WAVE) == expected


def test_a_motor_for_690_v_on_a_drive_is_not_asked_about() -> None:
    """Stated as such, or with the 2139 V (3.1 x 690 V) of MG 1 31.4.4.2, from memory."""
    at_690 = {"/site/supply_nominal_voltage": q("690", "V")}
    suited = plain_motor("25", **at_690, **{"/motor/inverter_suitability": "yes_stated"})
    stated = plain_motor("25", **at_690, **{"/motor/peak_voltage_limit": q("2139", "V")})
    assert verdicts(suited, WAVE) == verdicts(stated, WAVE) == []
