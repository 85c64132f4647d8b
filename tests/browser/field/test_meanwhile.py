"""What was changed at the office while a technician was away: told, kept, judged all the same."""

import re
from datetime import date, timedelta

from playwright.sync_api import expect

from records.documents import labels
from tests.browser.field.one_telephone import (  # noqa: F401
    cleared_afterwards,
    handed,
    started,
    states,
    wiped,
)
from tests.calculations.building_plates import q
from tests.records import stations, visits
from tests.records.client import Api

REFUSED = re.compile("Refused:")
LEFT = "settings/as_left"


def again(away, *sites):
    """Once more in the office: the stations as they are now."""
    away.offline(False)
    away.take_packs(*sites)
    away.offline()


def entered(away, label):
    entry = away.entry(label)
    return entry.locator("input").input_value(), entry.locator("select.unit").input_value()


def patched(office, path, changes):
    assert office.patch(path, changes, office.get(path).etag).status == 200


def test_another_unit_than_at_the_last_visit_is_the_same_value(away, cast, station):
    """85 psi, and 5.86 bar (1 bar is 100 kPa, 1 psi 6.894757 kPa: NIST SP 811 app. B.8)."""
    office = Api(cast.orla)
    visits.sealed(Api(cast.teo), office, station)
    again(away, station.site)
    identity = away.begin(station.site, station.pump_set)
    away.section("as_left")
    away.enter("Set point", "5.86", "bar")
    expect(away.entry("Set point")).to_contain_text("last left: 85 psi")
    away.hand_over()
    away.offline(False)
    away.send()
    event = office.get(f"/events/{identity}").json
    assert event["settings"]["as_left"]["set_point"] == q("5.86", "bar")
    assert [each for each in event["findings"] if LEFT + "/set_point" in each["subject"]] == []


def test_units_that_change_at_the_office_change_nothing_that_was_entered(away, cast, station):
    away.begin(station.site, station.pump_set)
    away.section("as_left")
    away.enter("Motor power", "60", "hp")
    path = f"/motors/{station.ids['M-101']}"
    office = Api(cast.orla)
    ratings = [each | {"power": q("44.7", "kW")} for each in office.get(path).json["ratings"]]
    patched(office, path, {"ratings": ratings})
    again(away, station.site)
    away.page.reload()
    away.page.wait_for_selector(".verdict")
    assert entered(away, "Motor power") == ("60", "hp")
    [visit] = away.rows("visits")
    assert visit["document"]["settings"]["as_left"]["motor_power"] == q("60", "hp")
    expect(away.entry("Motor power")).to_contain_text("44.7 kW")


def test_a_serial_number_is_shown_as_it_is_and_a_kind_in_words(away, cast, station):
    office, path = Api(cast.orla), f"/instruments/{station.ids['I-1']}"
    before = office.get(path).json["serial"]
    patched(office, path, {"serial": "CAL_7"})
    again(away, station.site)
    patched(office, path, {"serial": before})  # other tests go there
    away.begin(station.site, station.pump_set)
    away.section("before")
    kind = office.get(path).json["kind"]
    picks = away.page.locator("[data-at='/instruments']")
    expect(picks).to_contain_text(f"CAL_7, {labels.word(kind)}")


def test_an_instrument_whose_calibration_is_over_on_the_day_of_the_visit_is_marked(
    away, cast, station
):
    away.begin(station.site, station.pump_set)
    [visit] = away.rows("visits")
    day = date.fromisoformat(visit["document"]["performed_at"][:10])
    office, path = Api(cast.orla), f"/instruments/{station.ids['I-1']}"
    before = office.get(path).json["due_on"]
    for due, marked in ((day, False), (day - timedelta(days=1), True)):
        patched(office, path, {"due_on": str(due)})
        again(away, station.site)
        away.page.reload()
        away.page.wait_for_selector(".verdict")
        away.section("before")
        pick = away.page.locator("[data-at='/instruments'] .pick").first
        expect(pick).to_contain_text(office.get(path).json["serial"])
        words = f"calibration overdue since {due}"
        if marked:
            expect(pick).to_contain_text(words)
        else:
            expect(pick).not_to_contain_text("overdue")
    patched(office, path, {"due_on": before})  # other tests go there


def test_a_pump_set_taken_out_of_service_meanwhile_is_told_and_its_visit_arrives(
    away, cast, station
):
    identity = away.begin(station.site, station.pump_set)
    office = Api(cast.orla)
    path = f"/pump-sets/{station.pump_set}"
    patched(office, path, {"out_of_service_on": "2026-01-31"})
    again(away, station.site)
    patched(office, path, {"out_of_service_on": None})  # other tests go there
    away.open("/")
    away.page.get_by_role("link", name=re.compile("PS-101")).click()
    away.page.get_by_text("no longer in service by the register").first.wait_for()
    expect(away.page.locator("h1")).to_contain_text("PS-101")
    away.hand_over()
    away.offline(False)
    away.send()
    assert states(away) == []
    assert office.get(f"/events/{identity}").json["pump_set"] == station.pump_set


def test_a_station_given_to_another_contractor_is_told_and_keeps_nothing_back(
    away, cast, station, stage
):
    office = Api(cast.orla)
    leaving = stations.register(office, cast.client, code="LEAVES", name="It leaves")
    again(away, leaving.site)
    [lost] = handed(away, leaving)
    [kept] = handed(away, station)
    words = ("--client", str(cast.client), "--code", "LEAVES", "--by", "Ines of the operator",
             "--contractor", str(cast.other_contractor), "--reason", "A letter.")  # fmt: skip
    assert stage.command("appoint", *words)[0] == 0
    away.offline(False)
    away.send()
    assert states(away) == ["refused"]
    expect(away.page.locator(".cards")).to_contain_text(REFUSED)
    assert (office.get(f"/events/{lost}").status, office.get(f"/events/{kept}").status) == (
        404,
        200,
    )
    away.open("/stations")
    away.page.locator(".pick").first.wait_for()
    assert "It leaves" not in away.page.inner_text("main")
    away.page.get_by_role("button", name="Take along what is ticked").click()
    away.page.get_by_text(re.compile("taken along|Rules|on this device")).first.wait_for()
    assert lost in [each["id"] for each in away.rows("visits")]


def test_what_the_register_lacks_is_carried_to_the_office(away, cast, station):
    identity = away.begin(station.site, station.pump_set)
    away.section("plates")
    away.page.get_by_role("button", name="Add: piece not in the register").click()
    away.enter("Tag", "PT-900")
    away.enter("Plate", "pressure transmitter, 0 to 16 bar")
    away.hand_over()
    away.offline(False)
    away.send()
    event = Api(cast.orla).get(f"/events/{identity}").json
    [piece] = event["not_in_register"]
    assert (piece["tag"], piece["plate"]) == ("PT-900", "pressure transmitter, 0 to 16 bar")
    assert visits.found(event, "record.not-in-register")["severity"] == "review"
