"""Without signal nothing is lost, with it everything arrives once; whatever is refused is told."""

import re
import uuid
from datetime import datetime, timedelta

import pytest
from playwright.sync_api import expect

from tests.browser.field.away import HAND, IMPORT, at_the_service, entry, everything
from tests.calculations.building_plates import q
from tests.records.client import Api

SETTLE = """async ([mine]) => {
  const { items, settle } = await import("/static/field/queue.js");
  const [item] = await items();
  await settle(item, mine);
}"""

TAKE_BACK = """async () => {
  const { items, takeBack } = await import("/static/field/queue.js");
  for (const item of await items()) await takeBack(item);
}"""

COUNTED = re.compile(r"^[1-9]\d* judged, \d+ waiting for signal, [1-9]\d* cannot be judged")


def test_a_visit_from_taking_along_to_a_draft_in_the_book(away, cast, station):
    identity = away.begin(station.site, station.pump_set)
    away.section("as_left")
    away.enter("Motor frequency", "50", "Hz")
    away.enter("Motor voltage", "460", "V")
    verdict = away.wait_for_verdict()
    assert COUNTED.search(verdict), verdict
    assert "1 stop" in verdict
    found = away.entry("Motor voltage").locator(".finding.stop")
    assert "V/Hz" in found.inner_text()  # at the entry that it is about
    away.kill()  # no goodbye
    away.start()
    away.offline()
    away.open()
    away.page.locator(".cards a").first.click()
    away.page.wait_for_selector(".verdict")
    where = "document.activeElement.closest('[data-at]')?.dataset.at"
    assert away.page.evaluate(where) == "/settings/as_left/motor_voltage"
    away.enter("Motor frequency", "60")
    away.hand_over()
    away.page.locator("#state", has_text="1 entry not sent yet").wait_for()
    away.offline(False)
    away.send()
    event = at_the_service(cast, f"/events/{identity}").json
    assert event["state"] == "draft"
    assert event["settings"]["as_left"]["motor_frequency"] == q("60", "Hz")
    assert "drive.volts-per-hertz" not in {each["rule"] for each in event["findings"]}
    assert away.rows("queue") == []


def handed(away, station, **more):
    [identity] = away.page.evaluate(HAND, [entry(station) | more, 1, None])
    return identity


def test_what_the_service_refuses_is_told_and_kept(away, station):
    handed(away, station, hours_run=q("12", "bar"))
    away.offline(False)
    away.send()
    [item] = away.rows("queue")
    assert item["state"] == "refused"
    expect(away.page.locator(".cards")).to_contain_text("hours run, unit: expected time")
    expect(away.page.locator("#state")).to_contain_text("1 need you")
    assert away.rows("visits")[0]["document"]["hours_run"] == q("12", "bar")


def test_what_another_window_does_with_the_queue_is_told_in_this_one(away, station):
    handed(away, station)
    away.open("/not-sent")
    expect(away.page.locator(".cards")).to_contain_text("waits for signal")
    other = away.context.new_page()
    other.goto(f"{away.service}/field/#/not-sent")
    other.locator(".cards").wait_for()
    other.evaluate(TAKE_BACK)
    away.page.get_by_text("Nothing: everything that was handed over is sent.").wait_for()
    other.close()


NO_CHANNEL = """globalThis.BroadcastChannel = class {
  constructor() { throw new DOMException("denied", "SecurityError"); }
};"""


def test_a_browser_that_denies_its_windows_a_channel_opens_the_sheet_all_the_same(away, station):
    handed(away, station)
    window = away.context.new_page()
    window.add_init_script(NO_CHANNEL)
    window.goto(f"{away.service}/field/#/not-sent")
    expect(window.locator(".cards")).to_contain_text("waits for signal")
    window.evaluate(TAKE_BACK)
    window.get_by_text("Nothing: everything that was handed over is sent.").wait_for()
    window.close()


@pytest.mark.parametrize("status", [500, 503, 429])
def test_a_service_that_cannot_answer_is_asked_again(away, station, status):
    handed(away, station)
    away.context.route(re.compile("/api/v1/events"), lambda route: route.fulfill(status=status))
    away.offline(False)
    away.send()
    [item] = away.rows("queue")
    assert item["state"] == "waiting"
    away.context.unroute_all()
    away.send()
    assert away.rows("queue") == []


def test_half_an_answer_is_none(away, cast, station):
    identity = handed(away, station)
    half = {"status": 201, "body": '{"id": "', "headers": {"ETag": '"1.0"'}}
    away.context.route(re.compile("/api/v1/events"), lambda route: route.fulfill(**half))
    away.offline(False)
    away.send()
    assert [item["state"] for item in away.rows("queue")] == ["waiting"]
    away.context.unroute_all()
    away.send()
    assert at_the_service(cast, f"/events/{identity}").status == 200


