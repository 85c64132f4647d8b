"""The same pump set at its first visit; another visit's case beside today's."""

import pytest

from calculations.aspects import history
from calculations.case import Case, Missing
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.judging import case_of
from tests.calculations.building import booster, case, changed
from tests.calculations.building_plates import Document, q

POINTS = "/event/duty_points"


def visited(today: dict[str, object], first: Document | None = None) -> Case:
    before = case(first or booster())
    return case_of(read(Subject, changed(booster(), today)), earlier=before)


@pytest.mark.parametrize(
    ("change", "noise", "differs", "falls"),
    [
        (-0.06, 0.04, True, True),
        (0.06, 0.04, True, False),
        (-0.06, 0.07, False, False),
        (-0.05, 0.04, False, False),  # of 5 %
        (0.0, 0.0, False, False),
    ],
)
def test_a_pair(change, noise, differs, falls):
    pair = history.Pair("now", "before", change, noise)
    assert (pair.differs(0.05), pair.falls(0.05)) == (differs, falls)


def test_time_between_the_visits():
    found = visited({"/event/performed_at": "2026-03-15T09:30:00-05:00"})
    assert history.elapsed(found) == 86400


def test_a_year_is_a_julian_one():
    """365.25 days of 24 h of 3600 s."""
    assert history.YEAR == 31_557_600


@pytest.mark.parametrize("at", ["2026-03-14T09:30:00-05:00", "2026-03-13T09:30:00-05:00"])
def test_no_time_between_them(at):
    with pytest.raises(Missing) as raised:
        history.elapsed(visited({"/event/performed_at": at}))
    assert raised.value.because == "not after the earlier record"


def test_nothing_is_earlier_than_a_first_visit():
    with pytest.raises(Missing):
        history.earlier(case(booster()))
    assert history.fallen(case(booster())) == ()


@pytest.mark.parametrize(
    ("flows", "pairs"),
    [
        (("1000", "700", "400"), 3),
        (("1090", "700", "400"), 3),
        (("1110", "700", "400"), 2),  # 10 % away at most; no source
        (("0", "700", "400"), 2),
    ],
)
def test_points_near_those_of_the_first_visit(flows, pairs):
    today = {f"{POINTS}/{at}/flow": q(flow, "gpm") for at, flow in enumerate(flows)}
    found = history.heads(visited(today))
    assert len(found) == pairs
    assert all(pair.now.rsplit("/")[-1] == pair.before.rsplit("/")[-1] for pair in found)


def test_the_nearest_point_is_the_one_compared():
    """Two of the first visit lie within 10 % of 1000 gpm: 960 and 1005 gpm."""
    points = booster()["event"]["duty_points"]
    first = changed(
        booster(), {POINTS: [points[0] | {"flow": q(each, "gpm")} for each in ("960", "1005")]}
    )
    pair, *_ = history.heads(visited({}, first))
    assert pair.before == f"{POINTS}/1"


def test_heads_at_one_speed():
    """2 % less speed at 2 % less flow and 4 % less head (0.98^2) is the same pump."""
    today = {
        f"{POINTS}/0/speed": q("1597.4", "rpm"), f"{POINTS}/0/flow": q("980", "gpm"),
        f"{POINTS}/0/discharge_pressure": q("82.86", "psi"),
    }  # fmt: skip
    pair, *_ = history.heads(visited(today))
    assert pair.change == pytest.approx(0, abs=0.002)


def test_efficiencies_of_pairs_whose_power_was_read():
    """A tenth more power for the same water: 1 / 1.1 - 1 = -9.1 %."""
    today = {f"{POINTS}/0/power_drive_input": q("35.09", "kW"),
             f"{POINTS}/1/power_drive_input": None}  # fmt: skip
    now = visited(today)
    found = history.efficiencies(now, history.earlier(now))
    assert [pair.now for pair in found] == [f"{POINTS}/0", f"{POINTS}/2"]
    assert found[0].change == pytest.approx(1 / 1.1 - 1)
    assert found[1].change == pytest.approx(0)
