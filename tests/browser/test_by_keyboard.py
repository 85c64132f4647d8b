"""What people do here is done by keyboard alone: Tab, Enter, the space bar, and letters."""

import base64
import hashlib
import hmac
import re
import time
from urllib.parse import urlsplit

import pytest
from playwright.sync_api import expect

from tests.browser.hands import choose, press, reach, write
from tests.browser.looking import look
from tests.records import stations, visits
from tests.records.api.test_due import SIGNAL, again
from tests.records.client import Api, leave

NARROW = {"width": 360, "height": 740}
# Fields that stick out of the column of text.
BEYOND = """() => [...document.querySelectorAll("main :is(input, select, textarea, button)")]
  .filter((each) => each.getBoundingClientRect().right
                    > document.querySelector("main").getBoundingClientRect().right + 1)
  .map((each) => each.outerHTML.slice(0, 80))"""


def code(secret, ahead=0):
    """What an authenticator shows (RFC 6238: SHA-1, 30 s, six digits)."""
    key = base64.b32decode(secret + "=" * (-len(secret) % 8))
    count = int(time.time() // 30 + ahead).to_bytes(8)
    digest = hmac.new(key, count, hashlib.sha1).digest()
    at = digest[-1] & 15
    number = int.from_bytes(digest[at : at + 4]) & 0x7FFFFFFF
    return f"{number % 10**6:06}"


def test_signing_in_with_a_second_factor(enter, stage):
    tilda = stage.cast().tilda
    page = enter(None, "/sign-in")
    write(page, "User name or e-mail address", tilda.username)
    write(page, "Password", "correct horse")
    press(page, "Sign in")
    page.goto("/second-factor/app")
    secret = page.locator("code").inner_text()
    write(page, "Code that the app shows", code(secret))
    press(page, "Set it up")
    press(page, "Sign out")
    page.goto("/sign-in")
    write(page, "User name or e-mail address", tilda.username)
    write(page, "Password", "correct horse")
    press(page, "Sign in")
    expect(page).to_have_url(re.compile("/sign-in/code"))
    reach(page, page.locator("input[name=code]"))
    page.keyboard.type(code(secret, ahead=1))
    with page.expect_navigation():
        page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_contain_text("station")


def test_a_visit_is_answered_signed_and_sealed(enter, stage, world):
    page = signed_and_sealed(enter, stage, f"/events/{world.own.draft}")
    expect(page).to_have_url(re.compile("/records/"))


def signed_and_sealed(enter, stage, draft):
    """By two people, each at a browser of their own; the page of the record."""
    page = enter(stage.cast().teo, draft)
    press(page, "Sign as performed")
    expect(page.get_by_text("You have signed as performed")).to_be_visible()
    page = enter(stage.cast().orla, draft)
    while page.get_by_role("button", name="Accept with this answer").count():
        reach(page, page.locator("form", has=page.get_by_text("Accept with this answer"))
              .locator("textarea:visible"))  # fmt: skip
        page.keyboard.type("The plate was read again, and it is so.")
        press(page, "Accept with this answer")
    press(page, "Sign as reviewed")
    press(page, "Seal it")
    expect(page.get_by_role("heading", level=1)).to_contain_text("ecord")
    return page


def test_a_record_is_replaced_and_both_say_so(enter, stage, world):
    why = "The wrong instrument was named."
    page = enter(stage.cast().teo, f"/records/{world.own.record}", viewport=NARROW)
    reach(page, page.locator("summary", has_text="replace this record"))
    page.keyboard.press("Enter")
    write(page, "What is wrong in it, and why it is replaced", why)
    press(page, "Begin the replacement")
    expect(page).to_have_url(re.compile("/events/"))
    draft = urlsplit(page.url).path
    expect(page.get_by_text(f"Sealed, it replaces record 1. Reason: {why}")).to_be_visible()
    expect(page.get_by_role("link", name="the field sheet")).to_be_visible()
    page.goto(f"/records/{world.own.record}")
    press(page, "to the draft", role="link")
    expect(page).to_have_url(re.compile(f"{draft}$"))
    page = signed_and_sealed(enter, stage, draft)
    expect(page.get_by_text(why).first).to_be_visible()
    press(page, re.compile("^record 1$"), role="link")
    expect(page.get_by_text(re.compile("^Replaced by record"))).to_be_visible()


def test_whoever_reviews_finds_what_waits_for_a_second_person(enter, stage, world):
    with stage.blocker.unblock():
        teo, orla = Api(stage.cast().teo), Api(stage.cast().orla)
        draft = visits.post(teo, world.own.station)
        visits.answer_all(orla, draft)
        assert visits.sign(teo, draft, "performed").status == 201
        leave()
    page = enter(stage.cast().orla, "/", viewport=NARROW)
    press(page, re.compile("not sealed yet$"), role="link")
    choose(page, "Waiting for", "A second person")
    press(page, "Show")
    with page.expect_navigation():
        reach(page, page.locator(f"a[href='/events/{draft['id']}']"))
        page.keyboard.press("Enter")
    press(page, "Sign as reviewed")
    expect(page.get_by_role("heading", level=1)).to_contain_text("ready to be sealed")


def test_a_visit_that_should_not_be_there_is_withdrawn(enter, stage, world):
    with stage.blocker.unblock():
        draft = visits.post(Api(stage.cast().teo), world.own.station)
        leave()
    page = enter(stage.cast().teo, f"/events/{draft['id']}")
    reach(page, page.locator("summary", has_text="It should not be there"))
    page.keyboard.press("Enter")
    write(page, "Why it is withdrawn", "It was entered at the wrong station.")
    press(page, "Withdraw it")
    expect(page.get_by_role("heading", level=1)).to_contain_text("withdrawn")


def test_a_calendar_is_made_and_revoked(enter, stage, world):
    page = enter(stage.cast().cleo, "/calendars")
    write(page, "What it is for", "the foreman")
    press(page, "Make it")
    expect(page.get_by_text(".ics").first).to_be_visible()
    press(page, "Revoke the foreman")
    expect(page.get_by_text(re.compile("^revoked"))).to_be_visible()


def test_a_limit_is_set(enter, stage, world):
    page = enter(stage.cast().orla, f"/limits/{world.own.client}/trace.overshoot/share")
    write(page, re.compile("^Limit, "), "15")
    press(page, "Set it")  # a tighter one needs no reason
    expect(page.get_by_role("heading", level=1)).to_contain_text("15 %")
    write(page, re.compile("^Limit, "), "40")
    press(page, "Set it")
    expect(page.get_by_role("alert")).to_contain_text("needs a reason")
    write(page, re.compile("^Reason"), "The header is old.")
    press(page, "Set it")
    expect(page.get_by_text("The header is old.").first).to_be_visible()
    press(page, "Use it again")
    expect(page.get_by_role("heading", level=1)).to_contain_text("the catalogue’s own")


def test_somebody_is_invited_and_a_device_comes_and_goes(enter, stage):
    page = enter(stage.cast().orla, "/people")
    write(page, "Name", "Nella Quist")
    write(page, re.compile("to sign in with"), "nella@people.example")
    reach(page, page.locator("input[name=role]:checked"))
    page.keyboard.press("ArrowDown")
    press(page, "Invite")
    expect(page.get_by_text("Nella Quist").first).to_be_visible()
    page = enter(stage.cast().orla, "/tokens")
    write(page, "What it is for", "a script")
    reach(page, page.get_by_role("checkbox", name="post and change"))
    page.keyboard.press("Space")
    press(page, "Make it")
    secret = page.locator("code", has_text=re.compile("^stb_[^…]{20,}$")).inner_text()
    api = page.context.request
    asked = {"headers": {"Authorization": f"Bearer {secret}"}}
    assert api.get("/api/v1/me", **asked).status == 200
    press(page, re.compile("^Revoke a script"))
    expect(page.get_by_text(re.compile("^revoked"))).to_be_visible()
    assert api.get("/api/v1/me", **asked).status == 401  # the very next one
    page.goto("/tokens")
    press(page, "Show a code")
    expect(page.get_by_text(re.compile("^([A-Z0-9]{4}-){7}[A-Z0-9]{4}$"))).to_be_visible()
    page.goto("/people")
    press(page, "Teo", role="link")
    press(page, "Show a code")  # of a technician's device, by the office
    expect(page.get_by_text(re.compile("^([A-Z0-9]{4}-){7}[A-Z0-9]{4}$"))).to_be_visible()
    page.goto("/people")
    press(page, "Nella Quist", role="link")
    reach(page, page.locator("summary", has_text="End the membership"))
    page.keyboard.press("Enter")
    press(page, re.compile("^End "))
    expect(page.get_by_text("Nella Quist")).to_have_count(0)


def test_a_forgotten_password_is_asked_for(enter):
    page = enter(None, "/sign-in")
    press(page, "Password forgotten", role="link")
    write(page, "E-mail address", "nobody@people.example")
    press(page, "Mail the link")
    expect(page.get_by_role("heading", level=1)).to_have_text("A mail is on its way")


def test_stations_are_filtered_sorted_and_opened(enter, stage):
    page = enter(stage.cast().orla, "/")
    reach(page, page.get_by_label("Show"))
    page.keyboard.press("ArrowDown")
    press(page, "Show")
    expect(page).to_have_url(re.compile("show=attention"))
    page.goto("/map")
    reach(page, page.locator("svg a.point"))
    with page.expect_navigation():
        page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile("/stations/"))
    page.goto("/search")
    write(page, re.compile("^Station, tag"), "p-10")
    press(page, "Search")
    press(page, "P-101", role="link")
    expect(page).to_have_url(re.compile("/stations/.*#piece-"))


