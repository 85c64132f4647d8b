"""What is not right, or does not fit, is refused in words, and nothing of it is taken in."""

import hashlib
import json
import os
import signal
import subprocess
import sys
import time
import zipfile

import psycopg
import pytest

from records import roles
from records.errors import Conflict
from records.verifier.telling import BESIDE
from tests import database
from tests.records.books.installations import BY, members

TABLES = ("records_site", "records_event", "records_record", "records_auditentry")


def assert_as_it_began(elsewhere):
    """Its own contractor, people and key, and nothing else."""
    assert {name: elsewhere.rows(name) for name in TABLES} == dict.fromkeys(TABLES, 0)
    counted = [elsewhere.rows(f"records_{each}") for each in ("organization", "user", "signingkey")]
    assert counted == [1, 2, 1]


def forged(book, file, change):
    """The book with other members, and a list that fits them: as a forger would."""
    inside = members(book)
    package = json.loads(inside.pop("datapackage.json"))
    change(inside, package)
    resources = {each["path"]: each for each in package["resources"]}
    package["resources"] = [
        resources.get(path, {"path": path})
        | {"bytes": len(content), "hash": f"sha256:{hashlib.sha256(content).hexdigest()}"}
        | ({"rows": content.count(b"\n")} if path.startswith("tables/") else {})
        for path, content in inside.items()
    ]
    with zipfile.ZipFile(file, "w") as archive:
        for path, content in inside.items():
            packed = zipfile.ZIP_DEFLATED if len(content) > 10_000_000 else zipfile.ZIP_STORED
            archive.writestr(path, content, packed)
        archive.writestr("datapackage.json", json.dumps(package))
    return file


def rows_of(name, **changes):
    """Changes columns of a table's first row."""

    def change(inside, package):
        path = f"tables/{name}.jsonl"
        first, *rest = inside[path].splitlines(keepends=True)
        inside[path] = b"".join([json.dumps(json.loads(first) | changes).encode() + b"\n", *rest])

    return change


def all_rows_of(name, **changes):
    """Changes columns of all rows of a table."""

    def change(inside, package):
        path = f"tables/{name}.jsonl"
        rows = [json.loads(line) | changes for line in inside[path].splitlines()]
        inside[path] = b"".join(json.dumps(row).encode() + b"\n" for row in rows)

    return change


def without_rows(*names):
    gone = {f"tables/{name}.jsonl": b"" for name in names}
    return lambda inside, package: inside.update(gone)


def inside_of(ending, **patch):
    """Changes a record's text or seal, or takes one away."""

    def change(inside, package):
        [path] = [path for path in inside if path.endswith(ending)]
        if patch.get("gone"):
            del inside[path]
        else:
            inside[path] = inside[path].replace(patch["old"], patch["new"], 1)

    return change


def without_record(inside, package):
    for path in [path for path in inside if path.startswith("records/")]:
        del inside[path]


def without_files(inside, package):
    for path in [path for path in inside if path.startswith("files/")]:
        del inside[path]


def another_file(inside, package):
    content = b"Nobody's.\n"
    inside[f"files/{hashlib.sha256(content).hexdigest()}"] = content


def about(**changes):
    return lambda inside, package: package["book"].update(changes)


def no_book(inside, package):
    del package["book"]


def another_column(inside, package):
    [pumps] = [each for each in package["resources"] if each["path"] == "tables/pumps.jsonl"]
    pumps["schema"]["fields"].append({"name": "colour", "type": "string"})


def broken_line(inside, package):
    inside["tables/pumps.jsonl"] = b"{\n"


def deep_line(inside, package):
    inside["tables/pumps.jsonl"] = b'{"row":' * 100_000 + b"1" + b"}" * 100_000 + b"\n"


def endless_table(inside, package):
    inside["tables/audit.jsonl"] = b"0" * 300_000_000


def leading_elsewhere(inside, package):
    inside["files/../../elsewhere"] = b"x"


