"""A book comes in beside what is here: none of that is moved, changed or taken up."""

import pytest

from records.errors import Conflict
from records.services.book_staging import Staging
from tests.records import stations
from tests.records.cast import NAMES
from tests.records.client import Api


@pytest.fixture
def station_here(cast, elsewhere, settings):
    """The client's station of another code, looked after by a contractor of this installation."""
    with elsewhere.as_owner() as owner:
        owner.execute(
            "INSERT INTO records_organization (id, name, revision, created_at)"
            " VALUES (%s, %s, 1, now())",
            [cast.client, NAMES["client"]],
        )
        owner.execute(
            "INSERT INTO records_clientele (contractor_id, client_id, since)"
            " VALUES (%s, %s, now())",
            [elsewhere.contractor, cast.client],
        )
    with elsewhere.entered(settings):
        return stations.register(Api(elsewhere.nora), cast.client, code="H-1").site


def test_a_client_that_has_a_station_here_is_refused(station_here, book, elsewhere, take_in):
    with pytest.raises(Conflict) as refused:
        take_in(book)
    words = "sites: the client has stations here already: 1, such as H-1"
    assert words in refused.value.detail.splitlines()
    assert elsewhere.rows("records_site", "array_agg(code)") == ["H-1"]


def test_stations_that_are_not_in_the_file_stay_as_they_are(
    station_here, cast, book, elsewhere, take_in, monkeypatch
):
    """Even if that refusal were not there."""
    monkeypatch.setattr(Staging, "conflicts", lambda staging: [])
    here = f"id = '{station_here}'"
    before = elsewhere.rows("records_site AS s", "s::text", here)
    taken = take_in(book, cast.contractor)
    assert "H-1" not in taken.sites
    assert len(taken.sites) == 1
    assert elsewhere.rows("records_site AS s", "s::text", here) == before
