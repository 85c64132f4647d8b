"""Signed without signal by a key that the device cannot give away, it arrives and is checked."""

import hashlib
import json
import re

import pytest
from playwright.sync_api import expect

from tests.browser.field.away import at_the_service, station_name
from tests.calculations.building_plates import q
from tests.records.client import Api
from tests.records.visits import plate_speed

KNOWN = """async () => {
  const { kept } = await import("/static/field/store.js");
  for (let tries = 0; tries < 480; tries++) {
    const key = await kept("signingKey");
    if (key?.known) return key.jwk;
    await new Promise((done) => setTimeout(done, 250));
  }
}"""
GIVE_AWAY = """async (form) => {
  const { kept } = await import("/static/field/store.js");
  const { privateKey } = await kept("signingKey");
  try {
    await crypto.subtle.exportKey(form, privateKey);
    return "given away";
  } catch (error) {
    return `${privateKey.extractable} ${error.name}`;
  }
}"""

WITHOUT_ED25519 = """(() => {
  if (!crypto.subtle) return; // an empty page has none
  const own = crypto.subtle.generateKey;
  crypto.subtle.generateKey = function older(kind, ...more) {
    if (kind.name === "Ed25519") throw new DOMException("not here", "NotSupportedError");
    return own.call(this, kind, ...more);
  };
})()"""


@pytest.fixture
def away(phone, cast, station):
    """A telephone in the pump house, whose key the service knows."""
    return prepared(phone, cast, station)


def prepared(phone, cast, station):
    phone.come_in(cast.teo.secret)
    phone.take_along(station_name(cast, station))
    phone.key = phone.page.evaluate(KNOWN)
    phone.offline()
    return phone


def begun(away, station):
    identity = away.begin(station.site, station.pump_set)
    away.section("as_left")
    away.enter("Motor frequency", "50", "Hz")
    away.enter("Motor voltage", "460", "V")
    assert "1 stop" in away.wait_for_verdict()
    return identity


def signed(away):
    """Signs what is shown; the text and its digest as they stood on the screen."""
    away.section("rest")
    away.page.get_by_role("button", name="Sign on this device").dblclick()  # shown once
    away.page.get_by_role("heading", name="What you sign").wait_for()
    panel = away.page.locator(".signing")
    assert "V/Hz" in panel.locator("li.stop").inner_text()
    panel.locator("summary").click()
    digest, text = panel.locator("code").all_inner_texts()
    away.page.get_by_role("button", name="Sign this, and hand it over").dblclick()  # once counts
    away.page.get_by_text("Signed on this device, and handed over").wait_for()
    return text, digest


def test_signed_without_network_it_arrives_as_it_was_shown(away, cast, station):
    identity = begun(away, station)
    text, digest = signed(away)
    assert hashlib.sha256(text.encode()).hexdigest() == digest
    away.hand_over()  # again, and nothing is changed: the signature stays
    assert [each["kind"] for each in away.rows("queue")] == ["event", "signature", "event"]
    away.kill()  # the key and the queue are on the disk
    away.start()
    away.open("/not-sent")
    away.page.get_by_text("Signature of").or_(away.page.get_by_text("Nothing:")).first.wait_for()
    away.send()
    assert away.rows("queue") == []
    [signature] = at_the_service(cast, f"/events/{identity}/signatures").json["signatures"]
    assert signature["by"] == {"id": str(cast.teo.id), "name": "Teo"}
    assert signature["device"]["statement"] == json.loads(text)
    assert signature["device"]["digest"] == digest
    assert signature["device"]["public_key"] == away.key
    away.send()  # again nothing happens
    assert len(at_the_service(cast, f"/events/{identity}/signatures").json["signatures"]) == 1
    away.open(f"/visits/{identity}/found")
    away.page.get_by_text(re.compile("Signed on a device .*; the service has it since")).wait_for()


def test_a_browser_without_ed25519_signs_with_p_256(phone, cast, station):
    phone.context.add_init_script(WITHOUT_ED25519)
    prepared(phone, cast, station)
    assert (phone.key["alg"], phone.key["crv"]) == ("ES256", "P-256")
    identity = begun(phone, station)
    signed(phone)
    assert phone.page.evaluate(GIVE_AWAY, "pkcs8").startswith("false ")
    phone.offline(False)
    phone.send()
    [signature] = at_the_service(cast, f"/events/{identity}/signatures").json["signatures"]
    assert signature["device"]["public_key"] == phone.key


def test_the_key_is_not_given_away(away):
    for form in ("jwk", "pkcs8", "raw"):
        said = away.page.evaluate(GIVE_AWAY, form)
        assert said.startswith("false "), said


def test_what_is_another_at_the_service_is_told_and_signed_anew(away, cast, station):
    identity = begun(away, station)
    signed(away)
    plate_speed(Api(cast.orla), station, "1760")
    away.offline(False)
    away.send()
    [item] = away.rows("queue")
    assert (item["kind"], item["state"]) == ("signature", "conflict")
    told = away.page.locator(".cards")
    expect(told).to_contain_text("the nameplates: there it stands otherwise")
    assert at_the_service(cast, f"/events/{identity}/signatures").json["signatures"] == []
    away.page.get_by_role("button", name="Take this signature back").click()
    away.page.get_by_text("Nothing: everything that was handed over is sent.").wait_for()
    assert at_the_service(cast, f"/events/{identity}").json["settings"]["as_left"][
        "motor_voltage"
    ] == q("460", "V")


def test_a_device_without_the_right_to_sign_offers_no_key(phone, cast, station):
    wanted = {"name": "gauge reader", "scopes": ["read", "write"]}
    made = Api(cast.orla).post("/tokens", wanted | {"user": str(cast.teo.id)})
    assert made.status == 201, made.json
    phone.come_in(made.json["token"])
    asked = []
    phone.page.on("request", lambda each: asked.append((each.method, each.url)))
    with phone.page.expect_response(re.compile("/api/v1/me$")):
        phone.open()
    phone.take_along(station_name(cast, station))  # time enough for whatever would follow
    assert [url for method, url in asked if method == "PUT"] == []
    phone.begin(station.site, station.pump_set)
    phone.section("rest")
    phone.page.get_by_role("button", name="Sign on this device").click()
    phone.page.get_by_text("This device cannot sign").wait_for()


def test_nothing_is_signed_that_the_rules_have_not_seen(phone, cast, station):
    phone.come_in(cast.teo.secret)
    phone.take_along(station_name(cast, station))
    phone.page.evaluate(KNOWN)
    phone.page.route("**/*.wasm", lambda route: route.abort())
    phone.page.evaluate(
        "caches.keys().then((all) => Promise.all(all.map((n) => caches.delete(n))))"
    )
    phone.begin(station.site, station.pump_set)
    phone.section("rest")
    phone.page.get_by_role("button", name="Sign on this device").click()
    phone.page.get_by_text("This is not judged yet, so there is nothing to sign").wait_for()
    assert phone.rows("queue") == []
