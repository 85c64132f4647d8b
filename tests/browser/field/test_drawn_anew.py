"""Screens tell what is so by now, also what changes while they are open."""

import re

from playwright.sync_api import expect

from tests.browser.field.away import AGAIN
from tests.browser.field.one_telephone import (  # noqa: F401
    cleared_afterwards,
    handed,
    started,
    wiped,
)
from tests.browser.field.test_background import PHOTOGRAPH
from tests.browser.field.test_drafts import line_of
from tests.browser.field.test_screens import DRAWN
from tests.records import visits
from tests.records.client import Api

FLUSH = "async () => (await import('/static/field/queue.js')).flush(true)"


def test_what_goes_out_is_told_in_the_list_of_visits_that_is_open(away, station):
    handed(away, station)
    away.open("/")
    line = away.page.locator(".cards li").first
    expect(line).to_contain_text("not sent yet")
    away.offline(False)
    away.page.evaluate(FLUSH)
    expect(line).not_to_contain_text("not sent yet")
    expect(line).to_contain_text("sent")


def test_a_photograph_that_goes_out_is_told_where_it_is_looked_at(away, station):
    identity = away.begin(station.site, station.pump_set)
    away.section("files")
    away.page.set_input_files("#chosen", PHOTOGRAPH)
    file = away.page.locator(".files li")
    expect(file).to_contain_text("not handed over yet")
    away.page.evaluate(AGAIN, [identity, {"weather": "rain"}])
    expect(file).to_contain_text("not sent yet")
    away.offline(False)
    away.page.evaluate(FLUSH)
    expect(file).to_have_text(re.compile("kB, sent$"))


def test_a_draft_that_comes_late_does_not_lead_away_from_where_somebody_is_by_then(
    away, cast, station
):
    draft = visits.post(Api(cast.teo), station)
    away.offline(False)
    held = []
    away.context.route(
        re.compile(f"/api/v1/events/{draft['id']}$"), lambda route: held.append(route)
    )
    line = line_of(away, station, draft)
    with away.page.expect_request(re.compile(f"/events/{draft['id']}$")):
        line.get_by_role("button", name="Open it here").click()
    away.page.get_by_role("link", name="Device", exact=True).click()
    there = away.page.get_by_role("heading", name="This device")
    expect(there).to_be_visible()
    with away.page.expect_response(re.compile(f"/events/{draft['id']}/traces")):
        held[0].continue_()
    while not away.rows("visits"):
        away.page.wait_for_timeout(50)
    away.page.evaluate(DRAWN)
    expect(there).to_be_visible()
    assert away.page.url.endswith("#/device")
