"""Due items, intervals and proposals over the API."""

import pytest

from tests.calculations.building_plates import q
from tests.records import stations, visits
from tests.records.cast import in_days
from tests.records.problems import assert_problem
from tests.records.visits import new_id

SIGNAL = "20.160"
"""Milliamperes for 20 at full scale: 1 % of span, where PT-101 may be off by 0.5 %."""


@pytest.fixture
def started(teo, orla, station):
    return visits.sealed(teo, orla, station)


def again(station, day, signal=None):
    """A re-verification; PT-101 reads `signal` at full scale, and is adjusted."""
    at = {"performed_at": f"{day}T09:00:00-05:00", "performed_until": f"{day}T15:00:00-05:00"}
    event = station.event(kind="re_verification", **at)
    check = event["sensor_verifications"][0]
    if signal is not None:
        points = [dict(point) for point in check["as_found"]]
        check |= {"adjusted": "span", "as_left": points}
        check["as_found"] = [*points[:4], points[4] | {"signal": q(signal, "mA")}, *points[5:]]
    return event


def item(person, task, tag, query=""):
    items = person.get(f"/due-items?task={task}{query}").json["items"]
    [found] = [each for each in items if each["tag"] == tag]
    return found


def wanted(cast, **changes):
    given = {"client": str(cast.client), "task": "insulation", "months": 9, "reason": "damp pits"}
    return given | changes


# -- what is due --------------------------------------------------------------------------------


def test_the_tasks_and_what_performs_them(cleo):
    tasks = {each["id"]: each for each in cleo.get("/verification-tasks").json["items"]}
    floats = tasks["protection.float-backup"]
    assert floats["safety"]
    [interval] = floats["intervals"]
    assert (interval["months"], interval["when"]) == (6, ["site.lift_station"])
    assert interval["evidence"] == "common practice"
    assert "as left lie inside its tolerance" in tasks["transmitter"]["counted"]


def test_an_item_says_when_and_why(orla, cleo, station, started):
    found = item(cleo, "insulation", "M-101")
    assert found == item(orla, "insulation", "M-101")
    assert found["site"] == station.site
    assert (found["state"], found["due_on"], found["months"]) == ("current", "2027-03-14", 12)
    assert found["why"] == (
        "Measured, and enough by record 1 of 2026-03-14; due again after 12 months."
        " Interval by common practice."
    )
    assert (found["last"]["record"], found["last"]["number"]) == (started["id"], 1)
    assert (found["pump_set"], found["serial"]) == ("PS-101", "W60-1187")


def test_what_was_never_verified_says_so(orla, started):
    found = item(orla, "vibration", "P-101")
    assert (found["state"], found["last"]) == ("never_verified", None)
    assert found["why"].startswith("Never verified: due within 3 months of")


def test_not_possible_says_why(teo, orla, station, started):
    event = again(station, "2026-09-14")
    del event["motor_tests"]
    event["not_possible"] = [{"task": "insulation", "reason": "The pump could not be spared."}]
    second = stations.seal(teo, orla, event)
    found = item(orla, "insulation", "M-101")
    assert found["not_possible"] == {
        "on": "2026-09-14", "reason": "The pump could not be spared.",
        "record": second["id"], "number": 2,
    }  # fmt: skip
    assert found["due_on"] == "2027-03-14"
    assert "Not possible on 2026-09-14 (record 2): The pump could not be spared." in found["why"]
    counted = orla.get("/due-items/counts").json
    assert counted["not_possible"] == 1
    listed = orla.get("/due-items?not_possible=true").json["items"]
    assert [each["task"] for each in listed] == ["insulation"]


def test_pages_hold_each_item_once(orla, started):
    whole = orla.get("/due-items?limit=200").json
    assert whole["next"] is None
    found, path = [], "/due-items?limit=5"
    while path:
        page = orla.get(path).json
        found += page["items"]
        path = page["next"] and page["next"].partition("testserver")[2]
    assert found == whole["items"]
    assert len(found) == 19


