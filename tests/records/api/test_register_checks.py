"""What a resource of the register needs as a whole: names, orders, kinds, one place at a time."""

import json
from datetime import UTC, datetime, timedelta

import pytest
from psycopg import errors

from tests.calculations import building_plates
from tests.calculations.building_plates import q
from tests.records import stations
from tests.records.counting import counts
from tests.records.problems import assert_problem, details


def site(cast, **changes):
    return building_plates.site() | {"client": str(cast.client), "code": "B-7"} | changes


def piece(station, kind, tag, **changes):
    known = {
        "pumps": building_plates.pump, "motors": building_plates.motor,
        "drives": building_plates.drive, "sensors": lambda: building_plates.sensors()[0],
    }[kind]()  # fmt: skip
    return known | {"site": station.site, "tag": tag} | changes


# -- sites --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "zone",
    ["Mars/Base", "+01:00", "", "america/denver", "../UTC", "UTC ", "localtime", "Factory"],
)
def test_a_time_zone_is_one_of_the_database(orla, cast, zone):
    answer = orla.post("/sites", site(cast, time_zone=zone))
    assert_problem(answer, 400, "/time_zone")
    assert "America/Denver" in details(answer)["/time_zone"]


@pytest.mark.parametrize("zone", ["America/Denver", "Europe/Zurich", "UTC", "Etc/GMT+8"])
def test_zones_of_the_database_are_taken(orla, cast, zone):
    assert orla.post("/sites", site(cast, time_zone=zone)).status == 201


@pytest.mark.parametrize(
    "code", ["", " ", "B\n7", "B/7", 'B"7', " B7", "B7 ", "B  7", "B\u00a07", "x" * 61, "Ü7"]
)
def test_a_code_fits_into_file_names_and_addresses(orla, cast, code):
    assert_problem(orla.post("/sites", site(cast, code=code)), 400, "/code")


@pytest.mark.parametrize("code", ["B-7", "OC_101.2", "7", "PS 12", "x" * 60])
def test_plain_codes_are_taken(orla, cast, code):
    assert orla.post("/sites", site(cast, code=code)).status == 201


@pytest.mark.parametrize(
    ("changes", "place"),
    [
        ({"name": "  "}, "/name"),
        ({"name": "two\nlines"}, "/name"),
        (
            {"in_service_from": "2026-03-14", "out_of_service_on": "2020-01-01"},
            "/out_of_service_on",
        ),
        (
            {"suction_pressure_low": q("9", "bar"), "suction_pressure_high": q("29", "psi")},
            "/suction_pressure_high",
        ),
        (
            {"liquid_temperature_min": q("60", "degC"), "liquid_temperature_max": q("1", "degC")},
            "/liquid_temperature_max",
        ),
        ({"static_lift_low": q("9", "m"), "static_lift_high": q("8", "m")}, "/static_lift_high"),
        ({"inflow_minimum": q("9", "L/s"), "inflow_peak": q("8", "L/s")}, "/inflow_peak"),
        ({"system_design_head": q("1e12", "m")}, "/system_design_head"),
    ],
    ids=str,
)
def test_a_site_that_cannot_be_is_refused(orla, cast, changes, place):
    before = counts()
    assert_problem(orla.post("/sites", site(cast, **changes)), 400, place)
    assert counts() == before


def test_equal_ends_are_an_order(orla, cast):
    same = {"suction_pressure_low": q("2", "bar"), "suction_pressure_high": q("200", "kPa")}
    assert orla.post("/sites", site(cast, **same)).status == 201


def test_a_change_is_held_to_the_same_and_all_is_told_at_once(orla, station):
    path = f"/sites/{station.site}"
    patch = {"client": None, "code": "a/b", "time_zone": "Mars/Base", "supply_phases": 2}
    refused = orla.patch(path, patch | {"supply_phases": 3}, orla.get(path).etag)
    assert_problem(refused, 400, "/client", "/code", "/time_zone")
    unread = orla.patch(path, patch, orla.get(path).etag)
    assert_problem(unread, 400, "/client", "/supply_phases")


