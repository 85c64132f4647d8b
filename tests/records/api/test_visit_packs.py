"""What a technician takes along: complete, the same while nothing changes, quick to ask again."""

import gzip
import json

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.calculations import building_plates
from tests.calculations.building_plates import q
from tests.records import stations, visits
from tests.records.documents.reading_back import squeezed, text
from tests.records.problems import assert_problem


@pytest.fixture
def path(station):
    return f"/sites/{station.site}/visit-pack"


def derived(pump_set):
    return {each["id"]: each for each in pump_set["expected"]["derived"]}


def test_before_the_first_visit_it_says_what_plates_give_and_what_is_missing(teo, path, station):
    pack = teo.get(path).json
    [own] = pack["pump_sets"]
    assert own["pump_set"]["id"] == station.pump_set
    assert own["last_settings"] is None
    assert derived(own)["motor.synchronous-speed"]["value"] == "1800"  # 120 x 60 / 4
    needs = {each["id"]: each["needs"] for each in own["expected"]["lacking"]}
    assert needs["sensor.signal-at-set-point"] == ["/event/settings/as_left/set_point"]
    assert [point["frequency"] for point in own["expected"]["points"]] == [q("60.0", "Hz")]


def test_site_and_equipment_are_those_of_the_register(teo, path, station):
    pack = teo.get(path).json
    [own] = pack["pump_sets"]
    for kind, told in (
        (f"/sites/{station.site}", pack["site"]),
        (f"/pumps/{station.ids['P-101']}", own["pump"]),
        (f"/motors/{station.ids['M-101']}", own["motor"]),
        (f"/drives/{station.ids['D-101']}", own["drive"]),
        (f"/vessels/{station.ids['V-1']}", pack["vessels"][0]),
    ):
        registered = teo.get(kind).json
        assert {name: registered[name] for name in told} == told
    sensors = teo.get(f"/sensors?site={station.site}").json["items"]
    assert {each["id"] for each in pack["sensors"]} == {each["id"] for each in sensors}
    assert set(own["sensors"]) == {each["id"] for each in sensors}
    serials = {each["serial"] for each in teo.get("/instruments").json["items"]}
    assert {each["serial"] for each in pack["instruments"]} == serials


def test_after_a_visit_it_holds_the_last_settings_and_all_that_follows(teo, path, station):
    visits.post(teo, station)
    later = station.event(performed_at="2026-06-01T08:00:00-05:00", performed_until=None)
    later["settings"]["as_left"]["set_point"] = q("100", "psi")
    event = visits.post(teo, station, **later)
    [own] = teo.get(path).json["pump_sets"]
    last = own["last_settings"]
    assert (last["event"], last["state"]) == (event["id"], "draft")
    assert last["performed_at"] == "2026-06-01T13:00:00Z"
    assert last["as_left"] == event["settings"]["as_left"]
    # 100 psi of 0 to 200 psi on 4 to 20 mA: 12 mA.
    assert derived(own)["sensor.signal-at-set-point"]["value"] == "12"
    points = own["expected"]["points"]
    assert [p["frequency"]["value"] for p in points] == ["36.0", "42.0", "48.0", "54.0", "60.0"]
    assert all(point["shut_off_pressure"]["unit"] == "psi" for point in points)


def test_what_was_withdrawn_is_not_what_a_drive_was_left_with(teo, path, station):
    first = visits.post(teo, station)
    later = station.event(performed_at="2026-06-01T08:00:00-05:00", performed_until=None)
    later["settings"]["as_left"]["set_point"] = q("100", "psi")
    wrong = visits.post(teo, station, **later)
    at = f"/events/{wrong['id']}/withdrawal"
    assert teo.post(at, {"reason": "entered for the wrong pump"}).status == 201
    [own] = teo.get(path).json["pump_sets"]
    assert own["last_settings"]["event"] == first["id"]
    assert own["last_settings"]["as_left"]["set_point"] == q("85", "psi")


