"""The stations in one line each: the same as the due items say, kept or worked out on the spot."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from django.db import connection
from django.utils import timezone

from records import permissions
from records.selectors import board, due_items
from records.selectors.board import Wanted
from records.services import kept_due_dates
from tests.records import stations, visits
from tests.records.client import leave

AHEAD = 400  # days: by then the start-up's yearly tasks are overdue


def actor_of(person):
    return permissions.Actor(
        person.id, "", person.organization, "", person.role, frozenset({"read", "write"})
    )


def lines(person, **wanted):
    """The board's rows by code, as a person sees them."""
    leave()
    actor = actor_of(person)
    permissions.enter(actor)
    try:
        return {row["code"]: row for row in board.board(actor, Wanted(**wanted)).rows}
    finally:
        leave()


def said(person, now):
    """What the due items of then say of each station: overdue, the next date, the oldest."""
    leave()
    actor = actor_of(person)
    permissions.enter(actor)
    found = {}
    for item in due_items.items(actor, due_items.Wanted(now=now)):
        found.setdefault(item.code, []).append(item)
    leave()
    told = {}
    for code, items in found.items():
        dates = sorted(item.due_on for item in items if item.due_on)
        past = [each for each in dates if each < items[0].today]
        later = [each for each in dates if each >= items[0].today]
        told[code] = (len(past), later[0] if later else None, past[0] if past else None)
    return told


def shown(person, now):
    return {
        code: (row["overdue"], row["next"], row["since"])
        for code, row in lines(person, now=now).items()
    }


def keep():
    leave()
    with connection.cursor() as cursor:
        count = kept_due_dates.keep_waiting(older=True)
        cursor.execute("SET LOCAL ROLE NONE")
    return count


def agree(*people):
    """The same from both, today and in a year, before the dates are kept and after."""
    days = [timezone.now() + timedelta(days=each) for each in (0, AHEAD)]
    live = {}
    for person in people:
        for now in days:
            live[person.role, now] = shown(person, now)
            assert live[person.role, now] == said(person, now)
    assert keep() > 0
    assert keep() == 0
    for person in people:
        for now in days:
            assert shown(person, now) == live[person.role, now] == said(person, now)
    return live[people[0].role, days[1]]


def test_kept_dates_say_what_the_due_items_say(cast, orla, teo, station):
    before = agree(cast.orla, cast.cleo)
    visits.sealed(teo, orla, station)
    after = agree(cast.orla, cast.cleo)
    assert before["B-01"] != after["B-01"]


@pytest.mark.parametrize("what", ["interval", "interval ended", "piece", "piece gone", "station"])
def test_what_changes_the_dates_is_seen_at_once(cast, orla, station, what):
    wanted = {"client": str(cast.client), "task": "insulation", "months": 1, "reason": "damp"}
    if what == "interval ended":
        setting = orla.post("/interval-settings", wanted).json["id"]
    keep()
    if what == "interval":
        assert orla.post("/interval-settings", wanted).status == 201
    elif what == "interval ended":
        assert orla.call("DELETE", f"/interval-settings/{setting}").status == 204
    elif what == "station":
        path = f"/sites/{station.site}"
        orla.patch(path, {"time_zone": "Pacific/Auckland"}, orla.get(path).etag)
    elif what == "piece":
        path = f"/motors/{station.ids['M-101']}"
        orla.patch(path, {"serial": "another"}, orla.get(path).etag)
    else:
        path = f"/sensors/{station.ids['PT-101']}"
        orla.patch(path, {"out_of_service_on": str(date(2026, 3, 20))}, orla.get(path).etag)
    agree(cast.orla, cast.cleo)


def test_a_day_that_the_register_names_ends_what_is_kept(cast, orla, teo, station):
    visits.sealed(teo, orla, station)
    before = agree(cast.orla)
    path = f"/sensors/{station.ids['PT-101']}"
    later = timezone.now().date() + timedelta(days=30)
    orla.patch(path, {"out_of_service_on": str(later)}, orla.get(path).etag)
    assert agree(cast.orla)["B-01"] != before["B-01"]


def test_a_corrected_record_counts_no_more(cast, orla, teo, station):
    first = visits.sealed(teo, orla, station)
    before = agree(cast.orla)
    visits.sealed(teo, orla, station, corrects=first["id"], correction_reason="a wrong reading")
    assert agree(cast.orla) == before  # of the same day


def test_of_many_whose_dates_are_on_their_way_the_rest_are_counted(cast, orla, monkeypatch):
    for number in range(3):
        stations.register(orla, cast.client, code=f"L-{number}")
    monkeypatch.setattr(board, "LIVE", 2)
    leave()
    actor = actor_of(cast.orla)
    permissions.enter(actor)
    found = board.board(actor, Wanted())
    assert found.waiting == 2  # of the three and B-01
    assert [row["known"] for row in found.rows].count(False) == 2


def test_pages_go_on_where_the_last_ended_in_every_order(cast, orla, teo, station):
    codes = {"B-01"}
    for number in (100, 11, 2, 10, 0):
        site = stations.register(orla, cast.client, code=f"P-{number}")
        codes.add(f"P-{number}")
        if number % 2:
            visits.post(teo, site, **visits.wrong_frequency(site))
    leave()
    actor = actor_of(cast.orla)
    permissions.enter(actor)
    for sort in board.board_sql.SORT:
        whole = [row["code"] for row in board.board(actor, Wanted(sort=sort)).rows]
        parts, wanted = [], Wanted(sort=sort, limit=2)
        while True:
            part = board.board(actor, wanted)
            parts += [row["code"] for row in part.rows]
            if part.after is None:
                break
            wanted = replace(wanted, after=part.after)
        assert parts == whole
        assert set(whole) == codes
        if sort == "code":
            assert whole == ["B-01", "P-0", "P-2", "P-10", "P-11", "P-100"]


def test_an_area_holds_the_stations_in_it(cast, orla, station):
    for code, latitude, longitude in (("N-1", "47.5", "-120.25"), ("N-2", "-9.5", "-120.25")):
        stations.register(orla, cast.client, code=code, latitude=latitude, longitude=longitude)
    assert set(lines(cast.orla, area=(40.0, -130.0, 50.0, -100.0))) == {"N-1"}
    assert set(lines(cast.cleo, area=(-10.0, -120.25, 47.5, -120.25))) == {"N-1", "N-2"}
    assert lines(cast.otto, area=(-90.0, -180.0, 90.0, 180.0)) == {}
