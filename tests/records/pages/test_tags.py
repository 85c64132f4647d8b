"""Where labels lead: to the pump set that stands there now, for whoever may see it."""

import re
from html import unescape
from urllib.parse import quote

import pytest

from tests.calculations.building import booster
from tests.records import stations, visits
from tests.records.api.test_tag_labels import opened, piece
from tests.records.pages.entrance.walking import PASSWORD, Walker, give_quick_password


def at(station, tag):
    return f"/stations/{station.site}/tags/{quote(tag, safe='')}"


def place(station, identity):
    return f"/stations/{station.site}?piece={identity}#piece-{identity}"


def led(page, station, tag, name="orla"):
    """Where somebody comes to."""
    seen = page(name, at(station, tag))
    assert seen.status == 302, seen.words
    return seen.headers["Location"]


def take_out(office, path):
    answer = office.patch(path, {"out_of_service_on": "2026-03-20"}, office.get(path).etag)
    assert answer.status == 200, answer.json


def plate_of(office, path):
    known = office.get(path).json
    return {name: value for name, value in known.items() if value is not None and name != "id"}


@pytest.mark.parametrize("tag", ["PS-101", "P-101", "M-101", "D-101", "PT-101", "PT-100", "FT-101"])
@pytest.mark.parametrize("name", ["orla", "teo", "cleo"])
def test_a_piece_of_a_pump_set_leads_to_the_set(page, station, tag, name):
    assert led(page, station, tag, name) == place(station, station.pump_set)


def test_a_piece_of_no_set_leads_to_itself(page, orla, station):
    assert led(page, station, "V-1") == place(station, station.ids["V-1"])
    spare = piece(orla, station, "pumps", "P-102", "P-101")
    assert led(page, station, "P-102") == place(station, spare)


def second_set(office, station):
    """Another pump set that is regulated on the same sensor."""
    plate = plate_of(office, f"/pump-sets/{station.pump_set}")
    for role, kind, like in (("pump", "pumps", "P-101"), ("motor", "motors", "M-101"),
                             ("drive", "drives", "D-101")):  # fmt: skip
        plate[role] = piece(office, station, kind, like.replace("1", "2", 1), like)
    for role in ("suction_sensor", "flow_meter"):
        plate.pop(role)
    added = office.post("/pump-sets", plate | {"tag": "PS-201"})
    assert added.status == 201, added.json
    return added.json["id"]


def test_a_sensor_of_several_sets_leads_to_itself(page, orla, station):
    second = second_set(orla, station)
    assert led(page, station, "PT-101") == place(station, station.ids["PT-101"])
    assert led(page, station, "PT-100") == place(station, station.pump_set)
    assert led(page, station, "P-201") == place(station, second)
    take_out(orla, f"/pump-sets/{second}")
    assert led(page, station, "PT-101") == place(station, station.pump_set)


def test_after_an_exchange_the_same_label_leads_to_the_new_piece(page, orla, station):
    [label] = [each for each in opened(orla.get(f"/sites/{station.site}/labels.pdf"))
               if each.endswith("/tags/P-101")]  # fmt: skip
    label = label.removeprefix("http://testserver")
    assert page("teo", label).headers["Location"] == place(station, station.pump_set)
    joined = plate_of(orla, f"/pump-sets/{station.pump_set}")
    pump = plate_of(orla, f"/pumps/{station.ids['P-101']}")
    take_out(orla, f"/pump-sets/{station.pump_set}")
    take_out(orla, f"/pumps/{station.ids['P-101']}")
    assert page("teo", label).status == 404
    new = orla.post("/pumps", pump | {"serial": "another"}).json["id"]
    assert page("teo", label).headers["Location"] == place(station, new)
    again = orla.post("/pump-sets", joined | {"pump": new}).json["id"]
    assert page("teo", label).headers["Location"] == place(station, again)


def test_the_set_comes_before_a_piece_with_the_same_tag(page, orla, station):
    spare = piece(orla, station, "vessels", "PS-101", "V-1")
    assert led(page, station, "PS-101") == place(station, station.pump_set)
    assert spare != station.pump_set


@pytest.mark.parametrize(
    "tag",
    ["PT-1/A", "/", "a//b/", "with a space", " ", "100 %", "a?b#c", "a%2Fb", "水泵",
     "Насос № 2", "\N{GRINNING FACE}", "a\\b", "...", "+", "x" * 2000],
)  # fmt: skip
def test_any_tag_is_found_from_its_label(page, orla, station, tag):
    if not tag.strip():
        assert page("orla", at(station, tag)).status == 404
        return
    vessel = piece(orla, station, "vessels", tag, "V-1")
    [label] = [each for each in opened(orla.get(f"/sites/{station.site}/labels.pdf"))
               if each.endswith("/tags/" + quote(tag, safe=""))]  # fmt: skip
    seen = page("orla", label.removeprefix("http://testserver"))
    assert seen.headers["Location"] == place(station, vessel)


def test_what_is_not_there_is_not_found(page, orla, cast, station):
    other = stations.register(orla, cast.client, code="B-89")
    vessel = piece(orla, other, "vessels", "V-99", "V-1")
    assert led(page, other, "V-99") == place(other, vessel)
    for path in (
        *(at(station, tag) for tag in ("V-99", "p-101", "P-101 ", "a\0b")),
        f"/stations/{station.site}/tags/",
        f"/stations/{visits.new_id()}/tags/P-101",
        "/stations/none/tags/P-101",
    ):
        assert page("orla", path).status == 404, path


def test_nobody_elsewhere_learns_which_tags_there_are(page, station):
    for name in ("otto", "tilda", "cato"):
        there, not_there = (page(name, at(station, tag)) for tag in ("P-101", "P-999"))
        assert there.status == not_there.status == 404
        assert there.words == not_there.words


def test_the_page_opens_at_the_piece(page, station):
    seen = page("teo", place(station, station.pump_set).partition("#")[0])
    assert f'<details class="piece" id="piece-{station.pump_set}" open>' in seen.html
    assert seen.html.count(" open>") == 1
    assert seen.faults == []
    assert " open>" not in page("teo", f"/stations/{station.site}?piece=x").html


def test_the_labels_are_a_click_away(page, orla, cleo, station, cast):
    words = "labels for the tags (PDF)"
    for name, person in (("orla", orla), ("cleo", cleo)):
        [where] = page(name, f"/stations/{station.site}").to(words)
        assert person.get(where).type == "application/pdf"
    bare = orla.post("/sites", booster()["site"] | {"client": str(cast.client), "code": "B-88"})
    assert page("orla", f"/stations/{bare.json['id']}").to(words) == []


@pytest.mark.parametrize("tag", ["P-101", "a/b c?d#水"])
def test_nobody_signed_in_signs_in_and_comes_back(orla, cast, station, settings, tag):
    settings.PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
    give_quick_password(cast.cleo)
    expected = station.pump_set
    if tag != "P-101":
        expected = piece(orla, station, "vessels", tag, "V-1")
    browser = Walker()
    browser.get(at(station, tag))
    form = browser.get(browser.at).html
    [back] = re.findall('name="next" value="([^"]+)"', form)
    browser.post("/sign-in", login="cleo", password=PASSWORD, next=unescape(back))
    browser.get(browser.at)
    assert browser.at == place(station, expected)