def test_what_was_corrected_is_not_what_a_drive_was_left_with_whatever_its_day(
    teo, orla, path, station
):
    """The day was wrong, and the set point; the correction is of an earlier day than the record."""
    wrong = station.event(performed_at="2026-06-01T08:00:00-05:00", performed_until=None)
    wrong["settings"]["as_left"]["set_point"] = q("90", "psi")
    record = visits.sealed(teo, orla, station, **wrong)
    [own] = teo.get(path).json["pump_sets"]
    assert own["last_settings"]["as_left"]["set_point"] == q("90", "psi")
    right = {"corrects": record["id"], "correction_reason": "The day, and the set point."}
    draft = visits.post(teo, station, **right)
    [own] = teo.get(path).json["pump_sets"]
    assert own["last_settings"]["as_left"]["set_point"] == q("90", "psi")  # it stands until then
    beside = station.event(**right)
    beside["settings"]["as_left"]["set_point"] = q("95", "psi")
    late = visits.post(teo, station, **beside)
    [own] = teo.get(path).json["pump_sets"]
    visits.sign_both(teo, orla, draft)
    assert orla.post(f"/events/{draft['id']}/seal").status == 201
    assert teo.get(f"/events/{late['id']}").json["state"] == "draft"
    [own] = teo.get(path).json["pump_sets"]
    assert (own["last_settings"]["event"], own["last_settings"]["state"]) == (draft["id"], "sealed")
    assert own["last_settings"]["as_left"]["set_point"] == q("85", "psi")


def test_cautions_are_those_that_are_printed(orla, teo, path, station):
    """As on the visit sheet, in its order; those of this station with them."""
    at = f"/sites/{station.site}"
    area = {"hazardous_area": "zone_1"}
    assert orla.patch(at, area, orla.get(at).etag).status == 200
    pack = teo.get(path).json
    titles = [each["title"] for each in pack["cautions"]]
    assert titles[0] == "Hazardous voltage, stored energy"
    assert {"Lock-out", "Automatic restart", "Explosive atmosphere", "Vessels"} <= set(titles)
    [own] = pack["pump_sets"]
    assert own["cautions"] == pack["cautions"]  # the only pump set that there is
    printed = teo.get(f"/pump-sets/{station.pump_set}/visit-sheet.pdf").content
    words = squeezed(text(printed))
    places = [words.index(squeezed(f"{e['title']} {e['text']}")) for e in own["cautions"]]
    assert places == sorted(places)
    assert squeezed(pack["deference"]) in words
    assert "not a safety approval" in pack["deference"]


def test_a_caution_of_one_pump_set_is_told_with_it(orla, teo, station):
    """An axial-flow pump must not run at a closed valve; the other one may."""
    place = {"site": station.site}
    axial = building_plates.pump() | place | {"type": "axial_or_mixed_flow", "tag": "P-102"}
    motor = building_plates.motor() | place | {"tag": "M-102", "serial": "M-2"}
    pieces = {kind: orla.post(f"/{kind}s", each).json["id"]
              for kind, each in (("pump", axial), ("motor", motor))}  # fmt: skip
    second = place | {"tag": "PS-102"} | pieces
    assert orla.post("/pump-sets", second).status == 201
    pack = teo.get(f"/sites/{station.site}/visit-pack").json
    told = {each["pump_set"]["tag"]: {c["title"] for c in each["cautions"]}
            for each in pack["pump_sets"]}  # fmt: skip
    assert {tag: "Closed valve" in titles for tag, titles in told.items()} == {
        "PS-101": False, "PS-102": True,
    }  # fmt: skip
    assert "Closed valve" in {each["title"] for each in pack["cautions"]}


def test_limits_are_those_of_the_client(orla, teo, path, cast):
    orla.post("/rule-settings", visits.limit(cast.client, "motor.slip", "large", "7", "%"))
    pack = teo.get(path).json
    catalogue = teo.get(f"/rules?client={cast.client}").json
    for each in catalogue["items"]:
        del each["example"]  # to be read in the office, not to be carried on site
    assert (pack["rules"], pack["catalogue"]) == (catalogue["items"], catalogue["catalogue"])
    [changed] = pack["limits_changed"]
    assert (changed["rule"], changed["limit"], changed["value"]) == ("motor.slip", "large", "7")


def test_a_limit_bears_on_what_is_expected(orla, teo, path, station, cast):
    """A curve 4 % off the motor's speed: within the catalogue's 5 %, outside of 3 %."""
    pump = f"/pumps/{station.ids['P-101']}"
    orla.patch(pump, {"rated_speed": q("1710", "rpm")}, orla.get(pump).etag)
    set_ = visits.limit(cast.client, "curve.speed", "difference", "3", "%")

    def waiting():
        [own] = teo.get(path).json["pump_sets"]
        return [e["id"] for e in own["expected"]["lacking"] if e["waits_for"] == "curve.speed"]

    assert waiting() == []
    orla.post("/rule-settings", set_)
    assert "pressure.shut-off-at-rated-speed" in waiting()


# -- ETag ---------------------------------------------------------------------------------------


def test_what_is_at_hand_is_not_sent_again(teo, path):
    first = teo.get(path)
    assert first.headers["Cache-Control"] == "private, no-cache"
    for given in (first.etag, f"W/{first.etag}", f'"other", {first.etag}', "*"):
        again = teo.call("GET", path, If_None_Match=given)
        assert (again.status, again.content, again.etag) == (304, b"", first.etag)
        assert again.headers["Cache-Control"] == "private, no-cache"


