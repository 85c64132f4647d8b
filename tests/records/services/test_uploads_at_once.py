"""Uploads by many callers at once, with real commits."""

import hashlib

import pytest

from records.services import uploads
from tests.records import visits
from tests.records.client import Api
from tests.records.services.test_concurrency import rows, statuses, together
from tests.records.uploading import BACKUP, announced, append, begin, files_of, state
from tests.records.visits import new_id

pytestmark = pytest.mark.usefixtures("transactional_db")

CALLERS = 6


@pytest.fixture
def draft(teo, station):
    return visits.post(teo, station)


def beginning(person, draft, **changes):
    path = f"/events/{draft['id']}/uploads"
    return lambda: Api(person).post(path, announced(BACKUP, **changes))


def appending(person, path, content, offset):
    return lambda: append(Api(person), path, content, offset)


def test_one_begun_many_times_at_once_is_one(cast, draft, stage):
    answers = together([beginning(cast.teo, draft, id=new_id())] * CALLERS)
    assert statuses(answers) == {201: 1, 200: CALLERS - 1}
    assert rows(stage, "records_upload") == 1


def test_many_at_once_do_not_pass_the_limit(cast, draft, stage, monkeypatch):
    monkeypatch.setattr(uploads, "MOST_BYTES", 3 * len(BACKUP) + 1)
    answers = together([beginning(cast.teo, draft)] * CALLERS)
    assert statuses(answers) == {201: 3, 409: CALLERS - 3}
    assert rows(stage, "records_upload") == 3


def test_of_many_that_send_the_same_part_at_once_one_is_kept(cast, teo, draft, stage):
    path = begin(teo, draft, BACKUP)
    answers = together([appending(cast.teo, path, BACKUP[:700], 0)] * CALLERS)
    assert statuses(answers) == {204: 1, 409: CALLERS - 1}
    assert state(teo, path) == (700, "?0")
    assert rows(stage, "records_uploadpart") == 1


def test_of_many_that_complete_it_at_once_one_makes_the_file(cast, teo, draft, stage):
    path = begin(teo, draft, BACKUP)
    assert append(teo, path, BACKUP, 0, "?0").status == 204
    answers = together([appending(cast.teo, path, b"", len(BACKUP))] * CALLERS)
    assert statuses(answers) == {201: 1, 200: CALLERS - 1}
    [made] = files_of(teo, draft)
    assert all(answer.json == made for answer in answers)
    assert made["sha256"] == hashlib.sha256(BACKUP).hexdigest()
    assert rows(stage, "records_auditentry", "action = 'file added'") == 1
