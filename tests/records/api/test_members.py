"""People over the API: invited, given a role, let go."""

import re

import pytest
from django.db import connection

from records import permissions
from tests.records.cast import Person
from tests.records.client import Api
from tests.records.enrolling import by_token
from tests.records.pages.entrance.walking import Walker, give_quick_password
from tests.records.problems import assert_problem

NILO = {"name": "Nilo Ferran", "email": "nilo@people.example", "role": "technician"}


def token_of(orla, cast, *scopes):
    made = orla.post("/tokens", {"name": "app", "scopes": scopes}).json["token"]
    return Api(Person("app", "office", cast.contractor, secret=made))


def test_who_is_invited_chooses_a_password_and_is_listed(orla):
    answer = orla.post("/members", NILO)
    assert answer.status == 201
    made = answer.json
    assert (made["username"], made["role"]) == ("nilo@people.example", "technician")
    path = re.fullmatch(r"http://testserver(/password/choose/\S+)", made["link"])[1]
    assert Walker().get(path).status == 302
    listed = {each["name"]: each for each in orla.get("/members").json["items"]}
    nilo = listed["Nilo Ferran"]
    assert (nilo["id"], nilo["second_factor"], nilo["last_sign_in_at"]) == (made["id"], False, None)
    again = orla.post("/members", NILO)
    assert again.json["link"] != made["link"]


def test_a_role_is_given_and_given_again(orla, teo, cast):
    path = f"/members/{cast.teo.id}/role"
    for _ in range(2):
        answer = orla.call("PUT", path, {"role": "office"})
        assert (answer.status, answer.json) == (200, {"role": "office"})
    assert teo.get("/me").status == 401
    assert orla.call("PUT", path, {"role": "technician"}).status == 200
    assert teo.get("/me").status == 200


def test_who_is_let_go_is_refused_at_the_next_request(orla, teo, cast):
    assert orla.delete(f"/members/{cast.teo.id}").status == 204
    assert teo.get("/me").status == 401
    assert orla.delete(f"/members/{cast.teo.id}").status == 404


def test_the_last_of_the_office_stays(orla, cast):
    path = f"/members/{cast.orla.id}"
    assert_problem(orla.delete(path), 409)
    assert_problem(orla.call("PUT", f"{path}/role", {"role": "technician"}), 409)


def test_a_token_lets_nobody_in_who_can_do_more_than_itself(orla, cast):
    lesser = token_of(orla, cast, "read", "write", "manage")
    for answer in (
        lesser.post("/members", NILO),
        lesser.call("PUT", f"/members/{cast.teo.id}/role", {"role": "office"}),
    ):
        problem = assert_problem(answer, 403)
        assert "lacks the scope sign" in problem["detail"]
    assert lesser.get("/members").status == 200
    assert lesser.delete(f"/members/{cast.teo.id}").status == 204  # shutting out is no gain


@pytest.mark.parametrize(
    ("given", "pointers"),
    [
        ({}, ["/email", "/name", "/role"]),
        (NILO | {"email": "nobody"}, ["/email"]),
        (NILO | {"role": "client"}, ["/role"]),
        (NILO | {"organization": "x"}, ["/organization"]),
        (NILO | {"id": "x", "scopes": []}, ["/id", "/scopes"]),
    ],
    ids=str,
)
def test_a_bad_invitation_names_its_fields(orla, given, pointers):
    answer = orla.post("/members", given)
    assert (answer.status, sorted(answer.pointers)) == (400, pointers)


@pytest.mark.parametrize("given", [{}, {"role": "client"}, {"role": None}, {"role": ["office"]}])
def test_a_bad_role_is_named(orla, cast, given):
    answer = orla.call("PUT", f"/members/{cast.teo.id}/role", given)
    assert (answer.status, answer.pointers) == (400, ["/role"])


def test_who_belongs_elsewhere_is_not_there_and_not_let_in(orla, otto, cast):
    assert otto.delete(f"/members/{cast.teo.id}").status == 404
    assert otto.call("PUT", f"/members/{cast.teo.id}/role", {"role": "office"}).status == 404
    assert_problem(otto.post("/members", NILO | {"email": "teo@people.example"}), 409, "/email")


def test_a_second_factor_is_seen_by_the_own_office_alone(orla, otto, cast, settings):
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    give_quick_password(cast.teo)
    browser = Walker()
    browser.sign_in("teo")
    browser.set_up()
    listed = {each["name"]: each for each in orla.get("/members").json["items"]}
    assert (listed["Teo"]["second_factor"], listed["Orla"]["second_factor"]) == (True, False)
    assert listed["Teo"]["last_sign_in_at"] is not None
    assert not any(each["second_factor"] for each in otto.get("/members").json["items"])
    for person, seen in ((cast.orla, [(cast.teo.id,)]), (cast.otto, [])):
        permissions.enter(by_token(person))
        with connection.cursor() as cursor:  # the database says no more than that
            cursor.execute("SELECT members_with_second_factor()")
            assert cursor.fetchall() == seen
