"""Two hundred entries with photographs, answers lost, the browser killed: all arrive, once."""

import base64
import random

import pytest
from playwright.sync_api import Error

from tests.browser.field.away import HAND, at_the_service, entry, everything
from tests.fixtures.subjects import DEMO

SEED, ENTRIES, KILLS = 20, 200, 6
PHOTOGRAPH = DEMO / "files" / "quarrenhill-ps-102-motor-plate.png"
START = """() => { import("/static/field/queue.js").then(({ flush }) => {
  const again = () => flush(true).then(() => setTimeout(again, 50));
  again();
}); }"""


@pytest.mark.slow
@pytest.mark.fault
def test_cut_and_killed_at_random_all_arrive_and_none_twice(phone, cast, station):
    """An eighth of the answers is lost after the request has arrived; so is each kill's."""
    phone.come_in(cast.teo.secret)
    phone.page.evaluate("navigator.serviceWorker.ready.then(() => null)")
    phone.offline()
    picture = base64.b64encode(PHOTOGRAPH.read_bytes()).decode()
    ids = phone.page.evaluate(HAND, [entry(station), ENTRIES, picture])
    assert len(phone.rows("queue")) == 2 * ENTRIES
    chance, lost, left = random.Random(SEED), 0, 2 * ENTRIES

    def sometimes(route):
        nonlocal lost
        try:
            if chance.random() < 1 / 8:
                route.fetch()
                lost += 1
                route.abort("connectionreset")
            else:
                route.continue_()
        except Error as error:  # its browser was killed meanwhile: that answer is lost, too
            if "closed" not in str(error):
                raise

    for kill in range(60):
        phone.context.route("**/api/v1/events**", sometimes)
        phone.offline(False)
        phone.open("/not-sent")
        phone.page.evaluate(START)
        until = chance.randrange(2 * ENTRIES // KILLS) if kill < KILLS else 2 * ENTRIES
        aim = max(0, left - until)
        while (left := len(phone.rows("queue"))) > aim:
            phone.page.wait_for_timeout(200)
        if not left:
            break
        phone.kill()
        phone.start()
    assert kill >= KILLS
    assert lost > ENTRIES / 10
    assert sorted(everything(cast, station)) == sorted(ids)
    for number, identity in enumerate(ids):
        assert at_the_service(cast, f"/events/{identity}").json["remarks"] == f"entry {number}"
        held = at_the_service(cast, f"/events/{identity}/attachments").json["items"]
        assert len(held) == 1
