"""Many records in one ZIP, read back as an archivist would: from what is in it alone."""

import hashlib
import io
import json
import subprocess
import sys
import zipfile
import zlib
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from django.core.files.storage import default_storage
from jsonschema import Draft202012Validator

from records import permissions
from records.documents.zipping import Damaged
from records.models import RecordDocument, SigningKey
from records.selectors import bundles
from records.services import documents
from records.services.files import stored_name
from tests.records import stations, visits
from tests.records.api.test_attachments import PDF, attach
from tests.records.api.test_problems import assert_problem
from tests.records.client import leave


@pytest.fixture
def sealed(teo, orla, station):
    """Two records of one station: 14 March 2026 at the station, and the day after."""
    late = {"performed_at": "2026-03-14T23:30:00-05:00", "performed_until": None}
    next_day = {"performed_at": "2026-03-15T09:30:00-05:00", "performed_until": None}
    return tuple(visits.sealed(teo, orla, station, **day) for day in (late, next_day))


def opened(answer) -> zipfile.ZipFile:
    assert (answer.status, answer.type) == (200, "application/zip")
    archive = zipfile.ZipFile(io.BytesIO(answer.rows()))
    assert archive.testzip() is None
    return archive


def names(archive: zipfile.ZipFile, ending: str = ".json") -> list[str]:
    return [n for n in archive.namelist() if n.startswith("records/") and n.endswith(ending)]


def render() -> None:
    """What the worker does."""
    leave()
    for identity, _ in documents.missing():
        assert documents.make(identity)


def test_it_has_each_record_as_it_is_downloaded_alone(cleo, sealed):
    render()
    archive = opened(cleo.get("/records/bundle"))
    assert names(archive) == ["records/B-01-000001.json", "records/B-01-000002.json"]
    for record, number in zip(sealed, ("000001", "000002"), strict=True):
        data = cleo.get(f"/records/{record['id']}/data.json").content
        pdf = cleo.get(f"/records/{record['id']}/document.pdf").rows()
        assert archive.read(f"records/B-01-{number}.json") == data
        assert archive.read(f"records/B-01-{number}.pdf") == pdf
        assert pdf.startswith(b"%PDF-")
        sealed_at = datetime.fromisoformat(record["sealed_at"]).astimezone(UTC)
        packed = archive.getinfo(f"records/B-01-{number}.json").date_time
        # A ZIP tells times to two seconds.
        assert packed[:5] == sealed_at.timetuple()[:5]


def test_it_has_the_readings_of_all_as_they_are_downloaded_alone(cleo, sealed):
    archive = opened(cleo.get("/records/bundle"))
    [first, second] = (cleo.get(f"/records/{each['id']}/readings.csv").content for each in sealed)
    head, _, _ = first.partition(b"\r\n")
    assert archive.read("readings.csv") == first + second.removeprefix(head + b"\r\n")


def test_its_package_lists_everything_but_itself_by_size_and_digest(cleo, sealed):
    archive = opened(cleo.get("/records/bundle"))
    package = json.loads(archive.read("datapackage.json"))
    assert archive.namelist()[-1] == "datapackage.json"
    listed = {each["path"]: (each["bytes"], each["hash"]) for each in package["resources"]}
    read = {name: archive.read(name) for name in archive.namelist()[:-1]}
    assert listed == {
        name: (len(content), f"sha256:{hashlib.sha256(content).hexdigest()}")
        for name, content in read.items()
    }
    assert len({each["name"] for each in package["resources"]}) == len(listed)
    described = Draft202012Validator(json.loads(read["record-format.json"]))
    described.validate(json.loads(read["records/B-01-000001.json"]))
    assert package["every_record"] is True
    assert package["without_document"] == ["records/B-01-000001", "records/B-01-000002"]
    assert "Of 2 of them the PDF was not made yet" in read["README.txt"].decode()


def test_it_has_the_keys_and_the_heads(cleo, sealed, station):
    archive = opened(cleo.get("/records/bundle"))
    assert json.loads(archive.read("keys.json")) == cleo.get("/keys").json
    [key] = SigningKey.objects.values_list("kid", flat=True)
    assert json.loads(archive.read("keys.json"))["items"][0]["kid"] == key
    last = sealed[1]
    assert json.loads(archive.read("heads.json")) == {
        "heads": [
            {"site": station.site, "code": "B-01", "number": 2, "digest": last["seal"]["digest"],
             "sealed_at": last["sealed_at"]}
        ]
    }  # fmt: skip
    words = archive.read("README.txt").decode()
    assert f"B-01: record 2, SHA-256 {last['seal']['digest']}" in words
    assert "2 records of all stations." in words
    assert "not all records" not in words
    assert "checks records, links, heads and what was attached" in words
    assert "No seal is over readings.csv" in words
    assert "an apostrophe" in words
    assert "Python 3.11 or later" in words
    assert "hazardous voltage" in words
    assert "not a safety approval" in words


