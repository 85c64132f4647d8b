"""Winding resistance of the booster's 60 hp, 95.0 %, 68.7 A against its losses.

44.74 kW / 0.95 - 44.74 kW = 2355 W; 1.5 I2 R = 7080 A2 R, so that all losses are 0.3326 ohm,
4 % of them 13.3 mohm, 250 % 0.8315 ohm. 1.5 I2 R: IEC 60034-2-1; band: common practice, no source.
"""

from collections.abc import Callable

import pytest

from tests.calculations import stations
from tests.calculations.building import (
    booster,
    changed,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_plates import Document, q

RULE = "winding.resistance-level"
VALUES = "/event/motor_tests/winding_resistance/values"


def of(value: str, unit: str = "ohm", document: Document | None = None) -> Document:
    return changed(document or booster(), {VALUES: [q(value, unit)] * 3})


@pytest.mark.parametrize(
    ("ohms", "expected"),
    [
        ("0.112", []),
        ("0.0134", []),
        ("0.0132", [("review", "low")]),
        ("0.829", []),
        ("0.834", [("review", "high")]),
        ("112", [("review", "high")]),
    ],
)
def test_band(ohms: str, expected: list[tuple[str, str]]) -> None:
    assert verdicts(of(ohms), RULE) == expected


@pytest.mark.parametrize(
    ("value", "unit", "meant"),
    [
        ("112.0", "ohm", "112.0 mohm"),
        ("0.112", "mohm", "0.112 ohm"),
        ("1.12", "ohm", "0.112 ohm"),
        ("11.20", "ohm", "0.112 ohm"),
    ],
)
def test_the_slip_is_named(value: str, unit: str, meant: str) -> None:
    (finding,) = of_rule(judged(of(value, unit)), RULE)
    assert finding.parameters["probably"] == f"Probably {meant}. "


@pytest.mark.parametrize(
    ("value", "meant"),
    [("0.0112", "0.112 ohm"), ("0.00112", "0.112 ohm"), ("1.12", "0.112 ohm")],
)
def test_a_point_moved_to_either_side_is_named(value: str, meant: str) -> None:
    (finding,) = of_rule(judged(of(value)), RULE)
    assert float(finding.parameters["probably"].split()[1]) == float(meant.split()[0])


def test_the_first_reading_is_the_one_told() -> None:
    several = changed(booster(), {VALUES: [q(each, "ohm") for each in ("1.10", "1.12", "1.13")]})
    (finding,) = of_rule(judged(several), RULE)
    assert (finding.parameters["read"], finding.limit) == (
        "1.10 ohm", "4 % to 250 % of the plate's losses",
    )  # fmt: skip


def test_what_is_usual_is_told_in_ohms():
    """13.3 mohm are 4 % of the plate's losses: 0.33 ohm are all of them, the band's middle less."""
    (finding,) = of_rule(judged(of("112")), RULE)
    (usual,) = (each.shown for each in finding.compared if each.name == "usual")
    assert usual.unit == "ohm"
    assert 0.1 <= float(usual.value) <= 0.3325


def test_it_is_named_without_the_drives_own_figure_as_well() -> None:
    alone = without(booster(), "/event/identification_run")
    (finding,) = of_rule(judged(of("112", "ohm", alone)), RULE)
    assert finding.parameters["probably"] == "Probably 112 mohm. "


@pytest.mark.parametrize(
    "make", [stations.well, stations.permanent_magnet, stations.eighty_seven_hertz]
)
def test_other_good_motors_are_silent(make: Callable[[], Document]) -> None:
    assert verdicts(make(), RULE) == []


def test_another_link_of_the_winding_stays_within() -> None:
    """In series instead of parallel: four times 0.112 ohm."""
    assert verdicts(of("0.448"), RULE) == []


def test_it_waits_where_another_rating_may_be_linked() -> None:
    """Set for 460 V, said to be linked for 230 V: which current is the winding's is open."""
    (waiting,) = lacking(judged(changed(booster(), {"/motor/rating_in_use": 0})), RULE)
    assert waiting.waits_for == "drive.volts-per-hertz"


def test_a_plate_without_efficiency_is_not_passed() -> None:
    document = without(booster(), "/motor/ratings/1/efficiency")
    (missing,) = lacking(judged(document), RULE)
    assert missing.needs == ("/motor/ratings/1/efficiency",)


def test_a_winding_without_resistance_was_not_read() -> None:
    (missing,) = lacking(judged(of("0")), RULE)
    assert (missing.needs, missing.because) == ((VALUES,), "expected more than 0")


def test_what_is_usual_of_a_larger_current_is_told_in_milliohms() -> None:
    """22 kW / 0.93 - 22 kW = 1656 W; 1.5 x 72.5^2 = 7884 A2: all losses are 210 mohm."""
    (finding,) = of_rule(judged(of("112", "ohm", stations.eighty_seven_hertz())), RULE)
    (usual,) = (each.shown for each in finding.compared if each.name == "usual")
    assert usual.unit == "mohm"
    assert 8.4 <= float(usual.value) < 100


@pytest.mark.parametrize(
    ("value", "meant"),
    # The drive's own 0.056 ohm x 1.4 = 0.0784 ohm; 0.4 to 2.5 times that are 0.031 to 0.196 ohm.
    [
        ("0.0030", ""),
        ("0.0032", "Probably 0.032 ohm. "),
        ("1.90", "Probably 0.19 ohm. "),
        ("2.20", ""),
    ],
)
def test_how_near_other_digits_must_come(value: str, meant: str) -> None:
    (finding,) = of_rule(judged(of(value)), RULE)
    assert finding.parameters["probably"] == meant
