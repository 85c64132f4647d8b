"""Stations at a glance, and one station: visits and records in parts, equipment with its plates."""

import re
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

from records.documents.contents.cautions import SHORT
from records.pages import stations as station_pages
from tests.calculations.building import booster
from tests.records import stations, visits


def opened(page, station, name="orla", query=""):
    return page(name, f"/stations/{station.site}{query}")


def post_daily(technician, station, count):
    """A visit a day, of sensors only, which takes the least to judge."""
    known = {"kind": "investigation", "site": station.site, "sensors": [station.ids["PT-101"]]}
    first = datetime(2025, 1, 1, 12, tzinfo=UTC)
    events = [
        known | {"id": visits.new_id(), "performed_at": (first + timedelta(days=day)).isoformat()}
        for day in range(count)
    ]
    posted = technician.post("/events/batch", {"events": events})
    assert [each["status"] for each in posted.json["results"]] == [201] * count, posted.json


def days(seen):
    """The days of the visits that are listed."""
    events = [(where, words) for where, words in seen.links if where.startswith("/events/")]
    return [words[:10] for where, words in events if "#" not in where]


def test_every_visit_is_on_one_of_the_parts(page, teo, station):
    post_daily(teo, station, 60)
    first, second = opened(page, station), opened(page, station, query="?visits=2")
    assert "1 to 50 of 60 visits" in first.words
    assert first.to("Older") == ["?visits=2#visits"]
    assert second.to("Newer") == ["?visits=1#visits"]
    listed = days(first) + days(second)
    assert len(set(listed)) == 60
    assert listed == sorted(listed, reverse=True)


def test_of_many_open_findings_the_gravest_are_listed_and_the_others_counted(page, teo, station):
    post_daily(teo, station, 30)
    seen = opened(page, station)
    [count] = re.findall(r": (\d+) findings open", seen.headings[0][1])
    listed = [where for where, _ in seen.links if "#finding-" in where]
    assert len(listed) == 20
    assert f"and {int(count) - 20} more, on the pages of the visits" in seen.words


def test_a_part_that_is_none_is_the_nearest(page, teo, station):
    visits.post(teo, station)
    for query in ("?visits=2", "?visits=0", "?visits=x", "?visits=99999999999999999999"):
        assert len(days(opened(page, station, query=query))) == 1


def test_times_are_those_of_the_station(page, teo, station):
    # Half past midnight in UTC is the evening before in Chicago, UTC-6 in January (IANA tz
    # database).
    visits.post(teo, station, performed_at="2026-01-15T00:30:00Z", performed_until=None)
    seen = opened(page, station)
    assert "Times are those of the station’s zone, America/Chicago." in seen.words
    assert "2026-01-14 18:30 UTC−06:00" in seen.words
    assert "2026-01-14" in page("orla", "/").words
    assert "2026-01-15" not in page("orla", "/").words


def test_open_findings_lead_to_where_they_are_answered(page, teo, orla, station):
    event = visits.post(teo, station, **visits.wrong_frequency(station))
    finding = visits.found(event, "drive.volts-per-hertz")
    seen = opened(page, station)
    count = sum(1 for each in event["findings"] if each["open"])
    assert seen.headings[0][1].startswith("B-01 ")
    assert re.search(rf": {count} findings? open$", seen.headings[0][1])
    anchor = f"/events/{event['id']}#finding-{finding['id']}"
    assert (anchor, finding["sentence"]) in seen.links
    visits.answer_all(orla, event)
    assert opened(page, station).headings[0][1].endswith(": nothing open")


def test_equipment_stands_there_with_its_plates(page, station):
    seen = opened(page, station, "cleo")
    for said in ("Pump set PS-101", "Pump P-101", "Motor M-101", "Sensor PT-101"):
        assert said in seen.words
    # The ordinary station's plates: tests/calculations/building_plates.py.
    assert "68.7" in seen.words
    assert "Ratings of the motor" in seen.words
    assert "Hazardous voltage" in seen.words
    assert seen.faults == []


