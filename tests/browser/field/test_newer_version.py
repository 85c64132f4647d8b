"""A new version of the sheet is taken up without losing an entry, and with its rules."""

from contextlib import suppress

import pytest
from playwright.sync_api import Error

from tests.browser.field.away import HAND, at_the_service, entry
from tests.browser.field.newer import Newer
from tests.browser.field.phone import PATIENCE

CACHES = "async () => (await caches.keys()).sort()"


@pytest.fixture
def behind(server):
    made = Newer(server.port)
    yield made
    made.stop()


@pytest.fixture
def address(behind):
    return behind.address


@pytest.mark.slow
def test_a_new_version_loses_no_entry(phone, behind, cast, station):
    phone.come_in(cast.teo.secret)
    phone.take_along(at_the_service(cast, f"/sites/{station.site}").json["name"])
    phone.offline()
    ids = phone.page.evaluate(HAND, [entry(station), 5, "bm8gcGljdHVyZQ=="])
    before = phone.rows("queue")
    phone.context.route("**/api/v1/events**", lambda route: route.abort())  # still no way to send
    phone.offline(False)
    behind.version = b"0" * 16
    phone.page.reload()
    phone.page.locator("#new-version").click()
    for _ in range(PATIENCE // 100):
        with suppress(Error):  # it opens itself anew meanwhile
            kept_parts = phone.page.evaluate(CACHES)
            if [name.split("-")[1] for name in kept_parts] == ["app", "runtime"]:
                break
        phone.page.wait_for_timeout(100)
    assert kept_parts[0] == "field-app-" + "0" * 16
    assert len(kept_parts) == 2, kept_parts
    phone.page.wait_for_selector("main .screen h1")
    assert [row["id"] for row in phone.rows("queue")] == [row["id"] for row in before]
    assert {row["id"] for row in phone.rows("visits")} == set(ids)
    phone.context.unroute_all(behavior="ignoreErrors")
    phone.send()
    kept = [at_the_service(cast, f"/events/{each}").status for each in ids]
    assert kept == [200] * len(ids)