STRANGER = "11111111-1111-4111-8111-111111111111"
FORGED = {
    "a changed record": (
        inside_of("000001.json", old=b'"start_up"', new=b'"start-up"'), "its text has the digest",
    ),
    "a dropped record": (without_record, "records 1 to 1 are missing or damaged"),
    "another seal": (
        inside_of("000001.json", old=BESIDE + b'{"digest":"', new=BESIDE + b'{"digest":"0'),
        "its seal says",
    ),
    "a document in place of another": (
        inside_of("000001.pdf", old=b"%PDF-1", new=b"%PDF-2"),
        "is another than tables/documents.jsonl says",
    ),
    "an event that was not sealed so": (
        rows_of("events", snapshot={}), "the tables say other things of record",
    ),
    "a record under another number": (
        rows_of("records", number=7), "the tables say other things of record",
    ),
    "another answer": (
        rows_of("answers", text="Never mind."), "tables/answers.jsonl says other things of visit",
    ),
    "a finding that is gone": (
        rows_of("findings", present=False), "tables/findings.jsonl says other things",
    ),
    "a signature of somebody else": (
        rows_of("signatures", by_name="Otto"), "tables/signatures.jsonl says other things",
    ),
    "attachments that are gone": (without_rows("attachments"), "tables/attachments.jsonl says"),
    "records without their rows": (
        without_rows("records", "documents", "performed_tasks"), "the tables say other things",
    ),
    "a row of another client": (
        rows_of("pumps", client_id=STRANGER), "tables/pumps.jsonl has a row that is not this",
    ),
    "a row at no station": (rows_of("pumps", site_id=999_999), "names 999999 in site_id, which"),
    "an unknown organization": (
        rows_of("events", contractor_id=STRANGER), f"names {STRANGER} in contractor_id",
    ),
    "a reader whom nobody knows": (rows_of("records", handed_to=[STRANGER]), "which nobody is"),
    "rows with other columns": (rows_of("pumps", colour="red"), "line 1: other columns"),
    "columns of another version": (another_column, "tables/pumps.jsonl has other columns"),
    "a table that is gone": (inside_of("vessels.jsonl", gone=True), "other tables than expected"),
    "a line that is no JSON": (broken_line, "the database refuses it"),
    "a value that is none": (rows_of("pumps", revision="many"), "the database refuses it"),
    "a time that nobody could read": (
        all_rows_of("clienteles", since="infinity"), "clienteles.jsonl has infinity as since",
    ),
    "a time beyond all calendars": (
        all_rows_of("audit", at="20000-01-01T00:00:00Z"), "audit.jsonl has 20000-01-01 00:00:00+00",
    ),
    "a line without a bottom": (deep_line, "the database refuses it"),
    "a table that unpacks without end": (endless_table, "unpacks to"),
    "a member that leads elsewhere": (leading_elsewhere, "is no path inside of a bundle"),
    "a station in no time zone": (
        rows_of("sites", time_zone="Mars/Olympus"), "sites.jsonl has time zone Mars/Olympus",
    ),
    "a station that stood in no time zone": (
        all_rows_of("standing", time_zone="Mars/Olympus"), "standing.jsonl has time zone Mars/",
    ),
    "files that are gone": (without_files, "is named and not in it"),
    "a document of another size": (
        rows_of("documents", size=7), "of 7 bytes is named and not in it",
    ),
    "a file that nothing names": (another_file, "is in it and named by nothing"),
    "another format": (about(format=2), "it is of format 2: expected 1"),
    "no service": (about(service=" "), "which service it comes from"),
    "a bundle of records": (no_book, "it is no client's book"),
}  # fmt: skip


@pytest.mark.parametrize("case", FORGED)
def test_a_forged_book_is_refused(book, elsewhere, take_in, tmp_path, case):
    change, words = FORGED[case]
    file = forged(book, tmp_path / "forged.zip", change)
    with pytest.raises(Conflict) as refused:
        take_in(file)
    assert words in refused.value.detail
    assert_as_it_began(elsewhere)


