"""A new event goes into the database at once, with its findings and its entry in the audit."""

from django.db import connection
from django.test.utils import CaptureQueriesContext

from records.models import AuditEntry, Event, Finding
from records.services import judging
from tests.calculations.building_plates import q


def written(person, event):
    with CaptureQueriesContext(connection) as captured:
        posted = person.post("/events", event)
    assert posted.status == 201, posted.json
    return posted.json, [each["sql"] for each in captured if "INSERT INTO" in each["sql"]]


def test_however_much_is_found_one_statement_writes_it(teo, station):
    event = station.event()
    event["settings"]["as_left"]["motor_speed"] = q("1800", "rpm")
    event["settings"]["as_left"]["overload_current"] = q("75", "A")
    posted, [statement] = written(teo, event)
    assert len(posted["findings"]) > 1
    row = Event.objects.get(id=posted["id"])
    kept = Finding.objects.filter(event=row, present=True)
    assert {str(each.id) for each in kept} == {each["id"] for each in posted["findings"]}
    assert AuditEntry.objects.filter(subject=row.id, action="added").count() == 1
    assert all(name in statement for name in ("_event", "_finding", "_auditentry"))


def test_where_nothing_is_found_the_event_is_written_all_the_same(teo, station, monkeypatch):
    monkeypatch.setattr(judging, "rows", lambda *_: [])
    posted, [_] = written(teo, station.event())
    assert not Finding.objects.filter(event__id=posted["id"]).exists()
    assert teo.get(f"/events/{posted['id']}").json == posted
    assert AuditEntry.objects.filter(subject=posted["id"], action="added").count() == 1
