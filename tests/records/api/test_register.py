"""The register over the API: what is refused and where, digits, revisions, repeats."""

import uuid

import pytest

from tests.calculations import building_plates
from tests.calculations.building_plates import q
from tests.records import stations
from tests.records.counting import counts
from tests.records.problems import assert_problem, details


def pump(station, **changes):
    return building_plates.pump() | {"site": station.site, "tag": "P-7"} | changes


def drive(station, **changes):
    return building_plates.drive() | {"site": station.site, "tag": "D-7"} | changes


def sensor(station, **changes):
    return building_plates.sensors()[0] | {"site": station.site, "tag": "PT-7"} | changes


def site(cast, **changes):
    return building_plates.site() | {"client": str(cast.client), "code": "B-7"} | changes


# -- bad input ----------------------------------------------------------------------------------


def test_every_bad_value_is_named_at_once_with_its_place(orla, station):
    curve = building_plates.pump()["curve_points"]
    curve[1] = {"flow": q("300", "ft"), "head": {"value": "many", "unit": "ft"}}
    curve[2]["efficiency"] = q("101", "%")
    document = pump(
        station,
        type="propeller",
        rated_flow=q("1000", "psi"),
        rated_head=q("165", "furlong"),
        rated_speed=q("17,70", "rpm"),
        impeller_diameter="200 mm",
        maximum_starts_per_hour="often",
        in_service_from="14.03.2026",
        colour="blue",
        curve_points=curve,
    )
    del document["tag"]
    before = counts()
    answer = orla.post("/pumps", document)
    assert_problem(
        answer, 400, "/tag", "/type", "/rated_flow/unit", "/rated_head/unit",
        "/rated_speed/value", "/impeller_diameter", "/maximum_starts_per_hour",
        "/in_service_from", "/colour", "/curve_points/1/flow/unit",
        "/curve_points/1/head/value", "/curve_points/2/efficiency",
    )  # fmt: skip
    said = details(answer)
    assert "flow (gpm, L/s" in said["/rated_flow/unit"]
    assert "psi is a unit of pressure" in said["/rated_flow/unit"]
    assert "unknown unit 'furlong'; expected head" in said["/rated_head/unit"]
    assert "'17,70'" in said["/rated_speed/value"]
    assert "split_case" in said["/type"]
    assert "less than 0.95" in said["/curve_points/2/efficiency"]
    assert counts() == before


def test_absolute_pressure_is_refused_with_a_hint(orla, station):
    answer = orla.post("/sensors", sensor(station, upper_range_value=q("215", "psia")))
    assert_problem(answer, 400, "/upper_range_value/unit")
    assert "give gauge pressure in psi" in details(answer)["/upper_range_value/unit"]


@pytest.mark.parametrize(
    ("value", "place"),
    [
        ({"value": "165", "unit": "ft", "kind": "head"}, "/rated_head"),
        ({"value": "165"}, "/rated_head"),
        ({"unit": "ft"}, "/rated_head"),
        (165, "/rated_head"),
        ("165 ft", "/rated_head"),
        (["165", "ft"], "/rated_head"),
        ({"value": None, "unit": "ft"}, "/rated_head/value"),
        ({"value": True, "unit": "ft"}, "/rated_head/value"),
        ({"value": ["165"], "unit": "ft"}, "/rated_head/value"),
        ({"value": "NaN", "unit": "ft"}, "/rated_head/value"),
        ({"value": "-Infinity", "unit": "ft"}, "/rated_head/value"),
        ({"value": "1e999", "unit": "ft"}, "/rated_head/value"),
        ({"value": 10**400, "unit": "ft"}, "/rated_head/value"),
        ({"value": "1_000", "unit": "ft"}, "/rated_head/value"),
        ({"value": "\u0661\u0666\u0665", "unit": "ft"}, "/rated_head/value"),
        ({"value": " 165", "unit": "ft"}, "/rated_head/value"),
        ({"value": "0x10", "unit": "ft"}, "/rated_head/value"),
        ({"value": "", "unit": "ft"}, "/rated_head/value"),
        ({"value": "165", "unit": 7}, "/rated_head/unit"),
        ({"value": "165", "unit": "FT"}, "/rated_head/unit"),
        ({"value": "165", "unit": "degC"}, "/rated_head/unit"),
        ({"value": "-165", "unit": "ft"}, "/rated_head"),
        (None, "/rated_head"),
    ],
    ids=str,
)
def test_what_is_no_head_is_refused_at_its_place(orla, station, value, place):
    answer = orla.post("/pumps", pump(station, rated_head=value))
    assert_problem(answer, 400, place)
    assert details(answer)[place]


