"""A record whose station another contractor looks after by now: neither begins a replacement."""

import pytest

from tests.records import stations, visits
from tests.records.client import Api, leave
from tests.records.pages.entrance.walking import Walker
from tests.records.pages.reading import open_page
from tests.records.pages.sending import forms
from tests.records.test_change_of_contractor import appoint

__all__ = ["appoint"]  # the operator's command, as a fixture
CODE = "X-45"


@pytest.fixture
def record(stage, signing_key, cast, appoint, cleared_afterwards):
    """Sealed by Orla's contractor, its station with Otto's now, to whom it was handed on."""

    def seal(cast):
        station = stations.register(Api(cast.orla), cast.client, code=CODE)
        return visits.sealed(Api(cast.teo), Api(cast.orla), station)

    sealed = stage.keep("to be replaced", seal)
    status, said = appoint(cast.client, CODE, cast.other_contractor, "--hand-on-records")
    assert status == 0, said
    return sealed


def test_the_former_has_no_station_and_the_next_was_not_there(record, cast):
    place = f"/records/{record['id']}"
    for person, why in (
        (cast.teo, "another contractor looks after this station now"),
        (cast.tilda, "another contractor did this visit"),
    ):
        seen = open_page(person, place)
        assert seen.status == 200
        assert [each for each in forms(seen) if each.path.endswith("/replace")] == []
        back = Walker.of(person).post(f"{place}/replace", reason="The range was another.")
        leave()
        assert back.status == 409
        assert why in back.words.lower()
    for person in (cast.teo, cast.tilda):
        leave()
        listed = Api(person).get(f"/events?site={record['site']}").json["items"]
        assert [each["id"] for each in listed if each["state"] == "draft"] == []
