"""Fixtures of the records' tests: the cast, its station, and the API as each of them sees it."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import LazySettings
from django.db import connection
from joserfc.jwk import OKPKey
from pytest_django import DjangoDbBlocker

from tests.records.cast import Cast
from tests.records.client import Api
from tests.records.stage import Stage
from tests.records.stations import Station


@pytest.fixture(scope="session")
def stage(
    django_db_setup: None,
    database_name: str,
    django_db_blocker: DjangoDbBlocker,
    tmp_path_factory: pytest.TempPathFactory,
) -> Stage:
    """What is committed once for many tests."""
    path = tmp_path_factory.mktemp("keys") / "signing_key.pem"
    return Stage(database_name, django_db_blocker, OKPKey.generate_key("Ed25519"), path)


@pytest.fixture(scope="module")
def cleared_afterwards(stage: Stage) -> Iterator[None]:
    """For modules that commit more than cast and station: no other module sees it."""
    yield
    stage.clear()


@pytest.fixture
def signing_key(stage: Stage, settings: LazySettings, tmp_path: Path) -> OKPKey:
    """The signing key, where the service looks for it; files are this test's own."""
    settings.SIGNING_KEY_FILE = stage.key_file
    settings.STORAGES = {
        **settings.STORAGES,
        "default": {
            "BACKEND": "deploy.local_files.LocalFiles",
            "OPTIONS": {"location": tmp_path / "files"},
        },
    }
    return stage.key


@pytest.fixture
def cast(stage: Stage, signing_key: OKPKey) -> Cast:
    """Everybody, committed by the owner before the test's own transaction begins."""
    return stage.cast()


@pytest.fixture
def station(stage: Stage, cast: Cast) -> Station:
    """The booster station of Orla's contractor and Cleo's utility, committed likewise."""
    return stage.station()


@pytest.fixture
def api(cast: Cast, station: Station, request: pytest.FixtureRequest) -> "type[Api]":
    """The API, rolled back after the test: `api(cast.orla).get("/sites")`.

    Modules that use `transactional_db` commit.
    """
    request.getfixturevalue("db")
    return Api


@pytest.fixture
def orla(api: type[Api], cast: Cast) -> Api:
    """The office."""
    return api(cast.orla)


@pytest.fixture
def teo(api: type[Api], cast: Cast) -> Api:
    """The technician."""
    return api(cast.teo)


@pytest.fixture
def cleo(api: type[Api], cast: Cast) -> Api:
    """The client."""
    return api(cast.cleo)


@pytest.fixture
def otto(api: type[Api], cast: Cast) -> Api:
    """The office of another contractor."""
    return api(cast.otto)


@pytest.fixture
def tilda(api: type[Api], cast: Cast) -> Api:
    """The technician of another contractor."""
    return api(cast.tilda)


@pytest.fixture
def cato(api: type[Api], cast: Cast) -> Api:
    """The client of another contractor."""
    return api(cast.cato)


@pytest.fixture
def nobody(api: type[Api]) -> Api:
    """A caller without a token."""
    return api(None)


@pytest.fixture
def prepare_after() -> Iterator[Callable[[], int | None]]:
    """The driver is told as it is in service: asked so often, a statement is planned once."""
    connection.ensure_connection()
    driver: Any = connection.connection
    driver.prepare_threshold = 3
    yield lambda: driver.prepare_threshold
    driver.prepare_threshold = None
