"""Drafts that stand in the book, opened on a device: changed there, and in the book once."""

import re

import pytest
from playwright.sync_api import expect

from tests.browser.field.away import everything
from tests.browser.field.one_telephone import (  # noqa: F401
    cleared_afterwards,
    started,
    states,
    wiped,
)
from tests.browser.field.phone import WIDTH
from tests.browser.field.test_screens import assert_good
from tests.calculations.building_plates import q
from tests.records import visits
from tests.records.client import Api

WHY = "The clamp meter had been set to the other range."
PICTURE = b"A photograph that the office had sent."


def line_of(away, station, draft):
    """One of the station's drafts, on the screen where a visit begins."""
    away.open(f"/begin/{station.site}")
    return away.page.locator(f'#drafts li[data-draft="{draft["id"]}"]')


def opened(away, station, draft, words="Open it here"):
    line_of(away, station, draft).get_by_role("button", name=words).click()
    expect(away.page).to_have_url(re.compile(f"#/visits/{draft['id']}$"))
    away.page.wait_for_selector(".verdict")


def as_left(cast, draft):
    event = Api(cast.teo).get(f"/events/{draft['id']}").json
    return event["settings"]["as_left"]


def in_the_book(cast, draft):
    return Api(cast.orla).get(f"/events/{draft['id']}").json


def entered_of(event):
    """What was entered of an event, without what the service says of it."""
    said = ("revision", "changed_at", "device_time", "derived", "findings", "not_evaluated",
            "limits_changed", "earlier_record", "records_beside", "settings")  # fmt: skip
    return {name: value for name, value in event.items() if name not in said}


def sent(away):
    away.hand_over()
    away.send()
    expect(away.page.get_by_text("All of it is sent")).to_be_visible()


def test_a_replacement_is_opened_changed_without_signal_and_handed_over(away, cast, station):
    record = visits.sealed(Api(cast.teo), Api(cast.orla), station)
    draft = visits.post(
        Api(cast.orla), station, corrects=record["id"], correction_reason=WHY
    )  # of the office, for the technician to put right
    before = in_the_book(cast, draft)
    away.offline(False)
    opened(away, station, draft)
    replaces = away.page.locator(".replacing")
    expect(replaces).to_contain_text(f"replaces a sealed record. Reason: {WHY}")
    expect(away.page.locator(".verdict")).to_contain_text("by the service")
    away.section("rest")
    expect(away.page.locator(".handed")).to_have_text("As it stands in the book.")
    away.offline()
    away.section("as_left")
    away.enter("Set point", "91", "psi")
    away.wait_until_kept("91")
    away.page.reload()  # and what was changed is still there
    away.page.wait_for_selector(".verdict")
    expect(away.entry("Set point").locator("input")).to_have_value("91")
    expect(replaces).to_contain_text(WHY)
    away.hand_over()
    assert states(away) == ["waiting"]
    away.offline(False)
    away.send()
    expect(away.page.get_by_text("All of it is sent")).to_be_visible()
    after = in_the_book(cast, draft)
    assert after["settings"]["as_left"] == before["settings"]["as_left"] | {
        "set_point": q("91", "psi")
    }
    assert after["revision"] == before["revision"] + 1
    assert entered_of(after) == entered_of(before)
    assert (after["corrects"], after["correction_reason"]) == (record["id"], WHY)
    assert sorted(everything(cast, station)) == sorted([draft["id"], record["event"]])


def test_drafts_that_replace_a_record_are_told_apart_in_the_list(away, cast, station):
    """They have the kind and the day of the visit that they replace."""
    record = visits.sealed(Api(cast.teo), Api(cast.orla), station)
    why = {"corrects": record["id"], "correction_reason": WHY}
    usual = visits.post(Api(cast.teo), station)
    first = visits.post(Api(cast.orla), station, **why)
    away.offline(False)
    mark = ".replacing"
    expect(line_of(away, station, first).locator(mark)).to_have_text(
        "Once it is sealed, it replaces a sealed record."
    )
    expect(line_of(away, station, usual).locator(mark)).to_have_count(0)
    second = visits.post(Api(cast.teo), station, **why)
    away.page.reload()
    for each in (first, second):
        expect(line_of(away, station, each).locator(mark)).to_contain_text(
            "as 1 other draft would: the first that is sealed does"
        )
    opened(away, station, first)
    opened(away, station, usual)
    away.open("/")
    lines = away.page.locator(".cards li").filter(has_text="as it was opened from the book")
    expect(lines).to_have_count(2)
    expect(lines.locator(mark)).to_have_text(["Once it is sealed, it replaces a sealed record."])


