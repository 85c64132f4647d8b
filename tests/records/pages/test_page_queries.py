"""A page asks the database the same number of questions however much there is to show."""

from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.calculations.building import booster
from tests.records import visits


def queries(page, path):
    with CaptureQueriesContext(connection) as captured:
        assert page("orla", path).status == 200
    return len(captured)


def add(orla, station, count):
    """More pumps and sensors at the station."""
    known = booster()
    pieces = (("pumps", known["pump"]), ("sensors", known["sensors"][0]))
    for index in range(count):
        for kind, plate in pieces:
            own = {"site": station.site, "tag": f"X-{index}", "serial": f"X-{kind}-{index}"}
            assert orla.post(f"/{kind}", plate | own).status == 201


def test_more_rows_ask_no_more_of_the_database(page, orla, teo, station):
    record = visits.sealed(teo, orla, station)
    draft = visits.post(teo, station, **visits.wrong_frequency(station))
    paths = [
        "/", "/visits", "/due", "/due?state=all", f"/due?site={station.site}", "/map",
        "/search?q=P-101", "/instruments", "/audit", "/people", "/tokens", "/limits", "/reports",
        "/calendars", f"/stations/{station.site}", f"/stations/{station.site}/register",
        f"/events/{draft['id']}",
        f"/events/{record['event']}", f"/records/{record['id']}",
        f"/pump-sets/{station.pump_set}/trends", f"/sensors/{station.ids['PT-101']}/trends",
    ]  # fmt: skip
    few = {path: queries(page, path) for path in paths}
    add(orla, station, 4)
    for _ in range(2):
        visits.sealed(teo, orla, station)
        event = visits.post(teo, station, **visits.wrong_frequency(station))
        visits.answer_all(orla, event)
    visits.answer_all(orla, draft)
    assert {path: queries(page, path) for path in paths} == few