def test_counts_are_of_what_was_asked_for(orla, station, started):
    counted = orla.get(f"/due-items/counts?site={station.site}&task=insulation").json
    assert counted == {
        "current": 1, "due_soon": 0, "overdue": 0, "never_verified": 0, "not_possible": 0,
    }  # fmt: skip


def test_a_past_day_is_asked_as_it_ended(orla, started):
    """Nothing of it was known then: the station was registered today."""
    assert orla.get("/due-items?as_of=2026-03-20").json["items"] == []
    assert len(orla.get(f"/due-items?as_of={in_days(0)}").json["items"]) == 19


@pytest.mark.parametrize(
    ("query", "pointer"),
    [
        ("as_of=2999-01-01", "/as_of"),
        ("as_of=2026-02-30", "/as_of"),
        ("due_by=soon", "/due_by"),
        ("state=late", "/state"),
        ("task=polishing", "/task"),
        ("site=x", "/site"),
        ("not_possible=perhaps", "/not_possible"),
        ("cursor=AAAA", "/cursor"),
        ("limit=0", "/limit"),
        ("until=2026-01-01", "/until"),
    ],
)
def test_what_cannot_be_asked_is_told(orla, query, pointer):
    assert_problem(orla.get(f"/due-items?{query}"), 400, pointer)


# -- intervals ----------------------------------------------------------------------------------


def test_an_interval_of_a_piece_counts_before_that_of_a_kind_and_that_before_the_clients(
    orla, cleo, cast, station, started
):
    said = []
    scopes = ({}, {"station_kind": "booster"}, {"piece": station.ids["M-101"]})
    for months, scope in zip((9, 8, 7), scopes, strict=True):
        made = orla.post("/interval-settings", wanted(cast, months=months, **scope))
        assert made.status == 201, made.json
        said.append(made.json["id"])
        found = item(cleo, "insulation", "M-101")
        assert (found["months"], found["interval_setting"]) == (months, made.json["id"])
    assert found["due_on"] == "2026-10-14"
    assert found["why"].endswith("Interval set by Orla: damp pits")
    for months, setting in ((8, said[2]), (9, said[1]), (12, said[0])):
        assert orla.delete(f"/interval-settings/{setting}").status == 204
        assert item(cleo, "insulation", "M-101")["months"] == months


def test_another_kind_and_another_piece_are_left_alone(orla, cast, station, started):
    for scope in (
        {"station_kind": "well"},
        {"piece": station.ids["PT-101"], "task": "transmitter"},
    ):
        orla.post("/interval-settings", wanted(cast, **scope))
    assert item(orla, "insulation", "M-101")["months"] == 12
    assert item(orla, "transmitter", "PT-100")["months"] == 12
    assert item(orla, "transmitter", "PT-101")["months"] == 9


def test_settings_are_ended_and_stay_readable(orla, cleo, cast, started):
    first = orla.post("/interval-settings", wanted(cast)).json
    second = orla.post("/interval-settings", wanted(cast, months=10)).json
    listed = {each["id"]: each for each in cleo.get("/interval-settings").json["items"]}
    assert (listed[first["id"]]["ended_by"], listed[second["id"]]["ended_by"]) == ("Orla", None)
    in_force = cleo.get("/interval-settings?in_force=true").json["items"]
    assert [each["id"] for each in in_force] == [second["id"]]
    assert (second["months"], second["catalogue_months"], second["set_by"]) == (10, 12, "Orla")


def test_repeating_changes_nothing(orla, cast, started):
    given = wanted(cast, id=new_id())
    first, again_ = (orla.post("/interval-settings", given) for _ in range(2))
    assert (first.status, again_.status) == (201, 200)
    assert first.json == again_.json
    assert_problem(orla.post("/interval-settings", given | {"months": 8}), 409, "/id")


