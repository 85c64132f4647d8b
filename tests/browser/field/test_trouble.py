"""What stands in the way is told, keeps nothing else back, and loses nothing."""

import json
import re

import pytest
from playwright.sync_api import expect

from tests.browser.field.away import AGAIN, FULL, IMPORT
from tests.browser.field.one_telephone import (  # noqa: F401
    cleared_afterwards,
    handed,
    kept_by,
    started,
    states,
    wiped,
)
from tests.calculations.building_plates import q
from tests.records.client import Api
from tests.records.enrolling import make_code

SENT = "Nothing: everything that was handed over is sent."
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


@pytest.fixture(autouse=True, scope="module")
def by_the_sheet_alone(telephone):
    """What the browser itself wakes when there is signal goes past what is put in its way here."""
    telephone.context.add_init_script("delete globalThis.ServiceWorkerRegistration?.prototype.sync")


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
    away.context.route(EVENTS, lambda route: route.fulfill(**answer))
    away.offline(False)
    away.send()
    assert states(away) == ["waiting"]
    assert away.rows("visits")[0]["sent"] is None
    away.context.unroute_all()
    away.send()
    assert kept_by(cast, identity) == 200


def test_a_redirect_to_a_login_page_is_no_answer(away, cast, station):
    [identity] = handed(away, station)
    away.context.route(
        EVENTS, lambda route: route.fulfill(status=302, headers={"Location": "/sign-in"})
    )
    away.offline(False)
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

    away.context.route(EVENTS, sometimes)
    away.offline(False)
    away.send()
    assert states(away) == ["refused"]
    expect(away.page.locator(".cards")).to_contain_text("Refused")
    assert kept_by(cast, second) == 200
    away.context.unroute_all()
    away.page.get_by_role("button", name="Send it again").click()
    away.page.get_by_text(SENT).wait_for()
    assert kept_by(cast, first) == 200


def test_an_error_of_the_service_over_one_visit_keeps_no_other_back(away, cast, station):
    first, second = handed(away, station, 2)

    def broken(route):
        if first in (route.request.post_data or ""):
            route.fulfill(status=500)
        else:
            route.continue_()

    away.context.route(EVENTS, broken)
    away.offline(False)
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


@pytest.mark.parametrize("also", [{}, {"remarks": "of the office"}], ids=["joined", "and changed"])
def test_what_was_joined_and_got_no_answer_is_known_again(away, cast, station, also):
    """Of two versions nothing is to be chosen: all that was changed here stands there already."""
    [identity] = handed(away, station)
    away.offline(False)
    away.send()
    office, path = Api(cast.orla), f"/events/{identity}"
    office.patch(path, {"permit_reference": "P 7"}, office.get(path).etag)
    patches = []

    def second_answer_is_lost(route):
        if route.request.method == "PATCH":
            patches.append(route.request.headers["if-match"])
            if len(patches) == 2:  # the first is of the version before
                route.fetch()
                if also:
                    office.patch(path, also, office.get(path).etag)
                return route.abort("connectionreset")
        return route.continue_()

    away.context.route(EVENTS, second_answer_is_lost)
    away.page.evaluate(AGAIN, [identity, {"weather": "sun"}])
    away.send()
    away.context.unroute(EVENTS, second_answer_is_lost)
    away.send()
    assert len(patches) >= 2
    assert states(away) == []
    kept = office.get(path).json
    assert kept["revision"] == 3 + bool(also)
    assert (kept["permit_reference"], kept["weather"]) == ("P 7", "sun")
    assert kept["remarks"] == also.get("remarks", kept["remarks"])


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


def test_whoever_comes_in_anew_signs_with_a_key_of_that_time(away, cast):
    away.page.evaluate(
        """async () => (await import("/static/field/store.js")).keepAll(
          { refusedToken: true, signingKey: { known: true, jwk: { kid: "of before" } } })"""
    )
    away.offline(False)
    away.open("/device")
    away.page.fill("#code", make_code(cast.teo, cast.teo, signs=True).text)
    away.page.fill("#device-name", "Blue telephone")
    asked = []
    away.page.on("request", lambda each: asked.append(each.url.rsplit("/", 1)[1]))
    away.page.get_by_role("button", name="Come in").dblclick()  # once counts
    away.page.get_by_role("heading", name="Visits on this device").wait_for()
    assert asked.count("enrolments") == 1
    away.open("/device")
    kept = {row["name"]: row["value"] for row in away.rows("kept")}
    assert (kept["me"]["name"], kept["deviceName"]) == ("Teo", "Blue telephone")
    assert kept["refusedToken"] is False
    assert kept["token"] != cast.teo.secret
    assert kept["signingKey"]["jwk"]["kid"] != "of before"


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
    told = away.page.locator(".signed", has_text=LAPSED)
    told.wait_for()
    assert told.count() == 1


def test_a_signature_waits_for_a_file_that_got_no_answer(away, station):
    [identity] = handed(away, station, photograph="bm8gcGljdHVyZQA=")
    away.page.evaluate(SIGN, identity)
    away.context.route(re.compile("/attachments"), lambda route: route.fulfill(status=500))
    away.offline(False)
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
    told = away.entry("Hours run").locator(".finding.stop").first
    told.wait_for()
    assert "bar is a unit of pressure" in told.inner_text()


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
