"""Whatever a file says was found of a visit that nobody has sealed, it is found here anew."""

import json
from datetime import UTC, datetime, timedelta
from types import SimpleNamespace
from uuid import UUID

import pytest

from records.services import book_drafts, book_inputs, documents
from tests.records import visits
from tests.records.api.test_traces import named, step, upload
from tests.records.books.test_not_entered import of_a_draft
from tests.records.books.test_refused import forged
from tests.records.cast import Person
from tests.records.client import Api

FOUND = (
    "findings", "derived", "not_evaluated", "limits_changed", "earlier_record", "records_beside",
    "catalogue", "snapshot",
)  # fmt: skip


def adjust(world, cast):
    """A transmitter is adjusted at a visit for it alone, between the first record and the draft."""
    station = world.own.station
    [verified, *_] = station.event()["sensor_verifications"]
    bare = dict.fromkeys(("settings", "motor_tests", "rotation", "supply"))
    lists = ("duty_points", "protection_tests", "earth_tests", "replaced")
    left = verified | {"adjusted": "zero", "as_left": verified["as_found"]}
    alone = station.event(
        kind="re_verification", pump_set=None, sensors=["PT-101"], sensor_verifications=[left],
        performed_at="2026-03-18T10:00:00Z", performed_until="2026-03-18T11:00:00Z",
        **bare, **{name: [] for name in lists},
    )  # fmt: skip
    visits.sealed(Api(cast.teo), Api(cast.orla), station, **alone)
    for identity, _ in documents.missing():
        assert documents.make(identity)


@pytest.fixture
def draft(world, cast):
    """With an answer, a trace that a step test rests on, a changed limit and earlier records."""
    adjust(world, cast)
    teo = Api(cast.teo)
    visit = visits.wrong_frequency(world.own.station) | {"performed_at": "2026-03-20T10:00:00Z"}
    visit.pop("performed_until", None)
    event = teo.post("/events", visit).json
    trace = upload(teo, event, step()).json["id"]
    event = named(teo, event, trace)
    finding = visits.found(event, "drive.volts-per-hertz")
    assert visits.answer(teo, event, finding, accepted=False).status == 201
    return teo.get(f"/events/{event['id']}").json


def of_unsealed(change):
    """Changes what hangs on visits that are not sealed: `change(name, rows)` answers the rows."""

    def forge(inside, package):
        events = [json.loads(line) for line in inside["tables/events.jsonl"].splitlines()]
        unsealed = {row["row"] for row in events if of_a_draft(row)}
        for name, column in (("events", "row"), ("findings", "event_id")):
            path = f"tables/{name}.jsonl"
            rows = [json.loads(line) for line in inside[path].splitlines()]
            theirs = [row for row in rows if row[column] in unsealed]
            others = [row for row in rows if row[column] not in unsealed]
            rows = [*others, *change(name, theirs)]
            inside[path] = b"".join(json.dumps(row).encode() + b"\n" for row in rows)

    return forge


def all_is_well(name, rows):
    """As if rules had found nothing, of another catalogue; what stands there is no document."""
    for row in rows:
        row |= {"judgement": 5, "catalogue": "x"} if name == "events" else {}
        row |= {"present": False, "document": 5} if name == "findings" else {}
    return rows


def other_findings(name, rows):
    """Such as no rule knows, in place of all that nobody has answered."""
    if name == "events":
        return rows
    newest = sorted(rows, key=lambda row: (row["rule"] != "drive.volts-per-hertz", -row["row"]))
    answered, *others = newest
    told = {"severity": "note", "rule": "none", "subject": "<b>", "document": [[1]]}
    return [answered | told, others[0] | told | {"id": visits.new_id()}]


def test_what_is_found_is_the_same_whatever_the_file_says(
    cast, draft, take_out, elsewhere, take_in, settings, tmp_path
):
    assert draft["earlier_record"] is not None
    assert list(draft["records_beside"]["anew"]) == ["sensor PT-101 S-3301"]
    assert [each["rule"] for each in draft["limits_changed"]] == ["trace.overshoot"]
    tina = Person("tina", "technician", cast.contractor)
    for change in (all_is_well, other_findings):
        elsewhere.begin()
        file = forged(take_out(drafts=True), tmp_path / "forged.zip", of_unsealed(change))
        take_in(file, cast.contractor)
        with elsewhere.as_owner() as owner:
            elsewhere.engage(owner, tina)
        with elsewhere.entered(settings):
            there = Api(tina).get(f"/events/{draft['id']}").json
        for name in FOUND:
            assert there[name] == draft[name], name
        answered = "f.rule = 'drive.volts-per-hertz' AND f.present AND NOT a.accepted"
        joined = "records_answer AS a JOIN records_finding AS f ON f.row = a.finding_id"
        assert elsewhere.rows(joined, "array_agg(a.text)", answered) == [visits.WORDS]


OWN, OTHER = "11111111-1111-1111-1111-111111111111", "22222222-2222-2222-2222-222222222222"
TABLES = """
CREATE TEMP TABLE staged_records (row bigint, id uuid, number int, performed_at timestamptz,
    site_id bigint, pump_set_id bigint, contractor_id uuid, handed_to uuid[], corrects_id bigint);
CREATE TEMP TABLE staged_texts (record uuid, canonical bytea);
"""


@pytest.mark.parametrize(
    ("contractor", "handed_to", "is_known"),
    [(OWN, [], True), (OTHER, [OWN], True), (OTHER, [], False), (OTHER, [OTHER], False)],
)
def test_a_visit_is_held_against_records_alone_that_its_contractor_knows_of(
    stage, contractor, handed_to, is_known
):
    """Be it the one that it corrects."""
    record = visits.new_id()
    at = datetime(2026, 3, 14, tzinfo=UTC)
    event = SimpleNamespace(
        id=visits.new_id(), site_id=1, pump_set_id=1, contractor_id=UUID(OWN), performed_at=at,
        snapshot={}, document={"corrects": record},
    )  # fmt: skip
    unread = dict.fromkeys(("hours_run", "energy_counter", "start_count"))
    parsed = SimpleNamespace(
        corrects=record, settings=None, sensor_verifications=(), **unread
    )  # fmt: skip
    with stage.as_owner() as owner:

        class Staged:
            def execute(self, query, parameters):
                return owner.execute(query, parameters).fetchall()

        owner.execute(TABLES)
        owner.execute(
            "INSERT INTO staged_records VALUES (1, %s, 1, %s, 1, 1, %s, %s, NULL)",
            [record, at - timedelta(days=1), contractor, [UUID(each) for each in handed_to]],
        )
        text = b'{"snapshot": {}, "event": {}}'
        owner.execute("INSERT INTO staged_texts VALUES (%s, %s)", [record, text])
        found = book_drafts._records(Staged(), event, parsed)
        refused = [each.pointer for each in book_inputs._of_corrected(Staged(), event)]
        parsed.corrects = None
        beside = book_drafts._records(Staged(), event, parsed)
    assert (found.told("corrected") is not None) is is_known
    assert (beside.told("last") is not None) is is_known
    assert refused == ([] if is_known else ["/corrects"])
