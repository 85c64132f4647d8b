"""Which winding was tested, and whether it counts as new. IEEE 43-2013 from memory."""

import pytest

from calculations.aspects import insulation_test
from calculations.insulation import InsulationSystem, Winding
from tests.calculations.building import booster, case, changed
from tests.calculations.building_plates import q


@pytest.mark.parametrize(
    ("built", "kind", "new"),
    [
        # Visited in 2026; two years: common practice.
        (2026, "start_up", True),
        (2024, "start_up", True),
        (2023, "start_up", False),
        (2024, "replacement", True),
        (2024, "re_verification", False),
        (2027, "start_up", False),  # a slip, told elsewhere
        (None, "start_up", False),
    ],
)
def test_new(built, kind, new):
    found = case(changed(booster(), {"/motor/year_built": built, "/event/kind": kind}))
    assert insulation_test.is_new(found) is new


@pytest.mark.parametrize(
    ("built", "rewound", "kind", "new"),
    [
        (1998, "2025-11-03", "start_up", True),  # an old frame with a new winding
        (1998, "2024-01-02", "after_repair", True),
        (1998, "2023-12-30", "after_repair", False),
        (None, "2025-11-03", "after_repair", True),
        (2025, None, "after_repair", False),  # what was repaired was not the winding
        (1998, "2025-11-03", "re_verification", False),
    ],
)
def test_a_new_winding(built, rewound, kind, new):
    plate = {"/motor/year_built": built, "/motor/rewound_on": rewound, "/event/kind": kind}
    assert insulation_test.is_new(case(changed(booster(), plate))) is new


@pytest.mark.parametrize(
    ("built", "volts", "winding", "system"),
    [
        (1969, "460", Winding.BEFORE_1970, InsulationSystem.THERMOPLASTIC),
        (1970, "460", Winding.RANDOM_WOUND, InsulationSystem.THERMOSETTING),
        (1969, "4160", Winding.BEFORE_1970, InsulationSystem.THERMOPLASTIC),
        (1970, "999", Winding.RANDOM_WOUND, InsulationSystem.THERMOSETTING),
        (1970, "1000", Winding.FORM_WOUND, InsulationSystem.THERMOSETTING),
        (None, "460", Winding.RANDOM_WOUND, InsulationSystem.THERMOSETTING),
    ],
)
def test_winding(built, volts, winding, system):
    plate = {"/motor/year_built": built, "/motor/ratings/1/voltage": q(volts, "V")}
    found = case(changed(booster(), plate))
    assert insulation_test.winding(found) is winding
    assert insulation_test.system(found) is system


@pytest.mark.parametrize(
    ("rewound", "winding"),
    [("1969-06-01", Winding.BEFORE_1970), ("2020-05-04", Winding.RANDOM_WOUND)],
)
def test_a_rewound_motor_has_the_winding_of_that_year(rewound, winding):
    plate = {"/motor/year_built": 1965, "/motor/rewound_on": rewound}
    assert insulation_test.winding(case(changed(booster(), plate))) is winding


@pytest.mark.parametrize(
    ("immersed", "cable", "through"),
    [(True, True, True), (True, False, False), (True, None, False), (False, True, False)],
)
def test_read_through_its_cable(immersed, cable, through):
    tested = {
        "/motor/immersed": immersed, "/event/motor_tests/insulation/includes_cable": cable
    }  # fmt: skip
    assert insulation_test.is_through_cable(case(changed(booster(), tested))) is through


@pytest.mark.parametrize(
    ("changes", "megohm"),
    [
        # Stop, question, and remark on a new one at 40 degC: IEEE 43-2013 table 3 for what is dry,
        # common practice from memory for a motor in a well and for what is new.
        ({}, (5, 5, 100)),
        ({"/motor/year_built": 1969}, (1.46, 1.46, 100)),  # 0.46 kV and 1 Mohm
        ({"/motor/ratings/1/voltage": q("4160", "V")}, (100, 100, 100)),
        ({"/motor/immersed": True}, (5, 5, 20)),
        (
            {"/motor/immersed": True, "/event/motor_tests/insulation/includes_cable": True},
            (0.5, 2, 2),
        ),
    ],
)
def test_least_resistances(changes, megohm):
    found = insulation_test.limits(case(changed(booster(), changes)))
    told = (found.stop, found.review, found.note_when_new)
    assert told == pytest.approx([1e6 * each for each in megohm])
