"""A new event goes into the database at once, with its findings and its entry in the audit."""

from django.db import connection, transaction
from django.forms import model_to_dict
from django.test.utils import CaptureQueriesContext
from django.utils import timezone
from psycopg import _queries

from records import permissions
from records.models import AuditEntry, Event, Finding, Instrument, Site
from records.permissions import Actor
from records.selectors.subjects import Edition
from records.services import audit, event_rows, judging
from tests.benchmarks import stripped
from tests.calculations.building_plates import q
from tests.records import stations, visits
from tests.records.stations import Station


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


def test_what_is_found_is_kept_as_it_was_found(teo, station):
    posted = teo.post("/events", visits.wrong_frequency(station)).json
    rows = Finding.objects.filter(event__id=posted["id"]).order_by("row")
    assert [each.document for each in rows] != []
    answered = {each["id"]: each for each in posted["findings"]}
    for row in rows:
        told = answered[str(row.id)]
        assert row.document == {name: told[name] for name in row.document}
        compared = judging.compared_digest(row.document)
        assert (bytes(row.compared_digest), len(compared)) == (compared, 32)
        assert (row.rule, row.subject, row.severity, row.present) == (
            told["rule"], told["subject"], told["severity"], True,
        )  # fmt: skip


def test_psycopg_keeps_the_statement_taken_apart():
    """It does so up to a length, and up to a number of values."""
    event = Event(performed_at=timezone.now(), document={}, snapshot={}, judgement={})
    noted = [None] * audit.insertion_beside("added").count("%s")
    statement, values = event_rows.addition(event, [], noted, Edition(0, 0, {}))
    assert len(values) == statement.count("%s") <= _queries.MAX_CACHED_STATEMENT_PARAMS
    assert len(statement) <= _queries.MAX_CACHED_STATEMENT_LENGTH


def test_where_nothing_is_found_the_event_is_written_all_the_same(teo, station, monkeypatch):
    monkeypatch.setattr(judging, "rows", lambda *_: [])
    posted, [_] = written(teo, station.event())
    assert not Finding.objects.filter(event__id=posted["id"]).exists()
    assert teo.get(f"/events/{posted['id']}").json == posted
    assert AuditEntry.objects.filter(subject=posted["id"], action="added").count() == 1


def test_the_stripped_benchmark_writes_what_the_service_does(teo, cast, station):
    given = visits.wrong_frequency(station)
    posted = teo.post("/events", given | {"id": visits.new_id()}).json
    places = Event.objects.values(*stripped.PLACES).get(id=posted["id"])
    who = cast.teo
    actor = Actor(who.id, "Teo", who.organization, "", who.role, frozenset())
    again = given | {"id": visits.new_id()}
    state = Site.objects.values_list("register_revision", "sitesummary__last_number")
    named = [each["id"] for each in posted["snapshot"]["instruments"]]
    edition = Edition(
        *state.get(id=station.site),
        dict(Instrument.objects.filter(id__in=named).values_list("row", "revision")),
    )
    with transaction.atomic():
        permissions.enter(actor)
        with connection.cursor() as cursor:
            cursor.execute(*stripped.addition(actor, again, posted["snapshot"], places, edition))
    entries, documents, found = [], [], []
    for identity in (posted["id"], again["id"]):
        event = Event.objects.get(id=identity)
        entry = AuditEntry.objects.get(subject=identity)
        assert entry.after == {"revision": 1, "digest": bytes(event.created_digest).hex()}
        entries.append((entry.action, entry.kind, entry.before, entry.site_id, entry.person_id))
        documents.append(event.document | {"id": None})
        found.append(
            sorted(Finding.objects.filter(event=event).values_list("rule", "subject", "severity"))
        )
    assert entries[0] == entries[1]
    assert documents[0] == documents[1]
    assert found[0] == found[1] != []


def test_what_is_added_to_a_count_is_what_counting_anew_says(teo, station):
    for minute, made in (
        (32, visits.wrong_frequency),
        (31, Station.event),
        (30, visits.damp_winding),
    ):
        at = {"performed_at": f"2026-03-14T09:{minute}:00-05:00"}  # the newest comes first
        posted = teo.post("/events", made(station) | at)
        assert posted.status == 201, posted.json
    added = model_to_dict(stations.summary(station))
    assert (added["drafts"], added["last_event_at"].minute) == (3, 32)
    assert added["open_stop"] == 2
    changed = teo.patch(f"/events/{posted.json['id']}", {"remarks": "a word"}, posted.etag)
    assert changed.status == 200, changed.json
    assert model_to_dict(stations.summary(station)) == added


def test_a_post_asks_for_no_other_draft_of_its_station(teo, station):
    with CaptureQueriesContext(connection) as captured:
        assert teo.post("/events", station.event()).status == 201
    assert not [each["sql"] for each in captured if "FROM records_event" in each["sql"]]