def test_texts_and_lists_have_a_longest(orla, station):
    point = building_plates.pump()["curve_points"][0]
    long = pump(station, serial="x" * 2001, curve_points=[point] * 201)
    answer = orla.post("/pumps", long)
    assert_problem(answer, 400, "/serial", "/curve_points")
    assert "2,000 characters" in details(answer)["/serial"]
    assert "at most 200 elements, got 201" in details(answer)["/curve_points"]
    fits = pump(station, serial="x" * 2000, curve_points=[point] * 200)
    assert orla.post("/pumps", fits).status == 201


@pytest.mark.parametrize(
    ("kind", "needs"),
    [
        ("sites", {"client", "code", "name", "kind", "time_zone", "electrical_practice"}),
        ("pumps", {"site", "tag", "type"}),
        ("motors", {"site", "tag", "kind", "phases", "ratings", "rating_in_use"}),
        ("drives", {"site", "tag", "input_phases", "rated_current_normal_duty"}),
        ("sensors", {"site", "tag", "quantity", "output", "location"}),
        ("vessels", {"site", "tag", "kind", "volume"}),
        ("pump-sets", {"site", "tag", "pump", "motor"}),
        ("instruments", {"kind", "serial", "range_low", "range_high"}),
    ],
)
def test_an_empty_resource_is_told_all_that_it_lacks(orla, kind, needs):
    answer = orla.post(f"/{kind}", {})
    assert answer.status == 400
    assert {f"/{name}" for name in needs} <= set(answer.pointers)
    assert {error["code"] for error in answer.json["errors"]} == {"required"}


def test_a_pressure_says_against_what(orla, station):
    document = sensor(station)
    del document["reference"]
    assert_problem(orla.post("/sensors", document), 400, "/reference")


def test_unknown_ids_are_named(orla, otto, station, cast):
    unknown = str(uuid.uuid4())
    assert_problem(orla.post("/pumps", pump(station, site=unknown)), 400, "/site")
    assert_problem(orla.post("/sites", site(cast, client=unknown)), 400, "/client")
    joined = {"site": station.site, "tag": "PS-7", "pump": unknown, "motor": unknown,
              "regulating_sensor": unknown}  # fmt: skip
    answer = orla.post("/pump-sets", joined)
    assert_problem(answer, 400, "/pump", "/motor", "/regulating_sensor")
    assert_problem(orla.post("/pumps", pump(station, site="7")), 400, "/site")


def test_what_stands_at_another_site_cannot_be_joined(orla, station, cast):
    other = stations.register(orla, cast.client, code="B-8")
    pieces = {"pump": other.ids["P-101"], "motor": other.ids["M-101"]}
    before = counts()
    answer = orla.post("/pump-sets", {"site": station.site, "tag": "PS-7", **pieces})
    assert answer.status in (400, 409)
    assert counts() == before


@pytest.mark.parametrize("name", ["contractor_id", "revision", "created_at", "row", "si"])
def test_what_the_service_writes_itself_cannot_be_posted(orla, station, name):
    assert_problem(orla.post("/pumps", pump(station, **{name: "1"})), 400, f"/{name}")


def test_nobody_registers_for_another_contractor(orla, cast):
    other = str(cast.other_contractor)
    assert_problem(orla.post("/sites", site(cast, contractor=other)), 400, "/contractor")
    own = orla.post("/sites", site(cast, contractor=str(cast.contractor)))
    assert own.json["contractor"] == str(cast.contractor)


def test_dates_stand_in_order(orla, station):
    dates = {"in_service_from": "2026-03-14", "out_of_service_on": "2026-03-13"}
    assert orla.post("/pumps", pump(station, **dates)).pointers == ["/out_of_service_on"]
    for bad in ("2026-02-30", "2026-3-14", "20260314", "2026-03-14T00:00:00Z", 20260314):
        answer = orla.post("/pumps", pump(station, in_service_from=bad))
        assert_problem(answer, 400, "/in_service_from")


# -- digits, units ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "kept"),
    [
        ('"7.50"', "7.50"),
        ("7.50", "7.50"),
        ("7", "7"),
        ("1.234567890", "1.234567890"),
        ('"0.0000075"', "0.0000075"),
        ("7.5e2", "7.5e2"),
        ('"7.50E+1"', "7.50E+1"),
        ("123456789012345678e-17", "123456789012345678e-17"),
    ],
)
def test_digits_come_back_as_they_were_entered(orla, station, given, kept):
    document = pump(station, inertia="HERE")
    body = stations.as_json(document, HERE=f'{{"value": {given}, "unit": "kg.m2"}}')
    posted = orla.call("POST", "/pumps", body)
    assert posted.status == 201, posted.json
    assert posted.json["inertia"] == {"value": kept, "unit": "kg.m2"}
    assert orla.get(f"/pumps/{posted.json['id']}").json["inertia"]["value"] == kept


