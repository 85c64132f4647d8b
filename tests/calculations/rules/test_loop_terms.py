"""Gain, integral, derivative, filter of the feedback. Limits: common practice, no source."""

import pytest

from tests.calculations.building import (
    booster,
    changed,
    in_metric,
    judged,
    lacking,
    of_rule,
    verdicts,
    without,
)
from tests.calculations.building_plates import q
from tests.calculations.whole_stations import LEFT, left, lift_station, raw_water

# -- loop.integral-off, loop.derivative -----------------------------------------------------------


@pytest.mark.parametrize(
    ("integral", "expected"),
    [(q("0.1", "s"), []), (q("0", "s"), [("review", "off")]), ("off", [("review", "off")])],
)
def test_integral(integral, expected):
    assert (
        verdicts(changed(booster(), left(integral_time=integral)), "loop.integral-off") == expected
    )


def test_proportional_only_is_ordinary_on_level():
    document = changed(lift_station(), left(integral_time="off"))
    assert verdicts(document, "loop.integral-off") == []


@pytest.mark.parametrize(("derivative", "expected"), [("0", []), ("0.1", [("note", "on")])])
def test_derivative(derivative, expected):
    document = changed(booster(), left(derivative_time=q(derivative, "s")))
    assert verdicts(document, "loop.derivative") == expected


def test_a_derivative_that_is_not_recorded_is_no_loss():
    document = without(booster(), f"{LEFT}/derivative_time")
    assert lacking(judged(document), "loop.derivative") == []


def test_without_an_integral_part_what_is_regulated_decides():
    off = left(integral_time="off")
    document = without(changed(booster(), off), f"{LEFT}/regulated_quantity")
    (missing,) = lacking(judged(document), "loop.integral-off")
    assert missing.needs == (f"{LEFT}/regulated_quantity",)


# -- loop.gain ------------------------------------------------------------------------------------


AT_ONCE = left(feedback_filter_time=q("0", "s")) | {"/sensors/0/damping_time": q("0", "s")}
"""A feedback that nothing holds back."""


def terms(gain: str, integral: str = "8", form: str | None = "series", unit: str = "1"):
    integral_time = "off" if integral == "off" else q(integral, "s")
    settings = left(proportional_gain=q(gain, unit), integral_time=integral_time)
    return changed(booster(), settings | {f"{LEFT}/gain_form": form})


@pytest.mark.parametrize(
    ("document", "expected"),
    [
        # The whole output at an error of 1 / K: 10 % at 10, 2 % at 50.
        (terms("10"), []),
        (terms("10.1"), [("note", "switch")]),
        (terms("50"), [("note", "switch")]),
        (terms("51"), [("review", "switch")]),
        (terms("5100", unit="%"), [("review", "switch")]),
        (terms("500"), [("review", "switch")]),
        (terms("0"), [("review", "zero")]),
        (terms("0", form=None), [("review", "zero")]),
        (terms("0", form="parallel"), []),  # the integral part alone
        (terms("0", "off", form="parallel"), [("review", "zero")]),
        (terms("0", "0", form="parallel"), [("review", "zero")]),
        (terms("0", "1", form="parallel"), []),
        # An error of 1 % that stays, at K = 1.5: (100 - 1.5) T / 1.5 = 65.67 T is 2 s at 0.0305 s.
        (changed(terms("1.5", "0.031"), AT_ONCE), []),
        (terms("1.5", "0.030"), [("review", "fast")]),
        # One of 10 %: (10 - 1.5) T / 1.5 = 5.667 T is an hour at 635.3 s; 8.5 T in parallel form,
        # an hour at 423.5 s.
        (terms("1.5", "635"), []),
        (terms("1.5", "636"), [("review", "slow")]),
        (terms("1.5", "423", form="parallel"), []),
        (terms("1.5", "424", form="parallel"), [("review", "slow")]),
        (terms("1.5", "636", form=None), [("review", "slow")]),
        (terms("1.5", "off"), []),  # `loop.integral-off` tells it
    ],
)
def test_gain(document, expected):
    assert verdicts(document, "loop.gain") == expected
    assert verdicts(in_metric(document), "loop.gain") == expected