def test_the_first_step_leads_past_the_head_of_the_page(enter, stage):
    page = enter(stage.cast().orla, "/rules")
    page.keyboard.press("Tab")
    expect(page.get_by_text("To the content")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page).to_have_url(re.compile("#content"))


def test_values_are_read_out_of_a_figure_and_stand_in_its_table(enter, stage, world):
    page = enter(stage.cast().orla, f"/records/{world.own.record}")
    plot = page.locator("svg.plot").first
    plot.scroll_into_view_if_needed()
    box = plot.bounding_box()
    page.mouse.move(box["x"] + box["width"] * 0.6, box["y"] + box["height"] * 0.3)
    expect(page.locator(".read-out").first).to_have_text(re.compile(r"\d"))
    page.mouse.move(0, 0)
    expect(page.locator(".read-out").first).to_have_text("")


@pytest.mark.parametrize("scripts", [False, True])
def test_pages_need_no_script(enter, stage, world, scripts):
    page = enter(
        stage.cast().orla, f"/events/{world.own.sealed_event}", java_script_enabled=scripts
    )
    assert page.get_by_role("img").count() > 0
    page.goto("/")
    page.get_by_role("link", name=re.compile("^B-01")).first.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("B-01")


def test_a_map_on_a_telephone_begins_with_what_is_gravest(enter, stage, world):
    page = enter(stage.cast().orla, "/map", viewport=NARROW)
    point, box = page.locator("svg a.point").last, page.locator(".map .scroll")
    assert box.evaluate("each => each.scrollLeft") > 0
    inside, around = point.bounding_box(), box.bounding_box()
    assert around["x"] <= inside["x"]
    assert inside["x"] + inside["width"] <= around["x"] + around["width"]


