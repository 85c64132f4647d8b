"""One telephone for all tests of a module, and what they ask of it."""

import pytest
from playwright.sync_api import sync_playwright

from tests.browser.field.away import HAND, entry
from tests.browser.field.phone import Phone
from tests.conftest import service_variables
from tests.faults.test_broken_uploads import Server
from tests.records.client import Api
from tests.records.conftest import cleared_afterwards  # noqa: F401


@pytest.fixture(name="telephone", scope="module")
def started(stage, database_name, tmp_path_factory, cleared_afterwards):  # noqa: F811
    """One for all tests here, with its service: both take long to start."""
    folder = tmp_path_factory.mktemp("telephone")
    person = stage.cast().teo
    stage.station()
    running = Server(service_variables(database_name, folder), person.secret)
    with sync_playwright() as started:
        made = Phone(started, f"http://127.0.0.1:{running.port}", folder / "storage")
        yield made
        made.kill()
    running.stop()


@pytest.fixture(name="away")
def wiped(telephone, stage, cast, station):
    """Wiped, come in, a station taken along without the rules, no signal."""
    with stage.blocker.unblock():
        telephone.offline(False)
        telephone.open()
        telephone.page.evaluate("async () => (await import('/static/field/store.js')).wipe()")
        telephone.come_in(cast.teo.secret)
        telephone.take_packs(station.site)
        telephone.offline()
        yield telephone
        telephone.context.unroute_all(behavior="ignoreErrors")
        assert telephone.errors == []


def states(phone):
    return [item["state"] for item in phone.rows("queue")]


def handed(away, station, number=1, photograph=None, **more):
    return away.page.evaluate(HAND, [entry(station) | more, number, photograph])


def kept_by(cast, identity):
    return Api(cast.teo).get(f"/events/{identity}").status