def test_everything_comes_back_as_it_was_posted(orla, station, cast):
    known = stations.booster()
    known["drive"]["input_phases"] = "3"  # a number is taken for this word
    for kind, document, tag in (
        ("sites", known["site"], None), ("pumps", known["pump"], "P-101"),
        ("motors", known["motor"], "M-101"), ("drives", known["drive"], "D-101"),
        ("sensors", known["sensors"][0], "PT-101"), ("vessels", known["vessels"][0], "V-1"),
        ("instruments", known["instruments"][0], "I-1"),
    ):  # fmt: skip
        got = orla.get(f"/{kind}/{station.ids[tag] if tag else station.site}").json
        assert {name: got[name] for name in document} == document


# -- revisions ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("etag", "status"),
    [
        (None, 428), ('W/"1"', 412), ('"0"', 412), ('"2"', 412), ("1", 412), ("*", 412),
        ("nonsense", 412), ('""', 412), ('"99999999999999999999"', 412), ('"1", "1"', 412),
    ],
)  # fmt: skip
def test_a_change_names_the_revision_that_it_is_meant_for(orla, station, etag, status):
    path = f"/pumps/{station.ids['P-101']}"
    before = orla.get(path)
    assert before.etag == '"1"'
    answer = orla.patch(path, {"stages": 3}, etag)
    assert_problem(answer, status)
    if etag in ('"0"', '"2"'):
        assert answer.etag == '"1"'
    assert orla.get(path).json == before.json


def test_a_change_makes_a_new_revision(orla, station):
    path = f"/pumps/{station.ids['P-101']}"
    first = orla.get(path)
    changed = orla.patch(path, {"stages": 3, "inertia": q("0.50", "kg.m2")}, first.etag)
    assert (changed.status, changed.etag) == (200, '"2"')
    assert changed.json == first.json | {"stages": 3, "inertia": q("0.50", "kg.m2")}
    assert_problem(orla.patch(path, {"stages": 4}, first.etag), 412)
    emptied = orla.patch(path, {"inertia": None}, changed.etag)
    assert emptied.json["inertia"] is None
    assert orla.get(path).json == first.json | {"stages": 3}


def test_a_patch_is_checked_like_a_whole_document(orla, station):
    path = f"/pumps/{station.ids['P-101']}"
    tag = orla.get(path).etag
    patch = {"tag": None, "rated_head": {"unit": "bar"}, "rated_flow": {"value": "x"}, "colour": 1}
    answer = orla.patch(path, patch, tag)
    assert_problem(answer, 400, "/tag", "/rated_head/unit", "/rated_flow/value", "/colour")
    metric = orla.patch(path, {"rated_head": {"value": "50.3", "unit": "m"}}, tag)
    assert metric.json["rated_head"] == q("50.3", "m")


def test_what_a_resource_is_does_not_change(orla, station, cast):
    path = f"/pumps/{station.ids['P-101']}"
    fixed = {"id": str(uuid.uuid4()), "site": str(uuid.uuid4())}
    assert_problem(orla.patch(path, fixed, '"1"'), 400, "/id", "/site")
    assert_problem(
        orla.patch(f"/sites/{station.site}", {"client": str(cast.other_client)}, '"1"'),
        400, "/client",
    )  # fmt: skip


# -- repeats ------------------------------------------------------------------------------------


def test_a_client_changes_no_station(orla, cleo, station):
    path = f"/sites/{station.site}"
    code = orla.get(path).json["code"]
    assert_problem(cleo.patch(path, {"code": "Z-9"}, '"1"'), 403)
    assert orla.get(path).json["code"] == code


def test_the_same_id_and_content_again_changes_nothing(orla, station):
    document = pump(station, id=str(uuid.uuid4()))
    first = orla.post("/pumps", document)
    assert first.status == 201
    changed = orla.patch(f"/pumps/{document['id']}", {"stages": 3}, first.etag)
    before = counts()
    again = orla.post("/pumps", document)
    assert (again.status, again.json, again.etag) == (200, changed.json, changed.etag)
    other = orla.post("/pumps", document | {"stages": 4})
    assert_problem(other, 409, "/id")
    assert counts() == before


