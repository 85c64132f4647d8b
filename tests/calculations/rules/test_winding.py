"""Winding resistance and current from phase to phase; E03, E04; limits from memory."""

import pytest

from calculations.rules.winding import CURRENT_UNBALANCE
from tests.calculations.building import (
    booster,
    changed,
    derived,
    judged,
    lacking,
    of_rule,
    q,
    verdicts,
    without,
)
from tests.calculations.building_plates import Document

TEST = "/event/motor_tests/winding_resistance"
RESISTANCE = "winding.resistance-unbalance"
CURRENT = "winding.current-unbalance"
POINT = "/event/duty_points/0"


def resistances(*ohms: str, **more: object) -> Document:
    """The booster with other resistances, four-wire, resolution 0.1 mohm."""
    values: dict[str, object] = {f"{TEST}/values": [q(each, "ohm") for each in ohms]}
    return changed(booster(), values | {f"{TEST}/{name}": v for name, v in more.items()})


def currents(*amperes: str, at: str = POINT) -> Document:
    """The booster with other currents at one point."""
    return changed(booster(), {f"{at}/currents_drive_output": [q(each, "A") for each in amperes]})


def test_published_examples() -> None:
    judgement = judged(resistances("0.412", "0.415", "0.409"))
    assert derived(judgement, RESISTANCE).shown.value == "0.7282"  # E03: 0.728 %
    judgement = judged(currents("30.3", "28.9", "31.4"))
    assert derived(judgement, CURRENT, POINT).shown.value == "4.305"  # E04


@pytest.mark.parametrize(
    ("third", "severity"),
    [
        # 0.4000, 0.4000, x: deviation 2 (x - 0.4) / (0.8 + x); resolution 0.025 %
        ("0.4121", []),  # 1.996 %
        ("0.4130", ["review"]),  # 2.143 %
        ("0.4300", ["review"]),  # 4.878 %
        ("0.4320", ["stop"]),  # 5.195 %
    ],
)
def test_boundaries_of_the_resistance(third: str, severity: list[str]) -> None:
    found = verdicts(resistances("0.4000", "0.4000", third), RESISTANCE)
    assert [each for each, _ in found] == severity


@pytest.mark.parametrize(
    ("third", "expected"),
    [
        # Half a digit nearer to the mean: 0.595, 0.595, 0.575 are 2.27 % off, 0.605, 0.605, 0.625
        # 2.18 %, 0.595, 0.595, 0.585 no more than 1.13 %.
        ("0.57", [("review", "unbalance")]),
        ("0.63", [("review", "unbalance")]),
        ("0.58", []),
        ("0.62", []),
    ],
)
def test_what_coarse_readings_leave_open_is_granted(
    third: str, expected: list[tuple[str, str]]
) -> None:
    document = resistances("0.60", "0.60", third)
    assert verdicts(document, RESISTANCE) == expected
    assert bool(lacking(judged(document), RESISTANCE)) is not bool(expected)


def test_two_wires_never_stop() -> None:
    document = resistances("0.4000", "0.4000", "0.4600", method="two_wire")
    assert verdicts(document, RESISTANCE) == [("review", "unbalance")]


def test_a_form_wound_winding_has_half_the_limit() -> None:
    volts = {f"/motor/ratings/{i}/voltage": q("4160", "V") for i in (0, 1)}
    document = resistances("0.4000", "0.4000", "0.4070")  # 1.16 %
    assert verdicts(document, RESISTANCE) == []
    assert verdicts(changed(document, volts), RESISTANCE) == [("review", "unbalance")]
    inside = resistances("0.4000", "0.4000", "0.4050")  # 0.83 %
    assert verdicts(changed(inside, volts), RESISTANCE) == []


def test_the_three_resistances_are_told_in_their_order() -> None:
    (found,) = of_rule(judged(resistances("0.4000", "0.4100", "0.4600")), RESISTANCE)
    told = [found.parameters[each] for each in ("first", "second", "third")]
    assert told == ["0.4000 ohm", "0.4100 ohm", "0.4600 ohm"]


