"""A record that the next contractor has corrected, where the former one does not see it."""

import pytest

from tests.records import stations, visits
from tests.records.client import Api
from tests.records.problems import assert_problem
from tests.records.test_change_of_contractor import appoint

__all__ = ["appoint"]  # the operator's command, as a fixture
CODE = "X-44"


def correcting(record):
    """What makes a visit a correction."""
    reason = "The clamp meter had been set to the other range."
    return {"corrects": record["id"], "correction_reason": reason}


@pytest.fixture
def record(stage, signing_key, cast, appoint, cleared_afterwards):
    """Sealed by Orla's contractor, handed on to Otto's, corrected there, and the station back."""

    def given(*words):
        status, said = appoint(cast.client, CODE, *words)
        assert status == 0, said

    def seal(cast):
        station = stations.register(Api(cast.orla), cast.client, code=CODE)
        return station, visits.sealed(Api(cast.teo), Api(cast.orla), station)

    def correct(cast):
        stations.register(Api(cast.otto), cast.other_client)  # with instruments of the same serials
        return visits.sealed(Api(cast.tilda), Api(cast.otto), station, **correcting(first))

    station, first = stage.keep("to be corrected", seal)
    given(cast.other_contractor, "--hand-on-records")
    stage.keep("corrected", correct)
    given(cast.contractor)
    return station, first


def test_a_correction_that_is_not_seen_is_told_and_is_no_error_of_the_service(record, orla, teo):
    station, first = record
    assert orla.get(f"/records/{first['id']}").json["corrected_by"] == []
    again = visits.signed(teo, orla, station, **correcting(first))
    answer = orla.post(f"/events/{again['id']}/seal")
    problem = assert_problem(answer, 409, "/event/corrects")
    assert "another contractor has corrected this record" in problem["errors"][0]["detail"]
    assert orla.get(f"/events/{again['id']}").json["state"] == "draft"
