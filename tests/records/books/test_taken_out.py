"""A book that goes out: all of one client's, nothing of others, and both audits say so."""

import hashlib
import json
import stat

import pytest
from django.apps import apps

from records.errors import Conflict, NotFound
from records.selectors.book_tables import STAYS, TABLES
from records.selectors.books import Wanted
from records.services import taking_out
from tests.records import visits
from tests.records.books.installations import BY, members, owner_of
from tests.records.cast import NAMES
from tests.records.world import NOTE


def lines(book, name):
    return [json.loads(line) for line in members(book)[f"tables/{name}.jsonl"].splitlines()]


def test_nothing_of_others_is_in_it(world, cast, take_out):
    """Looked for in every byte: ids, names, people; a file that both attached is the exception."""
    whole = b"\n".join(members(take_out(drafts=True)).values())
    others = world.other
    foreign = [
        cast.other_client, cast.other_contractor, others.draft, others.sealed_event, others.record,
        others.finding, others.attachment, others.trace, others.upload, others.rule_setting,
        others.station.site, others.station.pump_set, *others.station.ids.values(),
        cast.otto.id, cast.tilda.id, cast.cato.id, "X-90", NAMES["other_client"],
        NAMES["other_contractor"],
    ]  # fmt: skip
    assert [each for each in foreign if str(each).encode() in whole] == []
    assert str(world.own.record).encode() in whole


def test_a_file_that_others_attached_as_well_is_in_it_once_with_own_rows_alone(
    world, stage, take_out
):
    book = take_out(drafts=True)
    digest = hashlib.sha256(NOTE).digest()
    with stage.as_owner() as owner:
        query = "SELECT count(DISTINCT client_id) FROM records_attachment WHERE sha256 = %s"
        assert owner.execute(query, [digest]).fetchone() == (2,)
    assert members(book)[f"files/{digest.hex()}"] == NOTE
    told = lines(book, "attachments")
    assert {row["client_id"] for row in told} == {world.own.client}
    assert {row["sha256"] for row in told} == {f"\\x{digest.hex()}"}


def test_neither_secrets_nor_accounts_are_in_it(world, cast, stage, take_out):
    whole = b"\n".join(members(take_out(drafts=True)).values())
    with stage.as_owner() as owner:
        hidden = owner.execute(
            "SELECT encode(digest, 'hex') FROM records_token UNION SELECT id::text"
            " FROM records_token UNION SELECT password FROM records_user UNION SELECT email"
            " FROM records_user UNION SELECT id::text FROM records_upload"
        ).fetchall()
    assert len(hidden) > 10
    assert [each for (each,) in hidden if each.encode() in whole] == []
    assert {row["full_name"] for row in lines(take_out(), "people")} == {"Orla", "Teo"}


def test_drafts_stay_unless_they_are_asked_for(world, take_out):
    without, complete = take_out(), take_out(drafts=True)
    for book, events in ((without, {world.own.sealed_event}),
                         (complete, {world.own.sealed_event, world.own.draft})):  # fmt: skip
        assert {row["id"] for row in lines(book, "events")} == events
        told = {row["subject"] for row in lines(book, "audit") if row["kind"] == "event"}
        assert told == events
    assert world.own.draft.encode() not in b"\n".join(members(without).values())
    assert {row["kind"] for row in lines(complete, "audit")}.isdisjoint({"token", "person"})


def test_the_instruments_that_its_visits_name_go_along(take_out):
    serials = {row["serial"] for row in lines(take_out(), "instruments")}
    assert "I-1" in serials


def test_it_says_what_is_in_it(take_out):
    book = members(take_out())
    package = json.loads(book["datapackage.json"])
    listed = {each["path"]: each for each in package["resources"]}
    assert set(listed) == set(book) - {"datapackage.json"}
    for path, content in book.items():
        if path.startswith("tables/"):
            assert listed[path]["rows"] == content.count(b"\n")
            named = [field["name"] for field in listed[path]["schema"]["fields"]]
            for line in content.splitlines():
                assert list(json.loads(line)) == named


def test_both_audits_say_so(world, cast, stage, take_out, orla):
    take_out()
    told = [each for each in orla.get("/audit").json["items"] if each["action"] == "book taken out"]
    assert told[-1]["reason"] == "The client's letter."
    with stage.as_owner() as owner:
        query = (
            "SELECT person_name FROM records_auditentry WHERE contractor_id = %s AND action = %s"
        )
        found = owner.execute(query, [cast.client, "book taken out"]).fetchone()
    assert found == ("Ines",)


