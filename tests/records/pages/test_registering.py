"""Registering by hand: what is typed is kept as it reads, told at its field, and never lost."""

from datetime import UTC, datetime, timedelta

import pytest

from records.pages import register_options, register_pieces
from tests.calculations import building_plates as plates
from tests.calculations.building import booster
from tests.calculations.building_plates import q
from tests.records.client import leave
from tests.records.pages.entrance.walking import Walker
from tests.records.pages.sending import form
from tests.records.sessions import sign_in


@pytest.fixture
def office(api, cast):
    return Walker.of(cast.orla)


def typed(document, at=""):
    """The fields of a form as somebody types a document."""
    fields = {}
    for name, value in document.items():
        here = f"{at}{name}"
        if isinstance(value, dict) and "unit" in value:
            fields |= {here: value["value"], f"{here}.unit": value["unit"]}
        elif isinstance(value, dict):
            fields |= typed(value, f"{here}.")
        elif isinstance(value, list):
            for index, each in enumerate(value):
                fields |= typed(each, f"{here}.{index}.")
        elif isinstance(value, bool):
            fields[here] = "yes" if value else "no"
        elif name == "rating_in_use":
            fields[here] = str(value + 1)  # people count from 1
        else:
            fields[here] = str(value)
    return fields


def read(orla, kind, **wanted):
    query = "&".join(f"{name}={value}" for name, value in wanted.items())
    return orla.get(f"/{kind}?{query}").json["items"]


def without_empty(document):
    return {name: value for name, value in document.items() if value not in (None, [])}


def test_a_station_is_entered_as_the_api_would_take_it(office, orla, cast):
    wanted = plates.site() | {"code": "NEW-1", "client": str(cast.client)}
    page = office.get("/register/sites/new")
    assert page.faults == []
    sent = form(page, "/register/sites/new")
    for _ in range(2):
        assert sent.send(office, **typed(wanted)).status == 302
    [made] = read(orla, "sites", code="NEW-1")
    assert office.at == f"/stations/{made['id']}/register"
    told = {name: made[name] for name in wanted}
    assert told == wanted


@pytest.mark.parametrize(
    ("kind", "part"),
    [("pumps", "pump"), ("motors", "motor"), ("drives", "drive"), ("sensors", "sensors"),
     ("vessels", "vessels")],
)  # fmt: skip
def test_a_piece_is_entered_as_it_reads(office, orla, station, kind, part):
    known = booster()[part]
    wanted = (known[0] if isinstance(known, list) else known) | {"tag": "Z-9"}
    path = f"/stations/{station.site}/register/{kind}"
    page = office.get(path)
    assert page.faults == []
    assert form(page, path).send(office, **typed(wanted)).status == 302
    [made] = read(orla, kind, tag="Z-9")
    kept = {"input_phases": "3"} if kind == "drives" else {}  # a word: it can be 1_or_3, too
    assert without_empty(made) == wanted | {"id": made["id"], "site": station.site} | kept


def test_a_pump_set_is_joined_of_what_stands_there_from_a_day_on(office, orla, station):
    at = {"site": station.site, "tag": "Z-9"}
    ids = {part: orla.post(f"/{part}s", booster()[part] | at).json["id"]
           for part in ("pump", "motor")}  # fmt: skip
    path = f"/stations/{station.site}/register/pump-sets"
    page = office.get(path)
    assert "Z-9, No. K71-0042" in page.words
    sent = form(page, path)
    joined = ids | {"tag": "PS-9", "in_service_from": "2026-03-14", "bypass": "none"}
    assert sent.send(office, **joined).status == 302
    [made] = read(orla, "pump-sets", tag="PS-9")
    assert (made["pump"], made["motor"], made["drive"]) == (ids["pump"], ids["motor"], None)
    assert made["in_service_from"] == "2026-03-14"


