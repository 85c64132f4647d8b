"""Limits for a client on pages: tighter freely, looser with a reason, and what was set before."""

import re

import pytest

from records.services import rule_settings
from tests.calculations.building_plates import q
from tests.records import visits
from tests.records.client import leave
from tests.records.pages.entrance.walking import PASSWORD, Walker, give_quick_password
from tests.records.pages.sending import form, forms

# The catalogue's own is 25 % of the step, and lower is tighter.
OVERSHOOT = ("trace.overshoot", "share")
REASON = "Old check valves: the client wants it soft."


@pytest.fixture
def office(api, cast):
    return Walker.of(cast.orla)


@pytest.fixture
def path(cast):
    return f"/limits/{cast.client}/trace.overshoot/share"


def settings_of(orla):
    return orla.get("/rule-settings?in_force=true").json["items"]


def test_a_tighter_limit_is_set_freely_and_once(office, orla, path):
    page = office.get(path)
    assert page.faults == []
    assert "the catalogue’s own, 25 %" in page.headings[0][1]
    sent = form(page, path)
    for _ in range(2):
        assert sent.send(office, value="15", unit="%").status == 302
        assert office.at == path
    [row] = settings_of(orla)
    assert (row["rule"], row["limit"], row["value"], row["set_by"]) == (
        *OVERSHOOT, q("15", "%"), "Orla"
    )  # fmt: skip
    after = office.get(path)
    assert after.faults == []
    assert "15 % for" in after.headings[0][1]
    assert after.words.count("15 %, tighter") == 1
    assert "15 %" not in after.html  # digits and unit stay on one line


def test_the_catalogues_own_value_set_again_is_told_as_the_same(office, path):
    assert form(office.get(path), path).send(office, value="0.25", unit="1").status == 302
    assert "0.25, the same" in office.get(path).words


def test_a_decimal_comma_is_taken_and_what_can_mean_two_numbers_is_asked_about(office, orla, path):
    sent = form(office.get(path), path)
    told = sent.send(office, value="1,250", unit="%")
    assert told.status == 400
    assert "Limit: 1,250 can mean 1250 or 1.250" in told.words
    assert sent.send(office, value="12,5", unit="%").status == 302
    [row] = settings_of(orla)
    assert row["value"] == q("12.5", "%")


def test_the_same_form_twice_at_once_sets_it_once(office, orla, path, monkeypatch):
    form(office.get(path), path).send(office, value="20", unit="%")
    sent = form(office.get(path), path)
    read = rule_settings._row

    def overtaken(actor, *rest):
        monkeypatch.setattr(rule_settings, "_row", read)
        wanted = rest[0].model_dump(mode="json")
        rule_settings.put(actor, wanted, shown=sent.fields["shown"][0])
        return read(actor, *rest)

    monkeypatch.setattr(rule_settings, "_row", overtaken)
    assert sent.send(office, value="15", unit="%").status == 302
    assert [row["value"] for row in settings_of(orla)] == [q("15", "%")]


def test_what_no_field_of_the_form_is_about_is_told_with_its_place(office, orla, path):
    told = form(office.get(path), path).send(office, value="15", unit="%", id="no id")
    assert told.status == 400
    assert "Nothing was changed. /id: " in told.words
    assert settings_of(orla) == []


def test_a_looser_one_asks_for_its_reason_and_keeps_what_was_entered(office, orla, path):
    told = form(office.get(path), path).send(office, value="30", unit="%")
    assert told.status == 400
    assert "Nothing was changed. Reason: a limit looser than the catalogue's own (25 %)" in (
        told.words
    )
    assert told.faults == []
    again = form(told, path)
    assert again.fields["value"] == ["30"]
    assert again.send(office, unit="%", reason=REASON).status == 302
    [row] = settings_of(orla)
    assert (row["looser"], row["reason"]) == (True, REASON)
    # Nobody sends the reason of one value along with another.
    after = form(office.get(path), path)
    assert (after.fields["value"], after.fields["reason"]) == (["30"], [""])


