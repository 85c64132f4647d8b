"""Wall of a main against bore and rating: s = p D / (2 e). Strengths from memory, as in the rule.

16 bar in 300 mm: 1.6 MPa x 300 mm / 2 = 240 N/mm, so that 240 / e [mm] is the stress in MPa.
"""

import pytest

from tests.calculations.building import changed, judged, lacking, of_rule, verdicts, without
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import lift_station, raw_water

RULE = "main.wall"
PIPE = "/site/pipeline"


def main(wall, material="ductile_iron", bore="300.0", rating="16.00"):
    return changed(
        raw_water(),
        {
            f"{PIPE}/wall_thickness": q(wall, "mm"),
            f"{PIPE}/material": material,
            f"{PIPE}/inside_diameter": q(bore, "mm"),
            f"{PIPE}/pressure_rating": q(rating, "bar"),
        },
    )


YIELDS, THIN, LITTLE = [("review", "yields")], [("review", "thin")], [("note", "little")]


@pytest.mark.parametrize(
    ("wall", "material", "expected"),
    [
        ("7.1", "ductile_iron", []),  # 34 MPa
        ("0.71", "ductile_iron", YIELDS),  # 338 MPa
        ("0.880", "ductile_iron", YIELDS),  # 272.7 MPa; 270 MPa at 0.889 mm
        ("0.900", "ductile_iron", THIN),  # 266.7 MPa
        ("2.90", "ductile_iron", THIN),
        ("3.00", "ductile_iron", []),  # 80 MPa
        ("0.660", "steel", YIELDS),  # 363.6 MPa; 355 MPa at 0.676 mm
        ("0.690", "steel", THIN),  # 347.8 MPa
        ("1.40", "steel", THIN),  # 171 MPa
        ("1.50", "steel", []),  # 160 MPa
        ("9.00", "pe", YIELDS),  # 26.7 MPa
        ("9.60", "pe", LITTLE),  # exactly 25 MPa
        ("17.3", "pe", LITTLE),  # 13.87 MPa, above 55 % of 25, 13.75
        ("17.5", "pe", []),  # 13.71 MPa
        ("2.60", "pvc", YIELDS),  # 92.3 MPa
        ("2.70", "pvc", LITTLE),  # 88.9 MPa
        ("5.40", "pvc", []),  # 44.4 MPa
        ("0.71", "grp", []),
        ("0.71", "concrete", []),
    ],
)
def test_walls(wall, material, expected):
    assert verdicts(main(wall, material), RULE) == expected


def test_the_stress_that_is_told():
    """240 / 0.71 = 338.0 MPa."""
    (found,) = of_rule(judged(main("0.71")), RULE)
    assert found.parameters["stress"] == "338 MPa"
    assert found.parameters["bears"] == "270 MPa"


@pytest.mark.parametrize("station", [raw_water(), lift_station()])
def test_ordinary_mains_are_silent(station):
    """250 psi in 8 in with 0.25 in: 27.6 MPa; 10 bar in 150 mm of PE with 10 mm: 7.5 MPa."""
    assert verdicts(station, RULE) == lacking(judged(station), RULE) == []


def test_the_strongest_iron_of_the_standard_is_silent():
    """Class 40, DN 300 of EN 545 (from memory): 6.2 mm nominal, 326 mm outside, 40 bar: 101 MPa."""
    assert verdicts(main("6.2", bore="313.6", rating="40"), RULE) == []


@pytest.mark.parametrize(
    ("wall", "bore", "rating"),
    [("4.60", "316.8", "40.0"), ("8.90", "824.2", "30.0")],
)
def test_the_least_wall_that_the_standard_allows_is_silent(wall, bore, rating):
    """EN 545 (from memory): p = 20 e 420 / (3 D), that is 140 MPa, with a factor of three.

    DN 300: 4.6 mm of 326 mm, 40 bar, 137.7 MPa; DN 800: 8.9 mm of 842 mm, 30 bar, 138.9 MPa.
    """
    assert verdicts(main(wall, bore=bore, rating=rating), RULE) == []


def test_a_surge_waits_for_the_wall_that_its_wave_rests_on():
    (waiting,) = lacking(judged(main("0.71")), "ramp.surge")
    assert waiting.waits_for == RULE


def test_without_a_wall_it_is_not_judged():
    document = without(main("7.1"), f"{PIPE}/wall_thickness")
    (missing,) = lacking(judged(document), RULE)
    assert missing.needs == (f"{PIPE}/wall_thickness",)
    assert lacking(judged(without(document, f"{PIPE}/material")), RULE) == []
