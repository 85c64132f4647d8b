"""What stands in the way is told, keeps nothing else back, and loses nothing."""

import json
import re

import pytest
from playwright.sync_api import sync_playwright

from tests.browser.field.away import AGAIN, HAND, IMPORT, entry
from tests.browser.field.phone import Phone
from tests.calculations.building_plates import q
from tests.conftest import service_variables
from tests.faults.test_broken_uploads import Server
from tests.records.client import Api
from tests.records.conftest import cleared_afterwards  # noqa: F401
from tests.records.enrolling import make_code

SENT = "Nothing: everything that was handed over is sent."
KEPT = re.compile("Kept on this device [0-9]")
FULL = """() => {
  const own = { put: IDBObjectStore.prototype.put, add: IDBObjectStore.prototype.add };
  for (const [name, write] of Object.entries(own)) {
    IDBObjectStore.prototype[name] = function full(...given) {
      const asked = write.apply(this, given);
      const value = new DOMException("no room", "QuotaExceededError");
      Object.defineProperty(this.transaction, "error", { value });
      this.transaction.abort();
      return asked;
    };
  }
  globalThis.emptied = () => Object.assign(IDBObjectStore.prototype, own);
}"""
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
EVENTS = re.compile("/api/v1/events")
SIGN = """async (id) => {
  const { get } = await import("/static/field/store.js");
  const { hand } = await import("/static/field/queue.js");
  const row = await get("visits", id);
  const device = { statement: { signed_at: "2026-03-14T10:05:00Z" }, signature: "" };
  const body = { id: crypto.randomUUID(), device };
  await hand(row, row.document, { body, sending: row.document });
}"""
ARRIVED = """async (id) => (await import("/static/field/store.js")).change("visits", id, (row) => {
  const statement = { signed_at: "2026-03-14T10:05:00Z" };
  row.told.signatures = [{ id: crypto.randomUUID(), device: { statement }, at: "" }];
})"""
LAPSED = re.compile("changed after it was signed 14 Mar 2026.*counts no more")


@pytest.fixture(scope="module")
def telephone(stage, database_name, tmp_path_factory, cleared_afterwards):  # noqa: F811
    """One for all tests here, with its service: both take long to start."""
    folder = tmp_path_factory.mktemp("telephone")
    person = stage.cast().teo
    stage.station()
    running = Server(service_variables(database_name, folder), person.secret)
    with sync_playwright() as started:
        made = Phone(started, f"http://127.0.0.1:{running.port}", folder / "storage")
        yield made
        made.kill()
    running.stop()


@pytest.fixture
def away(telephone, stage, cast, station):
    """Wiped, come in, a station taken along without the rules, no signal."""
    with stage.blocker.unblock():
        telephone.offline(False)
        telephone.open()
        telephone.page.evaluate("async () => (await import('/static/field/store.js')).wipe()")
        telephone.come_in(cast.teo.secret)
        telephone.take_packs(station.site)
        telephone.offline()
        yield telephone
        telephone.context.unroute_all(behavior="ignoreErrors")
        assert telephone.errors == []


def states(phone):
    return [item["state"] for item in phone.rows("queue")]


def handed(away, station, number=1, photograph=None, **more):
    return away.page.evaluate(HAND, [entry(station) | more, number, photograph])


def kept_by(cast, identity):
    return Api(cast.teo).get(f"/events/{identity}").status


@pytest.mark.parametrize(
    "answer",
    [
        {"status": 200, "json": {"welcome": "to this network"}},
        {"status": 204},
        {"status": 200, "body": "<title>Log in</title>", "content_type": "text/html"},
        {"status": 403, "body": "<title>Log in</title>", "content_type": "text/html"},
    ],
    ids=["other JSON", "nothing", "page", "refusing page"],
)
def test_a_network_that_answers_for_the_service_takes_nothing_off_the_device(
    away, cast, station, answer
):
    [identity] = handed(away, station)
    away.offline(False)
    away.context.route(EVENTS, lambda route: route.fulfill(**answer))
    away.send()
    assert states(away) == ["waiting"]
    assert away.rows("visits")[0]["sent"] is None
    away.context.unroute_all()
    away.send()
    assert kept_by(cast, identity) == 200


def test_a_redirect_to_a_login_page_is_no_answer(away, cast, station):
    [identity] = handed(away, station)
    away.offline(False)
    away.context.route(
        EVENTS, lambda route: route.fulfill(status=302, headers={"Location": "/sign-in"})
    )
    away.send()
    assert states(away) == ["waiting"]
    away.context.unroute_all()
    away.send()
    assert kept_by(cast, identity) == 200


