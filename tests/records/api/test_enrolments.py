"""Where a device comes in: one answer to whatever is not good, and so many tries."""

import pytest

from records.services import guessing
from tests.records.cast import Person
from tests.records.client import Api
from tests.records.enrolling import make_code
from tests.records.problems import assert_problem

WRONG = "-".join(["ABCD"] * 8)


def enrol(nobody, code, name="tablet", **headers):
    return nobody.call("POST", "/enrolments", {"code": code, "name": name}, **headers)


def device_of(cast, answer):
    return Api(Person("device", "technician", cast.contractor, secret=answer.json["token"]))


def test_a_device_comes_in_works_and_is_revoked(nobody, cast, station, orla):
    answer = enrol(nobody, make_code(cast.teo, cast.teo).text)
    assert answer.status == 201, answer.content
    assert answer.headers["Cache-Control"] == "no-store"
    assert (answer.json["name"], answer.json["device"]) == ("tablet", True)
    device = device_of(cast, answer)
    me = device.get("/me").json
    assert (me["user"]["name"], me["organization"]["id"]) == ("Teo", str(cast.contractor))
    assert me["scopes"] == ["read", "write"]
    event = device.post("/events", station.event())
    assert event.status == 201
    refused = device.post(f"/events/{event.json['id']}/signatures", {})
    assert (refused.status, refused.json["detail"]) == (403, "this token lacks the scope sign")
    [line] = [each for each in orla.get("/tokens").json["items"] if each["device"]]
    assert line == {k: v for k, v in answer.json.items() if k != "token"} | {
        "last_used_at": line["last_used_at"]
    }
    assert line["last_used_at"] is not None
    assert orla.delete(f"/tokens/{line['id']}").status == 204
    assert device.get("/me").status == 401


def test_a_device_of_ones_own_signs_where_that_was_wanted(nobody, cast, teo, station):
    from tests.records import visits

    device = device_of(cast, enrol(nobody, make_code(cast.teo, cast.teo, signs=True).text))
    event = visits.post(teo, station)
    assert visits.sign(device, event, "performed").status == 201


def test_whatever_is_not_good_is_answered_alike(nobody, cast):
    used = make_code(cast.orla, cast.orla).text
    assert enrol(nobody, used).status == 201
    ended = make_code(cast.teo, cast.teo).text
    make_code(cast.teo, cast.teo)
    answers = [enrol(nobody, code) for code in (WRONG, used, ended, "x", cast.teo.secret[:90])]
    for answer in answers:
        assert_problem(answer, 401)
        assert "Teo" not in answer.content.decode()
    assert len({answer.content for answer in answers}) == 1
    own = ("Content-Length", "X-Request-Id")
    named = [{k: v for k, v in each.headers.items() if k not in own} for each in answers]
    assert all(each == named[0] for each in named)


def test_so_many_tries_an_address_and_then_even_a_good_code_waits(nobody, cast):
    most = guessing.ENROLMENT_BY_ADDRESS.most
    code = make_code(cast.teo, cast.teo).text
    assert [enrol(nobody, WRONG).status for _ in range(most)] == [401] * most
    for each in (WRONG, code):
        answer = enrol(nobody, each)
        assert_problem(answer, 429)
        assert 0 < int(answer.headers["Retry-After"]) <= 600
    elsewhere = nobody.raw(
        "POST", "/api/v1/enrolments", f'{{"code": "{code}", "name": "tablet"}}'.encode(),
        content_type="application/json", REMOTE_ADDR="198.51.100.9",
    )  # fmt: skip
    assert elsewhere.status == 201


def test_what_is_right_or_unread_is_not_counted(nobody, cast):
    for _ in range(guessing.ENROLMENT_BY_ADDRESS.most + 5):
        assert enrol(nobody, make_code(cast.teo, cast.teo).text).status == 201
        assert nobody.post("/enrolments", {"code": WRONG}).status == 400
    assert enrol(nobody, WRONG).status == 401


def test_who_sends_it_does_not_matter(nobody, teo, cleo, cast):
    """A device that still holds a revoked token, or somebody's that is good."""
    for caller in (teo, cleo):
        answer = enrol(caller, make_code(cast.teo, cast.teo).text)
        assert device_of(cast, answer).get("/me").json["user"]["name"] == "Teo"
    code = make_code(cast.teo, cast.teo).text
    assert enrol(nobody, code, Authorization="Bearer stb_gone").status == 201


@pytest.mark.parametrize(
    ("given", "pointers"),
    [
        ({}, ["/code", "/name"]),
        ({"code": WRONG}, ["/name"]),
        ({"code": WRONG, "name": " "}, ["/name"]),
        ({"code": WRONG, "name": "x" * 101}, ["/name"]),
        ({"code": "x" * 101, "name": "tablet"}, ["/code"]),
        ({"code": 7, "name": "tablet"}, ["/code"]),
        ({"code": None, "name": None}, ["/code", "/name"]),
        ({"code": WRONG, "name": "tablet", "scopes": ["manage"]}, ["/scopes"]),
        ({"code": WRONG, "name": "tablet", "user": "x", "role": "office"}, ["/role", "/user"]),
    ],
    ids=str,
)
def test_what_cannot_be_taken_is_named(nobody, given, pointers):
    answer = nobody.post("/enrolments", given)
    assert (answer.status, sorted(answer.pointers)) == (400, pointers)


def test_nothing_is_read_there(nobody, orla):
    for caller in (nobody, orla):
        assert caller.get("/enrolments").status == 405
    assert nobody.call("POST", "/enrolments?code=x", {}).status == 400


def test_the_document_says_what_the_picture_holds(nobody):
    described = nobody.get("/schema").json["paths"]["/api/v1/enrolments"]["post"]
    assert (
        '{"stationbook": 1, "address": "https://…", "code": "ABCD-…"}' in described["description"]
    )
    assert described.get("security", []) == []  # no token