def test_what_cannot_be_taken_is_told_at_its_field_and_stays(office, orla, station):
    path = f"/stations/{station.site}/register/pumps"
    wanted = typed(booster()["pump"]) | {
        "tag": "Z-9", "rated_speed": "17", "rated_head": "high", "stages": "1.5"
    }  # fmt: skip
    told = form(office.get(path), path).send(office, **wanted)
    assert told.status == 400
    assert told.faults == []
    assert "put right in 2 fields" in told.words
    assert "Rated head: expected a number in m or ft" in told.words
    again = form(told, path)
    assert again.fields["rated_head"] == ["high"]
    assert again.fields["rated_flow.unit"] == ["gpm"]
    told = again.send(office, rated_head="165", stages="2")
    # Common practice, no source.
    assert "Rated speed: expected at least 100 rpm and at most 8000 rpm, got 17 rpm" in told.words
    assert form(told, path).send(office, rated_speed="1770").status == 302
    assert len(read(orla, "pumps", tag="Z-9")) == 1


def test_a_tag_that_is_in_service_is_told_at_its_field(office, station):
    path = f"/stations/{station.site}/register/pumps"
    told = form(office.get(path), path).send(office, **typed(booster()["pump"]))
    assert told.status == 409
    assert "Tag: one with this tag is in service at this site already" in told.words


def test_only_what_was_changed_is_changed_and_digits_stay(office, orla, station):
    path = f"/register/pumps/{station.ids['P-101']}"
    page = office.get(path)
    assert page.faults == []
    sent = form(page, path)
    assert sent.fields["curve_points.1.head"] == ["251.5"]
    before = orla.get(f"/pumps/{station.ids['P-101']}").json
    for _ in range(2):
        assert sent.send(office, **{"bore_suction": "7.98"}).status == 302
    after = orla.get(f"/pumps/{station.ids['P-101']}")
    assert after.json == before | {"bore_suction": q("7.98", "in")}
    assert after.etag == '"2"'  # once
    entries = orla.get(f"/audit?subject={station.ids['P-101']}").json["items"]
    assert entries[0]["after"] == {"bore_suction": q("7.98", "in")}


def test_what_another_changed_meanwhile_is_told_and_neither_is_lost(office, orla, station):
    api = f"/pumps/{station.ids['P-101']}"
    path = f"/register/pumps/{station.ids['P-101']}"
    sent = form(office.get(path), path)
    patch = {"bore_suction": q("8", "in"), "stages": 3}
    assert orla.patch(api, patch, orla.get(api).etag).status == 200
    told = sent.send(office, bore_suction="7.98", bore_discharge="6.07")
    assert told.status == 412
    assert told.faults == []
    assert "Somebody changed it after you opened the form" in told.words
    assert "In the book now: 8\N{NO-BREAK SPACE}in" in told.text
    assert orla.get(api).json["bore_suction"] == q("8", "in")  # not written over silently
    again = form(told, path)
    assert again.fields["stages"] == ["3"]
    assert again.send(office).status == 302
    now = orla.get(api).json
    assert (now["bore_suction"], now["bore_discharge"], now["stages"]) == (
        q("7.98", "in"), q("6.07", "in"), 3
    )  # fmt: skip


def test_what_is_emptied_is_taken_out(office, orla, cast):
    site = plates.site() | {
        "code": "NEW-2", "client": str(cast.client),
        "pipeline": {"length": q("900", "m"), "material": "pe"},
    }  # fmt: skip
    made = orla.post("/sites", site).json["id"]
    path = f"/register/sites/{made}"
    sent = form(office.get(path), path)
    gone = {"pipeline.material": "", "relief_valve_setting": ""}
    assert sent.send(office, **gone).status == 302
    now = orla.get(f"/sites/{made}").json
    assert now["pipeline"] == {"length": q("900", "m")}
    assert now["relief_valve_setting"] is None


def test_a_piece_is_replaced_at_its_tag_and_in_its_pump_set(office, orla, station):
    path = f"/register/pumps/{station.ids['P-101']}/replace"
    page = office.get(path)
    assert page.faults == []
    assert "PS-101 as well" in page.words
    assert "has to be set and verified anew" in page.words
    plate = typed(booster()["pump"] | {"serial": "NEW-77"})
    del plate["tag"]
    sent = form(page, path)
    assert sent.fields["serial"] == [""]  # nothing of the old plate
    for _ in range(2):
        assert sent.send(office, **plate, day="2026-03-14").status == 302
    old = orla.get(f"/pumps/{station.ids['P-101']}").json
    assert old["out_of_service_on"] == "2026-03-14"
    [new] = read(orla, "pumps", tag="P-101", in_service="true")
    assert (new["serial"], new["in_service_from"]) == ("NEW-77", "2026-03-14")
    assert orla.get(f"/pump-sets/{station.pump_set}").json["pump"] == new["id"]


