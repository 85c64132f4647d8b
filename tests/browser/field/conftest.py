"""The service as a process, and a telephone beside it."""

from pathlib import Path

import pytest
from playwright.sync_api import sync_playwright

from tests.browser.field.phone import CHROMIUM, Phone
from tests.faults.test_broken_uploads import Server
from tests.records.conftest import cast, signing_key, stage, station  # noqa: F401


def pytest_collection_modifyitems(items):
    """Without the browser nothing of this can run."""
    for item in items:
        if Path(__file__).parent in item.path.parents and not CHROMIUM.exists():
            item.add_marker(pytest.mark.skip(reason="Chromium is not installed"))


@pytest.fixture
def server(cast, station, transactional_db, service_environment):  # noqa: F811
    running = Server(service_environment, cast.teo.secret)
    yield running
    running.stop()


@pytest.fixture
def playwright(server, monkeypatch):
    # The driver runs a loop in this thread, beside which tests ask the database.
    monkeypatch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "1")
    with sync_playwright() as started:
        yield started


@pytest.fixture
def phone(playwright, server, tmp_path):
    made = Phone(playwright, f"http://127.0.0.1:{server.port}", tmp_path / "phone")
    yield made
    made.kill()
    assert made.errors == []