def test_twice_it_has_the_same_bytes_and_is_not_sent_to_who_has_it(cleo, sealed):
    first, second = (cleo.get("/records/bundle") for _ in range(2))
    assert first.rows() == second.rows()
    assert first.etag == second.etag
    assert cleo.call("GET", "/records/bundle", If_None_Match=first.etag).status == 304


def test_a_document_that_is_made_makes_it_another(cleo, sealed):
    before = cleo.get("/records/bundle").etag
    render()
    assert cleo.get("/records/bundle").etag != before


def stored_pdf() -> Path:
    """The file of the first record's document."""
    document = RecordDocument.objects.order_by("record").first()
    return Path(default_storage.path(stored_name(bytes(document.sha256))))


def test_a_document_of_which_no_crc_32_is_kept_is_sent_as_the_same_bytes(cleo, sealed, monkeypatch):
    render()
    assert RecordDocument.objects.order_by("record").first().crc32 == zlib.crc32(
        stored_pdf().read_bytes()
    )
    kept = cleo.get("/records/bundle").rows()
    real = bundles._entries
    monkeypatch.setattr(bundles, "_entries", lambda rows: [
        replace(each, pdf=replace(each.pdf, crc32=None)) for each in real(rows)
    ])  # fmt: skip
    assert cleo.get("/records/bundle").rows() == kept


def test_a_document_that_was_cut_short_on_the_disk_cuts_the_bundle_short(cleo, sealed):
    render()
    stored_pdf().write_bytes(stored_pdf().read_bytes()[:-1])
    answer = cleo.get("/records/bundle")
    with pytest.raises(Damaged, match=r"records/B-01-000001\.pdf"):
        answer.rows()