def test_what_is_damaged_on_the_way_is_refused(book, elsewhere, take_in, tmp_path):
    content, damaged = book.read_bytes(), tmp_path / "damaged.zip"
    for each, words in (
        (content[: len(content) // 2], "no whole ZIP"),
        (content.replace(b'"start_up"', b'"start-up"', 1), "is damaged"),
        (b"no ZIP", "no whole ZIP"),
    ):
        damaged.write_bytes(each)
        with pytest.raises(Conflict, match=words):
            take_in(damaged)
    with pytest.raises(Conflict, match="is no file"):
        take_in(tmp_path / "nothing")
    assert_as_it_began(elsewhere)


def test_another_history_than_the_client_kept_is_refused(book, elsewhere, take_in, tmp_path):
    kept = tmp_path / "heads.json"
    heads = json.loads(members(book)["heads.json"])
    heads["heads"][0]["digest"] = "0" * 64
    kept.write_text(json.dumps(heads))
    with pytest.raises(Conflict, match="is another one than you kept"):
        take_in(book, heads=kept)
    assert_as_it_began(elsewhere)


def test_a_key_that_nobody_trusts_is_refused(book, elsewhere, take_in):
    with pytest.raises(Conflict, match="which is not trusted"):
        take_in(book, fingerprints=("4fXk" + "A" * 39,))
    assert_as_it_began(elsewhere)


def test_what_is_here_already_is_told(cast, world, book, take_out, elsewhere, take_in):
    take_in(book)
    before = {name: elsewhere.rows(name) for name in TABLES}
    with pytest.raises(Conflict) as refused:
        take_in(take_out(drafts=True))
    told = refused.value.detail.splitlines()
    assert any(line.startswith("sites: already here: 1, ") for line in told)
    assert any(line.startswith("records: already here: 1, ") for line in told)
    assert {name: elsewhere.rows(name) for name in TABLES} == before


def test_an_organization_of_another_name_is_a_conflict(cast, book, elsewhere, take_in):
    with elsewhere.as_owner() as owner:
        owner.execute(
            "INSERT INTO records_organization (id, name, revision, created_at)"
            " VALUES (%s, 'Somebody else', 1, now())",
            [cast.client],
        )
    with pytest.raises(Conflict, match="is Tresk Water District there and Somebody else here"):
        take_in(book)
    assert elsewhere.rows("records_site") == 0


def test_a_contractor_that_nobody_knows_or_the_client_is_a_conflict(cast, book, elsewhere, take_in):
    with pytest.raises(Conflict, match="is neither here nor in the file"):
        take_in(book, cast.other_contractor)
    with pytest.raises(Conflict, match="expected another organization than the client"):
        take_in(book, cast.client)
    assert_as_it_began(elsewhere)


def test_killed_in_the_middle_it_leaves_nothing(book, elsewhere, take_in):
    """Stopped by a lock at its last table, killed there, done again."""
    words = ("take_in_book", str(book), "--contractor", str(elsewhere.contractor), *BY)
    with psycopg.connect(database.dsn(roles.OWNER, elsewhere.database)) as holder:
        holder.execute("LOCK TABLE records_auditentry IN SHARE MODE")
        process = subprocess.Popen(
            [sys.executable, "manage.py", *words], cwd=database.PROJECT,
            env=elsewhere.environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        _wait_for_lock(elsewhere)
        os.kill(process.pid, signal.SIGKILL)
        process.wait()
    assert_as_it_began(elsewhere)
    take_in(book)
    assert elsewhere.rows("records_record") == 1


def _wait_for_lock(elsewhere):
    waiting = "NOT granted AND relation = 'records_auditentry'::regclass"
    deadline = time.monotonic() + 60
    while not elsewhere.rows("pg_locks", where=waiting):
        assert time.monotonic() < deadline
        time.sleep(0.05)