def test_what_is_looser_is_told_in_the_unit_that_was_typed_as_well(office, path):
    told = form(office.get(path), path).send(office, value="0.3", unit="1")
    assert "the catalogue's own (25 %, which is 0.25) needs a reason" in told.words


@pytest.mark.parametrize(
    ("value", "unit", "expected"),
    [("much", "%", "Limit:"), ("15", "bar", "Unit:"), ("-1", "%", "Limit: expected more than 0")],
)
def test_what_is_no_such_limit_is_told(office, orla, path, value, unit, expected):
    told = form(office.get(path), path).send(office, value=value, unit=unit)
    assert told.status == 400
    assert f"Nothing was changed. {expected}" in told.words
    assert settings_of(orla) == []


def test_what_was_set_in_between_is_told(office, orla, cast, path):
    sent = form(office.get(path), path)
    between = visits.limit(cast.client, *OVERSHOOT, "20", "%")
    assert orla.post("/rule-settings", between).status == 201
    told = sent.send(office, value="15", unit="%")
    assert told.status == 412
    assert "Somebody has set this limit in between: read it again." in told.words
    assert "20 % for" in told.headings[0][1]
    assert [row["value"] for row in settings_of(orla)] == [q("20", "%")]
    assert form(told, path).send(office, unit="%").status == 302
    assert [row["value"] for row in settings_of(orla)] == [q("15", "%")]


def test_the_catalogues_own_is_used_again_and_what_was_stays_readable(office, orla, path):
    form(office.get(path), path).send(office, value="30", unit="%", reason=REASON)
    remove = form(office.get(path), "/remove")
    for _ in range(2):
        assert remove.send(office, "Use it again").status == 302
        assert office.at == path
    assert settings_of(orla) == []
    page = office.get(path)
    assert "the catalogue’s own, 25 %" in page.headings[0][1]
    assert REASON in page.words
    assert [each for each in forms(page) if each.path.endswith("/remove")] == []


def test_drafts_of_the_client_are_judged_again(office, orla, teo, station, cast):
    event = station.event()
    event["settings"]["as_left"]["motor_speed"] = q("1762", "rpm")  # -0.73 %, within 1 %
    posted = visits.post(teo, station, **event)
    assert "drive.motor-speed" not in visits.rules_of(posted)
    path = f"/limits/{cast.client}/drive.motor-speed/difference"
    form(office.get(path), path).send(office, value="0.5", unit="%")
    again = teo.get(f"/events/{posted['id']}").json
    assert "drive.motor-speed" in visits.rules_of(again)


def test_the_lists_say_what_is_set(office, orla, cast, path):
    listed = office.get("/limits")
    assert listed.faults == []
    assert "none: the catalogue’s own apply" in listed.words
    form(office.get(path), path).send(office, value="15", unit="%")
    assert "none: the catalogue’s own apply" not in office.get("/limits").words
    page = office.get(f"/limits/{cast.client}")
    assert page.faults == []
    assert "1 limit set in place of the catalogue’s" in page.headings[0][1]
    assert path in [where for where, _ in page.links]


def test_the_page_of_a_client_asks_the_same_however_much_is_set(office, orla, cast, path):
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    def count():
        with CaptureQueriesContext(connection) as captured:
            assert office.get(f"/limits/{cast.client}").status == 200
        return len(captured)

    none = count()
    for value in ("15", "14", "13"):
        form(office.get(path), path).send(office, value=value, unit="%")
    assert count() == none


@pytest.mark.parametrize("name", ["teo", "cleo", "otto", "tilda", "cato"])
def test_nobody_else_sets_one(api, cast, orla, path, name):
    browser = Walker.of(getattr(cast, name))
    told = browser.post(path, value="15", unit="%", shown="")
    assert told.status == (404 if name == "otto" else 403)
    assert settings_of(orla) == []
    assert ("/limits" in [where for where, _ in browser.get("/").links]) is (name == "otto")


def test_there_is_no_such_limit(office, cast):
    for rest in ("trace.overshoot/none", "no.rule/share"):
        assert office.get(f"/limits/{cast.client}/{rest}").status == 404
    assert office.get(f"/limits/{cast.other_client}").status == 404