@pytest.mark.parametrize(
    ("values", "resolution", "expected"),
    [
        # 1.5 to 2.5 ohm around 2 are 25 %, whatever was behind the digits.
        (("1", "2", "3"), "1", [("stop", "unbalance")]),
        # Half a milliohm more and less explains 0.0105 to 0.0115 around 0.011: 1.5 %.
        (("0.011", "0.011", "0.012"), "1", []),
        # 0.425 and 0.405 ohm are still 3.2 %.
        (("0.40", "0.40", "0.43"), "1", [("review", "unbalance")]),
    ],
)
def test_coarse_digits_are_judged_by_what_rounding_cannot_explain(
    values: tuple[str, str, str], resolution: str, expected: list[tuple[str, str]]
) -> None:
    document = resistances(*values, resolution=q(resolution, "mohm"))
    assert verdicts(document, RESISTANCE) == expected


def test_half_a_digit_is_what_coarse_digits_leave_open() -> None:
    """0.155, 0.155 and 0.165 ohm are still 4.2 % apart: no stop above 5 %.

    Nor 0.145, 0.155 and 0.155 ohm: 0.0067 of 0.1517 ohm, 4.4 %.
    """
    for values in (("0.15", "0.15", "0.17"), ("0.14", "0.16", "0.16")):
        document = resistances(*values, resolution=q("1", "mohm"))
        assert verdicts(document, RESISTANCE) == [("review", "unbalance")]


@pytest.mark.parametrize(
    ("resolution", "judged_at_all"),
    [("0.001", True), ("0.005", False)],  # 0.24 % and 1.2 % of 0.412 ohm
)
def test_a_coarse_meter_is_not_judged(resolution: str, judged_at_all: bool) -> None:
    document = resistances("0.412", "0.420", "0.409", resolution=q(resolution, "ohm"))
    missing = lacking(judged(document), RESISTANCE)
    assert (missing == []) is judged_at_all
    if missing:
        assert "too coarse" in missing[0].because


def test_three_resistances_are_needed() -> None:
    (missing,) = lacking(judged(resistances("0.412")), RESISTANCE)
    assert missing.needs == (f"{TEST}/values",)
    (missing,) = lacking(judged(without(booster(), TEST)), RESISTANCE)
    assert missing.needs == (f"{TEST}/values",)


@pytest.mark.parametrize(
    ("third", "severity"),
    [
        # 52.7, 52.7, x: deviation 2 (x - 52.7) / (105.4 + x); rounding 0.09 %
        ("56.8", []),  # 5.06 %
        ("57.0", ["note"]),  # 5.30 %
        ("61.0", ["note"]),  # 9.98 %
        ("61.3", ["review"]),  # 10.3 %
    ],
)
def test_boundaries_of_the_current(third: str, severity: list[str]) -> None:
    found = verdicts(currents("52.7", "52.7", third), CURRENT)
    assert [each for each, _ in found] == severity


@pytest.mark.parametrize(
    ("voltages", "third", "expected"),
    [
        # 52.7, 52.7, 57.0 A: 5.30 % without 0.09 % of rounding. 480, 480, 480 V are within 0.10 %
        # by their digits: ten times (NEMA MG 1 14.36) are 1.0 %.
        (("480", "480", "480"), "57.0", [("review", "unexplained")]),
        (("480", "480", "480"), "56.8", []),  # below 5 % nothing is asked
        # 480, 480, 482 V: mean 480.67, 0.277 % and 0.104 % of digits: 3.8 %
        (("480", "480", "482"), "57.0", [("review", "unexplained")]),
        # 480, 480, 484 V: mean 481.33, 0.554 % and 0.104 %: 6.6 %
        (("480", "480", "484"), "57.0", [("note", "across_the_line")]),
    ],
)
def test_a_current_that_the_supply_does_not_explain(voltages, third, expected) -> None:
    """Without a drive the motor has the supply's voltages."""
    document = changed(currents("52.7", "52.7", third), {
        "/pump_set/drive": None, "/event/supply/line_voltages": [q(each, "V") for each in voltages],
    })  # fmt: skip
    fixed = without(document, "/drive", "/event/settings")
    assert verdicts(fixed, CURRENT) == expected
    on_a_drive = changed(
        currents("52.7", "52.7", third),
        {"/event/supply/line_voltages": [q(each, "V") for each in voltages]},
    )
    assert [each for each, _ in verdicts(on_a_drive, CURRENT)] == ["note"] * bool(expected)


def test_the_three_currents_are_told_in_their_order() -> None:
    (found,) = of_rule(judged(currents("52.7", "54.0", "61.3")), CURRENT)
    assert [each.shown.value for each in found.compared[:3]] == ["52.7", "54.0", "61.3"]


