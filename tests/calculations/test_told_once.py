"""What is off alike at every point is told once, at the list of the points.

The booster has three points: 1000, 700 and 400 gpm.
"""

import pytest

from calculations.catalogue import rule
from calculations.findings import Compared, Finding, Shown
from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.judging import judge
from calculations.told_once import told_once
from tests.calculations.building import booster, case, changed, judged, lacking, of_rule
from tests.calculations.building_plates import q

POINTS = "/event/duty_points"
EACH = [f"{POINTS}/{index}" for index in range(3)]


def currents(*shares):
    """The booster's own output currents times a share at each point."""
    changes = {}
    for index, share in enumerate(shares):
        read = booster()["event"]["duty_points"][index]["currents_drive_output"]
        changes[f"{POINTS}/{index}/currents_drive_output"] = [
            q(f"{float(each['value']) * share:.2f}", "A") for each in read
        ]
    return changed(booster(), changes)


def gauge_reads_absolute():
    """At 500 ft the air weighs 14.4 psi: 85.0 psi are 99.4 psi absolute."""
    return changed(booster(), {f"{at}/discharge_pressure": q("99.4", "psi") for at in EACH})


def test_one_of_two_leads_read_at_every_point_is_told_once():
    (found,) = of_rule(judged(currents(0.5, 0.5, 0.5)), "load.current-expected")
    assert (found.subject, found.variant) == (POINTS, "half")
    assert [each.name for each in found.compared] == [
        f"{name}_at_point_{number}" for number in (1, 2, 3) for name in ("read", "expected")
    ]


def test_two_points_that_are_off_alike_are_told_each():
    found = of_rule(judged(currents(0.5, 0.5, 1.0)), "load.current-expected")
    assert [each.subject for each in found] == EACH[:2]


def test_points_that_are_off_by_different_factors_are_told_each():
    found = of_rule(judged(currents(0.5, 0.6, 0.7)), "load.current-expected")
    assert [each.subject for each in found] == EACH


# -- how near is alike ----------------------------------------------------------------------------


def findings(*ratios, variant="high", severity="review", at="{}"):
    return [
        Finding("load.current-expected", variant, severity, at.format(f"{POINTS}/{index}"),
                {"share": str(ratio)}, (Compared("read", Shown(str(ratio), "A")),))
        for index, ratio in enumerate(ratios)
    ]  # fmt: skip


def told(alone, apart=()):
    def share(case, found):
        return None if found.parameters["share"] == "None" else float(found.parameters["share"])

    return told_once(case(booster()), alone, share, apart)


@pytest.mark.parametrize(
    ("ratios", "once"),
    [
        ((2.0, 2.1, 2.05), True),  # 2.0 x 1.05: just at the limit
        ((2.0, 2.1001, 2.05), False),
        ((2.0, 2.0), False),
        ((0.5, 0.5, 0.5, 0.5), True),
        ((0.5, 0.5, None), False),
        ((-2.0, -2.0, -2.0), False),
        ((0.0, 0.0, 0.0), False),
    ],
)
def test_ratios_within_a_twentieth_of_three_points_are_alike(ratios, once):
    alone = findings(*ratios)
    found = told(alone)
    assert (found == alone) is not once
    assert len({id(each) for each in found}) == (1 if once else len(alone))


@pytest.mark.parametrize("other", [1.5, 0.47, 0.53, None])
@pytest.mark.parametrize("at", [0, 1, 3])
def test_one_that_is_off_otherwise_is_told_beside_those_alike(at, other):
    """0.47 x 1.05 = 0.4935 and 0.5 x 1.05 = 0.525: the first ends below 0.5, so does the second
    below 0.53."""
    ratios = [0.5, 0.5, 0.5]
    ratios.insert(at, other)
    alone = findings(*ratios)
    for apart in ((), {("load.current-expected", f"{POINTS}/{at}")}):  # its answer changes nothing
        subjects = [each.subject for each in told(alone, apart)]
        assert subjects == [f"{POINTS}/{n}" if n == at else POINTS for n in range(4)]


