"""A week: five days, twenty stations, two telephones; everything entered is there once."""

import pytest
from playwright.sync_api import expect

from tests.browser.field.away import AGAIN, HAND
from tests.browser.field.phone import Phone
from tests.browser.field.test_lost_answers import PHOTOGRAPH
from tests.calculations.building_plates import q
from tests.records import stations, visits
from tests.records.client import Api

DAYS, A_DAY = 5, 4
SAVE = "async () => (await (await import('/static/field/saved.js')).exported()).text()"


@pytest.fixture
def week(cast, station):
    """The twenty stations, four a day."""
    office = Api(cast.orla)
    made = [
        stations.register(office, cast.client, code=f"W-{number}", name=f"Week {number:02}")
        for number in range(DAYS * A_DAY)
    ]
    return [made[day * A_DAY : (day + 1) * A_DAY] for day in range(DAYS)]


@pytest.fixture
def second(playwright, address, tmp_path):
    made = Phone(playwright, address, tmp_path / "second")
    yield made
    made.kill()
    assert made.errors == []


class Book:
    """What was entered, and what of it is in the book."""

    def __init__(self, cast):
        self.office, self.entered = Api(cast.orla), {}

    def visit(self, phone, station, words, *, killed=False):
        """Enter and hand over without signal; killed: the battery dies right after."""
        phone.offline()
        identity = phone.begin(station.site, station.pump_set)
        phone.section("files")
        phone.page.set_input_files("#chosen", PHOTOGRAPH)
        phone.page.locator(".files li").wait_for()
        phone.section("rest")
        phone.enter("Remarks", words)
        phone.hand_over()
        self.entered[identity] = words
        if killed:
            phone.kill()
            phone.start()
            phone.offline()
        return identity

    def send(self, phone):
        phone.offline(False)
        phone.send()

    def kept(self, week):
        found = {}
        for station in (each for day in week for each in day):
            for event in self.office.get(f"/events?site={station.site}&limit=200").json["items"]:
                whole = self.office.get(f"/events/{event['id']}").json
                files = self.office.get(f"/events/{event['id']}/attachments").json["items"]
                assert event["id"] not in found
                found[event["id"]] = (whole["remarks"], len(files))
        return found


@pytest.mark.slow
@pytest.mark.fault
def test_a_week_of_visits_is_in_the_book_once(phone, second, cast, week):
    book = Book(cast)
    monday, tuesday, wednesday, thursday, friday = week
    phone.come_in(cast.teo.secret)
    phone.take_along(*(f"Week {number:02}" for number in range(DAYS * A_DAY)))
    second.come_in(cast.orla.secret)
    second.take_packs(*(each.site for day in (wednesday, thursday) for each in day))

    for station in monday:  # no signal all day, and the battery dies after each
        book.visit(phone, station, f"monday {station.site}", killed=True)
    phone.open()  # where there was signal for a moment the browser has sent some by itself
    waiting = {each["visit"] for each in phone.rows("queue")}
    assert waiting | set(book.kept(week)) == set(book.entered)
    book.send(phone)
    assert phone.rows("queue") == []

    for station in tuesday:
        book.visit(phone, station, f"tuesday {station.site}")
    lost = answers_lost(phone, 3)
    book.send(phone)
    phone.context.unroute_all(behavior="ignoreErrors")
    assert lost
    book.send(phone)
    assert phone.rows("queue") == []

    for station in wednesday:  # two people at the same pump sets, without signal
        book.visit(phone, station, f"wednesday {station.site}")
        book.visit(second, station, f"wednesday as well {station.site}")
    changed_meanwhile(book, phone, second, wednesday[0])
    book.send(phone)
    book.send(second)

    for station in thursday:
        book.visit(second, station, f"thursday {station.site}")
    saved = second.page.evaluate(SAVE)  # the last thing that this telephone does
    second.kill()
    phone.offline(False)
    phone.open("/not-sent")
    phone.page.set_input_files(
        "#saved", {"name": "queue.jsonl", "mimeType": "application/jsonl", "buffer": saved.encode()}
    )
    phone.page.get_by_text("New on this device: 4 visits, 4 files, 8 entries").wait_for()
    book.send(phone)

    [sealed] = phone.page.evaluate(HAND, [friday[0].event(), 1, None])
    book.send(phone)
    seal(book.office, Api(cast.teo), sealed)
    changed_after_sealing(phone, sealed)
    for station in friday[1:]:
        book.visit(phone, station, f"friday {station.site}")
    book.send(phone)
    assert phone.rows("queue") == []
    second.start()  # it comes to life again, and sends what was taken over already
    book.send(second)
    assert second.rows("queue") == []

    told = {identity: (words, 1) for identity, words in book.entered.items()}
    assert len(told) == 24
    assert book.kept(week) == told | {sealed: ("entry 0", 0)}


def answers_lost(phone, most):
    """The first so many requests arrive, and their answers do not."""
    lost = []

    def lose(route):
        if len(lost) < most:
            lost.append(route.fetch().status)
            route.abort("connectionreset")
        else:
            route.continue_()

    phone.context.route("**/api/v1/events**", lose)
    return lost


def changed_meanwhile(book, phone, second, station):
    """The office changes a plate that a technician reads otherwise on site: both are shown."""
    identity = book.visit(phone, station, "a plate that was read")
    phone.open(f"/visits/{identity}/plates")
    motor = phone.page.locator('details[data-at="/motor"]')
    motor.get_by_role("button", name="The plate says something else").click()
    motor.locator('[data-at="/motor/ratings/0/current"] input').fill("31.5")
    motor.get_by_text("Differs from the register").wait_for()
    phone.hand_over()
    path = f"/motors/{station.ids['M-101']}"
    motor = book.office.get(path)
    ratings = motor.json["ratings"]
    ratings[0]["current"] = q("30", "A")
    assert book.office.patch(path, {"ratings": ratings}, motor.etag).status == 200
    book.send(phone)
    [item] = phone.rows("queue")
    assert (item["kind"], item["state"]) == ("plate", "conflict")
    expect(phone.page.locator(".cards table")).to_contain_text("31.5")
    phone.page.get_by_role("button", name="Put what the plate says in the register").click()
    phone.page.get_by_text("Nothing: everything that was handed over is sent.").wait_for()
    assert book.office.get(path).json["ratings"][0]["current"] == q("31.5", "A")


def seal(office, technician, identity):
    """Answered, signed by two, sealed: as the office does it."""
    visits.sign_both(technician, office, {"id": identity})
    assert office.post(f"/events/{identity}/seal").status == 201


def changed_after_sealing(phone, identity):
    """Told, kept on the device, and nothing of the sealed record changes."""
    phone.page.evaluate(AGAIN, [identity, {"remarks": "too late"}])
    phone.send()
    expect(phone.page.locator(".cards")).to_contain_text("changes no more")
    phone.page.get_by_role("button", name="Take it out of the queue").click()
    phone.page.get_by_text("Nothing: everything that was handed over is sent.").wait_for()
    [row] = [each for each in phone.rows("visits") if each["id"] == identity]
    assert row["document"]["remarks"] == "too late"