def test_what_is_on_the_device_already_is_opened_and_not_doubled(away, cast, station):
    draft = visits.post(Api(cast.teo), station)
    away.offline(False)
    opened(away, station, draft)
    away.section("as_left")
    away.enter("Set point", "91", "psi")
    away.wait_until_kept("91")
    opened(away, station, draft, "Open it: it is on this device")
    assert [each["id"] for each in away.rows("visits")] == [draft["id"]]
    away.section("as_left")
    expect(away.entry("Set point").locator("input")).to_have_value("91")
    away.open("/")
    expect(away.page.locator(".cards li", has_text="not handed over yet")).to_have_count(1)


def test_what_the_office_changed_is_there_when_an_unchanged_one_is_opened_again(
    away, cast, station
):
    draft = visits.post(Api(cast.teo), station)
    away.offline(False)
    opened(away, station, draft)
    away.open("/")
    expect(away.page.get_by_text("as it was opened from the book")).to_be_visible()
    changed(cast, draft, set_point=q("77", "psi"))
    opened(away, station, draft, "Open it: it is on this device")
    away.section("as_left")
    expect(away.entry("Set point").locator("input")).to_have_value("77")
    away.enter("Set point", "78", "psi")
    sent(away)
    assert as_left(cast, draft)["set_point"] == q("78", "psi")


def changed(cast, draft, **as_left_now):
    office, path = Api(cast.orla), f"/events/{draft['id']}"
    patch = {"settings": {"as_left": as_left_now}}
    assert office.patch(path, patch, office.get(path).etag).status == 200


def test_what_the_office_changed_meanwhile_is_shown_beside_and_chosen(away, cast, station):
    draft = visits.post(Api(cast.teo), station)
    away.offline(False)
    opened(away, station, draft)
    away.section("as_left")
    away.enter("Set point", "91", "psi")
    changed(cast, draft, set_point=q("77", "psi"))
    away.hand_over()
    away.open("/not-sent")
    both = away.page.get_by_role("region", name="Both versions")
    expect(both).to_contain_text("91 psi")
    expect(both).to_contain_text("77 psi")
    assert as_left(cast, draft)["set_point"] == q("77", "psi")
    # It was refused: nobody is told that it is tried again by itself.
    away.page.get_by_role("button", name="Send now").click()
    expect(away.page.locator("main")).to_contain_text("Not all of it; see above.")
    expect(both).to_be_visible()
    away.page.get_by_role("button", name="Keep theirs; put mine aside").click()
    expect(away.page.get_by_text("Nothing: everything that was handed over")).to_be_visible()
    # What is changed after that goes out again, and alone.
    away.open(f"/visits/{draft['id']}/as_left")
    expect(away.entry("Set point").locator("input")).to_have_value("77")
    away.enter("Set point", "80", "psi")
    away.section("rest")
    expect(away.page.locator(".handed")).to_contain_text("Changed since it was handed over")
    sent(away)
    assert as_left(cast, draft)["set_point"] == q("80", "psi")


def test_an_entry_of_another_part_that_the_office_changed_stays(away, cast, station):
    draft = visits.post(Api(cast.teo), station)
    away.offline(False)
    opened(away, station, draft)
    away.section("as_left")
    away.enter("Set point", "91", "psi")
    office, path = Api(cast.orla), f"/events/{draft['id']}"
    remarks = "The office adds a word."
    assert office.patch(path, {"remarks": remarks}, office.get(path).etag).status == 200
    sent(away)
    event = in_the_book(cast, draft)
    assert event["settings"]["as_left"]["set_point"] == q("91", "psi")
    assert event["remarks"] == remarks


def test_without_signal_it_is_said_and_asked_again(away, cast, station):
    draft = visits.post(Api(cast.teo), station)
    line = line_of(away, station, draft)
    section = away.page.locator("#drafts")
    expect(section).to_contain_text("They cannot be listed now: no answer: there is no signal")
    expect(section).to_contain_text("Drafts are opened where there is signal")
    assert_good(away, "drafts-without-signal")
    away.offline(False)
    section.get_by_role("button", name="Ask again").click()
    expect(line).to_be_visible()
    expect(section).not_to_contain_text("cannot be listed")
    assert_good(away, "drafts-listed")
    assert away.page.evaluate("document.documentElement.scrollWidth") <= WIDTH


