"""Files that come in parts: nothing sent twice, and at the end the same as if sent at once."""

import hashlib
from datetime import timedelta

import pytest
from django.db import connection
from django.http import UnreadablePostError
from django.utils import timezone

from records.api import problems
from records.management.commands.relay import Relay
from records.models import Upload
from records.services import attachments, traces, uploads
from tests.records import visits
from tests.records.api.test_attachments import attach, photograph
from tests.records.client import Api
from tests.records.counting import counts
from tests.records.problems import assert_problem, details
from tests.records.visits import new_id
from tests.records.world import PARTIAL, ROWS

BACKUP = bytes(range(256)) * 40  # of a drive: any bytes
TRACE = ROWS + b"".join(b"%d,%d\n" % (second, 60 + second % 3) for second in range(2, 400))


@pytest.fixture
def draft(teo, station):
    return visits.post(teo, station)


def announced(content: bytes, kind="attachment", **changes):
    given = {"kind": kind, "size": len(content), "sha256": hashlib.sha256(content).hexdigest()}
    if kind == "attachment":
        given |= {"purpose": "settings_file", "name": "drive.bin"}
    return given | changes


def begin(person, event, content: bytes, *kind: str, **changes) -> str:
    """The address of an upload that was begun."""
    begun = person.post(f"/events/{event['id']}/uploads", announced(content, *kind, **changes))
    assert begun.status == 201, begun.json
    return str(begun.headers["Location"])


def append(person, path: str, content: bytes, offset: int, complete: str | None = None):
    headers = {"Upload_Offset": str(offset)} | ({"Upload_Complete": complete} if complete else {})
    return person.call("PATCH", path, content, media=PARTIAL, **headers)


def state(person, path: str) -> tuple[int, str]:
    """Offset and completeness, as HEAD tells them."""
    asked = person.call("HEAD", path)
    assert (asked.status, asked.content) == (204, b"")
    assert asked.headers["Cache-Control"] == "no-store"
    return int(asked.headers["Upload-Offset"]), asked.headers["Upload-Complete"]


def files_of(person, event, kind="attachments") -> list:
    return person.get(f"/events/{event['id']}/{kind}").json["items"]


# -- the way through -------------------------------------------------------------------------------


def test_parts_become_the_file_that_was_sent(teo, draft):
    path = begin(teo, draft, BACKUP)
    assert state(teo, path) == (0, "?0")
    first = append(teo, path, BACKUP[:700], 0, "?0")
    assert (first.status, first.content) == (204, b"")
    assert (first.headers["Upload-Offset"], first.headers["Upload-Complete"]) == ("700", "?0")
    assert state(teo, path) == (700, "?0")
    assert append(teo, path, BACKUP[700:701], 700).status == 204
    last = append(teo, path, BACKUP[701:], 701, "?1")
    assert (last.status, last.headers["Upload-Complete"]) == (201, "?1")
    assert last.json["sha256"] == hashlib.sha256(BACKUP).hexdigest()
    assert last.json["id"] == path.rpartition("/")[2]
    assert teo.get(last.headers["Location"]).rows() == BACKUP
    assert state(teo, path) == (len(BACKUP), "?1")
    assert files_of(teo, draft) == [last.json]


def test_a_photograph_in_parts_is_drawn_anew_as_if_it_came_at_once(teo, station, draft):
    picture = photograph()
    other = visits.post(teo, station)
    at_once = attach(teo, other, picture).json
    path = begin(teo, draft, picture, purpose="motor_plate", name="plate.jpg")
    append(teo, path, picture[:100], 0)
    made = append(teo, path, picture[100:], 100).json
    differing = {"id", "received_at"}
    assert {k: v for k, v in made.items() if k not in differing} == {
        k: v for k, v in at_once.items() if k not in differing
    }


