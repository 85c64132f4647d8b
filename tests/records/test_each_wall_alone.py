"""Each wall holds alone, and the tests for leaks can fail: without both of them everything leaks.

In this module every policy of the database lets every row pass, until its end.
"""

import pytest

from records import permissions
from records.models import Organization
from records.services import files
from tests.records import catalogue
from tests.records import test_foreign_references as references
from tests.records import world as worlds
from tests.records.test_isolation import (
    BY_HAND,
    LISTS,
    PEOPLE,
    ROUTES,
    foreign_and_absent,
    leaked_by_list,
    places,
    told_by_readings,
)


@pytest.fixture(scope="module")
def opened(stage, cleared_afterwards):
    """The world behind a second wall that lets everything pass."""
    yield lambda: _open(stage)
    with stage.as_owner() as owner:
        catalogue.build(owner)
        assert catalogue.differences(owner) == []


def _open(stage):
    with stage.as_owner() as owner:
        catalogue.open_up(owner)


@pytest.fixture
def world(stage, signing_key, opened):
    made = worlds.of(stage)
    for content in (worlds.NOTE, worlds.ROWS):
        files.store(content)
    opened()
    return made


@pytest.fixture
def people(world, api, cast):
    return {name: api(getattr(cast, name)) for name in PEOPLE} | {"nobody": api(None)}


@pytest.fixture
def without_first_wall(monkeypatch):
    monkeypatch.setattr(permissions, "visible", lambda rows, actor, **_: rows)
    monkeypatch.setattr(permissions, "acquainted", lambda rows, actor: rows)


DETAILS = [route for method, route in ROUTES if method == "GET" and "{" in route]
# A client reads these, and no work of a contractor.
FOR_CLIENTS = ("organizations", "sites", "pumps", "motors", "drives", "sensors", "vessels",
               "pump-sets", "records", "rule-settings", "interval-settings")  # fmt: skip


# -- the first wall without the second ----------------------------------------------------------


@pytest.mark.parametrize("listed", [*LISTS, *BY_HAND])
@pytest.mark.parametrize("name", ["otto", "cato"])
def test_the_first_wall_holds_lists_alone(people, world, listed, name):
    assert leaked_by_list(people[name], world, listed) == []


@pytest.mark.parametrize("route", DETAILS)
@pytest.mark.parametrize("name", ["otto", "tilda", "cato"])
def test_the_first_wall_holds_each_thing_alone(people, world, route, name):
    foreign, absent = foreign_and_absent(people[name], world, route)
    assert foreign == absent


@pytest.mark.parametrize("name", ["otto", "cato"])
def test_the_first_wall_holds_readings_alone(people, world, name):
    assert told_by_readings(people[name], world) == (["theirs"], [])


@pytest.mark.parametrize("name", ["site", "corrects"])
def test_the_first_wall_holds_references_alone(people, world, name):
    theirs = {"sites": world.own.station.site, "records": world.own.record}
    ask = references.posting(world, people["tilda"], name)
    assert references.told_apart(ask, theirs) == []


# -- neither of them ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "listed"),
    [*(("otto", each) for each in LISTS), *(("cato", each) for each in FOR_CLIENTS)],
)
def test_without_both_lists_leak(people, world, without_first_wall, name, listed):
    assert leaked_by_list(people[name], world, listed) != []


# The files of a report that is still to be made are not there for anybody.
_THERE = [route for route in DETAILS if not route.startswith("reports/{report}/")]


@pytest.mark.parametrize("route", _THERE)
def test_without_both_each_thing_is_told(people, world, without_first_wall, route):
    (status, _), absent = foreign_and_absent(people["otto"], world, route)
    # A sheet tells that there is a pump set; what stands around it is asked for by hand.
    told = 409 if route.endswith("visit-sheet.pdf") else 202 if "document" in route else 200
    assert (status, absent[0]) == (told, 404)


@pytest.mark.parametrize("name", ["otto", "cato"])
def test_without_both_readings_leak(people, world, without_first_wall, name):
    assert told_by_readings(people[name], world) == (["own", "theirs"], ["own"])


@pytest.mark.parametrize("kind", ["pumps", "pump-sets"])
def test_without_both_references_are_told_apart(people, world, without_first_wall, kind):
    theirs = {"sites": world.own.station.site}
    otto = people["otto"]
    held = otto.get(f"/{kind}/{places(world.other).ids[kind]}").json
    add = references.adding(otto, kind, "site", held)
    assert references.told_apart(add, theirs) == ["sites"]


def test_without_the_second_wall_the_database_shows_everything(people, world):
    """That the policies are what hides: the same query with them is in test_isolation."""
    people["otto"].get("/me")
    assert Organization.objects.count() == 4
