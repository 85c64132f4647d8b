"""A book comes in beside what is here: none of that is moved, changed or taken up."""

import json

import pytest

from records.errors import Conflict
from records.services.book_staging import Staging
from tests.records import stations, visits
from tests.records.books.test_refused import forged
from tests.records.cast import NAMES, Person
from tests.records.client import Api


@pytest.fixture
def station_here(cast, elsewhere, settings):
    """The client's station of another code, looked after by a contractor of this installation."""
    with elsewhere.as_owner() as owner:
        owner.execute(
            "INSERT INTO records_organization (id, name, revision, created_at)"
            " VALUES (%s, %s, 1, now())",
            [cast.client, NAMES["client"]],
        )
        owner.execute(
            "INSERT INTO records_clientele (contractor_id, client_id, since)"
            " VALUES (%s, %s, now())",
            [elsewhere.contractor, cast.client],
        )
    with elsewhere.entered(settings):
        return stations.register(Api(elsewhere.nora), cast.client, code="H-1").site


def test_a_client_that_has_a_station_here_is_refused(station_here, book, elsewhere, take_in):
    with pytest.raises(Conflict) as refused:
        take_in(book)
    words = "sites: the client has stations here already: 1, such as H-1"
    assert words in refused.value.detail.splitlines()
    assert elsewhere.rows("records_site", "array_agg(code)") == ["H-1"]


def test_stations_that_are_not_in_the_file_stay_as_they_are(
    station_here, cast, book, elsewhere, take_in, monkeypatch
):
    """Even if that refusal were not there."""
    monkeypatch.setattr(Staging, "conflicts", lambda staging: [])
    here = f"id = '{station_here}'"
    before = elsewhere.rows("records_site AS s", "s::text", here)
    taken = take_in(book, cast.contractor)
    assert "H-1" not in taken.sites
    assert len(taken.sites) == 1
    assert elsewhere.rows("records_site AS s", "s::text", here) == before


def test_nobody_who_has_an_account_here_is_named_by_a_book(cast, book, elsewhere, take_in):
    with elsewhere.as_owner() as owner:
        elsewhere.engage(owner, Person("teo", "technician", elsewhere.contractor, id=cast.teo.id))
    words = f"people: Teo, {cast.teo.id}, has an account here: expected names alone"
    for active in (True, False):
        with elsewhere.as_owner() as owner:
            owner.execute(
                "UPDATE records_user SET is_active = %s WHERE id = %s", [active, cast.teo.id]
            )
        with pytest.raises(Conflict) as refused:
            take_in(book)
        assert words in refused.value.detail.splitlines()
    assert elsewhere.rows("records_site") == 0


def test_a_name_that_came_with_another_book_is_no_account(cast, book, elsewhere, take_in):
    """Teo worked for another client of the same service, whose book came before."""
    with elsewhere.as_owner() as owner:
        elsewhere.engage(owner, Person("teo", "technician", elsewhere.contractor, id=cast.teo.id))
        owner.execute(
            "UPDATE records_user SET is_active = false, username = 'taken-in-' || id WHERE id = %s",
            [cast.teo.id],
        )
    assert take_in(book).counts["people"] == (1, 1)


def with_a_signed_draft(inside, package):
    """As if the draft were signed by both who signed the other visit."""
    tables = {
        name: [json.loads(line) for line in inside[f"tables/{name}.jsonl"].splitlines()]
        for name in ("events", "signatures")
    }
    [draft] = [row for row in tables["events"] if row["state"] == "draft"]
    draft["snapshot_frozen"] = True
    tables["signatures"] += [
        row | {"row": 900_000 + row["row"], "id": visits.new_id(), "event_id": draft["row"]}
        for row in tables["signatures"]
    ]
    for name, rows in tables.items():
        lines = [json.dumps(row, default=str).encode() + b"\n" for row in rows]
        inside[f"tables/{name}.jsonl"] = b"".join(lines)


def test_signatures_of_drafts_come_in_void(cast, take_out, elsewhere, take_in, tmp_path):
    """What is sealed here is signed here."""
    file = forged(take_out(drafts=True), tmp_path / "signed.zip", with_a_signed_draft)
    take_in(file, cast.contractor)
    table = "records_signature AS s JOIN records_event AS e ON e.row = s.event_id"
    valid = "count(*) FILTER (WHERE s.void_since IS NULL)"
    told = f"ARRAY[count(*), {valid}]"
    assert elsewhere.rows(table, told, "e.state = 'draft'") == [2, 0]
    assert elsewhere.rows(table, told, "e.state = 'sealed'") == [2, 2]
    assert elsewhere.rows("records_event", "snapshot_frozen", "state = 'draft'") is False
