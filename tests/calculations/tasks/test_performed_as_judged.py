"""What a visit performed follows the limits and acceptances that it was judged with."""

import pytest

from calculations.inputs.reading import read
from calculations.inputs.subject import Subject
from calculations.judging import judge
from calculations.tasks.performing import performed
from tests.calculations.building import changed
from tests.calculations.building_plates import q
from tests.calculations.tasks.doing import verdicts
from tests.calculations.whole_stations import lift_station


def taken(document, limits=None, accepted=()):
    """Results by task, judged and read with the same limits and acceptances."""
    subject = read(Subject, document)
    judged = judge(subject, limits, accepted=frozenset(accepted))
    rules = {rule for rule, _ in accepted}
    return {each.task: each.result for each in performed(subject, verdicts(judged), limits, rules)}


HIGH = "/site/suction_level_high"


def by_depth(high: str):
    """The lift station's points by the depth of the water, which counts from the site's datum."""
    points = {f"/event/duty_points/{at}/suction_level": None for at in range(3)}
    points |= {f"/event/duty_points/{at}/suction_level_depth": q("4.0", "m") for at in range(3)}
    visit = {"/event/kind": "re_verification", HIGH: q(high, "m")}
    return changed(lift_station(), visit | points)


@pytest.mark.parametrize(
    ("accepted", "expected"), [((), None), ([("site.datum", HIGH)], "inside")]
)  # fmt: skip
def test_what_waits_for_what_was_accepted_is_performed(accepted, expected):
    """Water said to stand 60 m over the datum: nobody knows what depths count from."""
    assert taken(by_depth("60"), accepted=accepted).get("pump-performance") == expected


@pytest.mark.parametrize(
    ("limits", "expected"),
    [({}, "inside"), ({"site.datum.high": 10.0}, None), ({"site.datum.high": 13.0}, "inside")],
)
def test_what_a_client_holds_for_too_high_is_not_performed(limits, expected):
    """12 m over the datum."""
    assert taken(by_depth("12"), limits).get("pump-performance") == expected
