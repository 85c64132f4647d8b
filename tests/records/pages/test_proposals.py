"""What a piece's history proposes for its interval: read with its arithmetic, and accepted."""

import uuid

import pytest

from tests.records import stations, visits
from tests.records.api.test_due import SIGNAL, again
from tests.records.pages.entrance.walking import Walker
from tests.records.pages.sending import form


@pytest.fixture
def office(teo, orla, station, cast):
    """PT-101 was found outside half a year after the start-up."""
    visits.sealed(teo, orla, station)
    stations.seal(teo, orla, again(station, "2026-09-14", SIGNAL))
    return Walker.of(cast.orla)


def proposed(office):
    """Where the list of what has a proposal leads."""
    page = office.get("/due?state=proposed")
    assert page.faults == []
    return [to for to, _ in page.links if to.startswith("/intervals/")]


def settings_of(orla):
    return orla.get("/interval-settings?in_force=true").json["items"]


def test_a_proposal_is_read_and_accepted_with_its_arithmetic(office, orla, station):
    [path] = [to for to in proposed(office) if station.ids["PT-101"] in to]
    page = office.get(path)
    assert page.faults == []
    assert (2, "What was found proposes 6 months") in page.headings
    assert "12 months × 0.5 = 6 months" in page.words
    assert settings_of(orla) == []
    sent = form(page, "/accept")
    for _ in range(2):  # pressed twice it is one setting
        assert sent.send(office, reason="Agreed with the client.").status == 302
        assert office.at == f"{path}#set"
    [row] = settings_of(orla)
    assert (row["months"], row["piece"]) == (6, station.ids["PT-101"])
    assert "12 months × 0.5 = 6 months" in row["reason"]
    assert row["reason"].endswith(" Agreed with the client.")
    after = office.get(path)
    assert "What was found proposes" not in after.words
    assert "Agreed with the client." in after.words
    assert path not in proposed(office)


def test_the_list_leads_to_what_is_proposed_and_says_where_nothing_is(office, station):
    words = office.get("/due?state=proposed").words
    assert "Read what is proposed Transmitter against a reference of PT-101" in words
    assert "Change how often" not in words
    assert "proposes no other interval" in office.get("/due?state=proposed&due_by=2020-01-01").words


def test_what_has_no_proposal_offers_none(office, station):
    page = office.get("/due?state=all")
    path = next(to for to, _ in page.links if "/vibration?" in to)
    assert "What was found proposes" not in office.get(path).words


def test_a_proposal_of_another_client_is_not_accepted_here(office, orla, cast, station):
    [path] = [to for to in proposed(office) if station.ids["PT-101"] in to]
    to = form(office.get(path), "/accept").action
    elsewhere = to.replace(str(cast.client), str(uuid.uuid4()))
    assert office.post(elsewhere).status == 404
    assert settings_of(orla) == []
