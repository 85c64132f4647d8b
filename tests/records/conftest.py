"""Fixtures of the records' tests: the cast, and the API as each of them sees it."""

from collections.abc import Iterator
from pathlib import Path

import psycopg
import pytest
from django.conf import LazySettings
from joserfc.jwk import OKPKey

from records import roles
from tests import database
from tests.records import cast as casting
from tests.records.cast import Cast
from tests.records.client import Api


@pytest.fixture
def signing_key(settings: LazySettings, tmp_path: Path) -> OKPKey:
    """A signing key of this test, where the service looks for it."""
    key = OKPKey.generate_key("Ed25519")
    path = tmp_path / "signing_key.pem"
    path.write_bytes(key.as_pem(private=True))
    settings.SIGNING_KEY_FILE = path
    settings.STORAGES = {
        **settings.STORAGES,
        "default": {
            "BACKEND": "django.core.files.storage.FileSystemStorage",
            "OPTIONS": {"location": tmp_path / "files"},
        },
    }
    return key


@pytest.fixture
def cast(django_db_setup: None, database_name: str, signing_key: OKPKey) -> Iterator[Cast]:
    """Everybody, committed by the owner before the test's own transaction begins."""
    made = casting.make()
    with psycopg.connect(database.dsn(roles.OWNER, database_name), autocommit=True) as owner:
        casting.engage(owner, made, signing_key)
    yield made
    database.Cleaner(database_name).clear()


@pytest.fixture
def api(cast: Cast, request: pytest.FixtureRequest) -> "type[Api]":
    """The API, rolled back after the test: `api(cast.orla).get("/sites")`."""
    request.getfixturevalue("transactional_db" if _commits(request) else "db")
    return Api


def _commits(request: pytest.FixtureRequest) -> bool:
    return request.node.get_closest_marker("commits") is not None


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
def cato(api: type[Api], cast: Cast) -> Api:
    """The client of another contractor."""
    return api(cast.cato)