def test_a_station_has_the_cautions_of_all_that_stands_there(page, orla, station):
    """The short ones above the plates, each of the others once, in the words of the documents."""
    site, motor = f"/sites/{station.site}", f"/motors/{station.ids['M-101']}"
    orla.patch(site, {"hazardous_area": "zone_1", "supply_source": "generator"},
               orla.get(site).etag)  # fmt: skip
    assert "Permanent magnets" not in opened(page, station).words
    for path, given in (
        (motor, {"kind": "permanent_magnet"}),
        (f"/pump-sets/{station.pump_set}", {"bypass": "manual"}),
        (f"/pumps/{station.ids['P-101']}", {"type": "axial_or_mixed_flow"}),
    ):
        assert orla.patch(path, given, orla.get(path).etag).status == 200
    seen = opened(page, station, "cleo")
    assert seen.html.index(SHORT) < seen.html.index('<h2 id="in-service">')
    after = seen.html[seen.html.index('id="cautions"') :]
    for title in ("Lock-out", "Explosive atmosphere", "Several sources", "Vessels",
                  "Permanent magnets", "Bypass", "Closed valve"):  # fmt: skip
        assert after.count(f"<dt>{title}</dt>") == 1
    assert seen.faults == []


def test_what_was_taken_out_is_listed_apart(page, orla, station):
    path = f"/sensors/{station.ids['PT-101']}"
    sensor = orla.get(path)
    assert orla.patch(path, {"out_of_service_on": "2026-03-20"}, sensor.etag).status == 200
    words = opened(page, station).words
    gone = words.index("Taken out of service")
    assert "Sensor PT-101" in words[gone:]
    assert "2026-03-20" in words[gone:]


def test_records_lead_to_their_pages(page, teo, orla, station):
    record = visits.sealed(teo, orla, station)
    for name in ("orla", "cleo"):
        assert set(opened(page, station, name).to("Record 1")) == {f"/records/{record['id']}"}


def test_all_records_are_there_as_one_file(page, teo, orla, station):
    assert page("cleo", f"/stations/{station.site}").to("the records") == []
    visits.sealed(teo, orla, station)
    seen = page("cleo", f"/stations/{station.site}")
    bundle = f"/api/v1/records/bundle?site={station.site}"
    assert seen.to("the records") == [bundle]
    assert seen.to("the records with photographs, documents and traces") == [f"{bundle}&files=true"]


def test_an_empty_station_says_so(page, orla, cast):
    site = stations.register(orla, cast.client, code="B-77")
    words = opened(page, site).words
    assert "No visit yet." in words
    assert "Nothing sealed yet." in words
    assert opened(page, site).faults == []


def test_the_client_sees_neither_visits_nor_findings(page, teo, station):
    event = visits.post(teo, station, **visits.wrong_frequency(station))
    seen = opened(page, station, "cleo")
    assert "Visits" not in [words for _, words in seen.headings]
    assert visits.found(event, "drive.volts-per-hertz")["sentence"] not in seen.words
    assert event["id"] not in seen.html


def test_stations_can_be_found_by_code_name_and_client(page, orla, cast, station):
    stations.register(orla, cast.client, code="Z-55", name="Far field")
    for wanted in ("z-5", "FAR f", "tresk"):
        assert "Z-55 Far field" in page("orla", f"/?q={wanted}").words
    assert "Z-55" not in page("orla", "/?q=B-01").words
    none = page("orla", "/?q=%00nothing like it")
    assert none.status == 200
    assert "No station is like this." in none.words


def test_nobody_sees_anothers_stations(page, station):
    for name in ("otto", "cato", "tilda"):
        assert "B-01" not in page(name, "/").words
        assert opened(page, station, name).status == 404


def test_what_was_entered_is_never_markup(page, orla, cast):
    site = stations.register(orla, cast.client, code="B-78", name="<script>alert(1)</script>")
    for seen in (page("orla", "/"), opened(page, site)):
        assert "<script>" not in seen.html
        assert "<script>alert(1)</script>" in seen.words
        assert seen.faults == []


def test_a_station_of_very_many_pieces_comes_in_parts(page, orla, station):
    """Of 1,500 pieces with their plates, a telephone would read two megabytes."""
    plate = booster()["pump"] | {"site": station.site}
    made = {f"Q-{number:03}": orla.post("/pumps", plate | {"tag": f"Q-{number:03}"}).json["id"]
            for number in range(70)}  # fmt: skip
    first = opened(page, station)
    assert first.faults == []
    [total] = map(int, re.findall(r"1 to 50 of (\d+) pieces in service", first.words))
    shown = [opened(page, station, query=f"?in-service={number}") for number in (1, 2)]
    plates = [each.html.count('<details class="piece" id="piece-') for each in shown]
    assert plates == [50, total - 50]
    listed = [each for part in shown for each in part.ids if each.startswith("piece-")]
    assert len(set(listed)) == total
    assert {f"piece-{identity}" for identity in made.values()} <= set(listed)
    # Whatever leads to a piece leads to the part that it stands in, opened.
    wanted = made["Q-069"]
    assert f"piece-{wanted}" not in first.ids
    seen = opened(page, station, query=f"?piece={wanted}")
    assert f'id="piece-{wanted}" open' in seen.html
    assert seen.faults == []
    assert seen.to("Before") == [f"?piece={wanted}&in-service=1#in-service"]
    back = opened(page, station, query=f"?piece={wanted}&in-service=1")
    assert f"piece-{wanted}" not in back.ids