@pytest.mark.parametrize("given", ['"other"', "", "nonsense", 'W/"other"'])
def test_what_is_not_at_hand_is_sent(teo, path, given):
    answer = teo.call("GET", path, If_None_Match=given)
    assert (answer.status, len(answer.content) > 1000) == (200, True)


def test_every_change_makes_another_tag(orla, teo, path, station, cast):
    tags = [teo.get(path).etag, teo.get(path).etag]
    assert tags[0] == tags[1]
    visits.plate_speed(orla, station, "1774")
    tags.append(teo.get(path).etag)
    visits.post(teo, station)
    tags.append(teo.get(path).etag)
    orla.post("/rule-settings", visits.limit(cast.client, "motor.slip", "large", "7", "%"))
    tags.append(teo.get(path).etag)
    valve = {"relief_valve_setting": q("140", "psi")}
    orla.patch(f"/sites/{station.site}", valve, orla.get(f"/sites/{station.site}").etag)
    tags.append(teo.get(path).etag)
    assert len(set(tags[1:])) == len(tags[1:])


# -- what stands there --------------------------------------------------------------------------


def second_set(office, station):
    """Another set on the same header, with a pump, a motor and a sensor of its own."""
    ids = {}
    for kind, document in (
        ("pumps", building_plates.pump()), ("motors", building_plates.motor()),
        ("drives", building_plates.drive()),
    ):  # fmt: skip
        added = {**document, "site": station.site, "tag": f"{document['tag']}-B"}
        ids[kind[:-1]] = office.post(f"/{kind}", added).json["id"]
    joined = {**building_plates.pump_set(), **ids, "site": station.site, "tag": "PS-102"}
    for role in ("regulating_sensor", "suction_sensor", "flow_meter", "level_sensor"):
        joined.pop(role, None)
    answer = office.post("/pump-sets", joined)
    assert answer.status == 201, answer.json
    return answer.json["id"]


def test_every_set_in_service_is_there_with_its_neighbours(orla, teo, path, station):
    header = orla.get(f"/pump-sets/{station.pump_set}").json["discharge_header"]
    other = second_set(orla, station)
    sets = {each["pump_set"]["id"]: each for each in teo.get(path).json["pump_sets"]}
    assert sets.keys() == {station.pump_set, other}
    assert (sets[other]["neighbours"] == [station.pump_set]) is (header is not None)
    at = f"/pump-sets/{other}"
    orla.patch(at, {"out_of_service_on": "2030-01-01"}, orla.get(at).etag)
    assert [each["pump_set"]["id"] for each in teo.get(path).json["pump_sets"]] == [
        station.pump_set
    ]


def test_more_that_stands_there_asks_no_more_of_the_database(orla, teo, path, station, cast):
    def queries():
        with CaptureQueriesContext(connection) as captured:
            assert teo.get(path).status == 200
        return len(captured)

    visits.post(teo, station)
    orla.post("/rule-settings", visits.limit(cast.client, "motor.slip", "large", "7", "%"))
    few = queries()
    other = second_set(orla, station)
    visits.post(teo, station, pump_set=other, sensor_verifications=[])
    visits.post(teo, station)
    orla.post("/rule-settings", visits.limit(cast.client, "motor.slip", "small", "7", "%"))
    assert queries() == few


def test_a_station_with_nothing_in_it_has_a_pack(orla, teo, cast):
    site = stations.booster()["site"] | {"code": "B-99", "client": str(cast.client)}
    empty = orla.post("/sites", site).json["id"]
    pack = teo.get(f"/sites/{empty}/visit-pack").json
    assert (pack["pump_sets"], pack["sensors"], pack["vessels"]) == ([], [], [])


def test_what_is_not_there_is_not_found(teo, cleo, path):
    assert_problem(teo.get(f"/sites/{visits.new_id()}/visit-pack"), 404)
    assert_problem(teo.get("/sites/x/visit-pack"), 404)
    assert_problem(cleo.get(path), 403)


def test_twenty_packs_are_two_megabytes_at_most_over_the_network(orla, teo, path, station):
    second_set(orla, station)
    visits.post(teo, station)
    answer = teo.call("GET", path, **{"Accept-Encoding": "gzip"})
    assert answer.headers["Content-Encoding"] == "gzip"
    assert 20 * len(answer.content) <= 2_000_000
    assert json.loads(gzip.decompress(answer.content)) == teo.get(path).json
    again = teo.call(
        "GET", path, **{"Accept-Encoding": "gzip", "If-None-Match": answer.headers["ETag"]}
    )
    assert again.status == 304