@pytest.mark.parametrize("status", [404, 409, 410, 413, 422])
def test_what_is_refused_keeps_no_other_visit_back(away, cast, station, status):
    """A station that is gone, a document too large for a proxy: told, and the rest goes on."""
    first, second = handed(away, station, 2)

    def sometimes(route):
        body = route.request.post_data or ""
        if first in body or first in route.request.url:
            route.fulfill(
                status=status, body="" if status == 413 else json.dumps({"title": "Gone"})
            )
        else:
            route.continue_()

    away.offline(False)
    away.context.route(EVENTS, sometimes)
    away.send()
    assert states(away) == ["refused"]
    assert "Refused" in away.page.inner_text(".cards")
    assert kept_by(cast, second) == 200
    away.context.unroute_all()
    away.page.get_by_role("button", name="Send it again").click()
    away.page.get_by_text(SENT).wait_for()
    assert kept_by(cast, first) == 200


def test_an_error_of_the_service_over_one_visit_keeps_no_other_back(away, cast, station):
    first, second = handed(away, station, 2)
    away.offline(False)

    def broken(route):
        if first in (route.request.post_data or ""):
            route.fulfill(status=500)
        else:
            route.continue_()

    away.context.route(EVENTS, broken)
    away.send()
    assert states(away) == ["waiting"]
    assert kept_by(cast, second) == 200


def test_a_file_that_is_refused_keeps_no_entry_back_and_can_be_left_out(away, cast, station):
    [identity] = handed(away, station, photograph="bm8gcGljdHVyZQA=")  # no picture, no text
    away.page.evaluate(AGAIN, [identity, {"weather": "rain"}])
    away.offline(False)
    away.send()
    assert states(away) == ["refused"]
    assert Api(cast.teo).get(f"/events/{identity}").json["weather"] == "rain"
    away.page.get_by_role("button", name="Leave it out").click()
    away.page.get_by_text(SENT).wait_for()


def test_handed_over_again_while_the_first_is_on_its_way_is_no_conflict(away, cast, station):
    """What was noted of the answer must not be written over by who hands over meanwhile."""
    [identity] = handed(away, station)
    away.offline(False)
    away.page.evaluate(
        """async (id) => {
          const { flush } = await import("/static/field/queue.js");
          const { get } = await import("/static/field/store.js");
          const { hand } = await import("/static/field/queue.js");
          const before = await get("visits", id);  // as a screen holds it
          await flush(true);
          await hand(before, { ...before.document, weather: "rain" });
          await flush(true);
        }""",
        identity,
    )
    assert states(away) == []
    assert Api(cast.teo).get(f"/events/{identity}").json["weather"] == "rain"


def test_theirs_kept_means_that_nothing_of_ours_goes_over_it_later(away, cast, station):
    [identity] = handed(away, station)
    away.offline(False)
    away.send()
    office = Api(cast.orla)
    event = office.get(f"/events/{identity}")
    office.patch(f"/events/{identity}", {"weather": "rain"}, event.etag)
    away.offline()
    for weather in ("sun", "wind"):
        away.page.evaluate(AGAIN, [identity, {"weather": weather}])
    away.offline(False)
    away.send()
    away.page.get_by_role("button", name="Keep theirs").click()
    away.page.get_by_text(SENT).wait_for()
    away.send()
    assert office.get(f"/events/{identity}").json["weather"] == "rain"
    away.open(f"/visits/{identity}/found")
    aside = away.page.locator("details", has_text="What you put aside")
    aside.locator("summary").click()
    assert "wind" in aside.inner_text()


def test_what_two_people_entered_in_different_places_is_joined(away, cast, station):
    [identity] = handed(away, station)
    away.offline(False)
    away.send()
    office = Api(cast.orla)
    event = office.get(f"/events/{identity}")
    office.patch(f"/events/{identity}", {"permit_reference": "P 7"}, event.etag)
    away.page.evaluate(AGAIN, [identity, {"weather": "sun"}])
    away.send()
    assert states(away) == []
    kept = office.get(f"/events/{identity}").json
    assert (kept["permit_reference"], kept["weather"]) == ("P 7", "sun")


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


def test_a_full_device_still_sends(away, cast, station):
    [identity] = handed(away, station)
    away.page.evaluate(FULL)
    away.offline(False)
    away.page.evaluate("async () => (await import('/static/field/queue.js')).flush(true)")
    assert kept_by(cast, identity) == 200
    assert states(away) == ["waiting"]  # its answer could not be noted: it goes out again
    away.page.evaluate("emptied()")
    away.send()
    assert states(away) == []


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


