"""A client's book goes from one installation to another: what it reads is the same there."""

import json
import subprocess
import sys
import time

from records.verifier import joined
from tests.calculations.building import booster
from tests.records import visits
from tests.records.books.conftest import SERVICE
from tests.records.books.installations import BY, members
from tests.records.books.test_refused import forged, rows_of
from tests.records.cast import Person
from tests.records.client import Api
from tests.records.test_isolation import ROUTES, places

# What a client reads, without the keys (told by which service) and what holds them.
READ = [
    route
    for (method, route), (own, _) in ROUTES.items()
    if method == "GET"
    and own[2] in (200, 202)
    and route not in ("keys", "records/bundle")
    # Reports stay where they were made: of any day they are made again.
    and not route.startswith("report")
]


def everything(person, world):
    """Every answer that a client can read, by its route."""
    api, where = Api(person), places(world.own)
    return {route: _answer(route, api.get(where.path(route))) for route in READ}


def _answer(route, answer):
    """The readings of all have an ETag of inner numbers; every other one is the same, too."""
    content = answer.content or answer.rows()
    tag = None if route == "records/readings.csv" else answer.headers.get("ETag")
    return answer.status, tag, content


def engaged(elsewhere, *people):
    with elsewhere.as_owner() as owner:
        for person in people:
            elsewhere.engage(owner, person)


def test_a_client_reads_the_same_as_before(world, cast, book, elsewhere, take_in, settings):
    before = everything(cast.cleo, world)
    assert len(before) > 25
    assert before["records/{record}/document.pdf"][2].startswith(b"%PDF-")
    take_in(book, cast.contractor)
    engaged(elsewhere, cast.cleo)
    with elsewhere.entered(settings):
        after = everything(cast.cleo, world)
    assert after == before


def test_with_another_contractor_it_reads_the_same_but_for_who_looks_after_it(
    world, cast, book, elsewhere, take_in, settings
):
    """And but for intervals that the one before had set: they are its own, as limits are."""
    before = everything(cast.cleo, world)
    take_in(book)
    engaged(elsewhere, cast.cleo)
    with elsewhere.entered(settings):
        after = everything(cast.cleo, world)
        listed = Api(cast.cleo).get("/organizations").json["items"]
    differs = {route for route in READ if after[route] != before[route]}
    assert differs <= {
        "sites", "sites/{sites}", "sites/{sites}/labels.pdf", "organizations",
        "due-items", "due-items/counts",
    }  # fmt: skip
    site = json.loads(after["sites/{sites}"][2])
    assert site == json.loads(before["sites/{sites}"][2]) | {
        "contractor": str(elsewhere.contractor)
    }
    assert {each["id"] for each in listed} == {
        str(each) for each in (cast.client, cast.contractor, elsewhere.contractor)
    }


def test_the_chain_goes_on_and_is_checked_over_the_move(
    world, cast, book, elsewhere, take_in, settings, tmp_path
):
    """With the head that the client kept from before, and both services' keys."""
    take_in(book)
    engaged(elsewhere, cast.cleo)
    kept, later, program = (tmp_path / name for name in ("heads.json", "later.zip", joined.NAME))
    kept.write_bytes(members(book)["heads.json"])
    program.write_bytes(joined.program())
    first = json.loads(members(book)["keys.json"])["items"][0]
    time.sleep(1.1)  # a key seals from its first second on
    with elsewhere.entered(settings):
        for instrument in booster()["instruments"]:  # each contractor has its own
            assert Api(elsewhere.nora).post("/instruments", instrument).status == 201
        record = visits.sealed(Api(elsewhere.nils), Api(elsewhere.nora), world.own.station)
        told = Api(cast.cleo).get("/keys").json["items"]
        later.write_bytes(Api(cast.cleo).get("/records/bundle?files=true").rows())
    assert record["number"] == 2
    assert record["previous_digest"] == json.loads(kept.read_bytes())["heads"][0]["digest"]
    own = next(key for key in told if key["origin"] is None)
    assert [key for key in told if key is not own] == [first | {"origin": SERVICE}]
    assert own["kid"] == record["seal"]["key"]

    def verify(*words):
        command = [sys.executable, "-I", program, *words, later]
        ran = subprocess.run(command, capture_output=True, text=True, check=False)
        return ran.returncode, ran.stdout

    both = ("--fingerprint", first["kid"], "--fingerprint", own["kid"])
    status, words = verify("--heads", kept, *both)
    assert status == 0, words
    assert "heads that were kept from earlier: 1" in words
    status, words = verify("--heads", kept, "--fingerprint", first["kid"])
    assert status == 1, "the new service's key is compared by people, not endorsed by the old one"


def test_the_new_contractor_reads_what_was_handed_on_and_no_other_work(
    world, book, elsewhere, take_in, settings
):
    take_in(book)
    side = world.own
    with elsewhere.entered(settings):
        nora = Api(elsewhere.nora)
        listed = nora.get("/records").json["items"]
        assert [each["id"] for each in listed] == [side.record]
        assert nora.get(f"/records/{side.record}/data.json").status == 200
        assert nora.get(f"/events/{side.sealed_event}").status == 404
        done = [each["action"] for each in nora.get("/audit").json["items"]]
    assert done == ["book taken in", "contractor appointed"]