@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"months": 0}, "/months"),
        ({"months": -12}, "/months"),
        ({"months": 121}, "/months"),
        ({"months": 1200}, "/months"),
        ({"months": 999999999}, "/months"),
        ({"months": "1.5"}, "/months"),
        ({"months": None}, "/months"),
        ({"reason": "  "}, "/reason"),
        ({"reason": None}, "/reason"),
        ({"task": "polishing"}, "/task"),
        ({"task": "rotation"}, "/task"),
        ({"client": new_id()}, "/client"),
        ({"piece": new_id()}, "/piece"),
        ({"station_kind": "castle"}, "/station_kind"),
        ({"task": "protection.low-suction", "months": 13}, "/months"),
        ({"task": "protection.high-level", "station_kind": "lift_station", "months": 7}, "/months"),
        ({"safety": False}, "/safety"),
    ],
)
def test_what_cannot_be_set_is_told_by_its_field(orla, cast, started, changes, pointer):
    answer = orla.post("/interval-settings", wanted(cast, **changes))
    assert_problem(answer, 400, pointer)


def test_a_hundred_years_is_told_with_what_was_expected(orla, cast):
    [error] = orla.post("/interval-settings", wanted(cast, months=1200)).json["errors"]
    assert error["detail"] == "expected 1 to 120 months, got 1200"


def test_a_kind_and_a_piece_at_once_is_told(orla, cast, station, started):
    both = {"station_kind": "booster", "piece": station.ids["M-101"]}
    assert_problem(orla.post("/interval-settings", wanted(cast, **both)), 400, "/station_kind")


def test_a_piece_of_another_kind_is_told(orla, cast, station, started):
    answer = orla.post("/interval-settings", wanted(cast, piece=station.ids["P-101"]))
    assert_problem(answer, 400, "/piece")


def test_safety_tasks_may_be_shortened(orla, cast, started):
    given = wanted(cast, task="protection.low-suction", months=6)
    assert orla.post("/interval-settings", given).status == 201
    assert item(orla, "protection.low-suction", "PS-101")["due_on"] == "2026-09-14"


# -- what was found -----------------------------------------------------------------------------


def test_found_outside_halves_and_lists_what_rests_on_it(teo, orla, cleo, station, started):
    second = stations.seal(teo, orla, again(station, "2026-06-14"))
    third = stations.seal(teo, orla, again(station, "2026-09-14", SIGNAL))
    unverified = again(station, "2026-07-14")
    del unverified["sensor_verifications"]
    late = stations.seal(teo, orla, unverified)  # long after the work
    found = item(cleo, "transmitter", "PT-101")
    assert (found["months"], found["due_on"]) == (6, "2027-03-14")
    assert "half of 12 months" in found["why"]
    told = cleo.get(f"/performed-tasks/{found['last']['id']}").json
    assert (told["as_found"], told["result"], told["last_good_on"]) == (
        "outside", "inside", "2026-06-14",
    )  # fmt: skip
    assert [(each["record"], each["as"]) for each in told["records"]] == [
        (second["id"], ["regulating sensor"]),
        (late["id"], ["regulating sensor"]),
        (third["id"], ["regulating sensor"]),
    ]


def test_of_an_exchanged_sensor_the_old_one_was_found_and_the_new_one_left(
    teo, orla, cleo, station, started
):
    """What the old one read rests on it since it was good; the new one has its full interval."""
    second = stations.seal(teo, orla, again(station, "2026-06-14"))
    event = again(station, "2026-09-14", SIGNAL)
    verified = event["sensor_verifications"][0]
    event["replaced"] = [{"resource": "sensor", "tag": "PT-101", "old_serial": "S-3301",
                          "new_serial": "S-9555"}]  # fmt: skip
    assert verified["as_left"]
    verified["adjusted"] = "replaced"
    sensor = f"/sensors/{station.ids['PT-101']}"
    answer = orla.patch(sensor, {"serial": "S-9555"}, orla.get(sensor).etag)
    assert answer.status == 200, answer.json
    third = stations.seal(teo, orla, event)
    found = item(cleo, "transmitter", "PT-101")
    assert (found["months"], found["due_on"]) == (12, "2027-09-14")
    assert "outside" not in found["why"]
    new = cleo.get(f"/performed-tasks/{found['last']['id']}").json
    assert (new["serial"], new["as_found"], new["records"]) == ("S-9555", None, [])
    old = cleo.get(f"/performed-tasks/{new['taken_out']}").json
    assert (old["serial"], old["as_found"], old["last_good_on"], old["taken_out"]) == (
        "S-3301", "outside", "2026-06-14", None,
    )  # fmt: skip
    assert [each["record"] for each in old["records"]] == [second["id"], third["id"]]


