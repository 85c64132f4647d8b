"""A real browser against a server process with the suite's database.

Chromium is Debian's, or the one that CHROMIUM names. Pictures of every page go to the folder that
BROWSER_PICTURES names, outside of the project, to be looked at.
"""

import os
import shutil
import socket
import subprocess
import time
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from django.conf import settings
from django.test import Client, override_settings
from playwright.sync_api import Browser, Page, expect, sync_playwright

from deploy.children import start_child, stop_child
from deploy.keys import DOCUMENT_KEY, MFA_KEY, make_missing_keys
from deploy.processes import web
from records import roles
from tests import database
from tests.records import world as worlds
from tests.records.cast import Person
from tests.records.client import Api
from tests.records.conftest import stage  # noqa: F401  # the same one here
from tests.records.sessions import sign_in
from tests.records.stage import Stage
from tests.records.world import World

CHROMIUM = os.environ.get("CHROMIUM") or shutil.which("chromium")
START_SECONDS = 180
# The browser's driver has an event loop of its own in this thread; nothing runs in it meanwhile.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
PATIENCE = 120_000  # ms: a loaded machine shows things later
expect.set_options(timeout=PATIENCE)
ARGUMENTS = ("--no-sandbox", "--disable-background-networking", "--disable-dev-shm-usage")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """All of these need a browser, and commit what they do."""
    for item in items:
        if "/tests/browser/" in str(item.path):
            item.add_marker(pytest.mark.browser)
            item.add_marker(pytest.mark.commits)
            if not CHROMIUM:
                item.add_marker(
                    pytest.mark.skip(reason="no Chromium here: apt install chromium, or CHROMIUM")
                )


@pytest.fixture(scope="module")
def world(
    stage: Stage,  # noqa: F811
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[World]:
    """A draft with something to answer, a sealed record, and another contractor's beside."""
    files = tmp_path_factory.mktemp("files")
    kept = {"BACKEND": "deploy.local_files.LocalFiles", "OPTIONS": {"location": files}}
    storages = {**settings.STORAGES, "default": kept}
    with override_settings(SIGNING_KEY_FILE=stage.key_file, STORAGES=storages):
        stage.cast()
        made = worlds.of(stage)
        office, place = Api(stage.cast().orla), f"/sites/{made.own.station.site}"
        with stage.blocker.unblock():
            where = {"latitude": 41.5, "longitude": -93.25}
            assert office.patch(place, where, office.get(place).etag).status == 200
        yield made
    stage.clear()


@pytest.fixture(scope="module")
def server(
    stage: Stage,  # noqa: F811
    world: World,
    database_name: str,
    tmp_path_factory: pytest.TempPathFactory,
) -> Iterator[str]:
    """The address of a server process."""
    folder = tmp_path_factory.mktemp("served")
    make_missing_keys(folder)
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    environment = {
        "PATH": os.environ["PATH"],
        "DATABASE_URL": database.url(roles.LOGIN, database_name),
        "QUEUE_URL": database.url(roles.QUEUE, database_name),
        "SECRET_KEY": settings.SECRET_KEY,
        "SIGNING_KEY_FILE": str(stage.key_file),
        "DOCUMENT_KEY_FILE": str(folder / DOCUMENT_KEY),
        "MFA_KEY_FILE": str(folder / MFA_KEY),
        "FILES_ROOT": str(settings.STORAGES["default"]["OPTIONS"]["location"]),
        "ALLOWED_HOSTS": "127.0.0.1",
        "PLAIN_HTTP": "1",
        "SECOND_FACTOR": "offered",
        "MAIL_FOLDER": str(folder / "mail"),
    }
    with (folder / "log").open("wb") as log:
        process = start_child(
            web(f"127.0.0.1:{port}", workers=1, threads=4),
            cwd=database.PROJECT, env=environment, stdout=log, stderr=subprocess.STDOUT,
        )  # fmt: skip
    address = f"http://127.0.0.1:{port}"
    try:
        _wait(address, process, folder / "log")
        yield address
    finally:
        stop_child(process)


def _wait(address: str, process: "subprocess.Popen[bytes]", log: Path) -> None:
    until = time.monotonic() + START_SECONDS
    while time.monotonic() < until and process.poll() is None:
        try:
            with urllib.request.urlopen(f"{address}/healthz", timeout=5):  # noqa: S310
                return
        except OSError:
            time.sleep(0.1)
    raise RuntimeError(f"The server did not come up.\n{log.read_text()}")


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One browser process for a module."""
    with sync_playwright() as playwright:
        launched = playwright.chromium.launch(executable_path=CHROMIUM, args=list(ARGUMENTS))
        yield launched
        launched.close()


Enter = Callable[..., Page]


@pytest.fixture
def enter(
    browser: Browser,
    server: str,
    stage: Stage,  # noqa: F811
) -> Iterator[Enter]:
    """`enter(person, "/due")`: a page as that person sees it, in a window of its own."""
    opened = []

    def entered(person: Person | None, path: str = "/", **options: object) -> Page:
        context = browser.new_context(base_url=server, **options)  # type: ignore[arg-type]
        context.set_default_timeout(PATIENCE)
        opened.append(context)
        if person is not None:
            client = Client()
            with stage.blocker.unblock():
                sign_in(client, person)
            cookie = client.cookies[settings.SESSION_COOKIE_NAME].value
            context.add_cookies(
                [{"name": settings.SESSION_COOKIE_NAME, "value": cookie, "url": server}]
            )
        page = context.new_page()
        page.goto(path)
        return page

    yield entered
    for context in opened:
        context.close()