def test_an_interval_and_a_client_are_entered(enter, stage, world):
    page = enter(stage.cast().orla, f"/intervals/{world.own.client}/vibration")
    write(page, re.compile("^Months"), "6")
    write(page, "Reason", "The header shakes.")
    press(page, "Set it")
    expect(page.get_by_text("The header shakes.").first).to_be_visible()
    page.goto("/register/clients/new")
    write(page, "Name", "Ferrow Water")
    press(page, "Register the client")
    expect(page.get_by_text("Ferrow Water")).to_be_visible()


def test_what_was_found_proposes_an_interval_and_that_is_accepted(enter, stage, world):
    with stage.blocker.unblock():
        found = again(world.own.station, "2026-09-14", SIGNAL)
        stations.seal(Api(stage.cast().teo), Api(stage.cast().orla), found)
        leave()
    page = enter(stage.cast().orla, "/due")
    choose(page, "Which", "Another interval")
    press(page, "Show")
    proposed = re.compile("^Read what is proposed Transmitter .* of PT-101")
    press(page, proposed, role="link")
    expect(page.get_by_text("12 months × 0.5 = 6 months")).to_be_visible()
    look(page)
    write(page, re.compile("^Reason besides"), "Agreed with the client.")
    press(page, re.compile("^Set 6 months for PT-101"))
    expect(page.get_by_text("Agreed with the client.").first).to_be_visible()
    page.goto("/due?state=proposed")
    expect(page.get_by_role("link", name=proposed)).to_have_count(0)


def test_very_long_words_fit_on_a_telephone(enter, stage):
    page = enter(stage.cast().orla, "/?q=" + "Wasserwerk" * 19, viewport=NARROW)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth + 1")
    page.goto("/register/clients/new")
    write(page, "Name", "Waterworks of the Lower Valley and its Eleven Villages " * 2)
    press(page, "Register the client")
    for path in ("/", "/map", "/due", "/calendars", "/reports", "/register/sites/new"):
        page.goto(path)
        assert page.evaluate(BEYOND) == [], path


def test_next_month_is_planned_and_a_report_asked_for(enter, stage, world):
    page = enter(stage.cast().orla, "/due")
    press(page, "All until the end of next month", role="link")
    expect(page).to_have_url(re.compile(r"due_by=\d{4}-\d\d-\d\d"))
    press(page, "Reports", role="link")
    reach(page, page.get_by_label(re.compile("^Day")))
    page.keyboard.type("11012026")
    press(page, "Ask for it")
    expect(page.get_by_text("waits to be made").first).to_be_visible()


def test_a_client_browses_takes_along_and_reads_how_to_check(enter, stage, world):
    page = enter(stage.cast().cleo, "/")
    press(page, re.compile("^B-01"), role="link")
    reach(page, page.get_by_role("link", name=re.compile("^the records$")))
    with page.expect_download() as bundle:
        page.keyboard.press("Enter")
    assert bundle.value.suggested_filename.endswith(".zip")
    press(page, re.compile("^Record 1$"), role="link")
    for name, ending in (("JSON", ".json"), ("XLSX", ".xlsx"), ("CSV", ".csv")):
        reach(page, page.get_by_role("link", name=name))
        with page.expect_download() as taken:
            page.keyboard.press("Enter")
        assert taken.value.suggested_filename.endswith(ending)
    page.goto("/")
    press(page, "Check records yourself", role="link")
    reach(page, page.get_by_role("link", name="The program, verify.py"))
    with page.expect_download() as program:
        page.keyboard.press("Enter")
    assert program.value.suggested_filename == "verify.py"