def test_what_was_found_inside_puts_nothing_in_doubt(orla, started):
    found = item(orla, "transmitter", "PT-101")
    told = orla.get(f"/performed-tasks/{found['last']['id']}").json
    assert (told["records"], told["result"]) == ([], "inside")


# -- proposals ----------------------------------------------------------------------------------


def proposals(person):
    listed = person.get("/interval-proposals").json["items"]
    return {(each["tag"], each["task"]): each for each in listed}


def test_a_start_up_proposes_nothing(orla, started):
    assert proposals(orla) == {}


def test_a_proposal_is_accepted_as_a_setting_of_its_piece(teo, orla, cleo, station, started):
    stations.seal(teo, orla, again(station, "2026-09-14", SIGNAL))
    proposal = proposals(cleo)["PT-101", "transmitter"]
    assert (proposal["step"], proposal["months"], proposal["proposed_months"]) == ("shorten", 12, 6)
    assert "12 months × 0.5 = 6 months" in proposal["arithmetic"]
    path = f"/interval-proposals/{proposal['id']}/acceptance"
    made = orla.post(path, {"reason": "Agreed with the client."})
    assert made.status == 201, made.json
    assert (made.json["months"], made.json["piece"]) == (6, station.ids["PT-101"])
    assert made.json["proposal"] == proposal["id"]
    assert made.json["reason"] == f"{proposal['arithmetic']} Agreed with the client."
    found = item(cleo, "transmitter", "PT-101")
    assert (found["months"], found["due_on"]) == (6, "2027-03-14")  # not halved twice
    assert ("PT-101", "transmitter") not in proposals(orla)
    repeated = orla.post(path, {})
    assert (repeated.status, repeated.json) == (200, made.json)


def test_well_inside_lengthens_and_only_when_accepted(teo, orla, station, started):
    # PT-100 and PT-101 were found with an eighth and a quarter of what they may be off.
    stations.seal(teo, orla, again(station, "2026-09-14"))
    found = proposals(orla)
    assert set(found) == {("PT-100", "transmitter"), ("PT-101", "transmitter")}
    proposal = found["PT-101", "transmitter"]
    assert (proposal["step"], proposal["proposed_months"]) == ("lengthen", 18)
    assert item(orla, "transmitter", "PT-101")["due_on"] == "2027-09-14"
    orla.post(f"/interval-proposals/{proposal['id']}/acceptance", {})
    assert item(orla, "transmitter", "PT-101")["due_on"] == "2028-03-14"


def test_what_was_left_outside_since_proposes_nothing(teo, orla, station, started):
    stations.seal(teo, orla, again(station, "2026-06-14"))
    event = again(station, "2026-09-14")
    event["sensor_verifications"][1]["as_found"][4]["signal"] = q("20.800", "mA")
    stations.seal(teo, orla, event)
    assert set(proposals(orla)) == {("PT-101", "transmitter")}


def test_what_was_accepted_and_removed_can_be_accepted_again(teo, orla, station, started):
    stations.seal(teo, orla, again(station, "2026-09-14", SIGNAL))
    path = f"/interval-proposals/{proposals(orla)['PT-101', 'transmitter']['id']}/acceptance"
    first = orla.post(path, {}).json
    assert orla.delete(f"/interval-settings/{first['id']}").status == 204
    second = orla.post(path, {})
    assert (second.status, second.json["months"]) == (201, 6)
    assert second.json["id"] != first["id"]


def test_what_is_proposed_no_more_is_not_there(orla, cast, started):
    last = item(orla, "insulation", "M-101")["last"]["id"]
    for identity in (last, new_id()):
        answer = orla.post(f"/interval-proposals/{identity}/acceptance", {})
        assert answer.status == 404
