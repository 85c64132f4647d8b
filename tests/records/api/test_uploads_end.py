"""Files that come in parts: whose they are, and until when."""

from datetime import timedelta

import pytest
from django.utils import timezone

from records.management.commands.relay import Relay
from records.models import Upload
from records.services import uploads
from tests.records import visits
from tests.records.client import Api
from tests.records.counting import counts
from tests.records.problems import assert_problem
from tests.records.uploading import BACKUP, announced, append, begin, files_of, parts_kept, state


@pytest.fixture
def draft(teo, station):
    return visits.post(teo, station)


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


def test_a_token_that_only_reads_begins_nothing(api, cast, orla, draft):
    made = orla.post("/tokens", {"name": "archive", "scopes": ["read"]}).json
    reader = Api(cast.orla.__class__("orla", "office", cast.contractor, secret=made["token"]))
    path = f"/events/{draft['id']}/uploads"
    assert_problem(reader.post(path, announced(BACKUP)), 403)
    begun = begin(orla, draft, BACKUP)
    assert_problem(append(reader, begun, BACKUP, 0), 403)
    assert_problem(reader.delete(begun), 403)
    assert reader.get(begun).status == 200


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
