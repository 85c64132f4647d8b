"""A page whose connection is gone says so, and keeps what was typed."""

import pytest
from playwright.sync_api import expect

from tests.browser.hands import press, reach, write

# What is there by now is on the screen.
DRAWN = "() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))"
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
    expect(status).to_contain_text("not sent yet")
    press(page, "Register the client")
    expect(page.get_by_text(NAME).first).to_be_visible()
    assert "/clients/new" not in page.url


def believes_to_be_alone(page):
    """What a browser says on a machine that has no network; returns once the service answered."""
    page.evaluate("Object.defineProperty(navigator, 'onLine', { get: () => false })")
    with page.expect_response("**/healthz") as answer:
        page.evaluate("dispatchEvent(new Event('offline'))")
    answer.value.finished()


def test_a_browser_that_is_wrong_alarms_nobody_and_keeps_nothing_back(enter, stage):
    """A service on the same machine is there without a network."""
    page = enter(stage.cast().orla, "/register/clients/new")
    believes_to_be_alone(page)
    expect(page.get_by_role("status")).to_have_count(0)
    write(page, "Name", "Waterworks on this machine")
    press(page, "Register the client")
    expect(page.get_by_text("Waterworks on this machine").first).to_be_visible()
    expect(page.get_by_role("status")).to_have_count(0)


@pytest.mark.parametrize(
    "instead",
    [
        {"status": 200, "content_type": "text/html", "body": "<p>Sign in to this network</p>"},
        {"status": 302, "headers": {"Location": "https://network.example/"}},
        {"status": 502, "body": "bad gateway"},
    ],
    ids=["another page", "led elsewhere", "a proxy alone"],
)
def test_an_answer_of_somebody_else_takes_no_form(enter, stage, instead):
    """There is a network, and the browser says so; what answers is not the service."""
    name = f"{NAME}, only {instead['status']}"
    page = enter(stage.cast().orla, "/register/clients/new")
    page.route("**/healthz", lambda route: route.fulfill(**instead))
    sent = []
    page.on("request", lambda request: sent.append(request.method))
    write(page, "Name", name)
    reach(page, page.get_by_role("button", name="Register the client"))
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_contain_text("Not sent")
    expect(page.get_by_label("Name")).to_have_value(name)
    assert "POST" not in sent
    page.unroute("**/healthz")
    # It looks again by itself, and does not let anybody believe that it was sent meanwhile.
    expect(page.get_by_role("status")).to_contain_text("not sent yet")
    press(page, "Register the client")
    expect(page.get_by_text(name).first).to_be_visible()


def test_a_form_pressed_twice_while_the_service_is_asked_is_sent_once(enter, stage):
    page = enter(stage.cast().orla, "/register/clients/new")
    held, sent = [], []
    page.route("**/healthz", lambda route: held.append(route))
    page.on("request", lambda request: request.method == "POST" and sent.append(request.url))
    write(page, "Name", "Waterworks pressed twice")
    reach(page, page.get_by_role("button", name="Register the client"))
    with page.expect_request("**/healthz"):
        page.keyboard.press("Enter")
    page.keyboard.press("Enter")
    expect(page.get_by_role("status")).to_contain_text("Waiting for the service")
    with page.expect_navigation():
        for each in held:
            each.continue_()
    expect(page.get_by_text("Waterworks pressed twice").first).to_be_visible()
    assert len(held) == 1
    assert len(sent) == 1


def test_a_connection_that_comes_and_goes_with_nothing_sent_leaves_no_word(enter, stage):
    page = enter(stage.cast().orla, "/register/clients/new")
    page.context.set_offline(True)
    expect(page.get_by_role("status")).to_contain_text("No connection")
    page.context.set_offline(False)
    expect(page.get_by_role("status")).to_have_count(0)


def test_the_last_answer_before_a_network_goes_is_not_taken_for_a_connection(enter, stage):
    page = enter(stage.cast().orla, "/register/clients/new")
    answers = iter([lambda route: route.fulfill(body="ok")])
    page.route("**/healthz", lambda route: next(answers, lambda later: later.abort())(route))
    page.context.set_offline(True)
    expect(page.get_by_role("status")).to_contain_text("No connection")
    page.context.set_offline(False)


def test_a_look_that_fails_late_says_nothing_over_a_later_one(enter, stage):
    page = enter(stage.cast().orla, "/register/clients/new")
    held = []

    def first_held(route):
        if held:
            route.continue_()
        else:
            held.append(route)

    page.route("**/healthz", first_held)
    look = "dispatchEvent(new Event('offline'))"
    with page.expect_request("**/healthz"):
        page.evaluate(look)
    with page.expect_response("**/healthz") as answer:
        page.evaluate(look)
    answer.value.finished()
    with page.expect_event("requestfailed"):
        held[0].abort()
    page.evaluate(DRAWN)
    assert page.get_by_role("status").count() == 0  # not even until the next look


def test_a_browser_that_cannot_ask_sends_its_forms_all_the_same(enter, stage):
    page = enter(stage.cast().orla, "/rules")
    page.add_init_script(
        "delete AbortSignal.timeout; delete HTMLFormElement.prototype.requestSubmit"
    )
    page.goto("/register/clients/new")
    write(page, "Name", "Waterworks of an older browser")
    press(page, "Register the client")
    expect(page.get_by_text("Waterworks of an older browser").first).to_be_visible()


def test_a_button_with_nothing_typed_beside_it_is_not_held_back(enter, stage):
    """Nothing would be lost; and there is one request fewer."""
    page = enter(stage.cast().orla, "/rules")
    page.route("**/healthz", lambda route: route.abort())
    press(page, "Sign out")
    expect(page.get_by_role("heading", level=1)).to_have_text("Sign in")
