"""What goes out by itself: with no sheet open, and once more after the device went off."""

import base64

from tests.browser.field.one_telephone import (  # noqa: F401
    cleared_afterwards,
    handed,
    kept_by,
    started,
    states,
    wiped,
)
from tests.fixtures.subjects import DEMO
from tests.records.client import Api

PHOTOGRAPH = DEMO / "files" / "quarrenhill-ps-102-motor-plate.png"


def woken(away):
    """What a browser does when there is signal."""
    known = away.context.new_cdp_session(away.page)
    registered = []
    known.on("ServiceWorker.workerRegistrationUpdated",
             lambda told: registered.extend(told["registrations"]))  # fmt: skip
    known.send("ServiceWorker.enable")
    for _ in range(600):
        if registered:
            break
        away.page.wait_for_timeout(100)
    at = next(each for each in registered if not each["isDeleted"])
    known.send("ServiceWorker.dispatchSyncEvent", {
        "origin": away.service, "registrationId": at["registrationId"], "tag": "send",
        "lastChance": False,
    })  # fmt: skip


def test_with_no_sheet_open_it_sends_once(away, cast, station):
    away.page.evaluate("async () => { await navigator.serviceWorker.ready; }")
    identities = handed(away, station, 3)
    away.page.goto("about:blank")
    away.offline(False)
    woken(away)
    for _ in range(600):
        if all(kept_by(cast, each) == 200 for each in identities):
            break
        away.page.wait_for_timeout(100)
    assert [kept_by(cast, each) for each in identities] == [200] * 3
    away.open("/not-sent")
    away.page.get_by_text("Nothing: everything that was handed over is sent.").wait_for()
    assert states(away) == []


AS_BEFORE = """async ({ id, visit }) => {
  const { put } = await import("/static/field/store.js");
  await put("queue", { visit, id, kind: "file", state: "waiting", tries: 1, at: "" });
}"""


def test_a_photograph_that_arrived_before_its_item_was_removed_is_sent(away, cast, station):
    """A device may go off between the two."""
    picture = base64.b64encode(PHOTOGRAPH.read_bytes()).decode()
    [identity] = handed(away, station, photograph=picture)
    away.offline(False)
    away.send()
    [file] = away.rows("files")
    away.page.evaluate(AS_BEFORE, file)
    assert states(away) == ["waiting"]
    away.send()
    assert states(away) == []
    held = Api(cast.teo).get(f"/events/{identity}/attachments").json["items"]
    assert [each["id"] for each in held] == [file["id"]]