# -- equipment ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("kind", "changes", "place"),
    [
        ("pumps", {"tag": " "}, "/tag"),
        ("pumps", {"tag": "P-7 "}, "/tag"),
        ("pumps", {"serial": ""}, "/serial"),
        ("pumps", {"rated_head": q("1e12", "m")}, "/rated_head"),
        (
            "pumps",
            {"impeller_diameter": q("300", "mm"), "impeller_diameter_max": q("11", "in")},
            "/impeller_diameter_max",
        ),
        ("motors", {"ratings": [{}], "rating_in_use": 0}, "/ratings/0/voltage"),
        ("motors", {"rating_in_use": 5}, "/rating_in_use"),
        (
            "motors",
            {"ratings": [{"voltage": q("460", "V"), "voltage_upper": q("400", "V")}],
             "rating_in_use": 0},
            "/ratings/0/voltage_upper",
        ),
        (
            "drives",
            {"input_voltage_min": q("500", "V"), "input_voltage_max": q("380", "V")},
            "/input_voltage_max",
        ),
        ("sensors", {"range_limit_low": q("9", "bar"), "range_limit_high": q("1", "bar")},
         "/range_limit_high"),
    ],
    ids=str,
)  # fmt: skip
def test_a_piece_that_cannot_be_is_refused(orla, station, kind, changes, place):
    assert_problem(orla.post(f"/{kind}", piece(station, kind, "X-7") | changes), 400, place)


def test_a_level_is_ranged_in_one_kind_of_unit(orla, station):
    level = {"quantity": "level", "reference": None, "lower_range_value": q("0", "m")}
    mixed = piece(station, "sensors", "LT-7", **level, upper_range_value=q("0.5", "bar"))
    answer = orla.post("/sensors", mixed)
    assert_problem(answer, 400, "/upper_range_value/unit")
    assert "length" in details(answer)["/upper_range_value/unit"]


def test_a_curve_says_how_many_points_it_needs(orla, station):
    points = building_plates.pump()["curve_points"][:2]
    answer = orla.post("/pumps", piece(station, "pumps", "P-7", curve_points=points))
    assert details(answer) == {"/curve_points": "expected at least 3 points"}


@pytest.mark.parametrize(
    ("changes", "place"),
    [
        ({"serial": " "}, "/serial"),
        ({"range_low": q("0", "degC"), "range_high": q("5", "bar")}, "/range_low/unit"),
        ({"range_low": q("6", "bar"), "range_high": q("5", "bar")}, "/range_high"),
        ({"calibrated_on": "2399-01-01", "due_on": None}, "/calibrated_on"),
        ({"calibrated_on": "2026-01-02", "due_on": "2026-01-01"}, "/due_on"),
    ],
    ids=str,
)
def test_an_instrument_that_cannot_be_is_refused(orla, station, changes, place):
    known = stations.booster()["instruments"][0] | {"serial": "I-77"}
    assert_problem(orla.post("/instruments", known | changes), 400, place)


def test_a_calibration_of_today_is_taken_wherever_it_is_tomorrow_already(orla, station):
    known = stations.booster()["instruments"][0] | {"serial": "I-77"}
    day = (datetime.now(UTC) + timedelta(days=1)).date().isoformat()
    taken = orla.post("/instruments", known | {"calibrated_on": day, "due_on": day})
    assert taken.status == 201, taken.json


def motor(station, **changes):
    return piece(station, "motors", "M-9", serial="M-9", **changes)


@pytest.mark.parametrize("day", ["2399-01-01", "9999-12-31", "2018-12-31", "0001-01-01"])
def test_a_motor_is_rewound_after_it_is_built_and_on_a_day_that_has_come(orla, station, day):
    refused = orla.post("/motors", motor(station, year_built=2019, rewound_on=day))
    assert_problem(refused, 400, "/rewound_on")