def test_a_trace_in_parts_is_judged_with_the_event(teo, draft):
    before = teo.get(f"/events/{draft['id']}")
    path = begin(teo, draft, TRACE, "trace", name="Step")
    append(teo, path, TRACE[:1000], 0)  # not at the end of a line
    made = append(teo, path, TRACE[1000:], 1000)
    assert (made.status, made.json["rows"], made.json["name"]) == (201, 400, "Step")
    assert made.headers["Location"] == f"/api/v1/events/{draft['id']}/traces/{made.json['id']}"
    assert teo.get(f"/events/{draft['id']}").etag != before.etag


def test_what_has_come_is_told_as_a_document_too(teo, draft):
    path = begin(teo, draft, BACKUP, name="d.bin")
    append(teo, path, BACKUP[:9], 0)
    told = teo.get(path)
    assert told.json["received"] == 9
    assert told.json["complete"] is False
    assert told.headers["Upload-Length"] == str(len(BACKUP))
    limit = told.headers["Upload-Limit"]
    assert limit.startswith(f"max-size={attachments.LARGEST}, max-age=6")  # of 604,800 s
    listed = teo.get(f"/events/{draft['id']}/uploads").json["items"]
    assert [each["id"] for each in listed] == [told.json["id"]]


def test_an_event_lacks_a_file_until_all_of_it_has_come(teo, station):
    event = station.event()
    del event["settings_file"]
    draft = teo.post("/events", event).json

    def lacking() -> bool:
        found = teo.get(f"/events/{draft['id']}").json["findings"]
        return any("settings file" in f["sentence"] for f in found if f["rule"] == "record.missing")

    path = begin(teo, draft, BACKUP)
    append(teo, path, BACKUP[:-1], 0)
    assert lacking()
    assert append(teo, path, BACKUP[-1:], len(BACKUP) - 1).status == 201
    assert not lacking()


# -- again, and in the wrong place -----------------------------------------------------------------


def test_beginning_again_changes_nothing(teo, draft):
    given = announced(BACKUP, id=new_id())
    path = f"/events/{draft['id']}/uploads"
    first, again = teo.post(path, given), teo.post(path, given)
    assert (first.status, again.status) == (201, 200)
    assert first.headers["Location"] == again.headers["Location"]
    append(teo, first.headers["Location"], BACKUP[:5], 0)
    assert teo.post(path, given).headers["Upload-Offset"] == "5"
    for changes in ({"size": 1}, {"name": "other"}, {"sha256": "0" * 64}, {"purpose": "other"}):
        assert_problem(teo.post(path, given | changes), 409, "/id")


def test_the_last_part_again_answers_the_same_and_changes_nothing(teo, draft):
    path = begin(teo, draft, BACKUP)
    append(teo, path, BACKUP[:10], 0)
    first = append(teo, path, BACKUP[10:], 10, "?1")
    before = counts()
    for again in (append(teo, path, BACKUP[10:], 10, "?1"), append(teo, path, b"", len(BACKUP))):
        assert (again.status, again.json) == (200, first.json)
        assert again.headers["Upload-Complete"] == "?1"
        assert again.headers["Location"] == first.headers["Location"]
    assert counts() == before


@pytest.mark.parametrize("offset", [0, 9, 11, len(BACKUP)])
def test_other_bytes_than_the_next_are_refused_and_told_which_they_are(teo, draft, offset):
    path = begin(teo, draft, BACKUP)
    append(teo, path, BACKUP[:10], 0)
    refused = append(teo, path, BACKUP[offset : offset + 5], offset)
    problem = assert_problem(refused, 409)
    assert problem["type"] == "/problems/mismatching-upload-offset"
    assert (problem["expected_offset"], problem["provided_offset"]) == ("10", str(offset))
    assert refused.headers["Upload-Offset"] == "10"
    assert state(teo, path) == (10, "?0")


def test_a_complete_upload_takes_nothing_more(teo, draft):
    path = begin(teo, draft, BACKUP)
    assert append(teo, path, BACKUP, 0).status == 201
    assert_problem(append(teo, path, b"x", len(BACKUP)), 409)
    assert_problem(append(teo, path, BACKUP[:5], 0), 409)
    assert_problem(append(teo, path, BACKUP[5:], 5, "?0"), 409)


