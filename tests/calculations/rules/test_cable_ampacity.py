"""Motor cable against its current: the booster of 60 hp, 68.7 A; 77 A by NFPA 70 Table 430.250."""

import pytest

from tests.calculations.building import booster, changed, judged, lacking, verdicts, without
from tests.calculations.building_plates import Document, q
from tests.calculations.stations import LEFT, permanent_magnet, well

RULE = "drive.cable-ampacity"
DROP = "drive.cable-voltage-drop"
CONDUCTOR = "/drive/motor_cable_conductor"
COUNT = "/drive/motor_cable_conductors_in_parallel"


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


def rated(power: str, current: str, voltage: str = "460", **more: object) -> Document:
    """The booster with another plate in use, on a conductor of its own."""
    plate = {"power": q(power, "hp"), "current": q(current, "A"), "voltage": q(voltage, "V")}
    changes = {f"/motor/ratings/1/{name}": value for name, value in plate.items()}
    return changed(booster(), changes | more)


IEC = {"/site/electrical_practice": "iec"}


@pytest.mark.parametrize(
    ("power", "current", "more", "expected"),
    [
        # Method E: 95 mm2 298 A, 70 mm2 246 A, 50 mm2 192 A
        ("200", "228", IEC | {CONDUCTOR: q("70", "mm2")}, []),
        ("200", "228", IEC | {CONDUCTOR: q("50", "mm2")}, None),
        ("173", "199", IEC | {CONDUCTOR: q("50", "mm2")}, [("review", "open_air")]),
        ("350", "395", IEC | {CONDUCTOR: q("185", "mm2")}, []),  # one alone carries 456 A
        # 125 % of 240 A are 300 A: two of 1/0 AWG, 150 A each; thinner ones may not run in parallel
        ("173", "200", IEC | {CONDUCTOR: q("50", "mm2")}, [("review", "open_air")]),
        ("173", "201", IEC | {CONDUCTOR: q("50", "mm2")}, None),
        ("200", "228", {CONDUCTOR: "1/0 AWG"}, None),
        ("200", "228", {CONDUCTOR: "1 AWG"}, [("review", "code")]),
        ("150", "171", {CONDUCTOR: "3/0 AWG"}, [("review", "code")]),
    ],
)
def test_above_200_a_one_of_several_cables_says_nothing(power, current, more, expected):
    document = rated(power, current, **more)
    if expected is not None:
        assert verdicts(document, RULE) == expected
        return
    (missing,) = lacking(judged(document), RULE)
    assert missing.because == "several cables may run in parallel at this current"
    assert missing.needs == (COUNT,)


@pytest.mark.parametrize(
    ("area", "expected"),
    [
        # sqrt(3) 228 A (0.01724 x 1.2161 / area x 0.86 + 0.08 x 0.51 mohm) a metre: 200 m lose
        # 31.7 V or 6.9 % in 50 mm2, of which two share the current, and 18.2 V or 4.0 % in 95 mm2
        ("50", None),
        ("95", [("note", "cable")]),
    ],
)
def test_the_drop_of_one_of_several_cables_says_nothing(area, expected):
    cable = {CONDUCTOR: q(area, "mm2"), "/drive/motor_cable_length": q("200", "m")}
    document = rated("200", "228", **IEC | cable)
    if expected is not None:
        assert verdicts(document, DROP) == expected
        return
    assert verdicts(document, DROP) == []
    (missing,) = lacking(judged(document), DROP)
    assert missing.because == "several cables may run in parallel at this current"


@pytest.mark.parametrize(
    ("power", "current", "more", "expected"),
    [
        # Method E: 50 mm2 192 A, 35 mm2 158 A
        ("200", "228", IEC | {CONDUCTOR: q("50", "mm2"), COUNT: 1}, [("review", "open_air")]),
        ("200", "228", IEC | {CONDUCTOR: q("50", "mm2"), COUNT: 2}, []),
        ("350", "395", IEC | {CONDUCTOR: q("50", "mm2"), COUNT: 2},
         [("review", "open_air_in_parallel")]),
        ("350", "395", IEC | {CONDUCTOR: q("50", "mm2"), COUNT: 3}, []),
        # 125 % of 240 A are 300 A: two of 1/0 AWG carry 300 A, two of 1 AWG 260 A
        ("200", "228", {CONDUCTOR: "1/0 AWG", COUNT: 2}, []),
        ("200", "228", {CONDUCTOR: "1 AWG", COUNT: 2}, [("review", "code_in_parallel")]),
    ],
)  # fmt: skip
def test_as_many_as_are_stated_share_the_current(power, current, more, expected):
    assert verdicts(rated(power, current, **more), RULE) == expected


