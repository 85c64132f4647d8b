"""Every page in a browser: no violation that axe knows, and nothing that does not fit."""

import os
import re
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.browser.looking import OVERLAPPING, TOO_WIDE, faults

# For whom, and what the page begins with.
PAGES = (
    ("orla", "/"), ("orla", "/?show=attention"), ("orla", "/?q=nothing+like+it"),
    ("cleo", "/"), ("orla", "/map"), ("cleo", "/map"),
    ("orla", "/visits"), ("teo", "/visits?waits=seal"),
    ("orla", "/search"), ("orla", "/search?q=P-10"), ("cleo", "/search?q=B-01"),
    ("orla", "/stations/{site}"), ("cleo", "/stations/{site}"),
    ("orla", "/events/{draft}"), ("teo", "/events/{draft}"), ("orla", "/events/{event}"),
    ("orla", "/records/{record}"), ("cleo", "/records/{record}"),
    ("orla", "/due"), ("orla", "/due?state=all"), ("cleo", "/due"), ("orla", "/audit"),
    ("orla", "/limits"), ("orla", "/limits/{client}"),
    ("orla", "/limits/{client}/trace.overshoot/share"),
    ("orla", "/tokens"), ("cleo", "/tokens"), ("orla", "/people"), ("orla", "/people/{member}"),
    ("orla", "/rules"), ("orla", "/register"), ("orla", "/stations/{site}/register"),
    ("orla", "/stations/{site}/register/motors"), ("orla", "/register/sites/new"),
    ("orla", "/register/clients/new"), ("orla", "/register/clients/{client}"),
    ("orla", "/instruments"), ("orla", "/import"),
    ("orla", "/stations/{site}/register/pumps"), ("orla", "/stations/{site}/register/drives"),
    ("orla", "/stations/{site}/register/sensors"), ("orla", "/stations/{site}/register/pump-sets"),
    ("orla", "/register/sites/{site}"), ("orla", "/register/pumps/{pump}"),
    ("orla", "/register/pumps/{pump}/replace"), ("orla", "/register/pumps/{pump}/end"),
    ("orla", "/pump-sets/{pump_set}/trends"), ("cleo", "/sensors/{sensor}/trends"),
    ("orla", "/reports"), ("cleo", "/reports"), ("orla", "/calendars"), ("cleo", "/calendars"),
    ("orla", "/intervals/{client}/vibration"), ("orla", "/verify"), ("cleo", "/verify"),
    ("orla", "/second-factor"), ("orla", "/problems/not-found"),
    ("orla", "/stations/00000000-0000-0000-0000-000000000000"), ("cleo", "/people"),
    ("orla", "/nowhere"), (None, "/sign-in"), (None, "/password/forgotten"),
)  # fmt: skip
NARROW, WIDE = {"width": 360, "height": 740}, {"width": 1920, "height": 1080}


@pytest.fixture(scope="module")
def named(world):
    """What stands in the paths."""
    side = world.own
    return {
        "site": side.station.site, "draft": side.draft, "event": side.sealed_event,
        "record": side.record, "client": side.client, "member": side.member,
        "pump": side.station.ids["P-101"], "sensor": side.station.ids["PT-101"],
        "pump_set": side.station.pump_set,
    }  # fmt: skip


def picture(page, name):
    """Kept to be looked at, where somebody wants to."""
    folder = os.environ.get("BROWSER_PICTURES")
    if folder:
        page.screenshot(path=Path(folder) / f"{name}.png", full_page=True)


@pytest.mark.parametrize(("name", "path"), PAGES)
def test_a_page_is_for_everybody_and_fits(enter, stage, named, name, path):
    person = getattr(stage.cast(), name) if name else None
    where = path.format(**named)
    word = f"{name}-{re.sub('[^a-z0-9]+', '-', path)}"
    page = enter(person, where, viewport=WIDE, color_scheme="light")
    problems = []
    page.on("pageerror", lambda error: problems.append(str(error)))
    page.on("console", lambda said: said.type == "error" and problems.append(said.text))
    page.reload()
    assert page.locator("h1").count() == 1
    assert faults(page) == []
    assert page.evaluate(TOO_WIDE) == []
    assert page.evaluate(OVERLAPPING) == []
    picture(page, f"{word}-wide")
    page.emulate_media(color_scheme="dark")
    assert faults(page) == []
    picture(page, f"{word}-dark")
    page.set_viewport_size(NARROW)
    assert faults(page) == []
    assert page.evaluate(TOO_WIDE) == []
    assert page.evaluate(OVERLAPPING) == []
    page.emulate_media(color_scheme="light")
    picture(page, f"{word}-narrow")
    own = [each for each in problems if "status of 40" not in each]
    assert own == []


def test_examples_of_rules_are_for_everybody_and_fit(enter, stage):
    page = enter(stage.cast().teo, "/rules?all=", viewport=WIDE)
    example = page.locator("#curve\\.shape + .example details")
    expect(example.get_by_text("would agree: 251.5 ft")).not_to_be_visible()
    example.locator("summary").click()
    expect(example.get_by_text("would agree: 251.5 ft")).to_be_visible()
    page.evaluate(
        "for (const each of document.querySelectorAll('.example details')) each.open = true"
    )
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        page.set_viewport_size(WIDE)
        assert faults(page) == []
        picture(page, f"examples-{scheme}")
        page.set_viewport_size(NARROW)
        assert faults(page) == []
        assert page.evaluate(TOO_WIDE) == []
        assert page.evaluate(OVERLAPPING) == []
    picture(page, "examples-narrow")