def test_a_replacement_that_fails_leaves_everything(office, orla, station):
    path = f"/register/pumps/{station.ids['P-101']}/replace"
    told = form(office.get(path), path).send(office, serial="NEW-77", day="2026-03-14")
    assert told.status == 400
    assert "Rated flow: this field is required" in told.words
    assert form(told, path).fields["day"] == ["2026-03-14"]
    assert orla.get(f"/pumps/{station.ids['P-101']}").json["out_of_service_on"] is None


def test_a_piece_is_taken_out_with_its_day(office, orla, station):
    path = f"/register/pumps/{station.ids['P-101']}/end"
    page = office.get(path)
    assert page.faults == []
    assert "It is joined in PS-101" in page.words
    told = form(page, path).send(office, day="never")
    assert "expected a date such as 2026-03-14" in told.words
    for _ in range(2):
        assert form(page, path).send(office, day="2026-03-14").status == 302
    assert orla.get(f"/pumps/{station.ids['P-101']}").json["out_of_service_on"] == "2026-03-14"


def test_a_form_of_an_ended_session_comes_back_with_what_was_typed(office, orla, cast, station):
    path = f"/stations/{station.site}/register/vessels"
    sent = form(office.get(path), path)
    leave()
    office.client.logout()
    sent.send(office, tag="V-9", volume="200")
    assert office.at.startswith("/sign-in")
    sign_in(office.client, cast.orla)
    back = office.get(path)
    assert "Your session had ended" in back.words
    assert form(back, path).fields["tag"] == ["V-9"]


def test_instruments_are_listed_and_entered(office, orla):
    page = office.get("/instruments")
    assert page.faults == []
    path = "/register/instruments/new"
    wanted = booster()["instruments"][0] | {"serial": "CAL-9", "kind": "flow_strap_on"}
    assert form(office.get(path), path).send(office, **typed(wanted)).status == 302
    assert office.at == "/instruments"
    assert "CAL-9 strap-on flow meter" in office.get("/instruments").words


def test_an_instrument_is_told_as_overdue_from_the_day_after_it_was_due(office, orla):
    """Due today it is good today."""
    today = datetime.now(UTC).date()
    plate = booster()["instruments"][0]
    for serial, days in (("LATE-1", 1), ("TODAY-1", 0)):
        due = (today - timedelta(days=days)).isoformat()
        given = plate | {"serial": serial, "calibrated_on": "2020-01-01", "due_on": due}
        assert orla.post("/instruments", given).status == 201
    page = office.get("/instruments")
    assert page.faults == []
    assert ", 1 past the day of its next calibration" in page.headings[0][1]
    assert f"2020-01-01 {today - timedelta(days=1)}, overdue" in page.words
    assert page.words.count(", overdue") == 1


def test_a_client_is_registered_once_and_then_stations_of_it(office, orla):
    page = office.get("/register/clients/new")
    assert page.faults == []
    sent = form(page, "/register/clients/new")
    for _ in range(2):  # the second is the same form again
        assert sent.send(office, name="Ferrow  Water", units="si", paper="a4").status == 302
    assert "Ferrow Water" in office.get("/register").words
    made = [each for each in orla.get("/organizations").json["items"]
            if each["name"] == "Ferrow Water"]  # fmt: skip
    assert [(each["units"], each["paper"]) for each in made] == [("si", "a4")]
    assert "Ferrow Water" in office.get("/register/sites/new").words  # to choose from


def test_a_client_that_is_there_already_or_has_no_name_is_told(office, cast):
    sent = form(office.get("/register/clients/new"), "/register/clients/new")
    assert "Name: " in sent.send(office, name=" ").words
    told = sent.send(office, name="tresk water district")
    assert told.status == 409
    assert "you work with an organization of this name already" in told.words.lower()
    assert form(told, "/register/clients/new").fields["name"] == ["tresk water district"]
    assert Walker.of(cast.teo).get("/register/clients/new").status == 403


