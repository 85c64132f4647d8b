"""What is due, on a page."""

import re
from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest

from records.pages import due
from tests.records import stations, visits


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


def test_of_many_stations_it_is_counted_when_that_is_asked(page, started, monkeypatch):
    def refuse(*_):
        raise AssertionError("counted unasked")

    with monkeypatch.context() as many:
        many.setattr(due, "COUNTED_UNASKED", 0)
        many.setattr(due.due_items, "counts", refuse)
        shown = page("orla", "/due?state=never_verified")
        of_a_client = page("cleo", "/due")
    assert shown.headings[0] == of_a_client.headings[0] == (1, "Due")
    assert "Vibration and temperature" in shown.words
    monkeypatch.setattr(due, "COUNTED_UNASKED", 0)
    [count] = shown.to("Count")
    assert page("orla", f"/due{count}").headings[0][1].startswith("1 overdue")


def test_it_is_narrowed_to_one_station(page, orla, cast, station, started):
    other = stations.register(orla, cast.client, code="B-90")
    shown = page("orla", f"/due?state=all&site={station.site}")
    assert shown.faults == []
    assert f"Of B-01 {orla.get(f'/sites/{station.site}').json['name']} alone." in shown.words
    assert set(shown.to("B-01")) == {f"/stations/{station.site}"}
    assert shown.to("Of all stations") == ["?state=all"]
    assert shown.headings[0] == (1, "1 overdue, 0 due soon, 2 never verified")
    [file] = shown.to("This whole list for a spreadsheet (CSV)")
    assert file.endswith(f"&site={station.site}")
    elsewhere = page("orla", f"/due?site={other.site}")
    assert elsewhere.headings[0][1].startswith("0 overdue, 0 due soon, ")
    assert "Nothing of this kind is due." in elsewhere.words
    assert "Station: expected an id." in page("orla", "/due?site=B-01").words
    for name in ("otto", "cato"):
        assert "B-01" not in page(name, f"/due?state=all&site={station.site}").words


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


def test_next_month_is_planned_of_one_client(page, started, cast, teo):
    """What is overdue comes along, and what falls due later does not."""
    shown = page("orla", f"/due?state=all&client={cast.client}&due_by=2026-06-14")
    assert shown.html.count('<th scope="row">') == 1
    assert "First follow-up after the start-up" in shown.words
    later = page("orla", f"/due?state=all&client={cast.client}&due_by=2026-06-13")
    assert "Nothing of this kind is due." in later.words
    [all_of_it] = shown.to("All until the end of next month")
    begun, last = all_of_it.split("&due_by=")
    assert begun == f"?state=all&client={cast.client}"
    assert (date.fromisoformat(last) + timedelta(days=1)).day == 1
    assert 28 <= (date.fromisoformat(last) - datetime.now(UTC).date()).days <= 61
    others = page("orla", f"/due?state=all&client={cast.other_client}")
    assert others.headings[0] == (1, "0 overdue, 0 due soon, 0 never verified")


def test_what_cannot_be_read_is_told_and_left_out(page, started):
    shown = page("orla", "/due?due_by=2026-02-30&client=x")
    assert "Due by: expected a day such as 2026-11-25. It was left out." in shown.words
    assert "Client: expected an id. It was left out." in shown.words
    assert "First follow-up" in shown.words


def test_of_several_clients_each_line_says_whose_it_is(page, started, cast, monkeypatch):
    names = {str(cast.client): "Tresk of the one", str(cast.other_client): "Lumen of the other"}
    monkeypatch.setattr(due, "_clients", lambda actor: names)
    assert page("orla", "/due").words.count("Tresk of the one") == 2  # to be chosen, and at a line
    assert page("orla", f"/due?client={cast.client}").words.count("Tresk of the one") == 1


def test_nothing_of_the_other_side(page, started):
    assert page("otto", "/due?state=all").to("B-01") == []


@pytest.mark.parametrize("name", ["orla", "cleo"])
def test_a_station_of_others_is_answered_for_like_one_that_there_is_not(
    page, otto, cast, started, name
):
    """Neither narrows the list to nothing; a file is refused, since it cannot say so."""
    foreign = stations.register(otto, cast.other_client).site
    nowhere = str(uuid4())
    for path in ("/due?state=all&site=", "/due/list.csv?state=all&site="):
        told = [page(name, path + each) for each in (foreign, nowhere)]
        assert told[0].status == told[1].status == (400 if "csv" in path else 200)
        one, other = (re.sub(r'value="\w{64}"', "", each.html) for each in told)  # of the form
        assert one.replace(foreign, nowhere) == other
        assert "Station: there is none of this id here." in told[0].words
    assert "B-01" in page(name, f"/due?state=all&site={foreign}").words
