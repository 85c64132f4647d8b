"""A book has come in: what people of the other installation, and of its parties, get of it."""

import uuid

import pytest

from tests.records.books.test_round_trip import engaged
from tests.records.cast import Person
from tests.records.client import Api
from tests.records.pages.reading import open_page
from tests.records.test_isolation import BY_HAND, LISTS, ROUTES, Places, places

DETAILS = [route for method, route in ROUTES if method == "GET" and "{" in route]
PAGES = (
    "/stations/{sites}", "/stations/{sites}/register", "/register/sites/{sites}",
    "/events/{draft}", "/events/{sealed_event}", "/records/{record}", "/due?site={sites}",
    "/pump-sets/{pump-sets}/trends", "/sensors/{sensors}/trends", "/limits/{client}",
)  # fmt: skip
LISTED = ("/", "/map", "/search?q=P-101", "/due", "/reports", "/audit", "/instruments", "/limits",
          "/people")  # fmt: skip


@pytest.fixture
def there(cast, take_out, elsewhere, take_in, settings):
    """Who has nothing to do with the book, with work of their own contractor or without."""
    take_in(take_out(drafts=True), cast.contractor)
    other, client = uuid.uuid4(), uuid.uuid4()
    with elsewhere.as_owner() as owner:
        for identity, name in ((other, "Third Pump Service"), (client, "Third Utility")):
            owner.execute(
                "INSERT INTO records_organization (id, name, revision, created_at)"
                " VALUES (%s, %s, 1, now())",
                [identity, name],
            )
        owner.execute(
            "INSERT INTO records_clientele (contractor_id, client_id, since)"
            " VALUES (%s, %s, now())",
            [other, client],
        )
    strangers = [
        Person("zed", "office", other),
        Person("zoe", "technician", other),
        Person("zia", "client", client),
    ]
    engaged(elsewhere, *strangers)
    with elsewhere.entered(settings):
        yield [elsewhere.nora, elsewhere.nils, *strangers]


def test_no_address_tells_them_that_anything_is_there(there, world):
    """Nor do preconditions, by which somebody who knows a tag would ask."""
    nowhere = Places(dict.fromkeys(places(world.own).ids, str(uuid.uuid4())))
    for person in there:
        api = Api(person)
        for route in DETAILS:
            for headers in ({}, {"If_None_Match": "*"}, {"If_None_Match": '"1"'}):
                seen = [
                    (answer.status, answer.content, answer.headers.get("ETag"))
                    for answer in (
                        api.call("GET", each.path(route), **headers)
                        for each in (places(world.own), nowhere)
                    )
                ]
                assert seen[0] == seen[1], (person.username, route, headers)
                if route != "rules/motor.slip":
                    assert seen[0][0] in (403, 404), (person.username, route)


def test_no_list_and_no_page_holds_anything_of_it(there, world, cast):
    words = [*places(world.own).ids.values(), world.own.sealed_event, str(cast.client),
             str(cast.contractor), "Tresk", "Halvorn"]  # fmt: skip
    for person in there:
        for listed in (*LISTS, *BY_HAND, "members", "tokens", "records/readings.csv"):
            answer = Api(person).get(f"/{listed}")
            text = (answer.content or answer.rows()).decode()
            assert [word for word in words if word in text] == [], (person.username, listed)
        for path in (*LISTED, *PAGES):
            page = open_page(person, path.format(**places(world.own).ids))
            asked = [each for each in words if each in path.format(**places(world.own).ids)]
            told = [word for word in words if word in page.html and word not in asked]
            assert told == [], (person.username, path)


def test_its_client_reads_neither_drafts_nor_work(there, cast, elsewhere, world):
    engaged(elsewhere, cast.cleo)
    cleo = Api(cast.cleo)
    assert cleo.get(f"/records/{world.own.record}").status == 200
    for route in [route for route in DETAILS if route.startswith("events/")]:
        assert cleo.get(places(world.own).path(route)).status == 403, route
    for listed in ("events", "audit", "members", "tokens", "instruments"):
        assert cleo.get(f"/{listed}").status == 403, listed
    for listed in LISTS:
        assert world.own.draft not in cleo.get(f"/{listed}").content.decode()
    for path in ("/", "/due", f"/stations/{world.own.station.site}"):
        assert world.own.draft not in open_page(cast.cleo, path).html
