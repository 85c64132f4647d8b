"""Tokens of devices and scripts: shown once, kept as a digest, worthless once revoked."""

import hashlib

import pytest
from django.db import OperationalError, connection
from django.test.utils import CaptureQueriesContext
from psycopg import errors

from records.services import tokens
from tests.records.cast import Person
from tests.records.client import Api, leave
from tests.records.problems import assert_problem


def made(office, **wanted):
    answer = office.post("/tokens", {"name": "archive script", **wanted})
    assert answer.status == 201, answer.json
    return answer.json


def with_token(cast, secret):
    return Api(Person("device", "office", cast.contractor, secret=secret))


def test_a_token_works_until_it_is_revoked(orla, cast):
    token = made(orla, scopes=["read"])
    device = with_token(cast, token["token"])
    assert device.get("/me").json["scopes"] == ["read"]
    assert orla.delete(f"/tokens/{token['id']}").status == 204
    assert device.get("/me").status == 401


def test_a_token_that_cannot_be_audited_is_not_made(orla, monkeypatch):
    """A view answers with a problem document: its transaction is undone all the same."""

    def fail(*_):
        raise OperationalError("gone")

    before = [token["id"] for token in orla.get("/tokens").json["items"]]
    monkeypatch.setattr(tokens.audit, "write", fail)
    assert_problem(orla.post("/tokens", {"name": "archive script"}), 503)
    assert [token["id"] for token in orla.get("/tokens").json["items"]] == before


def test_a_token_does_what_its_scopes_say_and_no_more(orla, cast, station):
    device = with_token(cast, made(orla, scopes=["read"])["token"])
    assert device.get("/sites").status == 200
    answer = device.post("/events", station.event())
    assert (answer.status, answer.json["detail"]) == (403, "this token lacks the scope write")


def test_nobody_gives_a_token_more_than_they_have(orla, cast):
    manager = with_token(cast, made(orla, scopes=["read", "manage"])["token"])
    refused = manager.post("/tokens", {"name": "more", "scopes": ["read", "sign"]})
    assert refused.status == 403


def test_the_office_finds_the_ids_that_tokens_are_made_for(orla, cast):
    listed = orla.get("/members").json["items"]
    assert [(m["id"], m["name"], m["role"]) for m in listed] == [
        (str(cast.orla.id), "Orla", "office"), (str(cast.teo.id), "Teo", "technician"),
    ]  # fmt: skip


@pytest.mark.parametrize("scopes", [["sign"], ["read", "write", "sign"]])
def test_a_token_that_signs_is_made_by_the_person_it_signs_for(orla, cast, scopes):
    wanted = {"name": "tablet", "scopes": scopes}
    refused = orla.post("/tokens", wanted | {"user": str(cast.teo.id)})
    problem = assert_problem(refused, 403, "/scopes")
    assert "made by the person it signs for" in problem["detail"]
    own = orla.post("/tokens", wanted)  # by a token: whoever has found one would hold two
    assert_problem(own, 403, "/scopes")
    lesser = made(orla, scopes=["read", "write"], user=str(cast.teo.id))
    assert lesser["user"] == str(cast.teo.id)


def test_the_database_keeps_it_so(stage, cast):
    columns = "user_id, organization_id, role, scopes, prefix, created_at, expires_at"
    insert = (
        f"INSERT INTO records_token (id, name, digest, created_by_id, {columns})"
        f" SELECT gen_random_uuid(), %s, sha256('x'), %s, {columns} FROM records_token"
        " WHERE user_id = %s LIMIT 1"
    )
    with stage.as_owner() as owner:
        for name, maker, words in (
            ("tablet", cast.orla.id, "token_that_signs_is_made_by_its_person"),
            (" \n", cast.teo.id, "token_has_a_name"),
        ):
            with pytest.raises(errors.CheckViolation, match=words):
                owner.execute(insert, [name, maker, cast.teo.id])


def test_only_the_digest_is_kept_and_the_secret_is_never_listed(orla, cast):
    token = made(orla)
    assert token["token"] not in orla.get("/tokens").content.decode()
    leave()
    with connection.cursor() as cursor:
        digest = hashlib.sha256(token["token"].encode()).digest()
        cursor.execute("SELECT token_id FROM find_token(%s)", [digest])
        assert str(cursor.fetchone()[0]) == token["id"]


@pytest.mark.parametrize(
    ("method", "path", "status"),
    [
        ("GET", "/me", 200),
        ("GET", "/sites/018f3a3e-0000-7000-8000-000000000000", 404),
        ("POST", "/sites", 403),
        ("PUT", "/me", 405),
    ],
)
def test_last_use_is_noted_even_if_it_was_refused(orla, cast, method, path, status):
    token = made(orla)
    assert with_token(cast, token["token"]).call(method, path, {}).status == status
    [line] = [t for t in orla.get("/tokens").json["items"] if t["id"] == token["id"]]
    assert line["last_used_at"] is not None


@pytest.mark.usefixtures("transactional_db")
def test_a_use_is_noted_once_a_minute_and_not_asked_for_in_between(teo, stage):
    def noted(last_used):
        with stage.as_owner() as owner:
            owner.execute(f"UPDATE records_token SET last_used_at = {last_used}")
        with CaptureQueriesContext(connection) as asked:
            assert teo.get("/me").status == 200
        return any("note_use_of_token" in each["sql"] for each in asked)

    assert noted("NULL")
    assert not noted("last_used_at")
    assert not noted("now() - interval '40 seconds'")
    assert noted("now() - interval '61 seconds'")
    assert not noted("last_used_at")


@pytest.mark.parametrize(
    ("wanted", "pointer"),
    [
        ({"scopes": []}, "/scopes"),
        ({"name": ""}, "/name"),
        ({"name": " \t "}, "/name"),
        ({"name": None}, "/name"),
        ({"scopes": ["everything"]}, "/scopes/0"),
        ({"days": 0}, "/days"),
        ({"days": 731}, "/days"),
        ({"user": "018f3a3e-0000-7000-8000-000000000000"}, "/user"),
    ],
)
def test_bad_wishes_are_named(orla, wanted, pointer):
    answer = orla.post("/tokens", {"name": "x", **wanted})
    assert (answer.status, answer.pointers) == (400, [pointer])


@pytest.mark.parametrize(
    "header", ["", "Bearer", "Bearer ", "Bearer x", "Basic eDp5", "Bearer " + "a" * 5000]
)
def test_what_is_no_token_lets_nobody_in(nobody, header):
    answer = nobody.call("GET", "/sites", Authorization=header)
    assert answer.status == 401
    assert answer.headers["WWW-Authenticate"].startswith("Bearer")