def test_whoever_comes_in_anew_signs_with_a_key_of_that_time(away, cast):
    away.page.evaluate(
        """async () => (await import("/static/field/store.js")).keepAll(
          { refusedToken: true, signingKey: { known: true, jwk: { kid: "of before" } } })"""
    )
    away.offline(False)
    away.open("/device")
    away.page.fill("#code", make_code(cast.teo, cast.teo, signs=True).text)
    away.page.fill("#device-name", "Blue telephone")
    away.page.get_by_role("button", name="Come in").click()
    away.page.get_by_role("heading", name="Visits on this device").wait_for()
    away.open("/device")
    kept = {row["name"]: row["value"] for row in away.rows("kept")}
    assert (kept["me"]["name"], kept["deviceName"]) == ("Teo", "Blue telephone")
    assert kept["refusedToken"] is False
    assert kept["token"] != cast.teo.secret
    assert kept["signingKey"]["jwk"]["kid"] != "of before"


def test_two_windows_on_one_visit_lose_nothing_of_each_other(away, station):
    identity = away.begin(station.site, station.pump_set)
    other = away.context.new_page()
    other.goto(f"{away.service}/field/#/visits/{identity}/rest")
    other.wait_for_selector(".verdict")
    away.section("before")
    away.enter("Weather", "rain")
    other.locator("textarea").first.fill("from the other window")
    other.locator(".kept", has_text=KEPT).wait_for()
    document = away.rows("visits")[0]["document"]
    assert (document["weather"], document["remarks"]) == ("rain", "from the other window")


def test_a_change_that_ends_a_signature_before_it_is_sent_says_so(away, station):
    [identity] = handed(away, station)
    away.page.evaluate(SIGN, identity)
    away.open(f"/visits/{identity}/rest")
    assert away.page.inner_text(".signed") == ""
    away.page.evaluate(AGAIN, [identity, {"weather": "rain"}])
    assert "signature" not in {item["kind"] for item in away.rows("queue")}
    away.page.locator(".signed", has_text=LAPSED).wait_for()
    away.page.evaluate(SIGN, identity)
    away.page.locator(".signed", has_text=re.compile("^$")).wait_for(state="attached")


def test_a_change_that_ends_a_signature_at_the_service_says_so(away, station):
    [identity] = handed(away, station)
    away.offline(False)
    away.send()
    away.page.evaluate(ARRIVED, identity)
    away.page.evaluate(AGAIN, [identity, {"weather": "rain"}])
    away.send()
    away.open(f"/visits/{identity}/rest")
    away.page.locator(".signed", has_text=LAPSED).wait_for()


def test_a_signature_waits_for_a_file_that_got_no_answer(away, station):
    [identity] = handed(away, station, photograph="bm8gcGljdHVyZQA=")
    away.page.evaluate(SIGN, identity)
    away.offline(False)
    away.context.route(re.compile("/attachments"), lambda route: route.fulfill(status=500))
    away.send()
    file, signature = away.rows("queue")
    assert file["tries"] > 0
    assert (signature["kind"], signature["state"], signature["tries"]) == (
        "signature",
        "waiting",
        0,
    )


def test_a_refused_value_is_told_at_its_entry(away, station):
    identity = away.begin(station.site, station.pump_set)
    away.page.evaluate(AGAIN, [identity, {"hours_run": q("12", "bar")}])
    away.offline(False)
    away.send()
    away.open(f"/visits/{identity}/before")
    away.entry("Hours run").locator(".finding.stop").first.wait_for()


def test_a_comma_before_three_digits_is_not_guessed_at(away, station):
    away.begin(station.site, station.pump_set)
    away.section("as_left")
    away.enter("Motor speed", "1,750", "rpm")
    away.enter("Motor power", "7,5", "kW")
    away.page.locator(".kept", has_text=KEPT).wait_for()
    left = away.rows("visits")[0]["document"]["settings"]["as_left"]
    assert left["motor_speed"]["value"] == "1,750"
    assert left["motor_power"]["value"] == "7.5"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "empty"),
        ("{}\n", "no saved file"),
        ('{"stationbook_field": 1}\n{"visit": {"id"', "cut short"),
        ('{"stationbook_field": 1}\n{"plan": 7}\n', "none that a field sheet writes"),
    ],
)
def test_a_file_that_is_no_saved_queue_is_told(away, text, words):
    with pytest.raises(Exception, match=words):
        away.page.evaluate(IMPORT, text)


def test_a_file_saved_before_it_was_sent_does_not_put_back_what_came_later(away, cast, station):
    [identity] = handed(away, station)
    save = "async () => (await (await import('/static/field/saved.js')).exported()).text()"
    text = away.page.evaluate(save)
    away.offline(False)
    away.send()
    away.page.evaluate(AGAIN, [identity, {"weather": "rain"}])
    away.send()
    assert away.page.evaluate(IMPORT, text) == {"visit": 0, "file": 0, "queue": 0}
    away.send()
    assert Api(cast.teo).get(f"/events/{identity}").json["weather"] == "rain"