@pytest.mark.parametrize(("day", "status"), [("1899-12-31", 400), ("1900-01-01", 201)])
def test_one_of_which_nobody_knows_the_year_is_of_a_year_that_may_be_entered(
    orla, station, day, status
):
    """1900 is the first that `year_built` takes."""
    taken = orla.post("/motors", motor(station, year_built=None, rewound_on=day))
    assert taken.status == status, taken.json


def test_rewound_in_the_year_it_was_built_or_where_it_is_tomorrow_already_it_is_taken(
    orla, station
):
    taken = orla.post("/motors", motor(station, year_built=2019, rewound_on="2019-01-01"))
    assert taken.status == 201, taken.json
    path = f"/motors/{taken.json['id']}"
    for days, status in ((1, 200), (2, 400)):
        day = (datetime.now(UTC) + timedelta(days=days)).date().isoformat()
        answer = orla.patch(path, {"rewound_on": day}, orla.get(path).etag)
        assert answer.status == status, answer.json


# -- one pump set at a time ---------------------------------------------------------------------


@pytest.mark.parametrize("shared", ["pump", "motor", "drive"])
def test_a_piece_turns_in_one_pump_set_at_a_time(orla, station, shared):
    joined = fresh_set(orla, station)
    again = joined | {
        shared: station.ids[{"pump": "P", "motor": "M", "drive": "D"}[shared] + "-101"]
    }
    answer = orla.post("/pump-sets", again)
    assert_problem(answer, 409, f"/{shared}")
    assert "take that one out of service first" in details(answer)[f"/{shared}"]
    path = f"/pump-sets/{station.pump_set}"
    assert orla.patch(path, {"out_of_service_on": "2026-03-15"}, '"1"').status == 200
    assert orla.post("/pump-sets", again).status == 201


def fresh_set(office, station):
    ids = {
        name: office.post(f"/{name}s", piece(station, f"{name}s", f"{name}-7")).json["id"]
        for name in ("pump", "motor", "drive")
    }
    return {"site": station.site, "tag": "PS-7", **ids}


def test_a_drive_that_is_switched_between_pumps_stands_in_both(orla, station):
    path = f"/pump-sets/{station.pump_set}"
    shared = orla.patch(path, {"drive_shared_with": ["PS-7"]}, '"1"')
    assert shared.status == 200, shared.json
    joined = fresh_set(orla, station)
    both = {"drive": station.ids["D-101"], "drive_shared_with": [station.pump_set]}
    assert orla.post("/pump-sets", joined | both).status == 201


def test_what_stands_elsewhere_is_named(orla, station, cast):
    other = stations.register(orla, cast.client, code="B-8")
    joined = fresh_set(orla, station) | {"flow_meter": other.ids["FT-101"]}
    assert_problem(orla.post("/pump-sets", joined), 409, "/flow_meter")


# -- organizations ------------------------------------------------------------------------------


def test_two_organizations_of_one_name_cannot_be_told_apart(orla, otto):
    first = orla.post("/organizations", {"name": "Marrow Fen Board"})
    assert first.status == 201
    for name in ("Marrow Fen Board", "marrow fen  board ", "Tresk Water District"):
        assert_problem(orla.post("/organizations", {"name": name}), 409, "/name")
    assert otto.post("/organizations", {"name": "Marrow Fen Board"}).status == 201


def test_a_list_says_what_each_organization_is(orla, cleo):
    mine = {o["name"]: o["relation"] for o in orla.get("/organizations").json["items"]}
    theirs = {o["name"]: o["relation"] for o in cleo.get("/organizations").json["items"]}
    assert mine == {"Halvorn Pump Works": "own", "Tresk Water District": "client"}
    assert theirs == {"Halvorn Pump Works": "contractor", "Tresk Water District": "own"}