def test_at_low_load_nothing_is_said() -> None:
    # Half of rated torque draws 68.7 sqrt(0.16 + 0.84 x 0.25) = 41.8 A.
    at = "/event/duty_points/2"
    assert of_rule(judged(currents("36.0", "36.0", "44.0", at=at)), CURRENT) == []
    assert [
        each.subject for each in of_rule(judged(currents("40.0", "40.0", "50.0", at=at)), CURRENT)
    ] == [at]


def test_currents_of_the_drive_input_are_no_answer() -> None:
    document = without(booster(), f"{POINT}/currents_drive_output")
    document = changed(
        document, {f"{POINT}/currents_drive_input": [q(v, "A") for v in ("40", "50", "60")]}
    )
    (missing,) = lacking(judged(document), CURRENT)
    assert missing.needs == (f"{POINT}/currents_drive_output",)


@pytest.mark.parametrize("phases", [1, 3])
def test_a_single_phase_has_no_unbalance(phases):
    document = changed(without(booster(), "/event/motor_tests"), {"/motor/phases": phases})
    found = lacking(judged(document), "winding.resistance-unbalance")
    assert bool(found) is (phases == 3)


# -- a lost phase ---------------------------------------------------------------------------------

POINTS = "/event/duty_points"
WITHOUT_TRIP = {"/event/settings/as_left/output_phase_loss_response": "alarm"}


def lost(*amperes: str, at: tuple[int, ...] = (0,), **settings: object) -> Document:
    """The booster with the same three currents at some of its points."""
    values: dict[str, object] = {
        f"{POINTS}/{index}/currents_drive_output": [q(each, "A") for each in amperes]
        for index in at
    }
    return changed(booster(), values | settings)


def every_point() -> tuple[int, ...]:
    return tuple(range(len(booster()["event"]["duty_points"])))


@pytest.mark.parametrize(
    ("amperes", "which"),
    [
        (("63.0", "0.1", "63.3"), "second"),
        (("0.0", "63.0", "63.3"), "first"),
        # 6.2 of 63.3 A are 9.8 %.
        (("63.0", "63.3", "6.2"), "third"),
        # Below half load as well: a fifth of the plate's 68.7 A are 13.74 A.
        (("13.8", "0.1", "13.5"), "second"),
    ],
)
def test_a_phase_that_carries_nothing_is_named_first(amperes, which) -> None:
    judgement = judged(lost(*amperes))
    (found,) = of_rule(judgement, CURRENT)
    assert (found.severity, found.variant, found.subject) == ("review", "lost", POINT)
    assert found.parameters["which"] == which
    assert of_rule(judgement, "load.current-expected") == []


@pytest.mark.parametrize("at", [(0,), every_point()])
def test_three_zeros_are_those_of_a_dead_instrument(at) -> None:
    judgement = judged(lost("0.0", "0.0", "0.0", at=at, **WITHOUT_TRIP))
    assert of_rule(judgement, CURRENT) == []
    told = {(each.needs, each.because) for each in lacking(judgement, CURRENT)}
    assert told == {
        ((f"{POINTS}/{index}/currents_drive_output",), "no current was read in any phase")
        for index in at
    }


def test_one_phase_alone_carries_nothing_so_that_the_clamp_was_open() -> None:
    (found,) = of_rule(judged(lost("63.0", "0.1", "0.1", at=every_point())), CURRENT)[:1]
    assert (found.severity, found.variant) == ("review", "lost_two")
    told = CURRENT_UNBALANCE.sentence(found)
    assert "the second and third are next to none. No current flows through one phase" in told


def test_what_the_load_explains_waits_for_a_lost_phase() -> None:
    judgement = judged(lost("63.0", "0.1", "63.3"))
    (waiting,) = lacking(judgement, "load.current-expected")
    assert (waiting.subject, waiting.waits_for) == (POINT, CURRENT)


@pytest.mark.parametrize(
    "amperes",
    [
        ("63.0", "63.3", "6.5"),  # 10.3 %: unbalanced, not lost
        ("13.7", "0.1", "13.5"),  # less than a fifth of 68.7 A: hardly a motor that runs
    ],
)
def test_what_is_no_lost_phase(amperes) -> None:
    assert "lost" not in [variant for _, variant in verdicts(lost(*amperes), CURRENT)]


BORNE = ("91.3", "77.4", "65.5")
"""The root of 3 of 52.7, 44.7 and 37.8 A, which three phases carry: rule of the trade, from memory.
"""


