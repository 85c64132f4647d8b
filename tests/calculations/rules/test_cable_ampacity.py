"""Motor cable against its current: the booster of 60 hp, 68.7 A; 77 A by NFPA 70 Table 430.250."""

import pytest

from tests.calculations.building import booster, changed, judged, lacking, verdicts, without
from tests.calculations.building_plates import q
from tests.calculations.stations import permanent_magnet, well

RULE = "drive.cable-ampacity"
CONDUCTOR = "/drive/motor_cable_conductor"


@pytest.mark.parametrize(
    ("conductor", "expected"),
    [
        # 125 % of 77 A are 96.3 A (430.22); Table 310.16 at 75 degC: 3 AWG 100 A, 4 AWG 85 A
        ("3 AWG", []),
        ("4 AWG", [("review", "code")]),
    ],
)
def test_by_the_code(conductor, expected):
    assert verdicts(changed(booster(), {CONDUCTOR: conductor}), RULE) == expected


@pytest.mark.parametrize(
    ("area", "expected"),
    [
        # 68.7 A; IEC 60364-5-52 method E, from memory: 10 mm2 75 A, 6 mm2 54 A
        ("10", []),
        ("6", [("review", "open_air")]),
    ],
)
@pytest.mark.parametrize("practice", ["iec", "canadian", "other"])
def test_elsewhere_the_most_that_the_standard_grants(practice, area, expected):
    document = changed(
        booster(), {CONDUCTOR: q(area, "mm2"), "/site/electrical_practice": practice}
    )
    assert verdicts(document, RULE) == expected


def test_a_drop_cable_in_water_is_judged_in_open_air():
    document = well()
    assert verdicts(document, RULE) == []
    current = float(document["motor"]["ratings"][0]["current"]["value"])
    area = 10 * (0.9 * current / 75) ** (1 / 0.6)
    thin = changed(document, {CONDUCTOR: q(f"{area:.3g}", "mm2")})
    assert verdicts(thin, RULE) == [("review", "open_air")]


def test_a_synchronous_motor_goes_by_its_plate():
    assert verdicts(permanent_magnet(), RULE) == []


def test_above_300_a_one_of_several_cables_says_nothing():
    """Plate and settings of a motor of 350 hp, 395 A at 460 V."""
    plate = {"power": q("350", "hp"), "current": q("395", "A"), "voltage": q("460", "V")}
    document = changed(
        booster(), {f"/motor/ratings/1/{name}": value for name, value in plate.items()}
    )
    (missing,) = lacking(judged(document), RULE)
    assert missing.because == "several cables may run in parallel at this current"


def test_a_size_beyond_the_tables_is_not_guessed():
    (missing,) = lacking(judged(changed(booster(), {CONDUCTOR: "20 AWG"})), RULE)
    assert missing.because == "no size of the tables"


def test_it_names_what_it_lacks():
    (missing,) = lacking(judged(without(booster(), CONDUCTOR)), RULE)
    assert missing.needs == (CONDUCTOR,)


def test_one_cause_is_told_once():
    """A cable too thin for its current loses too many volts as well."""
    document = changed(booster(), {
        CONDUCTOR: "10 AWG", "/drive/motor_cable_length": q("300", "ft"),
    })  # fmt: skip
    assert verdicts(document, RULE) == [("review", "code")]
    (waiting,) = lacking(judged(document), "drive.cable-voltage-drop")
    assert waiting.waits_for == RULE