def test_of_many_pump_sets_each_has_its_links_beside_its_plate(
    page, teo, orla, station, monkeypatch
):
    at = f"/pump-sets/{station.pump_set}/trends"
    sheet = f"/api/v1/pump-sets/{station.pump_set}/visit-sheet.pdf"
    monkeypatch.setattr(station_pages, "FEW", 0)
    seen = opened(page, station)
    assert "How they moved since" not in seen.words
    assert "To take along, with cautions" not in seen.words
    assert seen.to("Visit sheet of PS-101 (PDF)") == [sheet]
    assert seen.to("Trends of PS-101") == []
    visits.sealed(teo, orla, station)
    seen = opened(page, station)
    assert seen.to("Trends of PS-101") == [at]
    assert seen.to("Trends of PT-101") == [f"/sensors/{station.ids['PT-101']}/trends"]
    assert seen.faults == []
    assert opened(page, station, "cleo").to("Visit sheet of PS-101 (PDF)") == []


def test_the_visit_sheet_of_every_set_in_service_is_a_click_away(page, orla, teo, station):
    words = "visit sheet of PS-101 (PDF)"
    at = f"/pump-sets/{station.pump_set}"
    for name, person in (("orla", orla), ("teo", teo)):
        [where] = opened(page, station, name).to(words)
        assert (person.get(where).status, person.get(where).type) == (200, "application/pdf")
    assert opened(page, station, "cleo").to(words) == []
    orla.patch(at, {"out_of_service_on": "2030-01-01"}, orla.get(at).etag)
    assert opened(page, station).to(words) == []


def test_what_is_due_stands_on_the_page_of_its_station(page, teo, orla, station):
    record = visits.sealed(teo, orla, station)
    items = orla.get(f"/due-items?site={station.site}").json["items"]
    dated = [item for item in items if item["due_on"]]
    for name in ("orla", "cleo"):
        seen = opened(page, station, name)
        part = seen.words[seen.words.index("Due to be verified again") :]
        assert all(item["title"] in part and item["due_on"] in part for item in dated)
        assert f"/records/{record['id']}" in [where for where, _ in seen.links]
        assert seen.faults == []


def test_what_is_due_leads_to_the_due_list_of_this_station(page, teo, orla, station):
    visits.sealed(teo, orla, station)
    seen = opened(page, station)
    [where] = seen.to("all of them on the due list, with the reasons")
    assert where == f"/due?state=all&site={station.site}"
    listed = page("orla", where)
    for title in re.findall(r'data-label="Task">([^<]+)</td>', seen.html):
        assert f'data-label="Task">{title}</td>' in listed.html


def test_the_page_says_at_its_head_where_its_parts_are(page, teo, orla, station, cast):
    assert set(opened(page, station).to("In service")) == {"#in-service"}
    seen = opened(page, station, "cleo")
    assert seen.to("Due again") == ["#due"]
    assert seen.to("Visits") == []
    assert seen.faults == []  # each leads somewhere


def test_drafts_that_replace_one_record_are_told_apart(page, teo, orla, station):
    record = visits.sealed(teo, orla, station)
    why = {"corrects": record["id"], "correction_reason": "The clamp was set otherwise."}
    first, second = visits.post(teo, station, **why), visits.post(orla, station, **why)
    path = f"/events/{first['id']}"
    assert teo.patch(path, {"remarks": "Put right."}, teo.get(path).etag).status == 200
    told = teo.get(path).json
    begun, changed = (_minute(told[name]) for name in ("received_at", "changed_at"))
    seen = opened(page, station)
    assert f"begun by Teo on {begun}, last changed {changed}" in seen.words
    assert f"begun by Orla on {_minute(second['received_at'])}, last changed" in seen.words
    for where in (f"/records/{record['id']}", f"/events/{second['id']}"):
        assert f"begun by Teo on {begun}, last changed {changed}" in page("orla", where).words
    assert "begun by" not in opened(page, station, "cleo").words


def _minute(instant):
    """A time as pages of that station show it, in Chicago."""
    local = datetime.fromisoformat(instant).astimezone(ZoneInfo("America/Chicago"))
    behind = -local.utcoffset() // timedelta(hours=1)
    return f"{local:%Y-%m-%d %H:%M} UTC−{behind:02}:00"
