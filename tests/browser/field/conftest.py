"""A telephone beside the service."""

import pytest
from playwright.sync_api import sync_playwright

from tests.browser.field.away import station_name
from tests.browser.field.phone import Phone
from tests.faults.test_broken_uploads import Server
from tests.records.conftest import cast, signing_key, station  # noqa: F401


@pytest.fixture
def server(cast, station, transactional_db, service_environment):  # noqa: F811
    running = Server(service_environment, cast.teo.secret)
    yield running
    running.stop()


@pytest.fixture
def playwright(server):
    with sync_playwright() as started:
        yield started


@pytest.fixture
def address(server):
    return f"http://127.0.0.1:{server.port}"


@pytest.fixture
def phone(playwright, address, tmp_path):
    made = Phone(playwright, address, tmp_path / "phone")
    yield made
    made.kill()
    assert made.errors == []


@pytest.fixture
def away(phone, cast, station):  # noqa: F811
    """A telephone in the pump house: come in, station taken along, no signal.

    It sends by the sheet alone: what the browser itself wakes goes past what is put in its way.
    """
    phone.context.add_init_script("delete globalThis.ServiceWorkerRegistration?.prototype.sync")
    phone.come_in(cast.teo.secret)
    phone.take_along(station_name(cast, station))
    phone.offline()
    return phone
