"""From a tag, as typed or as read from its label, to the station and the pump set that it is of."""

import json
import re

import pytest
import qrcode
from PIL import Image
from playwright.sync_api import expect
from qrcode.image.pil import PilImage

from records.tag_addresses import tag_path
from tests.browser.field.one_telephone import (  # noqa: F401
    cleared_afterwards,
    started,
    wiped,
)
from tests.browser.field.phone import Phone
from tests.records import stations
from tests.records.client import Api
from tests.records.enrolling import make_code

HOST = "https://book.example"
SIDE = 640


@pytest.fixture
def twin(cast, station):
    """Another station, with pieces of the same tags."""
    return stations.register(Api(cast.orla), cast.client, code="TWIN", name="The twin")


def typed(away, tag):
    away.open("/")
    away.page.fill("#tag", tag)
    away.page.get_by_role("button", name="Open").click()


def test_a_tag_is_found_however_it_is_typed(away, station):
    typed(away, " m-101")
    expect(away.page.locator("#which")).to_have_value(station.pump_set)
    away.page.get_by_role("button", name="Begin the visit").dblclick()  # one visit all the same
    away.page.wait_for_selector(".verdict")
    away.page.get_by_role("link", name="Visits", exact=True).click()
    expect(away.page.get_by_role("link", name="not handed over yet")).to_have_count(1)
    assert [each["pumpSet"] for each in away.rows("visits")] == [station.pump_set]


def test_a_tag_that_two_stations_have_is_asked_about(away, station, twin):
    away.offline(False)
    away.take_packs(twin.site)
    away.offline()
    typed(away, "M-101")
    away.page.get_by_text("More than one station").wait_for()
    away.page.get_by_role("link", name="The twin", exact=True).click()
    expect(away.page.locator("#which")).to_have_value(twin.pump_set)


def test_a_tag_that_is_not_here_is_told(away):
    typed(away, "X-999")
    told = away.page.get_by_text("No station on this device has the tag X-999")
    expect(told).to_be_visible()
    assert away.rows("visits") == []


# -- the camera ------------------------------------------------------------------------------------


def film(path, text):
    """What a camera sees that is held before a code."""
    code = qrcode.QRCode(border=4)
    code.add_data(text)
    drawn = code.make_image(image_factory=PilImage).convert("L").resize((SIDE - 80, SIDE - 80))
    picture = Image.new("L", (SIDE, SIDE), 200)
    picture.paste(drawn, (40, 40))
    frame = b"FRAME\n" + picture.tobytes() + bytes([128]) * (SIDE * SIDE // 2)
    path.write_bytes(f"YUV4MPEG2 W{SIDE} H{SIDE} F10:1 Ip C420jpeg\n".encode() + frame * 2)


@pytest.fixture
def seeing(playwright, address, tmp_path):
    """A telephone whose camera sees a code."""
    made = []

    def see(text):
        film(tmp_path / "film.y4m", text)
        made.append(Phone(
            playwright, address, tmp_path / "seeing", "--use-fake-ui-for-media-stream",
            "--use-fake-device-for-media-stream",
            f"--use-file-for-fake-video-capture={tmp_path / 'film.y4m'}",
        ))  # fmt: skip
        return made[0]

    yield see
    for each in made:
        each.kill()
        assert each.errors == []


@pytest.mark.slow
def test_a_label_is_read_without_network_and_leads_to_its_own_station(seeing, cast, station, twin):
    """Of two stations with this tag the label names one. This browser has no reader of its own."""
    phone = seeing(HOST + tag_path(twin.site, "PT-101"))
    phone.come_in(cast.teo.secret)
    phone.take_along("The twin")
    phone.take_packs(station.site)
    phone.offline()
    phone.open("/")
    assert phone.page.evaluate("'BarcodeDetector' in globalThis") is False
    phone.page.get_by_role("button", name="Read a code with the camera").click()
    expect(phone.page.locator("#which")).to_have_value(twin.pump_set)
    assert phone.page.evaluate("document.querySelector('video')") is None


@pytest.mark.slow
def test_a_label_of_a_station_that_was_not_taken_along_is_told(seeing, cast, station, twin):
    phone = seeing(HOST + tag_path(twin.site, "PT-101"))
    phone.come_in(cast.teo.secret)
    phone.take_packs(station.site)
    phone.open("/")
    phone.page.get_by_role("button", name="Read a code with the camera").click()
    told = phone.page.get_by_text("of a station that is not on this device")
    expect(told).to_be_visible()
    assert phone.rows("visits") == []


@pytest.mark.slow
def test_a_device_comes_in_with_the_code_that_its_camera_reads(seeing, cast, address):
    code = make_code(cast.teo, cast.teo).text
    given = {"stationbook": 1, "address": address, "code": code}
    phone = seeing(json.dumps(given))
    phone.open()
    phone.page.get_by_role("button", name="Read a code with the camera").click()
    expect(phone.page.locator("#code")).to_have_value(code)
    phone.page.get_by_role("button", name="Come in").click()
    phone.page.get_by_role("heading", name=re.compile("Visits on this device")).wait_for()
