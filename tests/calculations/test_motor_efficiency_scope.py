"""When a law demands an efficiency, and when it is silent."""

import pytest

from calculations.motor_efficiency import EfficiencyClass, NominalTable
from calculations.motor_efficiency_scope import (
    Construction,
    MotorDescription,
    ecodesign_requirement,
    federal_requirement,
)
from calculations.motors import MECHANICAL_HORSEPOWER as HP


def european(**changes) -> MotorDescription:
    ordinary = {"power": 30e3, "poles": 4, "frequency": 50, "voltage": 400, "year": 2024}
    return described(**{**ordinary, **changes})


def american(**changes) -> MotorDescription:
    ordinary = {"power": 50 * HP, "poles": 4, "frequency": 60, "voltage": 460, "year": 2020}
    return described(**{**ordinary, **changes})


def described(**changes) -> MotorDescription:
    known = {
        "construction": Construction.GENERAL_PURPOSE,
        "induction": True,
        "continuous_duty": True,
    }
    return MotorDescription(**{**known, **changes})


class TestEcodesign:
    @pytest.mark.parametrize(
        ("changes", "demanded"),
        [
            ({}, EfficiencyClass.IE3),
            ({"power": 550}, EfficiencyClass.IE2),
            ({"power": 749}, EfficiencyClass.IE2),
            ({"power": 750}, EfficiencyClass.IE3),
            ({"power": 75e3}, EfficiencyClass.IE4),
            ({"power": 200e3, "poles": 6}, EfficiencyClass.IE4),
            ({"power": 75e3, "poles": 8}, EfficiencyClass.IE3),
            ({"power": 201e3}, EfficiencyClass.IE3),
            ({"power": 75e3, "year": 2022}, EfficiencyClass.IE3),
            ({"power": 75e3, "year": 2023}, EfficiencyClass.IE3),
        ],
    )
    def test_class_by_size_poles_and_year(self, changes, demanded):
        # UK SI 2021/745 Sch. 16 paras 1 and 2; the year of change itself keeps the lower class.
        found = ecodesign_requirement(motor=european(**changes))
        assert (found.demanded, found.applicable) == (demanded, True)

    @pytest.mark.parametrize(
        ("changes", "reason"),
        [
            ({"construction": Construction.IMMERSED}, "immersed"),
            ({"construction": Construction.INTEGRATED}, "tested alone"),
            ({"construction": Construction.DRIVE_ONLY}, "direct-on-line"),
            ({"construction": Construction.UNKNOWN}, "construction is unknown"),
            ({"construction": Construction.BRAKE_OR_EXPLOSION_PROTECTED}, "exceptions"),
            ({"year": None}, "year of manufacture is unknown"),
            ({"year": 2021}, "before 2022"),
            ({"induction": None}, "kind of motor is unknown"),
            ({"induction": False}, "induction"),
            ({"continuous_duty": None}, "duty is unknown"),
            ({"continuous_duty": False}, "continuous duty only"),
            ({"phases": 1}, "three-phase"),
            ({"poles": 10}, "2 to 8 poles"),
            ({"power": 100}, "0.12 to 1000 kW"),
            ({"voltage": 4160}, "1000 V"),
            ({"frequency": 60}, "60 Hz"),
        ],
    )
    def test_silent_with_a_reason(self, changes, reason):
        # Art. 2(1) of EU 2019/1781: induction, 2 to 8 poles, S1, direct on line.
        found = ecodesign_requirement(motor=european(**changes))
        assert not found.applicable
        assert reason in found.reason


class TestFederal:
    @pytest.mark.parametrize(
        ("changes", "demanded"),
        [
            ({}, NominalTable.PREMIUM),
            ({"year": 2011}, NominalTable.PREMIUM),
            ({"year": 2010}, NominalTable.ENERGY_EFFICIENT),
            ({"year": 1998}, NominalTable.ENERGY_EFFICIENT),
            # Subtype II by 42 USC 6311(13)(B) kept the older level until 1 June 2016.
            (
                {"year": 2014, "construction": Construction.CLOSE_COUPLED_PUMP},
                NominalTable.ENERGY_EFFICIENT,
            ),
            (
                {"year": 2014, "construction": Construction.VERTICAL_SOLID_SHAFT},
                NominalTable.ENERGY_EFFICIENT,
            ),
            ({"year": 2014, "construction": Construction.FOOTLESS}, NominalTable.ENERGY_EFFICIENT),
            ({"year": 2014, "poles": 8}, NominalTable.ENERGY_EFFICIENT),
            ({"year": 2014, "voltage": 575}, NominalTable.ENERGY_EFFICIENT),
            ({"year": 2016, "poles": 8}, NominalTable.ENERGY_EFFICIENT),
            (
                {"year": 2017, "construction": Construction.VERTICAL_SOLID_SHAFT},
                NominalTable.PREMIUM,
            ),
            ({"power": 300 * HP}, NominalTable.PREMIUM),
        ],
    )
    def test_level_by_year_and_construction(self, changes, demanded):
        assert federal_requirement(motor=american(**changes)).demanded is demanded

    @pytest.mark.parametrize(
        ("changes", "reason"),
        [
            ({"year": 1997}, "before 1998"),
            ({"year": None}, "year of manufacture is unknown"),
            ({"construction": Construction.UNKNOWN}, "construction is unknown"),
            ({"construction": Construction.IMMERSED}, "immersed"),
            ({"year": 2009, "construction": Construction.CLOSE_COUPLED_PUMP}, "no floor then"),
            ({"year": 2009, "poles": 8}, "no floor then"),
            ({"year": 2014, "power": 300 * HP}, "above 200 hp"),
            ({"power": 0.5 * HP}, "1 to 500 hp"),
            ({"voltage": 2300}, "600 V"),
            ({"frequency": 50}, "60 Hz"),
        ],
    )
    def test_silent_with_a_reason(self, changes, reason):
        found = federal_requirement(motor=american(**changes))
        assert not found.applicable
        assert reason in found.reason
