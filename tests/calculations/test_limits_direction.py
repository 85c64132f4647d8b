"""Which way a limit is tighter: nothing that is found may vanish that way, nothing come the other.

A client's looser limit needs a reason, so that a limit declared the wrong way round would let a
looser one pass in silence.
"""

from functools import cache

import pytest

from calculations.catalogue import RULES, rule
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.judging import judge
from tests.calculations import stations, whole_stations
from tests.calculations.building import booster, changed
from tests.calculations.building_plates import q
from tests.calculations.stations import LEFT
from tests.calculations.test_single_mistakes import MISTAKES

GRAVITY = {"note": 1, "review": 4, "stop": 16}
MISTAKEN = [changed(booster(), changes) for _, changes, _, _ in MISTAKES]
NEAR_A_LIMIT = [
    # 60.5 A to expect at maximum frequency; 57 A is 5.8 % below.
    changed(booster(), {f"{LEFT}/overload_current": q("57.0", "A")}),
    # 3 % above the plate's 68.7 A.
    changed(booster(), {f"{LEFT}/overload_current": q("70.8", "A")}),
    changed(booster(), {f"{LEFT}/motor_speed": q("1750", "rpm")}),
    changed(booster(), {f"{LEFT}/motor_voltage": q("430", "V")}),
    changed(booster(), {f"{LEFT}/set_point": q("196", "psi")}),
    changed(booster(), {f"{LEFT}/minimum_frequency": q("20", "Hz")}),
    changed(booster(), {"/event/supply/line_voltages/0": q("500", "V")}),
]
STATIONS = [booster(), stations.well(), whole_stations.lift_station(), whole_stations.raw_water()]
SUBJECTS = [read(Subject, each) for each in (*STATIONS, *MISTAKEN, *NEAR_A_LIMIT)]


def weight(subject: Subject, identity: str, limits: dict[str, float]) -> int | None:
    """How much a rule finds; None where it waits or lacks something."""
    judgement = judge(subject, limits)
    if any(each.rule == identity for each in judgement.not_evaluated):
        return None
    return sum(GRAVITY[each.severity] for each in judgement.findings if each.rule == identity)


@cache
def telling(identity: str) -> list[Subject]:
    """Good stations, and those on which a rule finds something."""
    told = [subject for subject, rules in _told() if identity in rules]
    return [*SUBJECTS[: len(STATIONS)], *told]


@cache
def _told() -> list[tuple[Subject, set[str]]]:
    return [(each, {f.rule for f in judge(each).findings}) for each in SUBJECTS]


@pytest.mark.parametrize(
    ("identity", "name"), [(each.id, name) for each in RULES for name in each.limits]
)
def test_a_looser_limit_adds_nothing_and_a_tighter_one_takes_nothing_away(identity, name):
    limit = rule(identity).limits[name]
    for subject in telling(identity):
        found = weight(subject, identity, {})
        for factor in (0.6, 1.6):
            si = limit.si * factor if limit.si > 0 else limit.si / factor
            now = weight(subject, identity, {f"{identity}.{name}": si})
            if now is None or found is None:
                continue
            looser = (si > limit.si) == (limit.tighter == "lower")
            assert now <= found if looser else now >= found


@pytest.mark.parametrize(
    ("identity", "name", "document", "looser"),
    [
        ("drive.overload-setting", "low", NEAR_A_LIMIT[0], 0.10),
        ("motor.service-factor", "told", NEAR_A_LIMIT[1], 0.01),
    ],
)
def test_what_is_found_near_a_limit_vanishes_with_a_looser_one(identity, name, document, looser):
    limit = rule(identity).limits[name]
    subject = read(Subject, document)
    assert weight(subject, identity, {})
    assert weight(subject, identity, {f"{identity}.{name}": looser}) == 0
    assert (looser > limit.si) == (limit.tighter == "lower")