def test_a_wrong_name_is_put_right(orla, teo, cleo, otto):
    made = orla.post("/organizations", {"name": "Marow Fen Board"})
    path = f"/organizations/{made.json['id']}"
    assert_problem(teo.patch(path, {"name": "Marrow Fen Board"}, made.etag), 403)
    assert_problem(otto.patch(path, {"name": "Marrow Fen Board"}, made.etag), 404)
    assert_problem(orla.patch(path, {"name": " "}, made.etag), 400, "/name")
    assert_problem(orla.patch(path, {"name": "Tresk Water District"}, made.etag), 409, "/name")
    changed = orla.patch(path, {"name": "Marrow Fen Board"}, made.etag)
    assert (changed.status, changed.json["name"]) == (200, "Marrow Fen Board")
    assert orla.get(path).etag == changed.etag == '"2"'
    assert_problem(orla.patch(path, {"name": "Another"}, made.etag), 412)


# -- the database -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("statement", "name"),
    [
        ("UPDATE records_site SET code = 'a/b'", "site_code_is_plain"),
        ("UPDATE records_site SET name = E' \\t'", "site_has_a_name"),
        (
            "UPDATE records_site SET in_service_from = '2026-3-14', out_of_service_on = '2020-1-1'",
            "site_out_of_service_after_in_service",
        ),
        ("UPDATE records_pump SET tag = ' '", "pump_has_a_tag"),
        ("UPDATE records_pumpset SET tag = ' '", "pump_set_has_a_tag"),
        ("UPDATE records_instrument SET serial = ''", "instrument_has_a_serial"),
    ],
)
def test_the_database_refuses_it_as_well(stage, station, statement, name):
    with stage.as_owner() as owner, pytest.raises(errors.CheckViolation, match=name):
        owner.execute(statement)


def test_the_words_of_limits_have_no_unit_where_there_is_none(orla, station):
    ratings = json.loads(json.dumps(building_plates.motor()["ratings"]))
    ratings[0]["power_factor"] = q("1.2", "1")
    answer = orla.post("/motors", piece(station, "motors", "M-7", ratings=ratings))
    said = details(answer)["/ratings/0/power_factor"]
    assert said == "expected more than 0.2 and at most 1, got 1.2"


# -- digits -------------------------------------------------------------------------------------


@pytest.mark.parametrize("digits", ["+8", "08", "-08", "00.5", "1e-400", "0.1e-330"])
def test_digits_that_nobody_means_are_refused(orla, station, digits):
    answer = orla.post("/pumps", piece(station, "pumps", "P-7", inertia=q(digits, "kg.m2")))
    assert_problem(answer, 400, "/inertia/value")
    assert "number" in details(answer)["/inertia/value"]


def test_a_number_alone_is_offered_where_it_is_taken(orla, station):
    ratings = json.loads(json.dumps(building_plates.motor()["ratings"]))
    ratings[0]["power_factor"] = "high"
    answer = orla.post("/motors", piece(station, "motors", "M-7", ratings=ratings))
    said = details(answer)["/ratings/0/power_factor"]
    assert said == 'expected a number, or {"value", "unit"} of ratio'
    body = stations.as_json(piece(station, "motors", "M-7", ratings=ratings), high="0.880")
    taken = orla.call("POST", "/motors", body)
    assert taken.json["ratings"][0]["power_factor"] == q("0.880", "1")
    ratings[0]["power_factor"] = "0.880"
    taken = orla.post("/motors", piece(station, "motors", "M-8", ratings=ratings))
    assert taken.json["ratings"][0]["power_factor"] == q("0.880", "1")


def test_the_id_that_stands_for_none_is_no_id(orla, station):
    nil = "00000000-0000-0000-0000-000000000000"
    assert_problem(orla.post("/pumps", piece(station, "pumps", "P-7", id=nil)), 400, "/id")
