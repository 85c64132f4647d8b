"""Taking back a draft or one's own signature: kept, void, and nothing done with it afterwards."""

import psycopg
import pytest
from psycopg.errors import CheckViolation, IntegrityConstraintViolation

from tests.records import visits
from tests.records.counting import counts
from tests.records.problems import assert_problem
from tests.records.stations import summary
from tests.records.visits import answer, found, plate_speed, sign

WHY = {"reason": "Entered for the wrong pump set."}


@pytest.fixture
def event(teo, station):
    """A draft with one finding to be answered."""
    return teo.post("/events", visits.wrong_frequency(station)).json


def withdraw(person, event, body=WHY):
    return person.post(f"/events/{event['id']}/withdrawal", body)


def meanings(person, event):
    signed = person.get(f"/events/{event['id']}/signatures").json["signatures"]
    return [signature["meaning"] for signature in signed]


# -- a draft ------------------------------------------------------------------------------------


def test_a_withdrawn_draft_says_who_and_why_and_stays_readable(teo, orla, event):
    answered = withdraw(teo, event)
    assert answered.status == 201, answered.json
    told = orla.get(f"/events/{event['id']}").json
    assert told["state"] == "withdrawn"
    said = dict(told["withdrawal"])
    assert said.pop("at").endswith("Z")
    assert said == WHY | {"by": "Teo"}
    assert told["findings"] == event["findings"]
    listed = orla.get("/events?state=withdrawn").json["items"]
    assert [line["id"] for line in listed] == [event["id"]]


def test_nothing_else_is_done_with_it(teo, orla, event):
    sign(teo, event, "performed")
    path = f"/events/{event['id']}"
    digest = teo.get(f"{path}/signatures").json["to_sign"]["performed"]
    withdraw(teo, event)
    etag = teo.get(path).etag
    before = counts()
    finding = found(event, "drive.volts-per-hertz")
    for refused in (
        teo.patch(path, {"remarks": "more"}, etag),
        answer(orla, event, finding),
        orla.post(f"{path}/signatures", {"meaning": "performed", "digest": digest}),
        orla.post(f"{path}/seal"),
        withdraw(orla, event, {"reason": "another"}),
    ):
        problem = assert_problem(refused, 409)
        assert problem["type"] == "/problems/withdrawn"
    assert counts() == before
    assert meanings(teo, event) == []


def test_the_same_withdrawal_again_changes_nothing(teo, event):
    first = withdraw(teo, event)
    again = withdraw(teo, event)
    assert (again.status, again.json, again.etag) == (200, first.json, first.etag)


@pytest.mark.parametrize("body", [{}, {"reason": ""}, {"reason": " \n"}, {"reason": None}])
def test_a_withdrawal_says_why(teo, event, body):
    assert_problem(withdraw(teo, event, body), 400, "/reason")
    assert teo.get(f"/events/{event['id']}").json["state"] == "draft"


def test_a_sealed_event_is_not_withdrawn(teo, orla, station):
    event = visits.signed(teo, orla, station)
    assert orla.post(f"/events/{event['id']}/seal").status == 201
    problem = assert_problem(withdraw(orla, event), 409)
    assert problem["type"] == "/problems/sealed"


def test_the_register_leaves_a_withdrawn_draft_alone(teo, orla, station, event):
    withdraw(teo, event)
    before = teo.get(f"/events/{event['id']}").json
    plate_speed(orla, station, "1600")
    assert teo.get(f"/events/{event['id']}").json == before


def test_it_does_not_count_at_its_station(teo, orla, station, stage, event):
    def at_a_glance():
        row = summary(station)
        last = row.last_event_at and row.last_event_at.date().isoformat()
        return row.drafts, row.open_stop, last

    later = "2026-05-01T08:00:00-05:00"
    wrong = visits.wrong_frequency(station) | {"performed_at": later, "performed_until": later}
    second = teo.post("/events", wrong).json
    assert at_a_glance() == (2, 2, "2026-05-01")
    withdraw(teo, second)
    assert at_a_glance() == (1, 1, "2026-03-14")
    withdraw(teo, event)
    assert at_a_glance() == (0, 0, None)


# -- a signature --------------------------------------------------------------------------------


def test_a_person_withdraws_the_own_signature(teo, orla, event):
    mistaken = sign(orla, event, "performed").json
    path = f"/events/{event['id']}/signatures/{mistaken['id']}"
    assert_problem(teo.delete(path), 403)
    assert orla.delete(path).status == 204
    assert meanings(orla, event) == []
    assert orla.delete(path).status == 204  # again changes nothing
    assert sign(teo, event, "performed").status == 201
    assert sign(orla, event, "reviewed").status == 201


def test_another_signature_stays(teo, orla, event):
    sign(teo, event, "performed")
    reviewed = sign(orla, event, "reviewed").json
    orla.delete(f"/events/{event['id']}/signatures/{reviewed['id']}")
    assert meanings(teo, event) == ["performed"]


def test_without_a_signature_the_plates_are_those_of_now(teo, orla, station):
    event = visits.post(teo, station)
    signature = sign(teo, event, "performed").json
    plate_speed(orla, station, "1600")
    assert "motor.slip" not in visits.rules_of(teo.get(f"/events/{event['id']}").json)
    teo.delete(f"/events/{event['id']}/signatures/{signature['id']}")
    assert "motor.slip" in visits.rules_of(teo.get(f"/events/{event['id']}").json)


def test_a_sealed_signature_stays(teo, orla, station):
    event = visits.signed(teo, orla, station)
    orla.post(f"/events/{event['id']}/seal")
    [performed, _] = teo.get(f"/events/{event['id']}/signatures").json["signatures"]
    path = f"/events/{event['id']}/signatures/{performed['id']}"
    assert_problem(teo.delete(path), 409)
    assert meanings(teo, event) == ["performed", "reviewed"]


def test_an_unknown_signature_is_not_there(teo, event):
    assert_problem(teo.delete(f"/events/{event['id']}/signatures/{visits.new_id()}"), 404)


# -- the database -------------------------------------------------------------------------------


def test_the_database_refuses_to_touch_what_is_withdrawn(teo, stage, cast, event):
    withdraw(teo, event)
    from django.db import connection

    for statement, error in (
        ("UPDATE records_event SET document = document", IntegrityConstraintViolation),
        ("UPDATE records_event SET state = 'draft'", IntegrityConstraintViolation),
        ("UPDATE records_finding SET present = false", IntegrityConstraintViolation),
        ("INSERT INTO records_finding SELECT * FROM records_finding", IntegrityConstraintViolation),
    ):
        assert refused(connection, cast, statement, error), statement


def test_the_database_wants_a_reason(cast, event):
    from django.db import connection

    statement = (
        "UPDATE records_event SET state = 'withdrawn', withdrawn_at = now(),"
        f" withdrawn_by_id = '{cast.teo.id}', withdrawal_reason = ' '"
    )
    assert refused(connection, cast, statement, CheckViolation)


def refused(connection, cast, statement, error):
    """Whether the office's role cannot do it."""
    from django.db import IntegrityError, transaction

    from tests.records.api.test_signatures import as_contractor

    as_contractor(cast)
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(statement)
    except (IntegrityError, psycopg.Error) as raised:
        return isinstance(raised.__cause__ or raised, error)
    return False