@pytest.mark.parametrize(
    ("count", "expected"),
    # As above: 200 m lose 6.9 % in one conductor of 50 mm2, 3.4 % in two, 2.3 % in three
    [(2, [("note", "cable")]), (3, [])],
)
def test_conductors_that_share_the_current_lose_less(count, expected):
    cable = {CONDUCTOR: q("50", "mm2"), "/drive/motor_cable_length": q("200", "m"), COUNT: count}
    assert verdicts(rated("200", "228", **IEC | cable), DROP) == expected


@pytest.mark.parametrize(
    ("wet", "expected"),
    # 280 m lose 9.7 % in one conductor of 50 mm2: half of it in two that are alike, two thirds in
    # the two of a winding in delta, 2 R I / sqrt(3) in place of sqrt(3) R I
    [(False, [("note", "cable")]), (True, [("review", "cable")])],
)
def test_a_pair_loses_two_thirds_where_both_ends_of_a_winding_come_up(wet, expected):
    cable = {CONDUCTOR: q("50", "mm2"), "/drive/motor_cable_length": q("280", "m"), COUNT: 2}
    delta = {"/motor/immersed": wet, "/motor/ratings/1/connection": "delta"}
    assert verdicts(rated("200", "228", **IEC | cable | delta), DROP) == expected


@pytest.mark.parametrize(
    ("count", "area", "expected"),
    [
        # 68.7 A: 6 mm2 carry 54 A and a pair of them 93.5 A in delta; 2.5 mm2 32 A and 55.4 A
        (1, "6", [("review", "open_air")]),
        (2, "6", []),
        (2, "2.5", [("review", "open_air_in_parallel")]),
        (4, "2.5", []),
    ],
)
def test_a_pair_carries_root_three_times_where_both_ends_of_a_winding_come_up(
    count, area, expected
):
    wet = {"/motor/immersed": True, "/motor/ratings/1/connection": "delta",
           CONDUCTOR: q(area, "mm2"), COUNT: count}  # fmt: skip
    assert verdicts(changed(booster(), wet), RULE) == expected


@pytest.mark.parametrize(
    ("connection", "area", "expected"),
    [
        # 68.7 A: 6 mm2 carry 54 A, 2.5 mm2 32 A; 39.7 A go through each end of a winding in delta
        ("delta", "6", None),
        ("delta", "2.5", [("review", "open_air")]),
        ("star", "6", [("review", "open_air")]),
    ],
)
def test_six_conductors_of_a_motor_in_water_may_share_the_current(connection, area, expected):
    wet = {"/motor/immersed": True, "/motor/ratings/1/connection": connection,
           CONDUCTOR: q(area, "mm2")}  # fmt: skip
    document = changed(booster(), wet)
    if expected is not None:
        assert verdicts(document, RULE) == expected
        return
    (missing,) = lacking(judged(document), RULE)
    assert missing.because == "a cable of six conductors may share this current"


@pytest.mark.parametrize(("volts", "current"), [("1001", "31.6"), ("3300", "9.6")])
def test_above_1_kv_it_is_not_passed(volts, current):
    link = {f"{LEFT}/motor_voltage": q(volts, "V")}
    (missing,) = lacking(judged(rated("60", current, volts, **link)), RULE)
    assert missing.because == "no table for motors above 1000 V"


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


@pytest.mark.parametrize(
    ("count", "expected"), [(2, [("review", "open_air_in_parallel")]), (3, [])]
)
def test_an_odd_number_of_conductors_shares_no_winding(count, expected):
    """2.5 mm2 carry 32 A: a pair 55.4 A, not 64 A, of 60 A; three carry all of their 96 A."""
    wet = {"/motor/immersed": True, "/motor/ratings/1/connection": "delta",
           CONDUCTOR: q("2.5", "mm2"), COUNT: count}  # fmt: skip
    assert verdicts(rated("52", "60", **wet), RULE) == expected
