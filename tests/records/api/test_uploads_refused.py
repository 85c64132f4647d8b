"""Files that come in parts and are not taken: as announced, for their bytes, for their number."""

import pytest

from records.services import attachments, traces, uploads
from tests.records import visits
from tests.records.api.test_attachments import attach
from tests.records.problems import assert_problem, details
from tests.records.uploading import BACKUP, announced, append, begin, files_of


@pytest.fixture
def draft(teo, station):
    return visits.post(teo, station)


# -- what is announced -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "pointers"),
    [
        ({"kind": "film"}, ["/kind"]),
        ({"size": 0}, ["/size"]),
        ({"size": "many"}, ["/size"]),
        ({"sha256": "abc"}, ["/sha256"]),
        ({"purpose": "holiday"}, ["/purpose"]),
        ({"purpose": None, "name": None}, ["/name", "/purpose"]),
        ({"kind": "trace", "purpose": "other"}, ["/purpose"]),
        ({"id": "7"}, ["/id"]),
        ({"name": "drive.bin\n"}, ["/name"]),
        ({"received": 5}, ["/received"]),
    ],
)
def test_what_is_announced_is_checked(teo, draft, changes, pointers):
    posted = teo.post(f"/events/{draft['id']}/uploads", announced(BACKUP, **changes))
    assert_problem(posted, 400, *pointers)
    assert not any(words.startswith("String") for words in details(posted).values())


@pytest.mark.parametrize("kind", ["attachment", "trace"])
def test_what_is_too_large_is_refused_before_any_of_it_comes(teo, draft, kind):
    most = attachments.LARGEST if kind == "attachment" else traces.LARGEST
    path = f"/events/{draft['id']}/uploads"
    refused = teo.post(path, announced(BACKUP, kind, size=most + 1))
    assert_problem(refused, 413)
    assert refused.headers["Upload-Limit"] == f"max-size={most}"
    assert teo.post(path, announced(BACKUP, kind, size=most)).status == 201


# -- what has come ---------------------------------------------------------------------------------


def test_other_bytes_than_announced_make_no_file(teo, draft):
    path = begin(teo, draft, BACKUP)
    wrong = append(teo, path, BACKUP[:-1] + b"x", 0, "?1")
    assert_problem(wrong, 400, "/sha256")
    assert wrong.headers["Upload-Complete"] == "?1"  # all has come: sending on does not help
    assert files_of(teo, draft) == []
    assert_problem(append(teo, path, b"", len(BACKUP), "?1"), 400, "/sha256")
    assert teo.delete(path).status == 204
    assert begin(teo, draft, BACKUP, id=path.rpartition("/")[2]) == path


@pytest.mark.parametrize(
    ("kind", "content"),
    [("attachment", b"<html><script>alert(1)</script>"), ("trace", b"time [s],colour\n0,red\n")],
)
def test_content_is_looked_at_as_if_it_came_at_once(teo, draft, kind, content):
    if kind == "attachment":
        at_once = attach(teo, draft, content, purpose="other")
        path = begin(teo, draft, content, purpose="other")
    else:
        at_once = teo.call("POST", f"/events/{draft['id']}/traces", content, media="text/csv")
        path = begin(teo, draft, content, "trace")
    in_parts = append(teo, path, content, 0)
    assert at_once.status == 400
    assert (in_parts.status, in_parts.json) == (400, at_once.json)
    assert in_parts.headers["Upload-Complete"] == "?1"
    assert files_of(teo, draft, f"{kind}s") == []


# -- how much of it --------------------------------------------------------------------------------


def test_one_contractor_does_not_fill_the_disk(teo, orla, tilda, draft, monkeypatch):
    monkeypatch.setattr(uploads, "MOST_BYTES", 3 * len(BACKUP))
    path = f"/events/{draft['id']}/uploads"
    first = begin(teo, draft, BACKUP)
    begin(orla, draft, BACKUP)
    third = begin(teo, draft, BACKUP)
    assert "under way" in assert_problem(teo.post(path, announced(b"x")), 409)["detail"]
    append(teo, first, BACKUP, 0)  # complete: no longer under way
    begin(teo, draft, b"x")
    teo.delete(third)
    monkeypatch.setattr(uploads, "MOST_UNDER_WAY", 2)
    assert_problem(teo.post(path, announced(b"x")), 409)


def test_parts_may_be_small_but_not_without_end(teo, draft, monkeypatch):
    monkeypatch.setattr(uploads, "MOST_PARTS", 3)
    path = begin(teo, draft, BACKUP)
    for number in range(3):
        assert append(teo, path, BACKUP[number : number + 1], number).status == 204
    refused = append(teo, path, BACKUP[3:], 3)
    assert "longer ones" in assert_problem(refused, 409)["detail"]
