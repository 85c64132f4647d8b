"""Lines to earth, and into the drive, of the booster: 479.3 V, a star with an earthed neutral.

479.3 V / sqrt(3) = 276.7 V; 10 % of the line voltage are 47.9 V: 228.8 to 324.7 V. Definition of a
star; bands: common practice, no source. The motor's plate has 68.7 A.
"""

import pytest

from calculations.judging import finding_document
from tests.calculations.building import booster, changed, judged, lacking, of_rule, verdicts
from tests.calculations.building_plates import Document, q

EARTH, INPUT = "supply.line-to-earth", "supply.input-currents"
TO_EARTH, CURRENTS = "/event/supply/line_to_earth_voltages", "/event/supply/currents"


def to_earth(*volts: str, earthing: str = "solid_star") -> Document:
    changes = {TO_EARTH: [q(each, "V") for each in volts], "/site/supply_earthing": earthing}
    return changed(booster(), changes)


@pytest.mark.parametrize(
    ("volts", "expected"),
    [
        (("278", "277", "276"), []),
        (("229", "300", "300"), []),
        (("278", "277", "324"), []),
        (("228", "300", "300"), ["solid_star"]),
        (("278", "277", "326"), ["solid_star"]),
        (("5", "478", "480"), ["corner"]),
        (("478", "0", "480"), ["corner"]),
        (("60", "420", "440"), ["solid_star"]),
        (("479", "481", "478"), ["line"]),
        (("240", "240", "415"), ["high_leg"]),  # 479.3 V / 2; 479.3 V x 0.866 = 415.1 V
    ],
)
def test_a_star_with_an_earthed_neutral(volts: tuple[str, ...], expected: list[str]) -> None:
    found = verdicts(to_earth(*volts), EARTH)
    assert found == [("review", variant) for variant in expected]


@pytest.mark.parametrize(
    ("volts", "expected"),
    [
        (("0", "479", "479"), []),
        (("277", "277", "277"), [("review", "star")]),
        (("60", "420", "440"), [("review", "corner_earthed_delta")]),
    ],
)
def test_a_delta_with_an_earthed_corner(
    volts: tuple[str, ...], expected: list[tuple[str, str]]
) -> None:
    assert verdicts(to_earth(*volts, earthing="corner_earthed_delta"), EARTH) == expected


@pytest.mark.parametrize(
    ("volts", "expected"),
    [
        # 479.3 V / 2 = 239.7 V twice, 415.1 V; 47.9 V to either side.
        (("240", "240", "415"), []),
        (("192", "240", "415"), []),
        (("191", "240", "415"), [("review", "high_leg_delta")]),
        (("277", "277", "277"), [("review", "high_leg_delta")]),
        (("0", "479", "479"), [("review", "high_leg_delta")]),
        (("479", "481", "478"), [("review", "line")]),
    ],
)
def test_a_delta_with_a_high_leg(volts: tuple[str, ...], expected: list[tuple[str, str]]) -> None:
    assert verdicts(to_earth(*volts, earthing="high_leg_delta"), EARTH) == expected


@pytest.mark.parametrize("earthing", ["unearthed", "impedance_earthed", "unknown"])
def test_elsewhere_anything_may_stand_to_earth(earthing: str) -> None:
    judgement = judged(to_earth("5", "478", "480", earthing=earthing))
    assert of_rule(judgement, EARTH) == lacking(judgement, EARTH) == []


def test_line_voltages_read_twice_are_to_be_read_to_earth() -> None:
    (found,) = of_rule(judged(to_earth("479", "481", "478")), EARTH)
    assert finding_document(found, "")["remedy"] == "Read each line to earth."


def test_what_each_line_of_a_star_has_is_told() -> None:
    (found,) = of_rule(judged(to_earth("60", "420", "440")), EARTH)
    assert found.parameters["usual"] == "277 V"


def into(*amperes: str, **more: object) -> Document:
    changes = {CURRENTS: [q(each, "A") for each in amperes]} | more
    return changed(booster(), changes)


@pytest.mark.parametrize(
    ("amperes", "expected"),
    [
        (("38.0", "38.5", "38.2"), []),
        (("60.0", "45.0", "20.0"), []),  # a rectifier without a reactor
        (("40.0", "40.0", "0.1"), [("review", "lost")]),
        (("0.1", "40.0", "40.0"), [("review", "lost")]),
        (("40.0", "40.0", "3.9"), [("review", "lost")]),
        (("40.0", "40.0", "4.1"), []),
        (("40.0", "40.0", "4.0"), []),
        (("34.3", "34.3", "0.1"), []),  # half of 68.7 A are 34.35 A
        (("34.4", "34.4", "0.1"), [("review", "lost")]),
    ],
)
def test_a_line_that_carries_nothing(
    amperes: tuple[str, ...], expected: list[tuple[str, str]]
) -> None:
    assert verdicts(into(*amperes), INPUT) == expected


@pytest.mark.parametrize(
    ("amperes", "expected"),
    [
        (("38.0", "38.5", "38.2"), [("review", "one_phase")]),
        (("60.0", "60.0", "0.1"), []),
        (("60.0", "60.0", "30.0"), []),
        (("60.0", "60.0", "30.1"), [("review", "one_phase")]),
    ],
)
def test_a_drive_for_one_phase_has_no_third_line(
    amperes: tuple[str, ...], expected: list[tuple[str, str]]
) -> None:
    document = into(*amperes, **{"/drive/input_phases": "1"})
    assert verdicts(document, INPUT) == expected


def test_a_drive_of_unknown_phases_may_have_no_third_current() -> None:
    unknown = {"/drive/input_phases": None}
    judgement = judged(into("40.0", "40.0", "0.1", **unknown))
    (missing,) = lacking(judgement, INPUT)
    assert (of_rule(judgement, INPUT), missing.needs) == ([], ("/drive/input_phases",))
    assert lacking(judged(into("38.0", "38.5", "38.2", **unknown)), INPUT) == []


@pytest.mark.parametrize(
    "elsewhere", [{"/event/supply/measured_at": "incoming_terminals"}, {"/site/supply_phases": 1}]
)
def test_what_else_hangs_on_the_supply_is_not_judged(elsewhere: Document) -> None:
    assert verdicts(into("40.0", "40.0", "0.1", **elsewhere), INPUT) == []
