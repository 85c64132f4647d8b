"""Plate currents of US motors against the code's table; NFPA 70 table 430.250."""

import pytest

from tests.calculations.building import (
    changed,
    judged,
    lacking,
    of_rule,
    q,
    verdicts,
    without,
)
from tests.calculations.building_plates import Document

TABLE = "motor.full-load-current-table"


def hp_plate(current: str, poles: int = 4, immersed: bool = False) -> Document:
    """50 hp at 460 V, for which the table has 65 A; efficiency and power factor go with it."""
    product = 37285 / (3**0.5 * 460 * float(current))
    rating = {
        "voltage": q("460", "V"), "frequency": q("60", "Hz"), "power": q("50", "hp"),
        "current": q(current, "A"), "speed": q({4: "1775", 8: "885"}[poles], "rpm"),
        "efficiency": q("94.0", "%"), "power_factor": q(f"{product / 0.94:.3f}", "1"),
    }  # fmt: skip
    motor = {
        "kind": "induction", "phases": 3, "poles": poles, "ratings": [rating],
        "immersed": immersed,
    }  # fmt: skip
    return {"motor": motor, "site": {"electrical_practice": "us_nec"}}


@pytest.mark.parametrize(
    ("current", "poles", "immersed", "fires"),
    [
        ("57.6", 4, False, False),  # 0.886, the ordinary modern motor
        ("74.7", 4, False, False),  # 1.149
        ("74.8", 4, False, False),  # 1.1508, and 0.0008 of rounding
        ("75.0", 4, False, True),  # 1.154: 1.15 x 65 = 74.75, and 0.05 A of rounding
        ("77.4", 8, False, False),  # 1.19, an ordinary 8-pole motor
        ("85.0", 8, False, True),  # 1.308
        ("87.0", 4, True, False),  # 1.338
        ("88.0", 4, True, True),  # 1.354
    ],
)
def test_bands_of_the_table(current: str, poles: int, immersed: bool, fires: bool) -> None:
    found = verdicts(hp_plate(current, poles, immersed), TABLE)
    assert found == ([("note", "outside")] if fires else [])


@pytest.mark.parametrize(
    ("name", "value", "document"),
    [
        ("lowest", 0.9, hp_plate("57.6")),  # 0.886 of the table
        ("highest", 0.88, hp_plate("57.6")),
        ("highest-8-poles", 1.15, hp_plate("77.4", 8)),  # 1.19
        ("highest-immersed", 1.30, hp_plate("87.0", 4, True)),  # 1.338
    ],
)
def test_a_client_may_tighten_each_band(name: str, value: float, document: Document) -> None:
    judgement = judged(document, limits={f"{TABLE}.{name}": value})
    assert [each.severity for each in of_rule(judgement, TABLE)] == ["note"]
    assert of_rule(judged(document), TABLE) == []


@pytest.mark.parametrize(("lowest", "fires"), [(0.899, False), (0.901, True)])
def test_a_low_current_is_granted_its_rounding(lowest: float, fires: bool) -> None:
    """58 A of 65 A are 0.892, and 58.5 A, which it may be, 0.900."""
    found = of_rule(judged(hp_plate("58"), limits={f"{TABLE}.lowest": lowest}), TABLE)
    assert bool(found) is fires


def test_the_table_is_for_the_united_states() -> None:
    document = changed(hp_plate("75.0"), {"/site/electrical_practice": "iec"})
    judgement = judged(document)
    assert of_rule(judgement, TABLE) == []
    assert lacking(judgement, TABLE) == []
    (missing,) = lacking(judged(without(document, "/site/electrical_practice")), TABLE)
    assert missing.needs == ("/site/electrical_practice",)


def test_a_power_that_is_not_listed_is_no_question() -> None:
    document = changed(hp_plate("57.6"), {"/motor/ratings/0/power": q("55", "hp")})
    document = without(document, "/motor/ratings/0/power_factor")
    judgement = judged(document)
    assert of_rule(judgement, TABLE) == []
    assert lacking(judgement, TABLE) == []