def test_a_document_that_was_changed_on_the_disk_is_named_by_the_program(cleo, sealed, tmp_path):
    """It has its size, so that it is sent: whoever reads it is told."""
    render()
    content = bytearray(stored_pdf().read_bytes())
    content[len(content) // 2] ^= 1
    stored_pdf().write_bytes(content)
    archive = zipfile.ZipFile(io.BytesIO(cleo.get("/records/bundle").rows()))
    assert archive.testzip() == "records/B-01-000001.pdf"
    (tmp_path / "b.zip").write_bytes(archive.fp.getvalue())
    archive.extract("verify.py", tmp_path)
    ran = checked(tmp_path, "b.zip")
    assert ran.returncode == 1
    assert [line for line in ran.stdout.splitlines() if line.startswith("FAILED  ")] == [
        "FAILED  b.zip/records/B-01-000001.pdf: it is damaged in the ZIP:"
        " Bad CRC-32 for file 'records/B-01-000001.pdf'"
    ]


def checked(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """The bundle's own program, as the archivist runs it."""
    command = [sys.executable, "-I", "verify.py", *words]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)


@pytest.mark.parametrize(
    ("days", "numbers", "every"),
    [
        ("performed_from=2026-03-15", ["000002"], False),
        ("performed_until=2026-03-14", ["000001"], False),
        ("performed_from=2026-03-14&performed_until=2026-03-15", ["000001", "000002"], True),
        ("performed_from=2026-03-16", [], False),
        ("", ["000001", "000002"], True),
    ],
)
def test_days_are_those_at_the_station(cleo, sealed, days, numbers, every):
    archive = opened(cleo.get(f"/records/bundle?{days}"))
    assert names(archive) == [f"records/B-01-{number}.json" for number in numbers]
    assert json.loads(archive.read("datapackage.json"))["every_record"] is every
    # Heads are those of the stations, whatever was left out.
    assert json.loads(archive.read("heads.json"))["heads"][0]["number"] == 2


def test_of_one_station(orla, teo, cast, station, sealed):
    other = stations.register(orla, cast.client, code="b-01")
    visits.sealed(teo, orla, other)
    both = names(opened(orla.get(f"/records/bundle?client={cast.client}")))
    # The names must not meet where capitals do not count.
    assert len({name.casefold() for name in both}) == len(both) == 3
    archive = opened(orla.get(f"/records/bundle?site={other.site}"))
    assert names(archive) == ["records/b-01-000001.json"]
    # Heads are those of all stations: whoever keeps them can ask for any of them later.
    heads = json.loads(archive.read("heads.json"))["heads"]
    assert {head["site"] for head in heads} == {station.site, other.site}
    assert json.loads(archive.read("datapackage.json"))["every_record"] is False
    assert "1 records of station b-01." in archive.read("README.txt").decode()
    assert "not all records" in archive.read("README.txt").decode()
    assert "With files=true it comes along." in archive.read("README.txt").decode()


def test_with_files_each_file_is_there_once(cleo, teo, orla, station):
    for _ in range(2):
        event = visits.post(teo, station)
        attached = attach(teo, event, PDF, media="application/pdf", purpose="other", name="p.pdf")
        assert attached.status == 201
        visits.sign_both(teo, orla, teo.get(f"/events/{event['id']}").json)
        assert orla.post(f"/events/{event['id']}/seal").status == 201
    digest = hashlib.sha256(PDF).hexdigest()
    assert f"files/{digest}.pdf" not in opened(cleo.get("/records/bundle")).namelist()
    archive = opened(cleo.get("/records/bundle?files=true"))
    assert archive.namelist().count(f"files/{digest}.pdf") == 1
    assert archive.read(f"files/{digest}.pdf") == PDF


@pytest.mark.parametrize(
    ("name", "ending"),
    [
        ("p.JPG", ".JPG"),
        ("Foto 14.03. 10:30", ""),
        ('what?.*"<', ""),
        ("a.b\\c", ""),
        ("p.pdf ", ""),
        ("p.ninechars", ""),
        ("plan.größe", ""),
        ("drive.html", ".bin"),
    ],
)
def test_a_file_keeps_an_ending_that_every_system_takes(
    cleo, teo, orla, station, tmp_path, name, ending
):
    event = visits.post(teo, station)
    attached = attach(teo, event, PDF, purpose="settings_file", name=name)
    assert attached.status == 201
    visits.sign_both(teo, orla, teo.get(f"/events/{event['id']}").json)
    assert orla.post(f"/events/{event['id']}/seal").status == 201
    archive = opened(cleo.get("/records/bundle?files=true"))
    kept = [each for each in archive.namelist() if each.startswith("files/")]
    assert kept == [f"files/{hashlib.sha256(PDF).hexdigest()}{ending}"]
    (tmp_path / "b.zip").write_bytes(archive.fp.getvalue())
    archive.extract("verify.py", tmp_path)
    ran = checked(tmp_path, "b.zip")
    assert ran.returncode == 0, ran.stdout + ran.stderr


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ("", "/client"),
        ("client=7", "/client"),
        ("client=0195a1b2-0000-7000-8000-000000000001", "/client"),
        ("site=0195a1b2-0000-7000-8000-000000000001", "/site"),
        ("client={client}&performed_from=14.3.2026", "/performed_from"),
        ("client={client}&performed_until=2026-02-30", "/performed_until"),
        ("client={client}&performed_from=2026-02-02&performed_until=2026-02-01",
         "/performed_until"),
        ("client={client}&files=yes", "/files"),
        ("client={client}&year=2026", "/year"),
    ],
)  # fmt: skip
def test_what_cannot_be_meant_is_refused_by_its_name(orla, cast, query, pointer):
    answer = orla.get(f"/records/bundle?{query.format(client=cast.client)}")
    assert_problem(answer, 400, pointer)


def test_another_sides_client_and_station_are_not_known(otto, cast, station, sealed):
    assert_problem(otto.get(f"/records/bundle?client={cast.client}"), 400, "/client")
    assert_problem(otto.get(f"/records/bundle?site={station.site}"), 400, "/site")


def test_what_is_read_later_is_read_in_the_readers_own_place(cleo, sealed, monkeypatch):
    """The request's transaction, and its place in the database, are over by then."""
    entered = []
    real = permissions.enter
    answer = cleo.get("/records/bundle")
    leave()
    monkeypatch.setattr(permissions, "enter", lambda actor: (entered.append(actor), real(actor)))
    assert answer.rows()
    assert {actor.name for actor in entered} == {"Cleo"}


def test_it_is_checked_by_the_program_in_it_and_by_what_was_kept_from_earlier(
    cleo, teo, orla, station, sealed, tmp_path
):
    render()
    earlier = opened(cleo.get("/records/bundle"))
    visits.sealed(teo, orla, station)
    (tmp_path / "later.zip").write_bytes(cleo.get("/records/bundle").rows())
    earlier.extract("heads.json", tmp_path)
    opened(cleo.get("/records/bundle")).extract("verify.py", tmp_path)
    ran = checked(tmp_path, "--heads", "heads.json", "later.zip")
    assert ran.returncode == 0, ran.stdout + ran.stderr
    assert "heads that were kept from earlier" in ran.stdout
    assert (
        "by any seal, but by the bundle's own list alone: README.txt, record-format.json, "
        "verify.py, readings.csv" in (ran.stdout)
    )
    [key] = SigningKey.objects.values_list("kid", flat=True)
    assert key in ran.stdout