def test_a_gain_in_percent_is_named():
    (found,) = of_rule(judged(terms("500")), "loop.gain")
    assert (found.parameters["band"], found.parameters["probably"]) == (
        "0.2 %", "Probably 500 %. "
    )  # fmt: skip
    (found,) = of_rule(judged(terms("50000", unit="%")), "loop.gain")
    assert found.parameters["probably"] == ""


@pytest.mark.parametrize(
    ("gain", "expected"),
    [("25", []), ("200", []), ("201", [("review", "switch")])],  # 0.5 % of span at 200
)
def test_a_level_may_have_a_narrow_band(gain, expected):
    """0.2 m of a span of 5 m are 4 %: a gain of 25 is ordinary for a wet well."""
    document = changed(lift_station(), left(proportional_gain=q(gain, "1")))
    assert verdicts(document, "loop.gain") == expected


def test_a_slow_level_is_ordinary():
    document = changed(lift_station(), left(integral_time=q("3600", "s")))
    assert verdicts(document, "loop.gain") == []


def test_of_a_gain_without_what_is_regulated_nothing_is_said():
    (missing,) = lacking(judged(without(terms("500"), f"{LEFT}/regulated_quantity")), "loop.gain")
    assert missing.needs == (f"{LEFT}/regulated_quantity",)


def test_no_loop_in_the_drive_no_gain():
    document = changed(raw_water(), left(proportional_gain=q("500", "1")))
    assert verdicts(document, "loop.gain") == []


# -- loop.feedback-filter -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("filtered", "damping", "expected"),
    [
        ("4.9", "0.1", []),
        ("5.0", "0.1", [("note", "damped")]),
        ("5", None, []),
        ("5.1", None, [("note", "filter")]),
        ("19.9", "0.1", [("note", "damped")]),
        ("20", "0.1", [("review", "damped")]),
        ("60", "0.1", [("review", "damped")]),
        ("0.2", "60", [("review", "damped")]),
    ],
)
def test_filter(filtered, damping, expected):
    document = changed(
        booster(),
        left(feedback_filter_time=q(filtered, "s"))
        | {"/sensors/0/damping_time": q(damping, "s") if damping else None},
    )
    assert verdicts(document, "loop.feedback-filter") == expected


def test_a_level_may_be_smoothed_long():
    document = changed(lift_station(), left(feedback_filter_time=q("60", "s")))
    assert verdicts(document, "loop.feedback-filter") == []


def test_a_filter_is_asked_for_only_in_a_loop_that_has_one():
    for document in (
        without(booster(), f"{LEFT}/feedback_filter_time"),
        changed(raw_water(), left(feedback_filter_time=q("30", "s"))),
    ):
        judgement = judged(document)
        assert of_rule(judgement, "loop.feedback-filter") == []
        assert lacking(judgement, "loop.feedback-filter") == []


@pytest.mark.parametrize(
    ("integral", "filtered", "gain", "expected"),
    [
        # Filter 0.7 s and damping 0.1 s are 0.8 s, 30 % of them 0.24 s
        ("0.25", "0.7", "1.5", []),
        ("0.2", "0.7", "1.5", ["hasty"]),
        ("0.1", "0.7", "1.5", ["hasty"]),
        ("0.1", "0.2", "1.5", []),  # 0.3 s
        ("0.1", "0.7", "0.4", []),  # so small a gain makes it slow enough
        ("0.1", "6", "1.5", []),  # the filter is named by its own rule
    ],
)
def test_an_integral_part_waits_for_what_it_reads(integral, filtered, gain, expected):
    """From memory."""
    document = changed(booster(), left(
        integral_time=q(integral, "s"), feedback_filter_time=q(filtered, "s"),
        proportional_gain=q(gain, "1"),
    ))  # fmt: skip
    found = verdicts(document, "loop.gain")
    assert found == [("review", variant) for variant in expected]
