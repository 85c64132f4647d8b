"""Conditions under which a field is needed of a start-up."""

import pytest

from calculations.aspects.content import CONDITIONS
from tests.calculations.building import booster, case, changed
from tests.calculations.building_plates import q

IMMERSED, DRY = {"/motor/immersed": True}, {"/motor/immersed": False}
WELL, WET = {"/site/suction_kind": "well"}, {"/site/suction_kind": "wet_well"}


@pytest.mark.parametrize(
    ("condition", "changes", "holds"),
    [
        ("not an induction motor", {"/motor/kind": "permanent_magnet"}, True),
        ("not an induction motor", {"/motor/kind": "induction"}, False),
        ("not an induction motor", {"/motor/kind": "wound_rotor"}, False),
        ("not an induction motor", {"/motor/kind": None}, False),
        ("75 kW and more", {"/motor/ratings/1/power": None}, False),
        ("75 kW and more", {}, False),
        ("immersed in sewage", IMMERSED | {"/site/liquid_kind": "sewage"}, True),
        ("immersed in sewage", IMMERSED | {"/site/liquid_kind": "potable"}, False),
        ("immersed in sewage", DRY | {"/site/liquid_kind": "sewage"}, False),
        ("immersed in a well", IMMERSED | WELL, True),
        ("immersed in a well", IMMERSED | WET, False),
        ("immersed in a well", DRY | WELL, False),
        ("not immersed in a well", IMMERSED | WELL, False),
        ("not immersed in a well", IMMERSED | WET, True),
        ("not immersed in a well", DRY | WELL, True),
        ("immersed without a jacket", IMMERSED | WET, True),
        ("immersed without a jacket", IMMERSED | WET | {"/motor/cooling": "jacket"}, False),
        ("immersed without a jacket", IMMERSED | WELL, False),
        ("immersed without a jacket", DRY | WET, False),
        ("supply is not solidly earthed star", {"/site/supply_earthing": None}, False),
        ("supply is not solidly earthed star", {}, False),
        ("supply is not solidly earthed star", {"/site/supply_earthing": "unearthed"}, True),
        ("a pipeline is recorded", {}, False),
        ("a pipeline is recorded", {"/site/pipeline": {"length": q("10", "m")}}, True),
        ("centrifugal", {"/pump/type": "progressive_cavity"}, False),
        ("centrifugal", {"/pump/type": "unknown"}, True),
        ("an output switch is fitted", {"/drive/output_switch": True}, True),
        ("an output switch is fitted", {"/drive/output_switch": None}, False),
    ],
)
def test_condition(condition, changes, holds):
    found = CONDITIONS[condition](case(changed(booster(), changes)), None)
    assert found is holds
