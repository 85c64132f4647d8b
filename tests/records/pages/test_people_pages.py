"""People and their devices on pages: invited, given a role, let go, enrolled, revoked."""

import base64
import json
import re

import pytest

from records.models import User
from records.pages import devices
from tests.records.cast import Person
from tests.records.client import Api
from tests.records.pages.entrance.walking import Walker

LINK = re.compile(r"http://testserver(/password/choose/[0-9a-f]{32}-[0-9a-z-]+)")
CODE = re.compile(r"<code>([A-Z2-7]{4}(?:-[A-Z2-7]{4}){7})</code>")
NILO = {"name": "Nilo Ferran", "email": "nilo@people.example", "role": "technician"}


@pytest.fixture
def orla_at(api, cast):
    return Walker.of(cast.orla)


def row_of(page, name):
    [row] = [row for row in re.findall(r"<tr>.*?</tr>", page.html, re.S) if f">{name}<" in row]
    return dict(re.findall(r'data-label="([^"]+)">([^<]*)', row))


def test_the_office_sees_who_belongs_and_what_speaks_for_them(orla_at, orla, cast):
    User.objects.filter(pk=cast.teo.id).update(last_login="2026-03-04T05:06:00Z")
    orla.post("/tokens", {"name": "script", "user": str(cast.teo.id)})
    gone = orla.post("/tokens", {"name": "gone", "user": str(cast.teo.id)}).json["id"]
    orla.delete(f"/tokens/{gone}")
    Api(cast.teo).get("/me")
    seen = row_of(orla_at.get("/people"), "Teo")
    assert seen["Role"] == "technician"
    assert seen["Second factor"] == "not yet"
    assert seen["Last sign-in"] == "2026-03-04 05:06 UTC"
    assert (seen["Devices"], seen["Tokens"]) == ("0", "2")
    assert re.fullmatch(r"20\d\d-\d\d-\d\d \d\d:\d\d UTC", seen["Last used"])
    words = orla_at.get(f"/people/{cast.teo.id}").words
    assert "Signs in as teo, teo@people.example" in words
    for name in ("script", "gone", "test"):
        assert name in words


def test_an_invitation_shows_its_link_once(orla_at):
    page = orla_at.post("/people", **NILO)
    assert page.status == 201
    assert "no-store" in page.headers["Cache-Control"]
    [link] = LINK.findall(page.html)
    assert Walker().get(link).status == 302
    again = orla_at.get("/people")
    assert LINK.findall(again.html) == []
    assert row_of(again, "Nilo Ferran")["Last sign-in"] == "never"


def test_a_bad_invitation_is_told_and_stays_typed(orla_at):
    page = orla_at.post("/people", **NILO | {"email": "nobody", "role": "office"})
    assert page.status == 400
    assert "E-mail address: expected an e-mail address" in page.words
    assert 'value="Nilo Ferran"' in page.html
    assert re.findall(r'name="role" value="(\w+)" checked', page.html) == ["office"]
    taken = orla_at.post("/people", **NILO | {"email": "otto@people.example"})
    assert taken.status == 409
    assert "E-mail address: somebody else signs in with this address" in taken.words


def test_whoever_lets_in_confirms_first(api, cast):
    browser = Walker.of(cast.orla, ago=901)
    page = browser.get("/people")
    assert 'href="/confirm?next=/people%23invite"' in page.html
    assert 'name="email"' not in page.html
    here = {"Referer": f"http://testserver/people/{cast.teo.id}", "Host": "testserver"}
    for path, given in (
        ("/people", NILO),
        (f"/people/{cast.teo.id}/role", {"given": "office"}),
        (f"/people/{cast.teo.id}/device", {}),
    ):
        page = browser.post(path, headers=here, **given)
        assert page.status == 302
        assert page.headers["Location"] == f"/confirm?next=%2Fpeople%2F{cast.teo.id}"
    assert Api(cast.teo).get("/me").json["role"] == "technician"


def test_a_role_is_given_and_tokens_of_the_former_rest(orla_at, cast):
    at = f"/people/{cast.teo.id}"
    assert "Make them office" in orla_at.get(at).words
    assert orla_at.post(f"{at}/role", given="office").headers["Location"] == at
    page = orla_at.get(at)
    assert "refused: made in another role" in page.words
    assert "Make them technician" in page.words
    assert Api(cast.teo).get("/me").status == 401


