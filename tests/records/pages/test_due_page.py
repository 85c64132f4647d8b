"""What is due, on a page."""

import pytest

from records.pages import due
from tests.records import visits


@pytest.fixture
def started(teo, orla, station):
    return visits.sealed(teo, orla, station)


@pytest.mark.parametrize("name", ["orla", "cleo"])
def test_what_is_overdue_comes_first_with_its_reason(page, station, started, name):
    shown = page(name, "/due")
    assert (shown.status, shown.faults) == (200, [])
    assert shown.headings[0] == (1, "1 overdue, 0 due soon, 2 never verified")
    assert "First follow-up after the start-up" in shown.words
    assert "2026-06-14" in shown.words
    assert "Insulation of the motor" not in shown.words
    assert shown.to("B-01") == [f"/stations/{station.site}"]
    assert f"/records/{started['id']}" in shown.to("Record 1 of B-01")


def test_another_state_is_asked_for(page, started):
    assert "Vibration and temperature" in page("orla", "/due?state=never_verified").words
    assert "Nothing of this kind is due." in page("orla", "/due?state=due_soon").words
    assert "First follow-up" in page("orla", "/due?state=nonsense").words


def test_the_list_of_stations_leads_there(page, station):
    assert page("cleo", "/").to("What is due to be verified again") == ["/due"]


def test_parts_hold_each_item_once(page, started, monkeypatch):
    monkeypatch.setattr(due, "AT_ONCE", 10)
    first = page("orla", "/due?state=all")
    [following] = first.to("Next")
    second = page("orla", f"/due{following}")
    assert second.to("Next") == []
    rows = [shown.html.count('<th scope="row">') for shown in (first, second)]
    assert rows == [10, 9]
    assert second.to("First") == ["?state=all"]


def test_nothing_of_the_other_side(page, started):
    assert page("otto", "/due?state=all").to("B-01") == []