def test_what_stood_until_now_stays_with_who_looked_after_it(cast, book, elsewhere, take_in):
    """And nothing is told of contractors that come and go while the book is written."""
    take_in(book)
    told = "array_agg(DISTINCT contractor_id ORDER BY contractor_id)"
    standing = "records_piecestanding"
    pieces = elsewhere.rows(standing, where="known_until IS NULL")
    assert pieces > 5
    assert elsewhere.rows(standing, told, "known_until IS NULL") == [elsewhere.contractor]
    assert elsewhere.rows(standing, told, "known_until IS NOT NULL") == [cast.contractor]
    left = "known_from > (SELECT max(at) FROM records_auditentry WHERE action = 'book taken out')"
    assert elsewhere.rows(standing, where=left) == pieces


def test_what_was_performed_is_read_from_what_was_sealed(book, elsewhere, take_in, tmp_path):
    """And not from the file's own table, of which ids alone are taken."""
    told = rows_of("performed_tasks", result="outside", as_found="outside", tag="P-9")
    take_in(forged(book, tmp_path / "forged.zip", told))
    rows = map(json.loads, members(book)["tables/performed_tasks.jsonl"].splitlines())
    sealed = sorted(f"{row['task']} {row['tag']} {row['result']}" for row in rows)
    what = "array_agg(task || ' ' || tag || ' ' || result)"
    assert sorted(elsewhere.rows("records_performedtask", what)) == sealed
    assert len(sealed) > 1


def test_the_same_file_again_changes_nothing(book, elsewhere, take_in):
    take_in(book)
    before = {name: elsewhere.rows(name) for name in ("records_record", "records_auditentry")}
    again = take_in(book)
    assert again.before is not None
    assert {name: elsewhere.rows(name) for name in before} == before


def test_a_look_writes_nothing(book, elsewhere, take_in):
    told = take_in(book, only_check=True)
    assert told.counts["records"] == (1, 0)
    assert told.counts["sites"] == (1, 0)
    assert elsewhere.rows("records_record") == 0
    assert elsewhere.rows("records_organization") == 1


def test_people_are_names_and_no_accounts(cast, book, elsewhere, take_in):
    take_in(book)
    told = "row(full_name, is_active, email, left(password, 1))::text"
    assert elsewhere.rows("records_user", told, f"id = '{cast.teo.id}'") == '(Teo,f,"",!)'
    assert elsewhere.rows("records_membership") == 2
    assert elsewhere.rows("records_token") == 2


def test_drafts_go_along_where_the_contractor_moves(
    world, cast, take_out, elsewhere, take_in, settings
):
    take_in(take_out(drafts=True), cast.contractor)
    before = Api(cast.teo).get(f"/events/{world.own.draft}")
    nils = Person("nils2", "technician", cast.contractor)
    engaged(elsewhere, nils)
    with elsewhere.entered(settings):
        there = Api(nils)
        assert there.get(f"/events/{world.own.draft}").content == before.content
        for place in ("findings", "attachments", "traces"):
            path = f"/events/{world.own.draft}/{place}"
            assert there.get(path).status == 200
        assert visits.sign(there, {"id": world.own.draft}, "performed").status == 201


def test_every_row_is_the_same_by_the_commands(cast, take_out, elsewhere):
    """Table by table, taken out again where it was taken in: nothing but inner numbers differs."""
    file = take_out(drafts=True)
    first = members(file)
    words = ("--contractor", str(cast.contractor), "--heads", str(_heads(first, elsewhere)), *BY)
    status, told = elsewhere.command("take_in_book", str(file), *words)
    assert status == 0, told
    assert "heads that were kept from earlier: 1" in told
    assert "records: 1 added" in told
    again = elsewhere.folder / "again.zip"
    status, words = elsewhere.command(
        "take_out_book", str(again), "--client", str(cast.client), "--service", "the second one",
        *BY, "--drafts",
    )  # fmt: skip
    assert status == 0, words
    second = members(again)
    again.unlink()
    assert {name for name in first if name.startswith("tables/")} <= set(second)
    for name in first:
        if name.startswith("tables/") and name != "tables/audit.jsonl":
            assert plain(second[name]) == plain(first[name]), name
        if name.startswith(("records/", "files/")):
            assert second[name] == first[name]
    told, kept = (plain(each["tables/audit.jsonl"]) for each in (second, first))
    assert told[: len(kept)] == kept


def _heads(book, elsewhere):
    file = elsewhere.folder / "heads.json"
    file.write_bytes(book["heads.json"])
    return file


def plain(lines):
    """Rows without the inner numbers of their installation."""
    rows = [json.loads(line) for line in lines.splitlines()]
    for row in rows:
        for name in [name for name, value in row.items() if isinstance(value, int)]:
            if name == "row" or name.endswith("_id"):
                row[name] = "inner"
    return rows