def test_the_audit_of_a_utility_that_works_for_another_leaves_that_ones_entries(
    world, cast, stage, database_name, tmp_path, db
):
    with stage.as_owner() as owner:
        for client in (cast.client, cast.other_client, None):
            owner.execute(
                "INSERT INTO records_auditentry (id, contractor_id, client_id, person_name, role,"
                " action, kind, subject, name, reason) VALUES (gen_random_uuid(), %s, %s,"
                " 'Ines', '', 'changed', 'site', gen_random_uuid(), 'Its own work', '')",
                [cast.client, client],
            )
    file = tmp_path / "book.zip"
    with owner_of(database_name) as using:
        taking_out.take_out(Wanted(cast.client, "s"), file, "Ines", "why", using)
    told = [row["client_id"] for row in lines(file, "audit") if row["name"] == "Its own work"]
    assert told == [str(cast.client), None]


def test_a_file_that_is_there_is_not_written_over(cast, world, database_name, tmp_path, db):
    file = tmp_path / "book.zip"
    file.write_bytes(b"kept")
    with owner_of(database_name) as using, pytest.raises(Conflict, match="is there already"):
        taking_out.take_out(Wanted(cast.client, "s"), file, "Ines", "why", using)
    assert file.read_bytes() == b"kept"


def test_a_folder_that_is_not_there_is_told_before_anything_is_written_down(
    cast, world, stage, database_name, tmp_path, db
):
    entries = "SELECT count(*) FROM records_auditentry WHERE action = 'book taken out'"
    with stage.as_owner() as owner:
        before = owner.execute(entries).fetchone()
        folder, wanted = tmp_path / "none", Wanted(cast.client, "s")
        with owner_of(database_name) as using, pytest.raises(Conflict) as refused:
            taking_out.take_out(wanted, folder / "book.zip", "Ines", "why", using)
        assert refused.value.detail.startswith(f"{folder} is no folder")
        assert owner.execute(entries).fetchone() == before


def test_it_is_whole_and_its_owners_or_not_there(
    cast, world, database_name, tmp_path, db, settings
):
    file = tmp_path / "book.zip"
    with owner_of(database_name) as using:
        with pytest.raises(Conflict, match="nobody's client"):
            taking_out.take_out(Wanted(cast.contractor, "s"), file, "Ines", "why", using)
        with pytest.raises(NotFound):
            taking_out.take_out(Wanted(cast.orla.id, "s"), file, "Ines", "why", using)
        taking_out.take_out(Wanted(cast.client, "s"), file, "Ines", "why", using)
        assert stat.S_IMODE(file.stat().st_mode) == 0o600
        file.unlink()
        settings.STORAGES = {**settings.STORAGES, "default": {
            "BACKEND": "deploy.local_files.LocalFiles",
            "OPTIONS": {"location": tmp_path / "lost"},
        }}  # fmt: skip
        with pytest.raises(Conflict, match="a file that the book names is not there"):
            taking_out.take_out(Wanted(cast.client, "s"), file, "Ines", "why", using)
    assert list(tmp_path.glob("*book*")) == []


def test_a_client_without_a_record_goes_as_well(stage, cast, database_name, elsewhere, take_in,
                                                tmp_path, world, db):  # fmt: skip
    file = tmp_path / "young.zip"
    with stage.as_owner() as owner:
        client = visits.new_id()
        owner.execute(
            "INSERT INTO records_organization (id, name, revision, created_at)"
            " VALUES (%s, 'Young Utility', 1, now())",
            [client],
        )
        owner.execute(
            "INSERT INTO records_clientele (contractor_id, client_id, since)"
            " VALUES (%s, %s, now())",
            [cast.contractor, client],
        )
    with owner_of(database_name) as using:
        taking_out.take_out(Wanted(client, "s"), file, "Ines", "why", using)
    assert take_in(file).client == "Young Utility"


def test_every_table_goes_or_stays():
    """Whoever adds one has to say which."""
    models = list(apps.get_app_config("records").get_models())
    told = [*(table.model for table in TABLES), *STAYS]
    assert sorted(map(str, told)) == sorted(map(str, models))


def test_the_command_asks_why(stage, cast, tmp_path, world):
    words = ("take_out_book", str(tmp_path / "b.zip"), "--client", str(cast.client))
    status, told = stage.command(*words, "--service", "s", "--by", "Ines", "--reason", " ")
    assert status == 1
    assert "--reason: expected words" in told
    status, told = stage.command(*words, *BY)
    assert status == 2
    assert "--service" in told
