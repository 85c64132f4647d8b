"""Every screen: no violation that axe finds, nothing wider than a telephone, targets for gloves."""

import os
import re
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from tests.browser.field.phone import HEIGHT, WIDTH

SECTIONS = (
    "before", "plates", "as_found", "as_left", "checks", "electrical", "readings", "sensors",
    "protections", "files", "traces", "rest", "found",
)  # fmt: skip
EMPTY = re.compile(r"\b(null|undefined|NaN)\b|\[object")  # what a script says of nothing
FIRST_SCREEN = 1.0  # s, from the device's own copy
SMALL = """() => [...document.querySelectorAll("button, select, input:not([type=checkbox], \
[type=radio], [type=file]), summary, .button, nav a")].filter((each) => {
  const { height, width } = each.getBoundingClientRect();
  return width && height < 47.5;
}).map((each) => each.outerHTML.slice(0, 120))"""
SHOWN = """() => new Promise((done) => {
  const look = () => (document.querySelector("main .screen h1")
    ? done(performance.now() / 1000) : requestAnimationFrame(look));
  look();
})"""

OPEN = "() => document.querySelectorAll('details').forEach((each) => { each.open = true; })"
LISTS = """() => [...document.querySelectorAll("section.group[data-at]")].filter((each) =>
  each.querySelector(":scope > .add:enabled")).map((each) => each.dataset.at)"""
OTHER_PLATE = "The plate says something else"
AS_FOUND = "As found, wherever nothing is entered"

# What is there by now is on the screen.
DRAWN = "() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))"


def assert_good(phone, where):
    expect(phone.page.get_by_text(re.compile("^Asking "))).to_have_count(0)
    phone.page.evaluate(DRAWN)
    said = phone.page.inner_text("body")
    assert not EMPTY.search(said), where
    assert "could not be applied" not in said, where
    for scheme in ("light", "dark"):
        phone.page.emulate_media(color_scheme=scheme)
        found = Axe().run(phone.page)
        told = [
            (each["id"], each["nodes"][0]["html"][:200]) for each in found.response["violations"]
        ]
        assert told == [], (where, scheme)
        _picture(phone, f"{where}-{scheme}")
    phone.page.emulate_media(color_scheme="light")
    assert phone.page.evaluate("document.documentElement.scrollWidth") <= WIDTH, where
    assert phone.page.evaluate(SMALL) == [], where
    phone.page.set_viewport_size({"width": 1280, "height": 800})
    assert phone.page.evaluate("document.documentElement.scrollWidth") <= 1280, where
    _picture(phone, f"{where}-large")
    phone.page.set_viewport_size({"width": WIDTH, "height": HEIGHT})


def _picture(phone, name):
    if folder := os.environ.get("BROWSER_PICTURES"):
        path = Path(folder) / f"field-{name.strip('/').replace('/', '-') or 'home'}.png"
        phone.page.screenshot(path=path, full_page=True)


def _unfold(phone):
    """Everything that a section can show, one of each.

    Each by its name: whatever is added draws its list anew, so that no position lasts.
    """
    page = phone.page
    other_plate = page.get_by_role("button", name=OTHER_PLATE)
    while other_plate.count():
        other_plate.first.click()
    as_found = page.get_by_role("button", name=AS_FOUND)
    if as_found.count() and as_found.is_enabled():
        as_found.click()
    added = set()
    while left := [place for place in _opened_lists(page) if place not in added]:
        adding = page.locator(f'section.group[data-at="{left[0]}"] > .add')
        if adding.evaluate("each => each.tagName") == "SELECT":
            adding.select_option(index=1)
        else:
            adding.click()
        added.add(left[0])


def _opened_lists(page):
    """Places of all lists to which something can be added, with every fold open."""
    page.evaluate(OPEN)
    return page.evaluate(LISTS)


@pytest.mark.slow
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
        assert_good(phone, place.replace(station.site, "site"))
    phone.begin(station.site, station.pump_set)
    phone.section("as_left")
    phone.enter("Motor frequency", "50", "Hz")
    phone.enter("Motor voltage", "460", "V")
    phone.wait_for_verdict()
    for section in SECTIONS:
        phone.section(section)
        _unfold(phone)
        assert_good(phone, section)
    phone.offline()
    phone.hand_over()
    phone.open("/not-sent")
    assert_good(phone, "waiting")


@pytest.mark.slow
def test_the_first_screen_comes_from_the_device_within_a_second(phone, cast, station):
    """The best of five: other work on the machine is not the sheet's."""
    phone.come_in(cast.teo.secret)
    phone.take_packs(station.site)
    phone.offline()
    took = []
    for _ in range(5):
        phone.open()
        took.append(phone.page.evaluate(SHOWN))
    assert min(took) <= FIRST_SCREEN