def test_a_membership_ends_at_the_next_request(orla_at, cast):
    theirs = Walker.of(cast.teo)
    assert theirs.get("/tokens").status == 200
    assert orla_at.post(f"/people/{cast.teo.id}/end").headers["Location"] == "/people"
    assert theirs.get("/tokens").status == 302
    assert theirs.at == "/sign-in?next=/tokens"  # the session is over for good
    assert Api(cast.teo).get("/me").status == 401
    assert "Teo" not in orla_at.get("/people").words
    assert orla_at.get(f"/people/{cast.teo.id}").status == 404


def test_the_last_of_the_office_stays(orla_at, cast):
    for deed, given in (("end", {}), ("role", {"given": "technician"})):
        page = orla_at.post(f"/people/{cast.orla.id}/{deed}", **given)
        assert page.status == 409
        assert "the last person of the office" in page.words


def test_the_office_revokes_what_is_anothers(orla_at, cast, api):
    at = f"/people/{cast.teo.id}"
    [path] = re.findall(rf'action="({at}/tokens/[0-9a-f-]+/revoke)"', orla_at.get(at).html)
    assert Walker.of(cast.otto).post(path).status == 404
    assert Api(cast.teo).get("/me").status == 200
    assert orla_at.post(path).headers["Location"] == at
    assert Api(cast.teo).get("/me").status == 401


# -- devices ---------------------------------------------------------------------------------------


@pytest.fixture
def drawn(monkeypatch):
    """What was drawn as a picture."""
    texts = []
    picture = devices.picture

    def draw(text):
        texts.append(text)
        return picture(text)

    monkeypatch.setattr(devices, "picture", draw)
    return texts


def enrol(text, name="tablet"):
    return Api(None).post("/enrolments", {"code": text, "name": name})


@pytest.mark.parametrize("signs", [False, True])
def test_a_technician_enrols_a_device(api, cast, drawn, signs):
    browser = Walker.of(cast.teo)
    page = browser.post("/tokens/device", **({"scopes": "sign"} if signs else {}))
    assert page.status == 201
    assert "no-store" in page.headers["Cache-Control"]
    [code] = CODE.findall(page.html)
    assert [json.loads(each) for each in drawn] == [
        {"stationbook": 1, "address": "http://testserver", "code": code}
    ]
    assert ("can sign and seal" in page.words) is signs
    made = enrol(code).json
    assert ("sign" in made["scopes"]) is signs
    listed = browser.get("/tokens")
    assert "tablet (device)" in listed.words
    assert code not in listed.html
    assert browser.post(f"/tokens/{made['id']}/revoke").status == 302
    device = Api(Person("tablet", "technician", cast.contractor, secret=made["token"]))
    assert device.get("/me").status == 401


def test_the_office_enrols_a_device_for_a_technician_that_never_signs(orla_at, cast, drawn):
    page = orla_at.post(f"/people/{cast.teo.id}/device", scopes="sign")
    assert page.status == 201
    assert "Enrol a device of Teo" in page.words
    [code] = CODE.findall(page.html)
    made = enrol(code).json
    assert (made["user"], made["scopes"]) == (str(cast.teo.id), ["read", "write"])
    assert "tablet (device)" in orla_at.get(f"/people/{cast.teo.id}").words
    assert row_of(orla_at.get("/people"), "Teo")["Devices"] == "1"


def test_the_picture_is_one_that_needs_nobody_else(orla_at):
    page = orla_at.post("/tokens/device")
    [drawn] = re.findall(r'src="data:image/svg\+xml;base64,([^"]+)"', page.html)
    svg = base64.b64decode(drawn).decode()
    assert svg.count("<path") == 1
    assert "<script" not in svg
    assert "<image" not in svg


def test_more_people_ask_no_more_of_the_database(orla_at, orla, cast):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    def count():
        with CaptureQueriesContext(connection) as captured:
            assert orla_at.get("/people").status == 200
        return len(captured)

    few = count()
    for number in range(5):
        orla.post("/members", NILO | {"email": f"nilo{number}@people.example"})
        orla.post("/tokens", {"name": "script", "user": str(cast.teo.id)})
    assert count() == few
