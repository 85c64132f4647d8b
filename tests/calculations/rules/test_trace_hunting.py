"""Recorded answers that swing: a swing of 1.5 psi at 8 s (L04)."""

from math import exp, nan, pi, sin

import pytest

from calculations.judging import finding_document
from calculations.recordings import Column, Recording
from tests.calculations.building import changed, derived, judged, lacking, of_rule, without
from tests.calculations.building_event import TRACE
from tests.calculations.building_plates import q
from tests.calculations.rules.test_loop_traces import STEPPED, recorded, verdicts


def swinging(
    amplitude: float, growth: float = 0.0, output: float = 1.2, seconds: float = 80
) -> dict[str, Recording]:
    """85 psi +- amplitude, and 48 Hz +- output behind it, 8 s a cycle."""
    return recorded(
        lambda t: 85 + amplitude * exp(growth * t) * sin(2 * pi * t / 8),
        frequency=lambda t: 48 + output * sin(2 * pi * t / 8 - 1.2),
        seconds=seconds,
    )


@pytest.mark.parametrize(
    ("amplitude", "growth", "expected"),
    [
        (1.5, 0.0, [("review", "lasts")]),
        (0.25, 0.0, []),  # 0.5 psi are 0.25 % of span, below 0.3 %
        (1.0, 0.02, [("review", "grows")]),  # 17 % more each cycle
        (3.0, -0.05, [("note", "slow")]),  # 0.67 of the cycle before
    ],
)
def test_hunting(amplitude, growth, expected):
    assert verdicts(swinging(amplitude, growth), "trace.hunting") == expected


@pytest.mark.parametrize(
    ("output", "growth", "expected"),
    [
        (0.0, 0.0, "outside"),
        (0.049, 0.0, "outside"),  # 0.098 Hz from peak to peak
        (0.051, 0.0, "lasts"),
        (0.0, 0.02, "outside"),
        (0.051, 0.02, "grows"),
    ],
)
def test_a_drive_that_stands_still_hunts_not(output, growth, expected):
    found = verdicts(swinging(1.5, growth, output), "trace.hunting")
    assert found == [("review", expected)]


NARROW = changed(
    STEPPED,
    {
        "/sensors/0/upper_range_value": q("100", "psi"),
        "/event/settings/as_left/feedback_at_upper_signal": q("100", "psi"),
    },
)


@pytest.mark.parametrize(
    ("swing", "output", "expected"),
    [(0.58, 0.098, "lasts"), (0.64, 0.098, "outside"),
     (0.47, 0.080, "lasts"), (0.53, 0.080, "outside")],
)  # fmt: skip
def test_what_a_small_movement_can_make_of_the_pressure_is_the_loops_own(swing, output, expected):
    """260 ft at 1770 rpm are 171 ft or 74.1 psi at 48 Hz (1436 rpm), by the affinity laws.

    0.098 Hz make 2 x 74.1 x 0.098 / 48 = 0.303 psi of them, twice that is 0.605; 0.080 Hz 0.494.
    """
    found = verdicts(swinging(swing / 2, output=output / 2), "trace.hunting", NARROW)
    assert found == [("review", expected)]


@pytest.mark.parametrize(
    ("output", "expected"), [(0.0049, "outside"), (0.0051, "lasts"), (0.049, "lasts")]
)
@pytest.mark.parametrize("regulated", ["discharge_pressure", "suction_pressure"])
def test_where_nobody_knows_what_a_movement_makes_only_none_stands_still(
    output, expected, regulated
):
    """Without a curve, or where something else is regulated: 0.0098 and 0.0102 Hz."""
    document = changed(STEPPED, {"/event/settings/as_left/regulated_quantity": regulated})
    if regulated == "discharge_pressure":
        document = without(document, "/pump/curve_points")
    found = verdicts(swinging(1.5, output=output), "trace.hunting", document)
    assert found == [("review", expected)]


def with_output(frequency, seconds=80):
    return recorded(lambda t: 85 + 1.5 * sin(2 * pi * t / 8), frequency=frequency, seconds=seconds)


@pytest.mark.parametrize(
    ("frequency", "expected"),
    [
        (lambda t: 40 + t / 10, "outside"),  # goes up by 8 Hz, and swings with nothing
        (lambda t: 48 + 0.1 * (round(t * 10) % 2), "outside"),  # its last digit
        (lambda t: 48 + sin(2 * pi * t / 3), "outside"),  # another swing than the feedback's
        (None, "lasts"),  # not recorded
        (lambda t: 48 + (sin(2 * pi * t / 8) if t < 36 else 0.0), "lasts"),
    ],
)
def test_what_an_output_does_beside(frequency, expected):
    assert verdicts(with_output(frequency), "trace.hunting") == [("review", expected)]


