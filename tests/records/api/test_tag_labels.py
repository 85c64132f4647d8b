"""Labels over the API: one for each tag in service, with addresses that nobody else chooses."""

import hashlib
import re

from tests.calculations.building import booster
from tests.records import stations, visits
from tests.records.documents.reading_back import pages, reader, squeezed, text
from tests.records.documents.test_tag_labels import alternatives
from tests.records.problems import assert_problem


def path(station):
    return f"/sites/{station.site}/labels.pdf"


def opened(answer):
    """Where the codes lead, in order."""
    assert (answer.status, answer.type) == (200, "application/pdf"), answer.content
    said = alternatives(answer.content)
    return [each.removeprefix("QR code that opens ") for each in said]


def tags(answer):
    return [address.rpartition("/tags/")[2] for address in opened(answer)]


def piece(office, station, kind, tag, like):
    """Another piece of a kind at a tag, like the one at another."""
    known = office.get(f"/{kind}/{station.ids[like]}").json
    plate = {name: value for name, value in known.items() if value is not None and name != "id"}
    added = office.post(f"/{kind}", plate | {"tag": tag})
    assert added.status == 201, added.json
    return added.json["id"]


def test_a_label_for_each_tag_in_the_order_of_kinds(orla, teo, cleo, station):
    """The tags of the ordinary station: tests/calculations/building_plates.py."""
    answers = [person.get(path(station)) for person in (orla, teo, cleo)]
    for answer in answers:
        assert tags(answer) == [
            "PS-101", "P-101", "M-101", "D-101", "FT-101", "PT-100", "PT-101", "V-1",
        ]  # fmt: skip
    words = squeezed(text(answers[0].content))
    for said in ("PS-101 Pump set", "P-101 Pump B-01", "PT-101 Sensor, pressure",
                 "FT-101 Sensor, flow", "V-1 Vessel", "8 tags in service"):  # fmt: skip
        assert squeezed(said) in words
    site = orla.get(f"/sites/{station.site}").json
    assert words.count(squeezed(f"B-01 {site['name']}")) >= 8
    assert words.count(squeezed(orla.get("/me").json["organization"]["name"])) == 8


def test_tags_of_a_kind_stand_in_the_order_of_their_numbers(orla, station):
    for tag in ("V-10", "V-2"):
        piece(orla, station, "vessels", tag, "V-1")
    assert tags(orla.get(path(station)))[-3:] == ["V-1", "V-2", "V-10"]


def test_a_code_opens_the_tag_at_this_service(orla, station):
    assert opened(orla.get(path(station)))[1] == (
        f"http://testserver/stations/{station.site}/tags/P-101"
    )


def test_whatever_a_tag_holds_is_encoded(orla, station):
    """RFC 3986, 2.1: octets of UTF-8 that are not unreserved, by a percent sign and two digits."""
    piece(orla, station, "vessels", "a/b c?#%&水~", "V-1")
    assert tags(orla.get(path(station)))[-1] == "a%2Fb%20c%3F%23%25%26%E6%B0%B4~"


def test_a_tag_that_is_lost_in_an_address_has_no_code(orla, station):
    for tag in ("..", "a/./b"):
        piece(orla, station, "vessels", tag, "V-1")
    answer = orla.get(path(station))
    assert len(opened(answer)) == 8
    assert squeezed(text(answer.content)).count(squeezed("No code:")) == 2


def test_a_tag_of_several_kinds_has_one_label(orla, station):
    piece(orla, station, "vessels", "P-101", "V-1")
    answer = orla.get(path(station))
    assert tags(answer).count("P-101") == 1
    assert squeezed("P-101 Pump, Vessel") in squeezed(text(answer.content))


def test_what_is_out_of_service_has_none(orla, station):
    at = f"/vessels/{station.ids['V-1']}"
    orla.patch(at, {"out_of_service_on": "2026-03-20"}, orla.get(at).etag)
    assert "V-1" not in tags(orla.get(path(station)))


def test_where_nothing_stands_there_is_nothing_to_label(orla, cast):
    site = orla.post("/sites", booster()["site"] | {"client": str(cast.client), "code": "B-88"})
    assert site.status == 201, site.json
    assert_problem(orla.get(f"/sites/{site.json['id']}/labels.pdf"), 409)


def test_a_station_of_many_tags_asks_the_database_no_more_often(
    orla, station, django_assert_max_num_queries
):
    for number in range(10):
        piece(orla, station, "vessels", f"V-{number + 2}", "V-1")
    with django_assert_max_num_queries(24):
        assert len(tags(orla.get(path(station)))) == 18


def test_the_address_is_of_a_host_that_is_served_whatever_a_caller_says(orla, station, settings):
    settings.ALLOWED_HOSTS = ["book.example"]
    elsewhere = orla.call("GET", path(station), Host="elsewhere.example")
    assert_problem(elsewhere, 400)
    for header in ("X-Forwarded-Host", "Forwarded", "X-Forwarded-Proto", "X-Original-URL"):
        said = {"Host": "book.example", header: "elsewhere.example"}
        addresses = opened(orla.call("GET", path(station), **said))
        assert {re.match("[a-z]+://[^/]+", each)[0] for each in addresses} == {
            "http://book.example"
        }


def test_paper_follows_the_station_or_what_is_asked_for(orla, station):
    """Letter is 8.5 in (612 points) wide, A4 210 mm (595 points); the station's practice is US."""
    for query, width in (("", 612), ("?paper=a4", 595), ("?paper=letter", 612)):
        content = orla.get(path(station) + query).content
        assert round(float(reader(content).pages[0].mediabox.width)) == width
        assert len(pages(content)) == 1
    for query in ("?paper=a3", "?paper="):
        assert_problem(orla.get(path(station) + query), 400, "/paper")


def test_it_is_shown_under_its_name_and_not_sent_twice(orla, station):
    first = orla.get(path(station))
    assert first.headers["Content-Disposition"] == 'inline; filename="labels-B-01.pdf"'
    assert first.etag == f'"{hashlib.sha256(first.content).hexdigest()}"'
    again = orla.call("GET", path(station), If_None_Match=first.etag)
    assert (again.status, again.content) == (304, b"")


def test_what_is_not_there_is_not_found(orla, tilda, station):
    assert_problem(orla.get(f"/sites/{visits.new_id()}/labels.pdf"), 404)
    assert_problem(orla.get("/sites/none/labels.pdf"), 404)
    assert_problem(tilda.get(path(station)), 404)


def test_another_stations_tags_are_not_on_it(orla, cast, station):
    other = stations.register(orla, cast.client, code="B-89")
    piece(orla, other, "vessels", "V-99", "V-1")
    assert "V-99" not in tags(orla.get(path(station)))
    assert "V-99" in tags(orla.get(path(other)))
