"""The page that says how records are checked offline leads to all that it takes."""

import pytest
from django.test import Client

from tests.records import visits
from tests.records.client import leave
from tests.records.sessions import sign_in


@pytest.fixture
def sealed(teo, orla, station):
    return visits.sealed(teo, orla, station)


@pytest.mark.parametrize("name", ["cleo", "orla"])
def test_program_and_keys_can_be_downloaded_from_there(page, sealed, name):
    shown = page(name, "/verify")
    assert (shown.status, shown.faults) == (200, [])
    for words in ("The program, verify.py", "The public keys, keys.json"):
        [path] = shown.to(words)
        assert page(name, path).status == 200


def test_a_client_takes_all_records_at_once(page, cast, sealed):
    [path] = page("cleo", "/verify").to("All sealed records (ZIP)")
    leave()
    browser = Client()
    sign_in(browser, cast.cleo)
    answer = browser.get(path)
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/zip")
    assert page("orla", "/verify").to("All sealed records (ZIP)") == []


def test_a_client_is_led_there_from_the_stations(page, station):
    assert page("cleo", "/").to("Check records yourself") == ["/verify"]