def test_three_cycles_of_a_still_output_are_too_few():
    """31 s of 8 s a cycle are less than four."""
    found = verdicts(with_output(lambda t: 48.0, seconds=31), "trace.hunting")
    assert found == [("review", "lasts")]


@pytest.mark.parametrize(
    ("every", "expected"),
    [
        (4, "lasts"),  # two a cycle: both where any swing would pass its middle
        (3, "lasts"),  # 11 in four cycles of 8 s
        (2.6, "outside"),  # 12 or 13 of them
        (2, "outside"),
    ],
)
def test_too_few_values_of_the_output_show_no_standstill(every, expected):
    def seldom(t):
        return 48.0 if round(t * 10) % round(10 * every) == 0 else nan

    seen = recorded(lambda t: 85 + 1.5 * sin(2 * pi * t / 8), frequency=seldom, seconds=80)
    assert verdicts(seen, "trace.hunting") == [("review", expected)]


def test_a_drive_that_stopped_has_not_stood_still():
    sawing = recorded(
        lambda t: 85 + 1.5 * sin(2 * pi * t / 8),
        frequency=lambda t: 0.0 if 40 < t < 44 else 48.0, seconds=80,
    )  # fmt: skip
    assert verdicts(sawing, "trace.hunting") == [("review", "lasts")]


def test_what_is_said_of_a_drive_that_stands_still():
    (finding,) = of_rule(judged(STEPPED, recordings=swinging(1.5, output=0.0)), "trace.hunting")
    told = finding_document(finding, "")
    assert "swings with it by no more than 0.01 Hz: it is not this loop that hunts" in str(
        told["sentence"]
    )
    assert "automatic" in str(told["remedy"])


def test_a_swing_may_come_from_outside_the_loop():
    """A consumer that opens and shuts, a pump that pulses: the feedback alone does not tell."""
    (finding,) = of_rule(judged(STEPPED, recordings=swinging(1.5)), "trace.hunting")
    told = finding_document(finding, "")
    assert "the loop hunts, or something beside it swings" in str(told["sentence"])
    assert str(told["remedy"]).startswith("Hold the drive at one frequency")


def test_period_and_swing_of_the_published_example():
    """L04: 60 +- 1.5 psi at 8 s: 3.0 psi from peak to peak."""
    judgement = judged(STEPPED, recordings=swinging(1.5))
    assert derived(judgement, "trace.period").si == pytest.approx(8.0, abs=0.05)
    (finding,) = of_rule(judgement, "trace.hunting")
    assert float(finding.parameters["swing"].split()[0]) == pytest.approx(3.0, abs=0.05)
    assert finding.parameters["swing"].endswith(" psi")


def test_falling_asleep_and_waking_is_not_hunting():
    """One minute asleep, one minute awake; the pressure saws between 79 and 88 psi."""
    sawing = recorded(
        lambda t: 88 - 9 * ((t % 120) / 60) if t % 120 < 60 else 79 + 9 * ((t % 120 - 60) / 60),
        frequency=lambda t: 0.0 if t % 120 < 60 else 45.0,
        seconds=600,
        interval=1.0,
    )
    assert verdicts(sawing, "trace.hunting") == [("note", "cycling")]


@pytest.mark.parametrize(("stops", "severity"), [(1, "review"), (2, "note")])
def test_one_stop_excuses_no_swing(stops, severity):
    sawing = recorded(
        lambda t: 88 - 9 * ((t % 120) / 60) if t % 120 < 60 else 79 + 9 * ((t % 120 - 60) / 60),
        frequency=lambda t: 0.0 if t % 120 < 60 and 1 <= t // 120 <= stops else 45.0,
        seconds=600,
        interval=1.0,
    )
    assert [found for found, _ in verdicts(sawing, "trace.hunting")] == [severity]


@pytest.mark.parametrize("nothing", [None, nan])
def test_where_nothing_was_recorded_the_drive_did_not_stop(nothing):
    """As stops, the holes would excuse the swing as falling asleep."""
    swings = swinging(1.5)[TRACE]
    recorded_ = swings.columns["output_frequency"].values
    holes = [nothing if index % 20 == 7 else each for index, each in enumerate(recorded_)]
    columns = {**swings.columns, "output_frequency": Column("Hz", holes)}
    found = verdicts({TRACE: Recording(swings.times, columns)}, "trace.hunting")
    assert found == [("review", "lasts")]


def test_an_answer_of_a_hunting_loop_waits():
    (waiting,) = lacking(judged(STEPPED, recordings=swinging(1.5)), "trace.overshoot")
    assert waiting.waits_for == "trace.hunting"