def test_the_same_id_of_another_contractor_is_a_fresh_id(orla, otto, station, cast):
    theirs = stations.register(otto, cast.other_client)
    document = building_plates.pump() | {"tag": "P-7", "id": station.ids["P-101"]}
    posted = otto.post("/pumps", document | {"site": theirs.site})
    assert posted.status == 201
    assert posted.json["tag"] == "P-7"
    assert orla.get(f"/pumps/{station.ids['P-101']}").json["tag"] == "P-101"


def test_one_in_service_at_a_tag(orla, station):
    again = pump(station, tag="P-101")
    assert orla.post("/pumps", again).pointers == ["/tag"]
    path = f"/pumps/{station.ids['P-101']}"
    out = orla.patch(path, {"out_of_service_on": "2026-03-13"}, '"1"')
    assert out.status == 200
    replaced = orla.post("/pumps", again | {"in_service_from": "2026-03-14"})
    assert replaced.status == 201
    assert_problem(orla.patch(path, {"out_of_service_on": None}, out.etag), 409, "/tag")


def test_codes_and_serial_numbers_are_used_once(orla, station, cast):
    assert_problem(orla.post("/sites", site(cast, code="B-01")), 409, "/code")
    again = stations.booster()["instruments"][0]
    assert_problem(orla.post("/instruments", again), 409, "/serial")


def test_organizations_repeat_like_everything_else(orla):
    document = {"id": str(uuid.uuid4()), "name": "Marrow Fen Board"}
    assert orla.post("/organizations", document).status == 201
    assert orla.post("/organizations", document).status == 200
    assert_problem(orla.post("/organizations", document | {"name": "Other"}), 409, "/id")
    assert_problem(orla.post("/organizations", {"name": " "}), 400, "/name")
    assert_problem(orla.post("/organizations", {"name": "x" * 2001}), 400, "/name")


@pytest.mark.parametrize("value", ["-2.32461854545306e-179", "1e-179", "-5e-320"])
def test_a_quantity_next_to_nothing_is_kept_or_refused(orla, station, value):
    """The document took it for nothing, the database for less than nothing."""
    drive = orla.get(f"/drives/{station.ids['D-101']}")
    patch = f'{{"derating_start_altitude": {{"unit": "ft", "value": {value}}}}}'
    answer = orla.call(
        "PATCH", f"/drives/{station.ids['D-101']}", patch.encode(),
        media="application/merge-patch+json", If_Match=drive.etag,
    )  # fmt: skip
    assert answer.status in (200, 400)


# -- how a client's documents are printed -----------------------------------------------------


def test_a_clients_documents_are_printed_as_it_wants_them(orla, cast):
    path = f"/organizations/{cast.client}"
    held = orla.get(path)
    assert (held.json["units"], held.json["paper"]) == ("entered", "usual")
    changed = orla.patch(path, {"units": "us", "paper": "letter"}, held.etag)
    assert changed.status == 200
    assert (changed.json["units"], changed.json["paper"]) == ("us", "letter")
    assert changed.etag != held.etag
    [listed] = [each for each in orla.get("/organizations").json["items"]
                if each["id"] == str(cast.client)]  # fmt: skip
    assert listed == changed.json
    assert_problem(orla.patch(path, {"paper": "a5"}, changed.etag), 400, "/paper")
    assert_problem(orla.patch(path, {"units": "imperial"}, changed.etag), 400, "/units")


def test_that_is_between_a_contractor_and_its_client(orla, cleo, otto, cast):
    own = orla.get(f"/organizations/{cast.contractor}")
    assert (own.json["units"], own.json["paper"]) == (None, None)
    refused = orla.patch(f"/organizations/{cast.contractor}", {"units": "si"}, own.etag)
    assert_problem(refused, 400, "/units")
    assert {each["units"] for each in cleo.get("/organizations").json["items"]} == {None}


def test_it_can_be_said_of_a_new_client_at_once(orla):
    document = {"id": str(uuid.uuid4()), "name": "Marrow Fen Board", "units": "si"}
    added = orla.post("/organizations", document)
    assert (added.status, added.json["units"], added.json["paper"]) == (201, "si", "usual")


def test_renaming_ones_own_organization_says_nothing_of_documents(orla, cast):
    path = f"/organizations/{cast.contractor}"
    assert orla.patch(path, {"name": "Another name"}, orla.get(path).etag).status == 200
    entry = orla.get("/audit").json["items"][0]
    assert entry["after"] == {"name": "Another name"}
