"""Beginning a replacement from several browsers at once, with real commits."""

import pytest

from records import permissions
from records.errors import Conflict
from records.models.base import new_id
from records.services import replacements
from records.services.tokens import actor_of_person
from tests.records import visits
from tests.records.client import Api
from tests.records.services.test_concurrency import rows, together
from tests.records.services.test_order_of_locks import while_the_station_is_held

pytestmark = pytest.mark.usefixtures("transactional_db")

WHY = "The clamp meter had been set to the other range."


def beginning(person, record, given):
    """Begins it in that person's place; the draft's id, or why not."""

    def run():
        actor = actor_of_person(person.id, presence=permissions.Presence())
        try:
            with permissions.inside(actor):
                return str(replacements.begin(actor, record, given).id)
        except Conflict as why:
            return why.detail

    return run


@pytest.fixture
def record(cast, station):
    return visits.sealed(Api(cast.teo), Api(cast.orla), station)["id"]


def test_of_several_at_once_one_begins_it(api, cast, station, stage, record):
    people = [cast.teo, cast.orla] * 3
    calls = [beginning(each, record, {"id": str(new_id()), "reason": WHY}) for each in people]
    said = together(calls)
    refused = [
        each for each in said if each.startswith("a draft that replaces this record is open")
    ]
    assert len(refused) == len(calls) - 1
    assert rows(stage, "records_event", "state = 'draft'") == 1


def test_the_same_form_from_several_connections_is_one_draft(api, cast, station, stage, record):
    given = {"id": str(new_id()), "reason": WHY}
    assert set(together([beginning(cast.teo, record, given)] * 6)) == {given["id"]}
    assert rows(stage, "records_event", "state = 'draft'") == 1


def test_it_holds_no_count_while_it_waits_for_its_station(api, cast, station, stage, record):
    begin = beginning(cast.teo, record, {"id": str(new_id()), "reason": WHY})
    while_the_station_is_held(stage, begin)
    assert rows(stage, "records_event", "state = 'draft'") == 1
