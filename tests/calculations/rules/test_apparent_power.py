"""Power against volts times amperes at points of the booster.

The first point has 421 V, 52.7 A, 30.9 kW at the drive's output: sqrt(3) 421 V 52.7 A = 38.43 kVA,
a power factor of 0.804. 5 % above it are 40.35 kW. Definition of the power factor; room for the
instruments: common practice, no source.
"""

import pytest

from calculations.judging import finding_document
from tests.calculations.building import booster, changed, in_metric, judged, lacking, of_rule
from tests.calculations.building import verdicts as verdicts_of
from tests.calculations.building_event import three
from tests.calculations.building_plates import Document, q

POINT, RULE = "/event/duty_points/0", "load.apparent-power"


def at_first(**values: object) -> Document:
    return changed(booster(), {f"{POINT}/{name}": value for name, value in values.items()})


def verdicts(document: Document) -> list[tuple[str, str]]:
    found = verdicts_of(document, RULE)
    assert verdicts_of(in_metric(document), RULE) == found
    return found


def both(output: str, taken: str, **more: object) -> Document:
    """Powers at output and input that agree with each other."""
    return at_first(power_drive_output=q(output, "kW"), power_drive_input=q(taken, "kW"), **more)


@pytest.mark.parametrize(
    ("output", "expected"),
    [
        ("30.9", []),
        ("40.4", []),
        ("40.55", [("review", "plain")]),  # half a digit of each reading granted: 0.3 %
    ],
)
def test_no_power_is_above_volts_times_amperes(
    output: str, expected: list[tuple[str, str]]
) -> None:
    document = at_first(power_drive_output=q(output, "kW"), power_drive_input=None)
    assert verdicts(document) == expected


def test_the_efficiency_waits_for_a_power_that_cannot_be() -> None:
    """30.9 kW twice: 61.8 kW with 38.4 kVA. Not wear: nobody can have read that."""
    judgement = judged(both("61.8", "63.8"))
    (found,) = of_rule(judgement, RULE)
    assert found.parameters["factor"] == "1.61"
    waiting = {each.waits_for for each in lacking(judgement, "efficiency.wire-to-water")}
    assert RULE in waiting
    assert of_rule(judgement, "efficiency.wire-to-water") == []


def test_accepted_it_holds_no_efficiency_back() -> None:
    judgement = judged(both("61.8", "63.8"), accepted=[(RULE, POINT)])
    assert of_rule(judgement, "efficiency.wire-to-water")


def test_a_point_that_moved_is_told_by_the_efficiency_alone() -> None:
    """319 kW for 31.9 kW at the input, with 480 V and 41.0 A there: 34.1 kVA."""
    document = at_first(
        power_drive_input=q("319", "kW"), voltages_drive_input=three("480", "V"),
        currents_drive_input=three("41.0", "A"),
    )  # fmt: skip
    judgement = judged(document)
    assert of_rule(judgement, RULE) == []
    (found,) = of_rule(judgement, "efficiency.wire-to-water")
    assert found.parameters["read"] == "31.9 kW"


def test_voltages_to_neutral_are_named() -> None:
    """421 V / 1.732 = 243 V: 22.2 kVA for 30.9 kW, a power factor of 1.39."""
    document = at_first(voltages_drive_output=three("243", "V"))
    (found,) = of_rule(judged(document), RULE)
    assert (found.variant, found.parameters["line"]) == ("neutral", "421 V")
    assert "from line to line" in str(finding_document(found, "")["remedy"])


@pytest.mark.parametrize(
    ("volts", "variant"),
    [
        # 460 V x 54.9 / 60 = 420.9 V; over sqrt(3) and 8 % more and less: 262.4 V and 223.6 V
        ("262", "neutral"),
        ("263", "plain"),
        ("224", "neutral"),
        ("223", "plain"),
    ],
)
def test_neutral_is_named_near_the_motors_volts_per_hertz(volts: str, variant: str) -> None:
    assert verdicts(at_first(voltages_drive_output=three(volts, "V"))) == [("review", variant)]


@pytest.mark.parametrize(
    ("volts", "variant"),
    # 480 V over sqrt(3) and 8 % less and more: 254.96 V and 299.3 V; 41.0 A are 21.3 kVA at most.
    [("255.0", "neutral"), ("254.9", "plain"), ("299", "neutral"), ("300", "plain")],
)
def test_neutral_of_the_supply_is_named_near_its_nominal_voltage(volts: str, variant: str) -> None:
    document = at_first(
        voltages_drive_input=three(volts, "V"), currents_drive_input=three("41.0", "A")
    )
    assert verdicts(document) == [("review", variant)]


def test_how_much_is_granted_is_told_of_the_side_that_was_read() -> None:
    at_output = at_first(power_drive_output=q("41", "kW"), power_drive_input=None)
    at_input = at_first(
        voltages_drive_input=three("480", "V"), currents_drive_input=three("33.0", "A")
    )
    for document, share in ((at_output, "5 %"), (at_input, "15 %")):
        (found,) = of_rule(judged(document), RULE)
        assert found.limit == f"at most {share} above volts times amperes"


@pytest.mark.parametrize(
    ("input_amperes", "expected"),
    [
        # 31.9 kW / (1.15 sqrt(3) 480 V) = 33.4 A; a power factor of 1 needs 38.4 A.
        ("38.4", []),
        ("33.5", []),
        ("33.0", [("review", "plain")]),
    ],
)
def test_a_plain_clamp_reads_pulses_low_at_the_input(
    input_amperes: str, expected: list[tuple[str, str]]
) -> None:
    document = at_first(
        voltages_drive_input=three("480", "V"), currents_drive_input=three(input_amperes, "A")
    )
    assert verdicts(document) == expected


@pytest.mark.parametrize(("phases", "expected"), [(1, [("review", "plain")]), (3, [])])
def test_a_single_phase_gives_volts_times_amperes(
    phases: int, expected: list[tuple[str, str]]
) -> None:
    """31.9 kW: 480 V 50 A are 24 kVA on a single phase, 41.6 kVA on three."""
    document = changed(
        at_first(voltages_drive_input=[q("480", "V")], currents_drive_input=[q("50.0", "A")]),
        {"/site/supply_phases": phases, "/event/supply/line_voltages": [q("480", "V")] * phases},
    )
    assert verdicts(document) == expected


def test_the_highest_line_counts() -> None:
    """A clamp that slipped off two lines: 52.7 A in the third explains the power."""
    amperes = [q("30.0", "A"), q("30.0", "A"), q("52.7", "A")]
    assert verdicts(at_first(currents_drive_output=amperes)) == []


def test_where_a_drive_would_make_power_that_is_told() -> None:
    """41.0 kW out with 31.9 kW in: the output's power is what is wrong."""
    judgement = judged(at_first(power_drive_output=q("41.0", "kW")))
    assert of_rule(judgement, RULE) == []
    (made,) = of_rule(judgement, "load.drive-power")
    assert made.variant == "output"
    answered = judged(
        at_first(power_drive_output=q("41.0", "kW")), accepted=[(made.rule, made.subject)]
    )
    assert [each.variant for each in of_rule(answered, RULE)] == ["plain"]


def test_nothing_is_asked_for_what_was_not_read_together() -> None:
    document = at_first(voltages_drive_output=None)
    assert verdicts(document) == []
    assert lacking(judged(document), RULE) == []