def test_one_that_is_sealed_or_withdrawn_meanwhile_is_not_opened(away, cast, station):
    draft = visits.post(Api(cast.teo), station)
    away.offline(False)
    line = line_of(away, station, draft)
    expect(line).to_be_visible()
    why = {"reason": "Begun by mistake."}
    assert Api(cast.orla).post(f"/events/{draft['id']}/withdrawal", why).status == 201
    line.get_by_role("button", name="Open it here").click()
    expect(away.page.locator("#drafts")).to_contain_text("it is withdrawn by now")
    assert away.rows("visits") == []
    line = line_of(away, station, draft)
    expect(away.page.locator("#drafts")).not_to_contain_text("Asking")
    expect(line).to_have_count(0)


@pytest.mark.parametrize("by_now", ["withdrawn", "sealed"])
def test_what_was_changed_of_one_that_is_closed_meanwhile_is_told_and_kept(
    away, cast, station, by_now
):
    office = Api(cast.orla)
    draft = visits.post(Api(cast.teo), station)
    away.offline(False)
    opened(away, station, draft)
    away.offline()
    away.section("as_left")
    away.enter("Set point", "91", "psi")
    away.hand_over()
    path = f"/events/{draft['id']}"
    if by_now == "withdrawn":
        assert office.post(f"{path}/withdrawal", {"reason": "Begun by mistake."}).status == 201
    else:
        visits.sign_both(Api(cast.teo), office, draft)
        assert office.post(f"{path}/seal").status == 201
    before = in_the_book(cast, draft)
    away.offline(False)
    away.send()
    expect(away.page.locator("main")).to_contain_text(f"The visit is {by_now} at the service")
    expect(away.page.get_by_role("region", name="Both versions")).to_contain_text("91 psi")
    assert in_the_book(cast, draft) == before
    away.page.get_by_role("button", name="Take it out of the queue").click()
    expect(away.page.get_by_text("Nothing: everything that was handed over")).to_be_visible()
    [row] = away.rows("visits")
    assert row["document"]["settings"]["as_left"]["set_point"] == q("91", "psi")


def test_its_files_and_signatures_are_known_on_the_device(away, cast, station):
    teo = Api(cast.teo)
    draft = visits.post(teo, station)
    path = f"/events/{draft['id']}/attachments?purpose=other&name=note.txt"
    kept = teo.call("POST", path, PICTURE, media="application/octet-stream")
    assert kept.status == 201, kept.json
    visits.answer_all(Api(cast.orla), draft)
    assert visits.sign(teo, draft, "performed").status == 201
    away.offline(False)
    opened(away, station, draft)
    expect(away.page.locator(".told", has_text="1 signature in the book")).to_be_visible()
    [file] = away.rows("files")
    assert (file["id"], file["sent"], file["sha256"]) == (
        kept.json["id"], True, kept.json["sent_sha256"],
    )  # fmt: skip
    away.section("files")
    expect(away.page.locator(".files")).to_contain_text("note.txt")
    assert_good(away, "drafts-opened")


def test_what_was_opened_is_taken_off_again_and_stays_in_the_book(away, cast, station):
    draft = visits.post(Api(cast.teo), station)
    before = in_the_book(cast, draft)
    away.offline(False)
    opened(away, station, draft)
    away.section("as_left")
    away.enter("Set point", "91", "psi")
    away.section("rest")
    away.page.get_by_role("button", name="Take this draft off this device").click()
    away.page.get_by_role("button", name="Take it off now").click()
    expect(away.page.get_by_role("heading", name="Visits on this device")).to_be_visible()
    assert away.rows("visits") == []
    assert in_the_book(cast, draft) == before
    # Handed over, it stays.
    opened(away, station, draft)
    away.section("as_left")
    away.enter("Set point", "92", "psi")
    sent(away)
    away.open(f"/visits/{draft['id']}/rest")
    away.page.wait_for_selector(".handed")
    expect(away.page.get_by_role("button", name="Take this draft off")).to_have_count(0)
    assert as_left(cast, draft)["set_point"] == q("92", "psi")


WITHIN = """async (told) => {
  const { within } = await import("/static/field/sending.js");
  return within(told, { kind: "start_up" });
}"""


def test_what_a_newer_service_tells_is_no_change_of_anybody(away):
    away.open("/")
    told = {"kind": "start_up", "remarks": "dry", "findings": [], "told_from_next_year_on": {}}
    assert away.page.evaluate(WITHIN, told) == {"kind": "start_up", "remarks": "dry"}
