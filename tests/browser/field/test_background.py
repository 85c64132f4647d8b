"""Where a browser wakes the sheet when there is signal, it sends with no sheet open."""

from tests.browser.field.one_telephone import (  # noqa: F401
    cleared_afterwards,
    handed,
    kept_by,
    started,
    states,
    wiped,
)


def woken(away):
    """What a browser does when there is signal."""
    known = away.context.new_cdp_session(away.page)
    registered = []
    known.on("ServiceWorker.workerRegistrationUpdated",
             lambda told: registered.extend(told["registrations"]))  # fmt: skip
    known.send("ServiceWorker.enable")
    for _ in range(50):
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
    for _ in range(100):
        if all(kept_by(cast, each) == 200 for each in identities):
            break
        away.page.wait_for_timeout(100)
    assert [kept_by(cast, each) for each in identities] == [200] * 3
    away.open("/not-sent")
    away.page.get_by_text("Nothing: everything that was handed over is sent.").wait_for()
    assert states(away) == []