def test_rules_are_no_long_page_on_a_telephone(enter, stage):
    """Closed, and with the longest group open: what takes a hundred screens is not read."""
    page = enter(stage.cast().teo, "/rules", viewport=NARROW)
    height = "document.documentElement.scrollHeight"
    assert page.evaluate(height) < 5_000
    rule = page.locator("#drive\\.missing")
    expect(rule).not_to_be_visible()
    page.locator("#drive > summary").click()
    expect(rule).to_be_visible()
    assert page.evaluate(height) < 20_000
    assert page.evaluate(TOO_WIDE) == []


def test_on_paper_rules_stand_with_the_examples_that_are_open(enter, stage):
    page = enter(stage.cast().orla, "/rules", viewport=WIDE)
    page.emulate_media(media="print")
    examples = page.locator(".example:visible")
    expect(examples).to_have_count(0)
    expect(page.locator("#curve\\.shape")).to_be_visible()  # though its group is closed
    page.goto("/rules?rule=motor.power-balance#motor.power-balance")
    page.emulate_media(media="print")
    expect(examples).to_have_count(1)
    expect(examples).to_contain_text("Two digits of the plate’s current are swapped.")
    picture(page, "rules-printed")


def test_on_paper_lists_stay_and_what_leads_to_files_does_not(enter, stage, named):
    page = enter(stage.cast().orla, "/register", viewport=WIDE)
    page.emulate_media(media="print")
    expect(page.locator(".take").first).to_be_visible()
    page.goto(f"/records/{named['record']}")
    page.emulate_media(media="print")
    expect(page.locator(".files")).to_have_count(1)
    expect(page.locator(".files")).to_be_hidden()


def test_a_finding_leads_to_its_rule_where_it_is_read(enter, stage, named):
    page = enter(stage.cast().orla, f"/events/{named['draft']}", viewport=NARROW)
    page.get_by_role("link", name=re.compile("^What this rule holds")).first.click()
    opened = page.locator(".example details[open]")
    expect(opened).to_be_in_viewport()
    expect(page.locator("tr:target")).to_be_in_viewport()
    assert faults(page) == []
    picture(page, "rule-of-a-finding")


# As a station has them whose tasks and pieces are more than a page holds.
TWO_PARTS = """() => {
    const paging = (words) => `<nav class="paging"><p>${words}</p></nav>`;
    document.querySelector(".first-few").insertAdjacentHTML("afterend", paging("of tasks"));
    document.getElementById("in-service").insertAdjacentHTML("afterend", paging("of pieces"));
}"""


def test_on_a_telephone_what_is_in_service_comes_soon(enter, stage, named):
    page = enter(stage.cast().orla, f"/stations/{named['site']}", viewport=WIDE)
    due = page.locator("table[aria-labelledby=due] tbody tr")
    total = due.count()
    assert total > 5
    expect(page.locator("table[aria-labelledby=due] tbody tr:visible")).to_have_count(total)
    expect(page.get_by_text("The first five stand here.")).to_be_hidden()
    page.set_viewport_size(NARROW)
    expect(page.locator("table[aria-labelledby=due] tbody tr:visible")).to_have_count(5)
    expect(page.get_by_text("The first five stand here.")).to_be_visible()
    assert faults(page) == []
    page.get_by_role("link", name="In service").click()
    expect(page.get_by_role("heading", name="In service")).to_be_in_viewport()
    page.evaluate(TWO_PARTS)
    expect(page.locator("nav.paging:visible")).to_have_text(["of pieces"])


def test_what_begins_a_replacement_is_for_everybody_and_leads_back(enter, stage, named):
    page = enter(stage.cast().teo, f"/records/{named['record']}", viewport=WIDE)
    page.locator("#replace > summary").click()
    reason = page.get_by_label("What is wrong in it, and why it is replaced")
    reason.fill(" ")
    page.get_by_role("button", name="Begin the replacement").click()
    expect(page.get_by_role("alert")).to_contain_text("Nothing was changed.")
    expect(reason).to_be_visible()  # opened, with the words beside it
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        page.set_viewport_size(WIDE)
        assert faults(page) == []
        page.set_viewport_size(NARROW)
        assert faults(page) == []
        assert page.evaluate(TOO_WIDE) == []
        assert page.evaluate(OVERLAPPING) == []
        picture(page, f"replacing-{scheme}")
    reason.fill("The clamp meter had been set to the other range.")
    page.get_by_role("button", name="Begin the replacement").click()
    expect(page.get_by_text(re.compile("^Sealed, it replaces record"))).to_be_visible()
    picture(page, "replacing-draft")
    page.goto(f"/records/{named['record']}")
    expect(page.get_by_role("link", name="to the draft")).to_be_visible()
    picture(page, "replacing-begun")