def test_what_was_entered_is_back_after_signing_in(cast, orla, path, settings):
    settings.SECOND_FACTOR = "offered"
    give_quick_password(cast.orla)
    office = Walker.of(cast.orla)
    sent = form(office.get(path), path)
    leave()
    office.client.session.flush()  # as it ends by itself over night
    sent.send(office, value="30", unit="%", reason=REASON)
    assert office.at.startswith("/sign-in?next=%2Flimits")
    office.post("/sign-in", login="orla", password=PASSWORD, next=path)
    back = office.get(path)
    assert "Your session had ended" in back.words
    assert form(back, path).fields["reason"] == [REASON]
    assert "no-store" in back.headers["Cache-Control"]
    assert settings_of(orla) == []


def test_a_limit_is_removed_at_its_own_client_alone(office, cast, path):
    form(office.get(path), path).send(office, value="15", unit="%")
    end = form(office.get(path), "/remove").path
    assert office.post(end.replace(str(cast.client), str(cast.contractor))).status == 404
    assert form(office.get(path), "/remove").path == end


@pytest.mark.parametrize("told_from_where", [True, False])
def test_after_an_ended_session_removing_leads_to_a_page_that_can_be_read(
    cast, orla, path, settings, told_from_where
):
    settings.SECOND_FACTOR = "offered"
    give_quick_password(cast.orla)
    office = Walker.of(cast.orla)
    form(office.get(path), path).send(office, value="15", unit="%")
    remove = form(office.get(path), "/remove")
    leave()
    office.client.session.flush()
    page = path if told_from_where else "/"
    sent_from = {"Referer": f"http://testserver{path}"} if told_from_where else {}
    office.post(remove.path, headers=sent_from)
    assert office.at == f"/sign-in?next={page}"
    office.post("/sign-in", login="orla", password=PASSWORD, next=page)
    assert office.at == page
    assert office.get(page).status == 200
    assert len(settings_of(orla)) == 1


def test_a_client_that_reads_us_units_has_the_catalogues_own_in_them(office, orla, cast):
    """As its documents are printed: 30 m are 98.4 ft, of 0.3048 m each (NIST SP 811, B.8)."""
    every, path = f"/limits/{cast.client}", f"/limits/{cast.client}/drive.reflected-wave/dry"
    assert "30 m," not in office.get(path).words
    assert "98.4 ft" not in office.get(path).words + office.get(every).words
    at = f"/organizations/{cast.client}"
    assert orla.patch(at, {"units": "us"}, orla.get(at).etag).status == 200
    page = office.get(path)
    assert page.faults == []
    assert page.words.count("98.4 ft (30 m)") == 2  # in the heading, and beside the form
    assert form(page, path).fields["unit"] == ["ft"]
    assert "98.4 ft (30 m)" in office.get(every).words
    assert "25 %" in office.get(every).words
    form(page, path).send(office, value="90")
    assert q("90", "ft") in [row["value"] for row in settings_of(orla)]


def test_a_unit_of_several_kinds_is_offered_once(office, cast):
    """Metres are of a length and of a head; a plain ratio is of two kinds as well."""
    for named, unit in (("npsh.margin/difference", "m"), ("sensor.range/times", "1")):
        page = office.get(f"/limits/{cast.client}/{named}")
        offered = re.findall(r'<option value="([^"]+)"', page.html)
        assert unit in offered
        assert len(offered) == len(set(offered))


def test_units_stand_as_they_are_printed(office, cast):
    """What is sent as degC and Mohm is °C and MΩ to read, and a plain ratio has no unit."""
    for path in (f"/limits/{cast.client}", "/rules"):
        words = office.get(path).words
        assert "95 °C" in words
        assert "5 MΩ" in words
        assert re.findall(r"\d (?:degC|Mohm)", words) == []
    path = f"/limits/{cast.client}/machine.bearing-temperature/review"
    assert office.get(path).headings[0][1].endswith("95 °C machine.bearing-temperature, review")
    form(office.get(path), path).send(office, value="90", unit="degC")
    assert "90 °C for" in office.get(path).headings[0][1]
    assert "90 °C" in office.get(f"/limits/{cast.client}").words
