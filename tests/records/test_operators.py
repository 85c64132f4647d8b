"""Whoever runs the service looks into a book only when admitted: for a reason, for a time, seen."""

import uuid

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test import Client
from psycopg import errors

from records import permissions
from tests.records import cast as casting
from tests.records.cast import Person
from tests.records.client import Api
from tests.records.sessions import sign_in

BY = ("--by", "Ines of the operator", "--reason", "The board does not load: ticket 31.")

RUNE = Person("rune", "office", uuid.uuid4())  # an account that belongs nowhere


@pytest.fixture
def admit(stage, station, cleared_afterwards):
    """Runs the operator's command for Rune; every request is a transaction of its own."""
    with stage.as_owner() as owner:
        if not owner.execute("SELECT FROM records_user WHERE id = %s", [RUNE.id]).rowcount:
            casting.add_account(owner, RUNE)

    def run(*more, username="rune", organization=None):
        where = ("--organization", str(organization or stage.cast().contractor))
        return stage.command("admit", username, *where, *BY, *more)

    with stage.blocker.unblock():
        yield run
        connection.close()
    with stage.as_owner() as owner:
        owner.execute("UPDATE records_admission SET ended_at = now() WHERE ended_at IS NULL")


@pytest.fixture
def rune(admit):
    """Rune's browser, after password and second factor."""
    browser = Client(raise_request_exception=False)
    sign_in(browser, RUNE)
    return browser


def looked(orla):
    entries = orla.get("/audit?limit=200").json["items"]
    return [entry for entry in entries if entry["action"] == "operator looked"]


def test_without_it_there_is_nothing_to_see(rune):
    assert rune.get("/").status_code == 403
    assert rune.get("/api/v1/sites").status_code == 401


def test_with_it_the_book_is_read_and_the_office_sees_that(admit, rune, cast, station):
    orla = Api(cast.orla)
    before = looked(orla)
    status, told = admit("--hours", "2")
    assert status == 0
    assert "admitted until 20" in told
    assert rune.get(f"/stations/{station.site}").status_code == 200
    assert rune.get("/api/v1/sites").json()["items"][0]["id"] == station.site
    listed = orla.get("/audit?limit=200").json["items"]
    entry = next(each for each in listed if each["action"] == "operator admitted")
    assert (entry["person"]["name"], entry["reason"]) == (BY[1], BY[3])
    assert entry["subject"]["name"] == "Rune"
    assert entry["after"]["until"].endswith("Z")
    new = looked(orla)[: len(looked(orla)) - len(before)]
    seen = [(each["person"]["name"], each["subject"]["name"], each["reason"]) for each in new]
    assert seen == [
        ("Rune", "GET /api/v1/sites", BY[3]),
        ("Rune", f"GET /stations/{station.site}", BY[3]),
    ]


def test_nothing_of_another_organization_is_seen(admit, rune, cast):
    before = looked(Api(cast.orla))
    admit(organization=cast.other_contractor)
    assert rune.get("/api/v1/sites").json()["items"] == []
    assert looked(Api(cast.orla)) == before
    assert len(looked(Api(cast.otto))) == 1


CHANGES = [
    ("post", "/api/v1/organizations", {"name": "Mine"}),
    ("post", "/api/v1/events", {}),
    ("post", "/api/v1/tokens", {"name": "mine"}),
    ("get", "/api/v1/members", None),
    ("get", "/api/v1/audit", None),
]


def test_nothing_is_changed_by_it(admit, rune):
    admit()
    for method, path, body in CHANGES:
        answer = getattr(rune, method)(path, body, content_type="application/json")
        assert answer.status_code == 403, path


def test_the_database_refuses_to_write_even_if_the_service_forgets(admit, rune, monkeypatch, cast):
    admit()
    monkeypatch.setattr(permissions, "require", lambda actor, action: None)
    answer = rune.post("/api/v1/organizations", {"name": "Mine"}, content_type="application/json")
    assert answer.status_code >= 400
    names = [each["name"] for each in Api(cast.orla).get("/organizations").json["items"]]
    assert "Mine" not in names


def test_it_ends_with_its_time(admit, rune, stage):
    admit()
    assert rune.get("/api/v1/sites").status_code == 200
    with stage.as_owner() as owner:
        owner.execute(
            "UPDATE records_admission SET since = since - interval '5 hours',"
            " until = until - interval '5 hours'"
        )
    assert rune.get("/api/v1/sites").status_code == 401
    assert admit()[0] == 0  # once more


def test_it_is_ended_before_its_time(admit, rune, cast):
    admit()
    assert admit("--end")[0] == 0
    assert rune.get("/api/v1/sites").status_code == 401
    newest = Api(cast.orla).get("/audit?limit=1").json["items"][0]
    assert newest["action"] == "operator dismissed"
    status, told = admit("--end")
    assert (status, "not admitted" in told) == (1, True)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"username": "nobody"}, "no active account"),
        ({"username": "orla"}, "belongs to an organization"),
        ({"organization": "00000000-0000-4000-8000-000000000000"}, "no organization of this id"),
    ],
    ids=str,
)
def test_the_command_says_what_is_wrong(admit, given, words):
    status, told = admit(**given)
    assert status == 1
    assert words in told


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"hours": 73}, "expected 1 to 72"),
        ({"hours": 0}, "expected 1 to 72"),
        ({"reason": "  "}, "--reason: expected words"),
        ({"by": ""}, "--by: expected words"),
    ],
    ids=str,
)
def test_it_asks_for_a_reason_and_a_time(options, words):
    asked = {"organization": RUNE.organization, "by": "Ines", "reason": "Ticket 31.", "hours": 4}
    with pytest.raises(CommandError, match=words):
        call_command("admit", "rune", **asked | options)


def test_twice_at_once_is_refused(admit):
    assert admit()[0] == 0
    status, told = admit()
    assert (status, "admitted already" in told) == (1, True)


def test_the_database_itself_asks_for_reason_and_time(admit, stage):
    admit()
    with stage.as_owner(autocommit=False) as owner:
        for changed, words in (
            ("reason = ' '", "admission_says_by_whom_and_why"),
            ("admitted_by = ''", "admission_says_by_whom_and_why"),
            ("until = since + interval '73 hours'", "admission_is_for_three_days_at_most"),
            ("until = since", "admission_is_for_three_days_at_most"),
        ):
            with pytest.raises(errors.CheckViolation, match=words):
                owner.execute(f"UPDATE records_admission SET {changed} WHERE ended_at IS NULL")
            owner.rollback()
        with pytest.raises(errors.IntegrityConstraintViolation):
            owner.execute("DELETE FROM records_admission")
        owner.rollback()