def test_more_than_announced_is_refused_before_it_is_read(teo, draft):
    path = begin(teo, draft, BACKUP)
    append(teo, path, BACKUP[:10], 0)
    refused = append(teo, path, BACKUP[10:] + b"x", 10, "?0")
    assert f"{len(BACKUP) - 10} are still to come" in assert_problem(refused, 413)["detail"]
    assert state(teo, path) == (10, "?0")


def test_the_end_is_where_the_caller_says_it_is(teo, draft):
    path = begin(teo, draft, BACKUP)
    assert_problem(append(teo, path, BACKUP[:10], 0, "?1"), 400)
    assert state(teo, path) == (0, "?0")
    assert append(teo, path, BACKUP, 0, "?0").status == 204
    assert state(teo, path) == (len(BACKUP), "?0")
    assert files_of(teo, draft) == []
    assert append(teo, path, b"", len(BACKUP), "?1").status == 201


@pytest.mark.parametrize("offset", [None, "", "-1", "ten", "1.0", "9" * 30])
def test_without_an_offset_nothing_is_read(teo, draft, offset):
    path = begin(teo, draft, BACKUP)
    headers = {} if offset is None else {"Upload_Offset": offset}
    assert_problem(teo.call("PATCH", path, BACKUP, media=PARTIAL, **headers), 400)
    assert state(teo, path) == (0, "?0")


def test_a_part_says_how_long_it_is(teo, draft):
    path = begin(teo, draft, BACKUP)
    chunked = {"HTTP_TRANSFER_ENCODING": "chunked", "HTTP_UPLOAD_OFFSET": "0"}
    refused = teo.raw("PATCH", path, BACKUP, content_type=PARTIAL, **chunked)
    assert "Content-Length" in assert_problem(refused, 400)["detail"]


def test_a_part_says_that_it_is_one(teo, draft):
    path = begin(teo, draft, BACKUP)
    refused = teo.call("PATCH", path, BACKUP, media="image/jpeg", Upload_Offset="0")
    assert_problem(refused, 415)
    assert state(teo, path) == (0, "?0")


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
    assert (in_parts.status, in_parts.json) == (at_once.status, at_once.json) != (201, None)
    assert in_parts.headers["Upload-Complete"] == "?1"
    assert files_of(teo, draft, f"{kind}s") == []


# -- whose, and until when -------------------------------------------------------------------------


def test_anothers_upload_is_nothing_here(teo, tilda, cleo, station, draft):
    path = begin(teo, draft, BACKUP)
    for answer in (
        append(tilda, path, BACKUP, 0),
        tilda.get(path),
        tilda.call("HEAD", path),
        tilda.delete(path),
        tilda.post(path.rpartition("/")[0], announced(BACKUP)),
    ):
        assert answer.status == 404
    assert append(cleo, path, BACKUP, 0).status == 403
    assert state(teo, path) == (0, "?0")
    elsewhere = visits.post(teo, station)
    assert_problem(teo.get(path.replace(draft["id"], elsewhere["id"])), 404)


@pytest.mark.parametrize("end", ["sealed", "withdrawn"])
def test_what_is_sealed_or_withdrawn_takes_no_more(teo, orla, station, end):
    event = visits.post(teo, station)
    path = begin(teo, event, BACKUP)
    append(teo, path, BACKUP[:-5], 0)
    if end == "sealed":
        visits.sign_both(teo, orla, event)
        assert orla.post(f"/events/{event['id']}/seal").status == 201
    else:
        teo.post(f"/events/{event['id']}/withdrawal", {"reason": "Posted for the wrong pump."})
    refused = append(teo, path, BACKUP[-5:], len(BACKUP) - 5)
    assert assert_problem(refused, 409)["type"] == f"/problems/{end}"
    assert files_of(teo, event) == []
    assert_problem(teo.post(f"/events/{event['id']}/uploads", announced(BACKUP)), 409)
    assert teo.delete(path).status == 204


