"""Errors of a verification as they are plotted: (indicated - applied) / span (IEC 61298-2)."""

import pytest

from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.judging import case_of
from calculations.plots.errors import ErrorPlot, error_plot
from calculations.plots.lacking import Lacking
from tests.calculations.building import booster, changed, without
from tests.calculations.building_plates import Document, q

AT = "/event/sensor_verifications/0"


def plotted(document: Document) -> ErrorPlot | Lacking:
    return error_plot(case_of(read(Subject, document)), AT)


def test_errors_by_hand_up_and_down():
    plot = plotted(booster())
    # 0 to 200 psi on 4 to 20 mA in steps of 50 psi: 4.01, 8.02, 12.02, 16.01, 20.00 mA come, one
    # hundredth of 16 mA is 0.0625 % of span.
    rising = [(0, 0.0625), (25, 0.125), (50, 0.125), (75, 0.0625), (100, 0)]
    found = plot.states["as_found"]
    assert [each.rising for each in found] == [True] * 5 + [False] * 5
    percent = [(100 * each.applied, 100 * each.error) for each in found]
    for seen, expected in zip(percent, rising + rising[::-1], strict=True):
        assert seen == pytest.approx(expected, abs=1e-6)
    assert plot.tolerance == pytest.approx(0.005)
    assert list(plot.states) == ["as_found"]
    assert (plot.raised, plot.lacking) == (False, ())


def test_as_left_stands_beside_as_found():
    left = [{"direction": "up", "applied": q(applied, "psi"), "signal": q(signal, "mA")}
            for applied, signal in (("0", "4.00"), ("200", "20.08"))]  # fmt: skip
    plot = plotted(changed(booster(), {f"{AT}/as_left": left, f"{AT}/adjusted": "zero"}))
    assert list(plot.states) == ["as_found", "as_left"]
    # 0.08 of 16 mA is 0.5 %.
    assert [each.error for each in plot.states["as_left"]] == pytest.approx([0, 0.005])


def test_a_reference_at_another_height_is_taken_into_account():
    # 23.1 ft of water are 10 psi, 5 % of a span of 200 psi (2.31 ft for 1 psi).
    plot = plotted(changed(booster(), {f"{AT}/applied_head_difference": q("23.1", "ft")}))
    assert plot.raised
    assert plot.states["as_found"][0].applied == pytest.approx(0.05, rel=3e-3)
    assert plot.states["as_found"][0].error == pytest.approx(0.000625 - 0.05, rel=3e-3)


# -- what is missing ------------------------------------------------------------------------------


def test_a_sensor_without_a_range_is_told():
    plot = plotted(without(booster(), "/sensors/0/upper_range_value"))
    assert isinstance(plot, Lacking)
    assert plot.needs == ("/sensors/0/upper_range_value",)


def test_one_point_is_not_a_plot():
    document = booster()
    document["event"]["sensor_verifications"][0]["as_found"] = document["event"][
        "sensor_verifications"
    ][0]["as_found"][:1]
    plot = plotted(document)
    assert isinstance(plot, Lacking)
    assert plot.because == "only one point can be read"


def test_nothing_recorded_is_told():
    plot = plotted(without(booster(), f"{AT}/as_found"))
    assert isinstance(plot, Lacking)
    assert plot.needs == (f"{AT}/as_found",)


def test_a_state_that_cannot_be_read_leaves_the_other():
    one = [{"direction": "up", "applied": q("0", "psi"), "signal": q("4.00", "mA")}]
    plot = plotted(changed(booster(), {f"{AT}/as_left": one}))
    assert list(plot.states) == ["as_found"]
    assert [each.part for each in plot.lacking] == ["as_left"]
