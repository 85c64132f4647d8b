"""A page whose connection is gone says so, and keeps what was typed."""

import re

from playwright.sync_api import expect

from tests.browser.hands import press, reach, write

NAME = "Waterworks without a signal"


def test_a_form_waits_for_the_connection(enter, stage):
    page = enter(stage.cast().orla, "/register/clients/new")
    status = page.get_by_role("status")
    expect(status).to_have_count(0)
    page.context.set_offline(True)
    expect(status).to_contain_text("No connection")
    write(page, "Name", NAME)
    reach(page, page.get_by_role("button", name="Register the client"))
    page.keyboard.press("Enter")
    expect(status).to_contain_text("Not sent")
    assert page.get_by_label("Name").input_value() == NAME
    page.context.set_offline(False)
    expect(status).to_have_count(0)
    press(page, "Register the client")
    expect(page.get_by_text(NAME).first).to_be_visible()
    assert "/clients/new" not in page.url


def test_a_browser_that_is_wrong_keeps_nothing_back(enter, stage):
    """A service on the same machine is there without a network."""
    page = enter(stage.cast().orla, "/search")
    page.evaluate("Object.defineProperty(navigator, 'onLine', { get: () => false })")
    write(page, re.compile("^Station, tag"), "B-01")
    press(page, "Search")
    assert "q=" in page.url