def test_the_most_that_are_near_are_told_once():
    """1.00 to 1.04 are three, 1.03 to 1.08 are four; of twice three the lower ones."""
    for ratios, together in (
        ((1.00, 1.03, 1.04, 1.06, 1.08), [1, 2, 3, 4]),
        ((1.08, 1.00, 1.06, 1.03, 1.04), [0, 2, 3, 4]),
        ((2.0, 1.0, 2.0, 1.0, 2.0, 1.0), [1, 3, 5]),
    ):
        found = told(findings(*ratios))
        assert [at for at, each in enumerate(found) if each.subject == POINTS] == together


def test_other_variants_severities_and_readings_are_told_apart():
    for one, other in (
        ({"variant": "high"}, {"variant": "low"}),
        ({"severity": "review"}, {"severity": "note"}),
        ({"at": "{}/power_drive_output"}, {"at": "{}/power_drive_display"}),
    ):
        alone = findings(2.0, 2.0, **one) + findings(2.0, 2.0, 2.0, **other)[2:]
        assert told(alone) == alone


def test_two_things_at_each_point_stay_two():
    alone = findings(2.0, 2.0, 2.0) + findings(3.0, 3.0, 3.0, variant="low")
    found = told(alone)
    assert [each.variant for each in found] == ["high"] * 3 + ["low"] * 3
    assert len({id(each) for each in found}) == 2


def test_points_are_named_as_people_count_them():
    (found,) = {id(each): each for each in told(findings(2, 2, 2, 2)[1:])}.values()
    assert found.parameters["also"] == (
        " Points 2 (told here), 3 and 4 are off alike: look for one cause."
    )
    assert [each.name for each in found.compared] == [f"read_at_point_{n}" for n in (2, 3, 4)]


def test_what_was_answered_at_a_point_stays_told_there():
    """Its answer would be lost; three others are told once all the same."""
    alone = findings(2.0, 2.0, 2.0, 2.0)
    found = told(alone, {("load.current-expected", f"{POINTS}/1")})
    assert found[1] is alone[1]
    assert [each.subject for each in found] == [POINTS, f"{POINTS}/1", POINTS, POINTS]
    assert told(alone[:3], {("load.current-expected", f"{POINTS}/1")}) == alone[:3]


def test_an_answer_at_a_point_keeps_each_told_by_itself():
    subject, before = read(Subject, currents(0.5, 0.5, 0.5)), {("load.current-expected", EACH[1])}
    for judgement in (judge(subject, accepted=before), judge(subject, answered=before)):
        found = of_rule(judgement, "load.current-expected")
        assert [each.subject for each in found] == EACH


# -- what waits for it ----------------------------------------------------------------------------


def test_what_waits_for_a_point_waits_at_each_of_them():
    """Readings off the curve at all points say nothing of currents at any of them."""
    judgement = judged(gauge_reads_absolute())
    assert [each.subject for each in of_rule(judgement, "curve.point")] == [POINTS]
    waiting = [each.subject for each in lacking(judgement, "load.current-expected")]
    assert waiting == EACH


def test_once_accepted_it_is_waited_for_no_more():
    judgement = judged(gauge_reads_absolute(), accepted={("curve.point", POINTS)})
    assert [each.subject for each in of_rule(judgement, "curve.point")] == [POINTS]
    assert lacking(judgement, "load.current-expected") == []


def test_acceptance_of_the_list_opens_no_point_that_is_told_by_itself():
    wrong = {f"{at}/discharge_pressure": q("99.4", "psi") for at in EACH[:2]}
    judgement = judged(changed(booster(), wrong), accepted={("curve.point", POINTS)})
    assert [each.subject for each in of_rule(judgement, "curve.point")] == EACH[:2]
    waiting = [each.subject for each in lacking(judgement, "load.current-expected")]
    assert waiting == EACH[:2]


def test_a_power_in_the_other_unit_at_every_point_is_told_once():
    """kW written as hp: 0.746 of what was taken, an efficiency of 1.34 times the parts'."""
    changes = {f"{at}/power_drive_input/unit": "hp" for at in EACH}
    (found,) = of_rule(judged(changed(booster(), changes)), "efficiency.sum-of-parts")
    assert found.subject == POINTS
    assert rule(found.rule).sentence(found).endswith(
        "Points 1 (told here), 2 and 3 are off alike: look for one cause."
    )  # fmt: skip