def test_how_a_clients_documents_are_printed_is_changed_on_its_page(office, orla, cast):
    path = f"/register/clients/{cast.client}"
    assert path in [where for where, _ in office.get("/register").links]
    page = office.get(path)
    assert page.faults == []
    sent = form(page, path)
    assert sent.fields["units"] == ["entered"]
    assert sent.send(office, units="us", paper="letter").status == 302
    held = orla.get(f"/organizations/{cast.client}").json
    assert (held["units"], held["paper"]) == ("us", "letter")


def test_what_another_changed_of_a_client_meanwhile_is_told_and_nothing_lost(office, orla, cast):
    path = f"/register/clients/{cast.client}"
    sent = form(office.get(path), path)
    at = f"/organizations/{cast.client}"
    assert orla.patch(at, {"paper": "a4"}, orla.get(at).etag).status == 200
    told = sent.send(office, units="si")
    assert told.status == 412
    assert "Somebody changed it while this form was open" in told.words
    assert "paper A4" in told.words
    again = form(told, path)
    assert again.fields["units"] == ["si"]
    assert orla.get(at).json["units"] == "entered"
    assert again.send(office, paper="a4").status == 302
    held = orla.get(at).json
    assert (held["units"], held["paper"]) == ("si", "a4")


def test_a_form_that_is_refused_stays_one_of_what_it_was_opened_with(office, orla, cast):
    """What another changed meanwhile is told at the next sending, not overwritten by it."""
    path = f"/register/clients/{cast.client}"
    sent = form(office.get(path), path)
    at = f"/organizations/{cast.client}"
    assert orla.patch(at, {"paper": "a4"}, orla.get(at).etag).status == 200
    refused = sent.send(office, name=" ")
    assert refused.status == 400
    assert form(refused, path).send(office, name="Tresk Water").status == 412
    assert orla.get(at).json["paper"] == "a4"


def test_a_client_keeps_a_name_that_no_other_has(office, orla, cast):
    path = f"/register/clients/{cast.client}"
    before = orla.get(f"/organizations/{cast.client}").json["name"]
    sent = form(office.get(path), path)
    assert "Name: " in sent.send(office, name=" ").words
    made = form(office.get("/register/clients/new"), "/register/clients/new")
    assert made.send(office, name="Ferrow Water").status == 302
    assert sent.send(office, name="ferrow water").status == 409
    assert orla.get(f"/organizations/{cast.client}").json["name"] == before
    assert office.get(f"/register/clients/{cast.contractor}").status == 404  # one's own house


def test_what_is_joined_and_what_is_needed_stands_open_with_plain_hints(office, station):
    at = f"/stations/{station.site}/register"
    for kind, names in (
        ("pump-sets", ("drive", "regulating_sensor", "suction_sensor")),
        ("drives", ("rated_current_normal_duty", "rated_current_heavy_duty")),
        ("sensors", ("reference",)),
    ):
        open_part = office.get(f"{at}/{kind}").html.partition("<details")[0]
        assert [name for name in names if f'name="{name}"' not in open_part] == []
    motor = office.get(f"{at}/motors").words
    assert "Needed when: electrical practice US (NEC)" in motor
    assert "1 for rating 1" in motor
    assert motor.count("Upper end where the plate states a range") == 1  # of the first rating alone
    assert "us_nec" not in motor
    assert "degC" not in office.get("/register/sites/new").words


def test_units_begin_as_plates_at_the_station_have_them_and_none_is_guessed(office, orla, station):
    path = f"/stations/{station.site}/register/pumps"
    assert form(office.get(path), path).fields["rated_flow.unit"] == ["gpm"]
    site = orla.get(f"/sites/{station.site}")
    # 500,000 m³/h in gallons of 3.785411784 L (NIST SP 811, B.8) a minute.
    limits = "More than 0 gpm and at most 2201434 gpm (500000 m³/h)"
    assert limits in office.get(path).words
    change = {"electrical_practice": "iec"}
    assert orla.patch(f"/sites/{station.site}", change, site.etag).status == 200
    page = office.get(path)
    assert form(page, path).fields["rated_flow.unit"] == ["m3/h"]
    assert "More than 0 m³/h and at most 500000 m³/h" in page.words
    path = f"/stations/{station.site}/register/sensors"
    sent = form(office.get(path), path)
    assert sent.fields["upper_range_value.unit"] == [""]
    told = sent.send(office, tag="PT-9", upper_range_value="10", lower_range_value="0")
    assert "Upper range value: has no unit: choose one" in told.words