def without_a_channel(*amperes: str, **settings: object) -> Document:
    """The booster with these currents of two phases at its points, and none of the third."""
    values: dict[str, object] = {
        f"{POINTS}/{index}/currents_drive_output": [q(each, "A"), q("0.1", "A"), q(each, "A")]
        for index, each in enumerate(amperes)
    }
    return changed(booster(), values | WITHOUT_TRIP | settings)


@pytest.mark.parametrize(
    ("amperes", "expected"),
    [
        # As three phases carry: the motor is well, and a channel of the meter dead.
        (("52.7", "44.7", "37.8"), ("review", "lost_everywhere")),
        # A fifth more is within what the model of the load is trusted to.
        (("63.2", "53.6", "45.4"), ("review", "lost_everywhere")),
        (BORNE, ("stop", "lost_and_borne")),
        # 85 % of the root of 3 are 1.472: 77.6, 65.8 and 55.7 A.
        (("78.2", "66.4", "56.2"), ("stop", "lost_and_borne")),
        (("91.3", "77.4", "55.1"), ("review", "lost_everywhere")),
    ],
)
def test_a_phase_is_lost_where_the_others_bear_its_load(amperes, expected) -> None:
    """A dead channel shows the same zero everywhere, but does not make the others read more."""
    assert set(verdicts(without_a_channel(*amperes), CURRENT)) == {expected}


@pytest.mark.parametrize(
    "gone",
    [
        {"/pump/curve_points": None},
        {f"{POINTS}/1/flow": None, f"{POINTS}/2/flow": None},  # one point alone tells of it
        # The third point is misread, and its flow may be, too.
        {f"{POINTS}/1/flow": None, f"{POINTS}/2/discharge_pressure": q("85", "ftH2O")},
    ],
)
def test_without_a_load_to_hold_them_against_a_dead_channel_stays_possible(gone) -> None:
    found = set(verdicts(without_a_channel(*BORNE, **gone), CURRENT))
    assert found == {("review", "lost_everywhere")}


def test_a_drive_that_stops_at_a_lost_phase_would_not_have_run() -> None:
    trips = {"/event/settings/as_left/output_phase_loss_response": "trip"}
    document = without_a_channel(*BORNE, **trips)
    assert set(verdicts(document, CURRENT)) == {("review", "lost")}


def test_one_good_point_leaves_the_clamp_in_doubt() -> None:
    document = lost("63.0", "0.1", "63.3", at=every_point()[:-1], **WITHOUT_TRIP)
    assert {each for each in verdicts(document, CURRENT) if each[1].startswith("lost")} == {
        ("review", "lost")
    }


def test_one_reading_alone_tells_nothing_of_every_point() -> None:
    unread = {f"{POINTS}/{index}/currents_drive_output": None for index in (1, 2)}
    assert verdicts(lost("63.0", "0.1", "63.3", **WITHOUT_TRIP, **unread), CURRENT) == [
        ("review", "lost")
    ]
    second = {f"{POINTS}/2/currents_drive_output": None}
    document = lost("63.0", "0.1", "63.3", at=(0, 1), **WITHOUT_TRIP, **second)
    assert verdicts(document, CURRENT) == [("review", "lost_everywhere")] * 2


def test_another_phase_at_each_point_is_the_clamp() -> None:
    other = {f"{POINTS}/1/currents_drive_output": [q(each, "A") for each in ("0.1", "53", "53")]}
    document = lost("63.0", "0.1", "63.3", at=every_point(), **WITHOUT_TRIP, **other)
    assert verdicts(document, CURRENT) == [("review", "lost")] * 3


def test_a_current_accepted_as_it_is_keeps_no_other_waiting() -> None:
    judgement = judged(lost("63.0", "0.1", "63.3"), accepted=[(CURRENT, POINT)])
    assert lacking(judgement, "load.current-expected") == []


@pytest.mark.parametrize(
    ("third", "severity", "is_open"),
    [
        # 50, 50 and 57.8 A: 5.2 A over 52.6 A, 9.89 %; 58 A: 5.33 of 52.67 A, 10.13 %, which a
        # last digit of 1 A leaves open; 60 A: 6.67 of 53.33 A, 12.5 %.
        ("57.8", "note", False),
        ("58", "note", True),
        ("60", "review", False),
    ],
)
def test_a_note_above_the_limit_says_why_it_is_none(
    third: str, severity: str, is_open: bool
) -> None:
    (found,) = of_rule(judged(currents("50.0", "50.0", third)), CURRENT)
    said = CURRENT_UNBALANCE.sentence(found)
    assert found.severity == severity
    assert ("last digits leave open whether that is above 10 %" in said) is is_open
