"""What is typed is kept: on a full device, in two windows, while the disk is written."""

import re

from playwright.sync_api import expect

from tests.browser.field.away import FULL
from tests.browser.field.one_telephone import (  # noqa: F401
    cleared_afterwards,
    started,
    wiped,
)

KEPT = re.compile("Kept on this device [0-9]")
TYPED_MEANWHILE = """() => {
  const { put } = IDBObjectStore.prototype;
  IDBObjectStore.prototype.put = function meanwhile(...given) {
    IDBObjectStore.prototype.put = put;
    const asked = put.apply(this, given);
    const entry = document.querySelector("textarea");
    entry.value = "60";
    entry.dispatchEvent(new Event("input"));
    return asked;
  };
}"""


def test_a_full_device_says_what_it_does_not_keep_and_keeps_it_once_there_is_room(away, station):
    away.begin(station.site, station.pump_set)
    away.section("rest")
    away.page.evaluate(FULL)
    away.enter("Remarks", "the third coupling bolt is missing")
    away.page.locator(".kept.told", has_text="NOT kept").wait_for()
    away.page.get_by_role("button", name="Hand over to the office").click()
    away.page.locator(".handed", has_text="Not handed over").wait_for()
    away.page.evaluate("emptied()")
    away.enter("Remarks", "the third coupling bolt is missing!")
    away.page.locator(".kept", has_text=KEPT).wait_for()
    assert away.rows("visits")[0]["document"]["remarks"].endswith("missing!")


def test_what_there_is_no_room_for_outlives_its_screen(away, station):
    away.begin(station.site, station.pump_set)
    away.section("rest")
    away.page.evaluate(FULL)
    away.enter("Remarks", "the third coupling bolt is missing")
    away.page.locator(".kept.told", has_text="NOT kept").wait_for()
    away.section("before")
    away.page.locator("#state", has_text="Not all of what was entered is kept").wait_for()
    away.page.get_by_role("link", name="Visits", exact=True).click()
    away.page.get_by_role("link", name="not handed over yet").click()
    away.section("rest")
    remarks = away.entry("Remarks").locator("textarea")
    assert remarks.input_value() == "the third coupling bolt is missing"
    away.page.once("dialog", lambda dialog: dialog.dismiss())
    remarks.click()  # a browser asks only those who have touched something
    with away.page.expect_event("dialog") as asked:
        away.page.close(run_before_unload=True)
    assert asked.value.type == "beforeunload"
    away.page.evaluate("emptied()")
    away.page.get_by_role("button", name="Hand over to the office").click()
    away.page.locator(".handed", has_text=re.compile("^Handed over")).wait_for()
    [item] = away.rows("queue")
    assert item["document"]["remarks"] == "the third coupling bolt is missing"


def test_a_visit_that_was_begun_in_error_is_thrown_away(away, station):
    away.begin(station.site, station.pump_set)
    away.section("files")
    plate = {"name": "plate.txt", "mimeType": "text/plain", "buffer": b"60 Hz"}
    away.page.set_input_files("#chosen", plate)
    away.page.locator(".files li").wait_for()
    away.section("rest")
    away.page.get_by_role("button", name="Throw this visit away").click()
    away.page.get_by_role("button", name="Throw it away now").click()
    away.page.get_by_role("heading", name="Visits on this device").wait_for()
    assert [away.rows(store) for store in ("visits", "files", "queue")] == [[], [], []]


def test_what_was_handed_over_is_not_thrown_away(away, station):
    away.begin(station.site, station.pump_set)
    away.hand_over()
    offer = away.page.get_by_role("button", name="Throw this visit away")
    expect(offer).to_have_count(0)  # on the screen that it was handed over from
    away.section("before")
    away.section("rest")
    assert offer.count() == 0


def test_what_was_typed_last_is_there_on_the_next_screen(away, station):
    """Screens are drawn of what is kept: they wait for what is still being written."""
    away.begin(station.site, station.pump_set)
    away.section("rest")
    away.entry("Remarks").locator("textarea").press_sequentially("x" * 40, delay=0)
    away.section("before")
    away.section("rest")
    assert away.entry("Remarks").locator("textarea").input_value() == "x" * 40


def test_what_is_typed_while_the_disk_is_written_is_written_too(away, station):
    away.begin(station.site, station.pump_set)
    away.section("rest")
    away.page.evaluate(TYPED_MEANWHILE)
    away.enter("Remarks", "6")
    away.section("before")
    away.section("rest")
    assert away.entry("Remarks").locator("textarea").input_value() == "60"


def test_two_windows_keep_the_plates_of_each_other(away, station):
    identity = away.begin(station.site, station.pump_set)
    other = away.context.new_page()
    for page, piece in ((away.page, "motor"), (other, "pump")):
        page.goto(f"{away.service}/field/#/visits/{identity}/plates")
        plate = page.locator(f'details[data-at="/{piece}"]')
        plate.evaluate("each => { each.open = true; }")
        plate.get_by_role("button", name="The plate says something else").click()
    for page, piece in ((away.page, "motor"), (other, "pump")):
        page.locator(f'[data-at="/{piece}/serial"] input').fill("S 7")
        page.locator(".kept", has_text=KEPT).wait_for()
    plates = away.rows("visits")[0]["plates"]
    assert [each["read"]["serial"] for each in plates.values()] == ["S 7", "S 7"]


def test_two_windows_on_one_visit_lose_nothing_of_each_other(away, station):
    identity = away.begin(station.site, station.pump_set)
    other = away.context.new_page()
    other.goto(f"{away.service}/field/#/visits/{identity}/rest")
    other.wait_for_selector(".verdict")
    away.section("before")
    away.enter("Weather", "rain")
    other.locator("textarea").first.fill("from the other window")
    away.wait_until_kept("rain")
    away.wait_until_kept("from the other window")
    document = away.rows("visits")[0]["document"]
    assert (document["weather"], document["remarks"]) == ("rain", "from the other window")


def test_a_comma_before_three_digits_is_not_guessed_at(away, station):
    away.begin(station.site, station.pump_set)
    away.section("as_left")
    away.enter("Motor speed", "1,750", "rpm")
    away.enter("Motor power", "7,5", "kW")
    away.wait_until_kept("7.5")
    left = away.rows("visits")[0]["document"]["settings"]["as_left"]
    assert left["motor_speed"]["value"] == "1,750"
    assert left["motor_power"]["value"] == "7.5"
