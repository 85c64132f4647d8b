"""Every screen: no violation that axe finds, nothing wider than a telephone, targets for gloves."""

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.browser.field.phone import WIDTH

pytestmark = pytest.mark.browser

SECTIONS = (
    "before", "plates", "as_found", "as_left", "checks", "electrical", "readings", "sensors",
    "protections", "files", "traces", "rest", "found",
)  # fmt: skip
SMALL = """() => [...document.querySelectorAll("button, select, input:not([type=checkbox], \
[type=radio], [type=file]), summary, .button, nav a")].filter((each) => {
  const { height, width } = each.getBoundingClientRect();
  return width && height < 47.5;
}).map((each) => each.outerHTML.slice(0, 120))"""


def assert_good(phone, where):
    phone.page.wait_for_timeout(150)
    for scheme in ("light", "dark"):
        phone.page.emulate_media(color_scheme=scheme)
        found = Axe().run(phone.page)
        told = [
            (each["id"], each["nodes"][0]["html"][:200]) for each in found.response["violations"]
        ]
        assert told == [], (where, scheme)
    phone.page.emulate_media(color_scheme="light")
    assert phone.page.evaluate("document.documentElement.scrollWidth") <= WIDTH, where
    assert phone.page.evaluate(SMALL) == [], where


def test_every_screen_light_and_dark(phone, cast, station):
    phone.open()
    assert_good(phone, "coming in")
    phone.come_in(cast.teo.secret)
    phone.open("/stations")
    phone.page.wait_for_selector(".pick")
    assert_good(phone, "stations")
    phone.page.locator(".pick input").first.check()
    phone.page.get_by_role("button", name="Take along what is ticked").click()
    phone.page.get_by_text("All of it is on this device").wait_for()
    for place in ("/", "/device", "/not-sent", f"/begin/{station.site}"):
        phone.open(place)
        assert_good(phone, place)
    phone.begin(station.site, station.pump_set)
    phone.section("as_left")
    phone.enter("Motor frequency", "50", "Hz")
    phone.enter("Motor voltage", "460", "V")
    phone.wait_for_verdict()
    for section in SECTIONS:
        phone.section(section)
        for adding in phone.page.locator("button.add:enabled").all():
            adding.click()
        for fold in phone.page.locator("details:not([open]) > summary").all():
            if fold.is_visible():
                fold.click()
        assert_good(phone, section)
    phone.offline()
    phone.hand_over()
    phone.open("/not-sent")
    assert_good(phone, "not sent")
