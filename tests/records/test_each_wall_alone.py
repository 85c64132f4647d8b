"""Each wall holds alone, and the tests for leaks can fail: without both of them everything leaks.

In this module every policy of the database lets every row pass, until its end.
"""

import pytest

from records import permissions
from records.models import Organization
from tests.records import catalogue
from tests.records import test_foreign_references as references
from tests.records import world as worlds
from tests.records.test_isolation import (
    LISTS,
    PEOPLE,
    ROUTES,
    test_no_list_holds_anything_of_the_other_side,
    test_the_readings_of_many_hold_nothing_of_the_other_side,
    test_what_is_anothers_answers_like_what_is_not_there,
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
               "pump-sets", "records", "rule-settings")  # fmt: skip


# -- the first wall without the second ----------------------------------------------------------


@pytest.mark.parametrize("listed", LISTS)
@pytest.mark.parametrize("name", ["otto", "cato"])
def test_the_first_wall_holds_lists_alone(people, world, listed, name):
    test_no_list_holds_anything_of_the_other_side(people, world, listed, name)


@pytest.mark.parametrize("route", DETAILS)
@pytest.mark.parametrize("name", ["otto", "tilda", "cato"])
def test_the_first_wall_holds_each_thing_alone(people, world, route, name):
    test_what_is_anothers_answers_like_what_is_not_there(people, world, route, name)


@pytest.mark.parametrize("name", ["otto", "cato"])
def test_the_first_wall_holds_readings_alone(people, world, name):
    test_the_readings_of_many_hold_nothing_of_the_other_side(people, world, name)


# -- neither of them ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "listed"),
    [*(("otto", each) for each in LISTS), *(("cato", each) for each in FOR_CLIENTS)],
)
def test_without_both_the_test_of_lists_fails(people, world, without_first_wall, name, listed):
    with pytest.raises(AssertionError):
        test_no_list_holds_anything_of_the_other_side(people, world, listed, name)


@pytest.mark.parametrize("route", DETAILS)
def test_without_both_the_test_of_each_thing_fails(people, world, without_first_wall, route):
    with pytest.raises(AssertionError):
        test_what_is_anothers_answers_like_what_is_not_there(people, world, route, "otto")


@pytest.mark.parametrize("name", ["otto", "cato"])
def test_without_both_the_test_of_readings_fails(people, world, without_first_wall, name):
    with pytest.raises(AssertionError):
        test_the_readings_of_many_hold_nothing_of_the_other_side(people, world, name)


@pytest.mark.parametrize("kind", ["pumps", "pump-sets"])
def test_without_both_the_test_of_references_fails(people, world, without_first_wall, kind):
    theirs = {"sites": world.own.station.site}
    with pytest.raises(AssertionError):
        references.test_in_a_field_of_the_register(world, people["otto"], theirs, kind, "site")


@pytest.mark.parametrize("name", ["site", "corrects"])
def test_the_first_wall_holds_references_alone(people, world, name):
    theirs = {"sites": world.own.station.site, "records": world.own.record}
    references.test_in_a_field_of_an_event(world, people["tilda"], theirs, name)


def test_without_the_second_wall_the_database_shows_everything(people, world):
    """That the policies are what hides: the same query with them is in test_isolation."""
    people["otto"].get("/me")
    assert Organization.objects.count() == 4
