"""Files that come in parts: nothing sent twice, and at the end the same as if sent at once."""

import hashlib

import pytest

from records.services import attachments, uploads
from tests.records import visits
from tests.records.api.test_attachments import attach, photograph
from tests.records.counting import counts
from tests.records.problems import assert_problem
from tests.records.uploading import (
    BACKUP,
    TRACE,
    announced,
    append,
    begin,
    files_of,
    parts_kept,
    state,
)
from tests.records.visits import new_id
from tests.records.world import PARTIAL


@pytest.fixture
def draft(teo, station):
    return visits.post(teo, station)


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


@pytest.mark.parametrize("length", [1, 2, 3, 7, 100])
def test_lines_are_found_wherever_a_part_ends(length):
    text = b"\n\nab\r\ncdefgh\n\nlast"
    pieces = [text[at : at + length] for at in range(0, len(text), length)]
    assert list(uploads._lines(pieces)) == [b"\n", b"\n", b"ab\r\n", b"cdefgh\n", b"\n", b"last"]
    assert list(uploads._lines([b"", b"a\n", b""])) == [b"a\n"]


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


def test_a_long_part_is_kept_in_pieces(teo, draft):
    content = bytes(uploads.PART * 2 + 5)
    path = begin(teo, draft, content)
    assert append(teo, path, content, 0, "?0").status == 204
    assert parts_kept() == 3
    made = append(teo, path, b"", len(content), "?1")
    assert made.json["sha256"] == hashlib.sha256(content).hexdigest()


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
    assert "Content-Length" in assert_problem(refused, 411)["detail"]


def test_a_part_says_that_it_is_one(teo, draft):
    path = begin(teo, draft, BACKUP)
    refused = teo.call("PATCH", path, BACKUP, media="image/jpeg", Upload_Offset="0")
    assert_problem(refused, 415)
    assert state(teo, path) == (0, "?0")