def test_a_station_of_very_many_pieces_comes_in_parts(office, orla, station, monkeypatch):
    monkeypatch.setattr(register_pieces, "_AT_ONCE", 3)
    monkeypatch.setattr(register_options, "MOST", 1)
    at = f"/stations/{station.site}/register"
    kinds = ("pump-sets", "vessels", "sensors", "drives", "motors", "pumps")
    tags = [
        each["tag"]
        for kind in kinds
        for each in sorted(
            orla.get(f"/{kind}?site={station.site}").json["items"], key=lambda each: each["tag"]
        )
    ]
    page, seen = office.get(at), []
    assert f"1 to 3 of {len(tags)} pieces" in page.words
    assert "1 pump set joined" in page.headings[0][1]
    for number in range(1, len(tags) // 3 + 2):
        words = office.get(f"{at}?page={number}").words
        seen += [tag for tag in tags if f" {tag} " in words]
    assert sorted(seen) == sorted(tags)
    added = plates.pump() | {"tag": "P-999", "site": str(station.site)}
    last = orla.post("/pumps", added).json["id"]
    page = office.get(f"{at}/pump-sets")
    assert "only those that were registered last" in page.words
    assert f'value="{last}"' in page.html
    # What is joined is offered where it is changed, however many were registered since.
    for number in range(3):
        orla.post("/pumps", added | {"tag": f"P-99{number}"})
    page = office.get(f"/register/pump-sets/{station.pump_set}")
    assert form(page, f"/{station.pump_set}").fields["pump"] == [str(station.ids["P-101"])]
    assert "out of service" not in page.words


def test_what_was_registered_just_now_is_on_the_part_that_follows(
    office, orla, station, monkeypatch
):
    monkeypatch.setattr(register_pieces, "_AT_ONCE", 3)
    at = f"/stations/{station.site}/register"
    path = f"{at}/pumps"
    sent = form(office.get(path), path)
    assert sent.send(office, **typed(plates.pump() | {"tag": "P-555"})).status == 302
    where = office.at
    page = office.get(where.partition("#")[0])
    assert where.partition("#")[2] in page.ids
    assert page.to("Before")  # it is not the first part
    assert office.get(f"{at}?piece={station.site}").words == office.get(at).words
    assert office.get(f"{at}?piece=nothing").words == office.get(at).words


def test_that_more_stands_there_is_said_only_where_it_does(office, orla, station, monkeypatch):
    path = f"/stations/{station.site}/register/pump-sets"
    said = "only those that were registered last"
    pumps = len(orla.get(f"/pumps?site={station.site}").json["items"])
    sensors = len(orla.get(f"/sensors?site={station.site}").json["items"])
    for more in range(max(0, sensors - pumps)):
        added = plates.pump() | {"tag": f"P-98{more}", "site": str(station.site)}
        assert orla.post("/pumps", added).status == 201
    most = max(pumps, sensors)
    for offered, bounded in ((most + 1, False), (most, False), (most - 1, True)):
        monkeypatch.setattr(register_options, "MOST", offered)
        assert (said in office.get(path).words) is bounded, offered


def test_a_time_zone_is_chosen_of_those_that_are_known(office):
    page = office.get("/register/sites/new")
    assert 'list="f-time_zone-offered"' in page.html
    assert '<option value="America/Denver">' in page.html


@pytest.mark.parametrize(
    ("kind", "some"), [("pumps", False), ("motors", False), ("drives", True), ("sensors", True)]
)
def test_a_group_says_whether_all_of_it_is_needed(office, station, kind, some):
    page = office.get(f"/stations/{station.site}/register/{kind}")
    assert ("(some only where they say so)" in page.words) is some
