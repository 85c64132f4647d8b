"""What is told once for several points keeps its answers and signatures as a draft goes on."""

import pytest

from calculations import judging as calculating
from tests.calculations.building_plates import q
from tests.records import visits
from tests.records.visits import answer


def read(person, event):
    told = person.get(f"/events/{event['id']}")
    assert told.status == 200
    return told.json


POINTS, CURVE = "/event/duty_points", "curve.point"


def gauge_reads_absolute(station):
    """14.4 psi of air at 500 ft on top of 85 psi, at each of three points."""
    event = station.event()
    for point in event["duty_points"]:
        point["discharge_pressure"] = q("99.4", "psi")
    return event


def of_curve(event):
    return [each for each in event["findings"] if each["rule"] == CURVE]


def remarked(person, event):
    """The draft judged again, with what was read left as it was."""
    told = person.get(f"/events/{event['id']}")
    again = person.patch(f"/events/{event['id']}", {"remarks": "windy"}, told.etag)
    assert again.status == 200
    return again.json


@pytest.mark.parametrize("accepted", [True, False])
def test_what_was_answered_point_by_point_keeps_its_answers(teo, station, monkeypatch, accepted):
    """Of a draft from before such findings were told once."""
    with monkeypatch.context() as before:
        before.setattr(calculating, "told_once", lambda case, findings, *rest: list(findings))
        posted = visits.post(teo, station, **gauge_reads_absolute(station))
        each = of_curve(posted)
        assert [one["subject"] for one in each] == [f"{POINTS}/{index}" for index in range(3)]
        for one in each:
            assert answer(teo, posted, one, accepted=accepted).status == 201
    after = of_curve(remarked(teo, posted))
    assert [one["id"] for one in after] == [one["id"] for one in each]
    assert [one["open"] for one in after] == [not accepted] * 3
    assert [one["answer"]["accepted"] for one in after] == [accepted] * 3


def test_one_answer_is_enough_for_what_is_told_once(teo, station):
    posted = visits.post(teo, station, **gauge_reads_absolute(station))
    (once,) = of_curve(posted)
    assert once["subject"] == POINTS
    assert answer(teo, posted, once).status == 201
    (after,) = of_curve(remarked(teo, posted))
    assert (after["id"], after["open"]) == (once["id"], False)


def test_an_answer_to_what_is_told_once_ends_with_one_of_its_values(teo, station):
    posted = visits.post(teo, station, **gauge_reads_absolute(station))
    assert answer(teo, posted, of_curve(posted)[0]).status == 201
    points = gauge_reads_absolute(station)["duty_points"]
    points[2]["discharge_pressure"] = q("99.6", "psi")
    told = teo.get(f"/events/{posted['id']}")
    after = teo.patch(f"/events/{posted['id']}", {"duty_points": points}, told.etag)
    assert [one["open"] for one in of_curve(after.json)] == [True]


def fourth(points, pressure):
    """The points, and the second once more with another pressure at its outlet."""
    return [*points, points[1] | {"discharge_pressure": q(pressure, "psi")}]


def too_high(station, *more):
    """Some 25 ft, a fifth, too much head at three points; of a fourth with 110 psi nearly half."""
    event = station.event()
    for point in event["duty_points"]:
        point["discharge_pressure"] = q("96.0", "psi")
    for pressure in more:
        event["duty_points"] = fourth(event["duty_points"], pressure)
    return event


def test_a_point_that_is_off_otherwise_leaves_the_answer_for_the_others(teo, station):
    posted = visits.post(teo, station, **too_high(station))
    (once,) = of_curve(posted)
    assert answer(teo, posted, once).status == 201
    told = teo.get(f"/events/{posted['id']}")
    points = too_high(station, "110")["duty_points"]
    after = teo.patch(f"/events/{posted['id']}", {"duty_points": points}, told.etag)
    assert [(one["subject"], one["open"]) for one in of_curve(after.json)] == [
        (POINTS, False), (f"{POINTS}/3", True),
    ]  # fmt: skip


def test_a_fourth_point_that_is_off_alike_wants_one_answer_anew(teo, station):
    posted = visits.post(teo, station, **too_high(station))
    (once,) = of_curve(posted)
    assert answer(teo, posted, once).status == 201
    told = teo.get(f"/events/{posted['id']}")
    points = too_high(station, "96.0")["duty_points"]
    after = teo.patch(f"/events/{posted['id']}", {"duty_points": points}, told.etag)
    (again,) = of_curve(after.json)
    assert (again["id"], again["open"]) == (once["id"], True)
    assert "2, 3 and 4 are off alike" in again["sentence"]
    assert answer(teo, posted, again).status == 201
    assert [one["open"] for one in of_curve(read(teo, posted))] == [False]


def test_an_answer_at_a_point_joins_no_others_behind_a_signature(teo, station):
    """Once it is answered, the other three are no nearer to each other than they were."""
    posted = visits.post(teo, station, **too_high(station, "110"))
    assert visits.sign(teo, posted, "performed").status == 201
    (other,) = [one for one in of_curve(posted) if one["subject"] == f"{POINTS}/3"]
    assert answer(teo, posted, other, accepted=False).status == 201
    after = read(teo, posted)
    assert [one["id"] for one in of_curve(after)] == [one["id"] for one in of_curve(posted)]
    assert [each["meaning"] for each in after["signatures"]] == ["performed"]