def test_a_file_that_arrives_makes_signatures_void(teo, orla, station):
    event = visits.signed(teo, orla, station)
    path = begin(teo, event, BACKUP)
    assert append(teo, path, BACKUP[:9], 0).status == 204
    assert len(teo.get(f"/events/{event['id']}").json["signatures"]) == 2
    assert append(teo, path, BACKUP[9:], 9).status == 201
    assert teo.get(f"/events/{event['id']}").json["signatures"] == []


def test_what_is_given_up_is_gone_and_what_was_made_stays(teo, draft):
    before = counts()
    path = begin(teo, draft, BACKUP)
    append(teo, path, BACKUP[:10], 0)
    assert teo.delete(path).status == 204
    assert counts() == before
    assert teo.call("HEAD", path).status == 404
    assert_problem(append(teo, path, BACKUP[10:], 10), 404)
    path = begin(teo, draft, BACKUP)
    made = append(teo, path, BACKUP, 0).headers["Location"]
    assert teo.delete(path).status == 204
    assert teo.get(made).rows() == BACKUP


def test_of_what_was_removed_since_the_last_part_makes_nothing(teo, draft):
    path = begin(teo, draft, BACKUP)
    assert teo.delete(append(teo, path, BACKUP, 0).headers["Location"]).status == 204
    assert "removed" in assert_problem(append(teo, path, BACKUP, 0), 409)["detail"]


def parts_kept() -> int:
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM records_uploadpart")
        return cursor.fetchone()[0]


def test_parts_go_when_the_file_is_made(teo, draft):
    path = begin(teo, draft, BACKUP)
    append(teo, path, BACKUP[:10], 0)
    assert parts_kept() == 1
    append(teo, path, BACKUP[10:], 10)
    assert parts_kept() == 0


def test_the_relay_drops_what_nothing_more_comes_of(teo, draft):
    old, new = begin(teo, draft, BACKUP), begin(teo, draft, BACKUP)
    append(teo, old, BACKUP[:10], 0)
    longer_ago = timezone.now() - uploads.KEPT_FOR - timedelta(minutes=1)
    Upload.objects.filter(id=old.rpartition("/")[2]).update(changed_at=longer_ago)
    Relay().forget_what_is_over()
    assert teo.call("HEAD", old).status == 404
    assert state(teo, new) == (0, "?0")
    assert parts_kept() == 0


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


def test_a_long_part_is_kept_in_pieces(teo, draft):
    content = bytes(uploads.PART * 2 + 5)
    path = begin(teo, draft, content)
    assert append(teo, path, content, 0, "?0").status == 204
    assert parts_kept() == 3
    made = append(teo, path, b"", len(content), "?1")
    assert made.json["sha256"] == hashlib.sha256(content).hexdigest()


def test_a_token_that_only_reads_begins_nothing(api, cast, orla, draft):
    made = orla.post("/tokens", {"name": "archive", "scopes": ["read"]}).json
    reader = Api(cast.orla.__class__("orla", "office", cast.contractor, secret=made["token"]))
    path = f"/events/{draft['id']}/uploads"
    assert_problem(reader.post(path, announced(BACKUP)), 403)
    begun = begin(orla, draft, BACKUP)
    assert_problem(append(reader, begun, BACKUP, 0), 403)
    assert_problem(reader.delete(begun), 403)
    assert reader.get(begun).status == 200


def test_a_caller_who_breaks_off_is_no_fault_of_ours():
    known = problems.as_book_error(UnreadablePostError("reset"))
    assert known.status == 400


@pytest.mark.parametrize("length", [1, 2, 3, 7, 100])
def test_lines_are_found_wherever_a_part_ends(length):
    text = b"\n\nab\r\ncdefgh\n\nlast"
    pieces = [text[at : at + length] for at in range(0, len(text), length)]
    assert list(uploads._lines(pieces)) == [b"\n", b"\n", b"ab\r\n", b"cdefgh\n", b"\n", b"last"]
    assert list(uploads._lines([b"", b"a\n", b""])) == [b"a\n"]