def test_what_was_opened_to_read_stays_open_while_it_is_told_anew(away, station):
    away.begin(station.site, station.pump_set)
    away.section("as_left")
    away.enter("Motor frequency", "50", "Hz")
    away.enter("Motor voltage", "460", "V")
    away.wait_for_verdict()
    found = away.entry("Motor voltage").locator(".finding.stop")
    found.locator("summary").focus()
    away.page.keyboard.press("Enter")
    expect(found.locator("details")).to_have_attribute("open", "")
    found.evaluate("each => each.classList.add('as-it-was')")
    away.page.evaluate("async () => (await import('/static/field/queue.js')).changed()")
    expect(away.page.locator(".as-it-was")).to_have_count(0)
    expect(found.locator("details")).to_have_attribute("open", "")
    expect(found.locator("summary")).to_be_focused()


def test_a_token_that_was_revoked_keeps_everything_and_says_so(away, cast, station):
    handed(away, station)
    away.page.evaluate(
        "async () => (await import('/static/field/store.js')).keep('token', 'stb_gone')"
    )
    away.offline(False)
    away.send()
    assert len(away.rows("queue")) == 1
    away.open()
    expect(away.page.locator("#state")).to_contain_text("signed out by the office")
    away.come_in(cast.teo.secret)
    away.send()
    assert away.rows("queue") == []


def test_a_token_that_was_revoked_is_told_where_stations_are_asked_for(away, cast):
    away.page.evaluate(
        "async () => (await import('/static/field/store.js')).keep('token', 'stb_gone')"
    )
    away.offline(False)
    away.open("/stations")
    expect(away.page.locator("#state")).to_contain_text("come in with a new code")
    away.come_in(cast.teo.secret)


@pytest.mark.parametrize("mine", [True, False])
def test_two_versions_stand_side_by_side_and_nothing_is_overwritten_unasked(
    away, cast, station, mine
):
    identity = handed(away, station)
    away.offline(False)
    away.send()
    office = Api(cast.orla)
    event = office.get(f"/events/{identity}")
    office.patch(f"/events/{identity}", {"weather": "rain"}, event.etag)
    away.page.evaluate(
        """async (id) => {
          const { get } = await import("/static/field/store.js");
          const { hand } = await import("/static/field/queue.js");
          const row = await get("visits", id);
          await hand(row, { ...row.document, weather: "sun" });
        }""",
        identity,
    )
    away.send()
    table = away.page.locator(".cards table")
    expect(table).to_contain_text("sun")
    expect(table).to_contain_text("rain")
    assert at_the_service(cast, f"/events/{identity}").json["weather"] == "rain"
    away.page.evaluate(SETTLE, [mine])
    assert at_the_service(cast, f"/events/{identity}").json["weather"] == (
        "sun" if mine else "rain"
    )
    assert away.rows("queue") == []


def test_a_queue_saved_as_a_file_is_taken_over_by_another_device(away, cast, station, server):
    identity = handed(away, station)
    text = away.page.evaluate(
        "async () => (await (await import('/static/field/saved.js')).exported()).text()"
    )
    away.page.evaluate("async () => (await import('/static/field/store.js')).wipe()")
    assert away.rows("visits") == []
    away.offline(False)
    away.come_in(cast.orla.secret)
    assert away.page.evaluate(IMPORT, text) == {"visit": 1, "file": 0, "queue": 1}
    away.send()
    assert away.page.evaluate(IMPORT, text) == {"visit": 0, "file": 0, "queue": 0}
    away.send()  # the dead telephone came to life again, or the file was opened twice
    assert everything(cast, station) == [identity]


def test_a_clock_that_is_a_day_ahead_is_told_and_corrected(away, cast, station):
    day = 24 * 3600
    identity = str(uuid.uuid4())
    away.offline(False)
    away.page.evaluate(
        """async ([id, entry, ahead]) => {
          const { put } = await import("/static/field/store.js");
          const { flush, hand } = await import("/static/field/queue.js");
          const { offset } = await import("/static/field/sending.js");
          const later = new Date(Date.now() + ahead);
          const Real = Date;
          globalThis.Date = class extends Real {
            constructor(...given) { super(...(given.length ? given : [Real.now() + ahead])); }
            static now() { return Real.now() + ahead; }
          };
          await (await import("/static/field/api.js")).call("GET", "/me");
          const document = { ...entry, id, performed_at: offset(later) };
          const visit = { id, site: entry.site, pumpSet: entry.pump_set, document, changed: "" };
          await put("visits", visit);
          await hand(visit, document);
          await flush(true);
        }""",
        [identity, entry(station), day * 1000],
    )
    event = at_the_service(cast, f"/events/{identity}").json
    apart = datetime.fromisoformat(event["device_time"]) - datetime.fromisoformat(
        event["performed_at"]
    )
    assert abs(apart - timedelta(days=1)) < timedelta(minutes=2)
    assert away.rows("queue") == []


def test_signing_out_wipes_the_device(away, station):
    handed(away, station)
    away.open("/device")
    away.page.get_by_role("button", name="Sign out and wipe this device").click()
    asked = away.page.locator("[role=alertdialog]")
    expect(asked).to_contain_text("Of 1 visit not everything is sent")
    away.page.get_by_role("button", name="Wipe this device now").click()
    away.page.get_by_text("Let this device in").wait_for()
    for store in ("kept", "packs", "visits", "files", "queue"):
        assert [row for row in away.rows(store) if row.get("name") != "clockAhead"] == []
